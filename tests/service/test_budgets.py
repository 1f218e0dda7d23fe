"""Work is bounded before it is begun: what grows faster than its text is refused by name.

Beams and bodies of one fixture stand in ``test_strictness``. Times are upper bounds that a busy
machine keeps (common practice, no published source).
"""

from __future__ import annotations

import copy
import threading
import time
from collections.abc import Callable
from typing import Any

import attrs
import pytest
from flask.testing import FlaskClient

import jointgeo
from jointgeo.joints.stock import parts
from jointgeo.planning.amount import most_passes
from jointgeo_service import batches, budgets, drawn
from jointgeo_service.app import create_app
from jointgeo_service.limits import BATCH_TIMES, DEADLINE_SECONDS, PASSES, SETTINGS, SHEETS_WAITING
from jointgeo_service.plugins import Catalogue, Known

TYPES = sorted(jointgeo.joint_types())
SAW = {"name": "saw", "kind": "disc", "diameter_mm": 250, "reach_mm": 100}


def porch(client: FlaskClient, **changes: Any) -> dict[str, Any]:
    plain = client.get("/v1/fixtures/porch").json
    assert plain is not None
    return plain | changes


def cuts(count: int) -> list[dict[str, Any]]:
    """Measured settings of both axes."""
    rows = []
    for i in range(count):
        axis, off = ("tilt", "swivel")[i % 2], 0.01 * (i % 5)
        row = {"id": f"today/{axis}/{i}", "axis": axis, "scale_deg": i % 40, "off_deg": off}
        rows.append({**row, "u_deg": 0.02})
    return rows


def thin(client: FlaskClient, kerf_mm: float) -> dict[str, Any]:
    plain = porch(client, cutter=[{**SAW, "kerf_mm": kerf_mm}])
    plain["practice"]["overlap_mm"] = kerf_mm / 2
    plain["correction"]["kerf"] = []
    return plain


def wide(examples: dict[str, Any]) -> dict[str, Any]:
    """The widest board there may be, with fingers."""
    return examples["angled_box_joint"] | {"board_width_mm": 2000, "finger_count": 99}


def ask(client: FlaskClient, name: str, joint: Any, fixture: Any) -> tuple[int, Any]:
    url = f"/v1/joint-types/{name}/settings"
    answer = client.post(url, json={"joint": joint, "fixture": fixture})
    return answer.status_code, answer.json


@pytest.mark.parametrize(("count", "status"), [(SETTINGS, 200), (SETTINGS + 1, 422)])
def test_measured_settings(
    client: FlaskClient, examples: dict[str, Any], count: int, status: int
) -> None:
    """All are held against all others: 500 of them once took minutes, in 50 kB of text."""
    fixture = porch(client, test_cut=cuts(count))
    began = time.monotonic()
    got, data = ask(client, TYPES[0], examples[TYPES[0]], fixture)
    assert time.monotonic() - began < DEADLINE_SECONDS
    assert got == status
    if status == 422:
        (error,) = data["errors"]
        assert error["field"] == "fixture.test_cut"
        assert error["allowed"] == f"at most {SETTINGS} measured settings of all kinds together"


def test_passes(client: FlaskClient, examples: dict[str, Any]) -> None:
    """Half of two boards 2,000 mm wide is cut away: with steps of 0.1 mm that is 20,000 passes, of
    0.5 mm 4,000 (by hand)."""
    status, data = ask(client, "angled_box_joint", wide(examples), thin(client, 0.2))
    assert status == 422
    (error,) = data["errors"]
    assert error["field"] == "fixture.cutter"
    assert error["allowed"] == f"at most {PASSES:,} passes, reckoned with the narrowest cutter"
    assert 20_000 <= int(error["given"].replace(",", "")) < 21_500
    began = time.monotonic()
    status, data = ask(client, "angled_box_joint", wide(examples), thin(client, 1.0))
    assert time.monotonic() - began < DEADLINE_SECONDS
    assert status == 200
    setups = [s for part in data["parts"] for s in part["setups"]]
    assert 4_000 <= sum(len(c["passes"]) for s in setups for c in s["cuts"]) < 4_400


@pytest.mark.parametrize("name", TYPES)
def test_there_are_never_more_passes_than_were_reckoned(name: str) -> None:
    """On the fixture that ships, by every one of its cutters, for every worked example."""
    porch = jointgeo.load_fixture("porch")
    for joint in jointgeo.joint_type(name).examples():
        for hand in ("as_drawn", "mirrored"):
            answer = jointgeo.solve(joint, porch, hand)
            listed = sum(len(c.passes) for s in answer.setups for c in s.cuts)
            # A joint that is only trimmed has no pass of its own.
            cuts = any(n.channels for n in joint.drawing.notches)
            assert cuts <= listed <= most_passes(parts(joint.drawing), porch)


def dearest(client: FlaskClient, examples: dict[str, Any]) -> dict[str, tuple[str, Any, Any]]:
    """The legal question that takes longest by each limit: type, joint, fixture."""
    plain = porch(client)
    body, beam = plain["body"][0], plain["front_beam"][0]
    swings = {"fixed_to": "tilt", "y_min_mm": -100, "y_max_mm": -70}
    fouls = {"face_distance_mm": 101, "z_min_mm": -400, "z_max_mm": 300, "fitted": True}
    listed = {
        "body": [{**body, **swings, "name": f"body {i}"} for i in range(20)],
        "front_beam": [{**beam, **fouls, "name": f"beam {i}"} for i in range(20)],
    }
    many = {"body": [], "front_beam": [{**beam, **fouls, "name": f"beam {i}"} for i in range(400)]}
    found: dict[str, tuple[str, Any, Any]] = {}
    for name in TYPES:
        found[f"20 beams and bodies, {name}"] = name, examples[name], plain | listed
        found[f"400 beams, {name}"] = name, examples[name], plain | many
        settings = porch(client, test_cut=cuts(SETTINGS))
        found[f"settings, {name}"] = name, examples[name], settings
    found["passes"] = "angled_box_joint", wide(examples), thin(client, 0.45)
    return found


