"""Many joints in one request: order kept, each with its own status, none spoiling another."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest
from flask.testing import FlaskClient

import jointgeo
import jointgeo_service.batches
from jointgeo.joints.joint_type import JointType
from jointgeo.schema.fields import describe

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


def _varied(joint: dict[str, Any], numbers: list[str], part: float) -> dict[str, Any]:
    """The joint with every length and angle that much more of itself."""
    return {**joint, **{name: joint[name] * (1 + part) for name in numbers}}


@pytest.mark.parametrize("name", TYPES)
def test_joints_that_are_alike_are_answered_as_if_each_were_alone(
    client: FlaskClient,
    item: Callable[..., dict[str, Any]],
    name: str,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """So many of them are solved together; among them others that are not, or are at fault."""
    solved, alone_for = jointgeo_service.batches.solved, []

    def watched(known: Any, question: Any, want: str) -> Any:
        alone_for.append(want)
        return solved(known, question, want)

    monkeypatch.setattr(jointgeo_service.batches, "solved", watched)
    infos = describe(jointgeo.joint_type(name))
    joint = item(name)["joint"]
    numbers = [i.name for i in infos if i.kind == "number" and joint[i.name]]
    items: list[Any] = []
    for index in range(60):
        want = ("settings", "both")[index % 10 == 3]
        hand = ("as_drawn", "mirrored")[index % 20 == 7]
        alike = _varied(joint, numbers, index / 20_000)
        items.append(item(name, joint=alike, want=want, hand=hand, id=f"{index}° 100%"))
    items[11]["joint"] = {}
    items[12]["colour"] = "red"
    items[13]["joint"] = joint | dict.fromkeys(numbers, 1e-9)
    answers = _batch(client, items)
    assert alone_for.count("settings") < 20  # the mirrored ones, and no more than a few others
    bad = {11, 12, 13}
    assert [a["id"] for a in answers] == [i["id"] for i in items]
    assert {i for i, a in enumerate(answers) if a["status"] != 200} == bad
    for index, (asked, answer) in enumerate(zip(items, answers, strict=True)):
        if index in bad:
            continue
        url = f"/v1/joint-types/{name}/settings"
        question = {key: asked[key] for key in ("joint", "fixture", "hand")}
        alone = client.post(url, json=question).json
        assert alone is not None
        assert _texts(answer["settings"]) == _texts(alone)
        assert _numbers(answer["settings"]) == pytest.approx(_numbers(alone), abs=1e-9)
        assert ("feasibility" in answer) == (asked["want"] == "both")


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


def _leaves(value: Any) -> list[Any]:
    if isinstance(value, dict):
        return [leaf for k, v in value.items() for leaf in (k, *_leaves(v))]
    if isinstance(value, list):
        return [leaf for v in value for leaf in _leaves(v)]
    return [value]


def _texts(value: Any) -> list[Any]:
    """All that is no float: names, texts, whole numbers, true, false and null."""
    return [leaf for leaf in _leaves(value) if type(leaf) is not float]


def _numbers(value: Any) -> list[float]:
    return [leaf for leaf in _leaves(value) if type(leaf) is float]


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
    def placements(self: Any) -> Any:
        if self.width_mm > 100:
            raise ZeroDivisionError
        return cls.__base__.placements(self)  # type: ignore[union-attr]  # it has a base

    cls = slotted(placements=placements)
    wide, narrow = {"width_mm": 200.0}, {"width_mm": 50.0}
    items = [
        {"joint_type": "slotted", "want": "settings", "joint": joint, "fixture": "porch"}
        for joint in (narrow, wide, narrow)
    ]
    answers = _batch(serving(cls), items)
    assert [a["status"] for a in answers] == [200, 502, 200]
    assert "slotted" in answers[1]["problem"]["title"]
