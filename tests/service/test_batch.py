"""Many joints in one request: order kept, each with its own status, none spoiling another."""

from __future__ import annotations

import gc
import json
import sys
import time
import tracemalloc
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from flask.testing import FlaskClient

import jointgeo
import jointgeo.solution.end
import jointgeo_service.batches
from jointgeo.joints.joint_type import JointType
from jointgeo.schema.fields import describe
from jointgeo_service.questions import kept

TYPES = sorted(jointgeo.joint_types())


@pytest.fixture
def item(examples: dict[str, dict[str, Any]]) -> Callable[..., dict[str, Any]]:
    def made(name: str = TYPES[0], **more: Any) -> dict[str, Any]:
        whole = {"joint_type": name, "want": "settings", "joint": examples[name]}
        return {**whole, "fixture": "porch", **more}

    return made


def _batch(client: FlaskClient, items: list[Any]) -> list[dict[str, Any]]:
    answer = client.post("/v1/batch", json={"items": items})
    assert answer.status_code == 200, answer.text
    assert answer.mimetype == "application/json"
    answered: list[dict[str, Any]] = answer.json["items"]  # type: ignore[index]  # JSON
    assert len(answered) == len(items)
    return answered


def test_every_item_is_answered_as_if_it_were_alone(
    client: FlaskClient, item: Callable[..., dict[str, Any]]
) -> None:
    wants = ("settings", "feasibility", "both")
    items = [item(name, want=want, id=f"{name} {want}") for name in TYPES for want in wants]
    for asked, answer in zip(items, _batch(client, items), strict=True):
        assert answer["status"] == 200
        assert answer["id"] == asked["id"]
        want = asked["want"]
        expected = {"settings", "feasibility"} if want == "both" else {want}
        assert set(answer) - {"id", "status"} == expected
        for name in expected:
            url = f"/v1/joint-types/{asked['joint_type']}/{name}"
            question = {"joint": asked["joint"], "fixture": "porch"}
            assert answer[name] == client.post(url, json=question).json


def _varied(name: str, joint: dict[str, Any], part: float) -> dict[str, Any]:
    """The joint with every length and angle that much more of itself."""
    infos = describe(jointgeo.joint_type(name))
    numbers = [i.name for i in infos if i.kind == "number" and joint[i.name]]
    return {**joint, **{n: joint[n] * (1 + part) for n in numbers}}


@pytest.mark.parametrize("name", TYPES)
def test_many_joints_of_one_type_are_answered_as_if_each_were_alone(
    client: FlaskClient, item: Callable[..., dict[str, Any]], name: str
) -> None:
    joint = item(name)["joint"]
    items: list[Any] = []
    for index in range(40):
        want = ("settings", "both")[index % 10 == 3]
        hand = ("as_drawn", "mirrored")[index % 20 == 7]
        own = _varied(name, joint, index / 20_000)
        items.append(item(name, joint=own, want=want, hand=hand, id=f"{index}° 100%"))
    items[11]["joint"] = {}
    items[12]["colour"] = "red"
    items[13]["joint"] = {n: 1e-9 if type(v) is float else v for n, v in joint.items()}
    answers = _batch(client, items)
    bad = {11, 12, 13}
    assert [a["id"] for a in answers] == [i["id"] for i in items]
    assert {i for i, a in enumerate(answers) if a["status"] != 200} == bad
    for index, (asked, answer) in enumerate(zip(items, answers, strict=True)):
        if index in bad:
            continue
        url = f"/v1/joint-types/{name}/settings"
        question = {key: asked[key] for key in ("joint", "fixture", "hand")}
        assert answer["settings"] == client.post(url, json=question).json
        assert ("feasibility" in answer) == (asked["want"] == "both")


def _pieces(client: FlaskClient, items: list[Any]) -> Iterator[bytes]:
    """The answer as it comes: the next piece is worked out when it is asked for."""
    answer = client.post("/v1/batch", json={"items": items}, buffered=False)
    assert answer.status_code == 200
    yield from answer.iter_encoded()
    answer.close()


def test_each_answer_is_sent_before_the_next_joint_is_solved(
    client: FlaskClient, item: Callable[..., dict[str, Any]], monkeypatch: pytest.MonkeyPatch
) -> None:
    solved, count = jointgeo_service.batches.solved, 0

    def counted(*question: Any) -> Any:
        nonlocal count
        count += 1
        return solved(*question)

    monkeypatch.setattr(jointgeo_service.batches, "solved", counted)
    got = b""
    for number, piece in enumerate(_pieces(client, [item()] * 4), 1):
        got += piece
        assert count == min(number, 4)
        assert got.count(b'"status":200') == min(number, 4)
    assert len(json.loads(got)["items"]) == 4