def test_the_dearest_legal_questions_are_answered_in_time(
    client: FlaskClient, examples: dict[str, Any]
) -> None:
    """So a type that ships needs no clock: what it may be asked is what it can answer."""
    for what, (name, joint, fixture) in dearest(client, examples).items():
        began = time.monotonic()
        for want in ("settings", "feasibility"):
            url = f"/v1/joint-types/{name}/{want}"
            answer = client.post(url, json={"joint": joint, "fixture": fixture})
            assert answer.status_code == 200, (what, answer.json)
        seconds = time.monotonic() - began
        assert seconds < 2 * DEADLINE_SECONDS, what
        print(f"{what}: {seconds:.2f} s for both answers")


def test_a_batch_has_one_budget_for_all_its_items(
    client: FlaskClient, examples: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(budgets, "BATCH_TIMES", 2)
    plain = porch(client)
    body, beam = plain["body"][0], plain["front_beam"][0]
    crowd = {
        "body": [{**body, "name": f"body {i}"} for i in range(20)],
        "front_beam": [{**beam, "name": f"beam {i}"} for i in range(20)],
    }
    name = "angled_box_joint"
    cases = {
        "front beams times bodies": (examples[name], porch(client, **crowd)),
        "measured settings": (examples[name], porch(client, test_cut=cuts(SETTINGS))),
        "passes": (wide(examples), thin(client, 0.5)),  # some 8,000
    }
    for what, (joint, fixture) in cases.items():
        own = {"joint_type": name, "want": "settings", "joint": joint}
        items = [{**own, "fixture": fixture}] * 3
        items.append({**own, "joint": examples[name], "fixture": "porch"})
        answers = client.post("/v1/batch", json={"items": items}).json
        assert answers is not None
        assert [a["status"] for a in answers["items"]] == [200, 200, 422, 200], what
        (error,) = answers["items"][2]["problem"]["errors"]
        assert error["message"] == f"asks for more {what} than this batch has left"
        assert error["allowed"].startswith("at most ")


def test_a_batch_that_takes_too_long_tells_its_last_items_so(
    client: FlaskClient, examples: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(batches, "BATCH_SECONDS", 0.0)
    item = {"joint_type": TYPES[0], "want": "settings", "joint": examples[TYPES[0]]}
    answers = client.post("/v1/batch", json={"items": [{**item, "fixture": "porch"}] * 2}).json
    assert answers is not None
    assert [a["status"] for a in answers["items"]] == [503, 503]
    assert "the batch has had its time" in answers["items"][0]["problem"]["detail"]


def test_one_sheet_is_drawn_at_a_time_and_who_need_not_wait_is_sent_away(
    monkeypatch: pytest.MonkeyPatch, slotted: Callable[..., Any]
) -> None:
    drawing, at_once, most = threading.Event(), [0], [0]

    @attrs.frozen
    class Slow(Known):
        def page(self, *_: Any) -> str:
            at_once[0] += 1
            most[0] = max(most[0], at_once[0])
            drawing.wait(30)
            at_once[0] -= 1
            return "drawn"

    monkeypatch.setattr(drawn, "SHEET_WAIT_SECONDS", 30)
    cls = slotted()
    app = create_app(catalogue=Catalogue({"slotted": Slow(cls, "own 1")}, ()))
    url, got = "/sheet?joint_type=slotted&fixture=porch", []
    threads = [
        threading.Thread(target=lambda: got.append(app.test_client().get(url).status_code))
        for _ in range(1 + SHEETS_WAITING)
    ]
    for thread in threads:
        thread.start()
    for _ in range(300):
        if at_once[0]:
            break
        time.sleep(0.1)
    time.sleep(1.0)  # by now the others wait for their turns
    refused = app.test_client().get(url)
    assert refused.status_code == 503
    assert refused.headers["Retry-After"] == "10"
    assert "too many pages are being drawn" in refused.text
    assert app.test_client().get("/healthz").status_code == 200
    drawing.set()
    for thread in threads:
        thread.join()
    assert got == [200] * (1 + SHEETS_WAITING)
    assert most == [1]
    assert app.test_client().get(url).status_code == 200


def test_limits_are_told_on_the_api_page(client: FlaskClient) -> None:
    document = client.get("/openapi.json").json
    assert document is not None
    says = copy.copy(document["info"]["description"])
    for words in (
        f"{SETTINGS} measured settings",
        f"{PASSES:,} passes of a joint",
        f"{BATCH_TIMES} times as much in a batch",
    ):
        assert words in says


def test_the_log_tells_the_time_a_batch_really_took(
    start: Callable[..., Any], examples: dict[str, Any]
) -> None:
    """Its first byte is ready at once, so a line written then would tell of a few milliseconds."""
    service = start()
    item = {"joint_type": TYPES[0], "want": "both", "joint": examples[TYPES[0]], "fixture": "porch"}
    began = time.monotonic()
    assert service.session.post(f"{service.url}/v1/batch", json={"items": [item] * 100}).ok
    took = (time.monotonic() - began) * 1000
    assert service.stop() == 0
    (line,) = [x for x in service.log if x.get("route") == "/v1/batch"]
    assert took / 2 < line["ms"] <= took