def test_an_item_that_wants_both_answers_is_planned_once(
    client: FlaskClient, item: Callable[..., dict[str, Any]], monkeypatch: pytest.MonkeyPatch
) -> None:
    plan, count = jointgeo.solution.end.plan_end, 0

    def counted(*question: Any) -> Any:
        nonlocal count
        count += 1
        return plan(*question)

    monkeypatch.setattr(jointgeo.solution.end, "plan_end", counted)
    for want in ("settings", "both"):
        (answer,) = _batch(client, [item(want=want)])
        assert answer["status"] == 200
        assert count == len(answer["settings"]["parts"]), want
        count = 0


def test_no_more_memory_is_used_for_more_joints(
    slotted: Callable[..., type[JointType]], serving: Callable[..., FlaskClient]
) -> None:
    """Beside the question itself, which is whole before it is read: some 1 kB an item."""
    client = serving(slotted())
    item = {"joint_type": "slotted", "want": "settings", "fixture": "porch"}

    few_items, many_items = 20, 120

    def most(count: int) -> tuple[int, int]:
        """Bytes in use at most while an answer is read, and the answer's length."""
        items = [{**item, "joint": {"width_mm": 60.0 + i / 100}} for i in range(count)]
        pieces = _pieces(client, items)
        length = len(next(pieces))
        gc.freeze()  # what is there already need not be looked through each time
        tracemalloc.start()
        for number, piece in enumerate(pieces):
            length += len(piece)
            if number % 10 == 0:
                gc.collect()  # also lets go of the tuples the interpreter lays by for new ones
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        gc.unfreeze()
        return peak, length

    most(many_items)  # fills the library's own caches, which are bounded
    few, many = most(few_items), most(many_items)
    assert many[1] - few[1] > 200_000
    # Bytes: a fortieth of what the answers are longer; kept are some 50.
    assert many[0] - few[0] < 10_000


def test_a_batch_leaves_alone_what_is_kept_for_the_cells_of_a_workbook(
    client: FlaskClient, item: Callable[..., dict[str, Any]]
) -> None:
    before = kept.cache_info()
    _batch(client, [item(want="both")] * 2)
    assert kept.cache_info() == before


def test_the_log_tells_the_time_to_the_last_byte(
    client: FlaskClient,
    item: Callable[..., dict[str, Any]],
    caplog: pytest.LogCaptureFixture,
) -> None:
    caplog.set_level("INFO", "jointgeo_service.request")
    pieces = _pieces(client, [item()] * 3)
    next(pieces)
    began = time.perf_counter()
    assert not caplog.records
    for _ in pieces:
        took = time.perf_counter() - began
    (line,) = caplog.records
    fields = line.fields  # type: ignore[attr-defined]  # put there by the service
    assert (fields["method"], fields["route"], fields["status"]) == ("POST", "/v1/batch", 200)
    # From before the first byte until after the last, so longer; rounded to a microsecond.
    assert fields["ms"] >= took * 1000 - 0.001


@pytest.mark.parametrize(
    ("name", "value", "says"),
    [
        ("an odd name", [{"x": 1.0, "y": [1.0] * 1001}], "too long a list"),
        ("an odd name", {f"n{i}": 1 for i in range(201)}, "too long a table"),
    ],
)
def test_what_lies_within_an_item_is_looked_through(
    client: FlaskClient, item: Callable[..., dict[str, Any]], name: str, value: Any, says: str
) -> None:
    asked = item(TYPES[0])
    asked["joint"] = {**asked["joint"], name: value}
    (answer,) = _batch(client, [asked])
    assert answer["status"] == 422
    assert says in str(answer["problem"]["errors"])


def test_a_table_of_very_many_names_is_refused_at_once(
    client: FlaskClient, item: Callable[..., dict[str, Any]]
) -> None:
    """Each of them compared with all known ones would take minutes."""
    asked = item(TYPES[0])
    asked["joint"] = {f"name {i}": i for i in range(50_000)}
    (answer,) = _batch(client, [asked])
    (error,) = answer["problem"]["errors"]
    assert (answer["status"], error["message"]) == (422, "is too long a table")


def test_bad_items_spoil_no_other_and_the_order_is_kept(
    client: FlaskClient, item: Callable[..., dict[str, Any]]
) -> None:
    bad = item(joint={}, id="bad")
    items: list[Any] = [
        item(id="first"), bad, item(id="3"), None, [], "x", 7, {}, item(fixture="../porch"),
        item(joint_type="nobody_joint"), item(want="all"), item(hand="left"), item(colour="red"),
        item(id="last"),
    ]  # fmt: skip
    answers = _batch(client, items)
    good = {0, 2, len(items) - 1}
    for index, answer in enumerate(answers):
        assert (answer["status"] == 200) == (index in good)
        if index not in good:
            problem = answer["problem"]
            assert problem["status"] == answer["status"] == 422
            assert problem["errors"]
            assert "settings" not in answer
    assert [a.get("id") for a in answers if "id" in a] == ["first", "bad", "3", "last"]
    # By name: every mandatory parameter of the joint, then what is wrong with the others.
    assert all(e["field"].startswith("joint.") for e in answers[1]["problem"]["errors"])
    fields = [[e["field"] for e in a["problem"]["errors"]] for a in answers[8:13]]
    assert fields == [["fixture"], ["joint_type"], ["want"], ["hand"], ["colour"]]


@pytest.mark.parametrize("given", [1, True, [], {}, "", "x" * 81, "a\nb", "\x00"])
def test_an_id_is_a_short_line_of_text(
    client: FlaskClient, item: Callable[..., dict[str, Any]], given: object
) -> None:
    (answer,) = _batch(client, [item(id=given)])
    assert answer["status"] == 422
    assert "id" not in answer
    assert [e["field"] for e in answer["problem"]["errors"]] == ["id"]


def test_an_id_of_80_characters_comes_back(
    client: FlaskClient, item: Callable[..., dict[str, Any]]
) -> None:
    name = "Ærø " * 20
    (answer,) = _batch(client, [item(id=name)])
    assert (answer["status"], answer["id"]) == (200, name)


def test_a_thousand_items_are_taken_and_one_more_is_not(client: FlaskClient) -> None:
    assert [a["status"] for a in _batch(client, [{}] * 1000)] == [422] * 1000
    answer = client.post("/v1/batch", json={"items": [{}] * 1001})
    assert answer.status_code == 422
    (error,) = answer.json["errors"]  # type: ignore[index]  # JSON
    assert error["field"] == "items"
    assert error["given"] == "1001"
    assert "1000" in error["allowed"]


def test_no_items_give_no_answers(client: FlaskClient) -> None:
    assert _batch(client, []) == []


@pytest.mark.parametrize("body", [{}, {"items": {}}, {"items": "x"}, {"items": None}, [], {"a": 1}])
def test_a_batch_is_a_list_of_items(client: FlaskClient, body: object) -> None:
    answer = client.post("/v1/batch", json=body)
    assert answer.status_code == 422
    assert answer.mimetype == "application/problem+json"


def test_a_trap_within_an_item_is_that_items_alone(
    client: FlaskClient, item: Callable[..., dict[str, Any]]
) -> None:
    whole = json.dumps(item())
    twice = whole[:-1] + ', "want": "both"}'
    endless = json.dumps(item(hand="@")).replace('"@"', "Infinity")
    long = json.dumps(item(id="@")).replace('"@"', "9" * 5000)
    body = f'{{"items": [{whole}, {twice}, {endless}, {long}, {whole}]}}'
    answer = client.post("/v1/batch", data=body, content_type="application/json").json
    assert answer is not None
    assert [a["status"] for a in answer["items"]] == [200, 422, 422, 422, 200]
    fields = [a["problem"]["errors"][0]["field"] for a in answer["items"][1:4]]
    assert fields == ["want", "hand", "id"]
    outside = client.post(
        "/v1/batch", data='{"items": [], "items": []}', content_type="application/json"
    )
    assert outside.status_code == 422
    assert outside.json["errors"][0]["field"] == "items"  # type: ignore[index]  # JSON


def test_a_plug_in_that_fails_fails_its_own_items_only(
    slotted: Callable[..., type[JointType]], serving: Callable[..., FlaskClient]
) -> None:
    def draw(self: Any) -> Any:
        if self.width_mm > 100:
            raise ZeroDivisionError
        return cls.__base__.draw(self)  # type: ignore[union-attr]  # it has a base

    cls = slotted(draw=draw)
    wide, narrow = {"width_mm": 200.0}, {"width_mm": 50.0}
    items = [
        {"joint_type": "slotted", "want": "settings", "joint": joint, "fixture": "porch"}
        for joint in (narrow, wide, narrow)
    ]
    answers = _batch(serving(cls), items)
    assert [a["status"] for a in answers] == [200, 500, 200]
    assert "slotted" in answers[1]["problem"]["detail"]


def test_a_plug_in_that_ends_the_process_ends_its_own_item_only(
    slotted: Callable[..., type[JointType]], serving: Callable[..., FlaskClient]
) -> None:
    def draw(_: Any) -> Any:
        sys.exit("I give up")

    client = serving(slotted(draw=draw))
    question = {"joint": {"width_mm": 50.0}, "fixture": "porch"}
    item = {"joint_type": "slotted", "want": "settings", **question}
    answers = _batch(client, [item, {}])
    assert [a["status"] for a in answers] == [500, 422]
    assert "SystemExit" in answers[0]["problem"]["detail"]
    alone = client.post("/v1/joint-types/slotted/settings", json=question)
    assert alone.status_code == 500


def test_what_no_item_can_tell_leaves_no_answer_that_looks_whole(
    client: FlaskClient, item: Callable[..., dict[str, Any]], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Here it is raised on; ``test_sending`` looks what goes over the wire."""
    encode, count = jointgeo_service.batches.encode, 0

    def fails(value: Any) -> bytes:
        nonlocal count
        count += 1
        if count > 1:
            raise MemoryError
        return encode(value)

    monkeypatch.setattr(jointgeo_service.batches, "encode", fails)
    pieces = _pieces(client, [item()] * 3)
    got = next(pieces)
    with pytest.raises(MemoryError):
        next(pieces)
    with pytest.raises(json.JSONDecodeError):
        json.loads(got)
