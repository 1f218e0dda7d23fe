"""Whole pieces over HTTP: the same answers as the library's, from which a piece can be rebuilt.

Bench (seat 430, footprint 1040 by 480, invented) and planter are the demo's. What is right is
proven elsewhere; here it is held against the library, and solids cut from the JSON alone.
"""

from __future__ import annotations

import csv
import io
import json
import os
import time
import tomllib
from collections.abc import Callable
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

import jointgeo
from jointgeo.errors import PluginError
from jointgeo.pieces import piece_type, piece_types, solve_piece
from jointgeo.proof import fit_piece
from jointgeo_service import limits, piece_batches, piece_budgets
from jointgeo_service.apart import Apart
from jointgeo_service.piece_work import FORMS

TYPES = sorted(piece_types())
BENCH = piece_type("splayed_bench").examples()[0].to_dict()
URL = "/v1/piece-types/splayed_bench"
QUESTION = {"piece": BENCH, "fixture": "porch"}


def _planter() -> dict[str, Any]:
    path = files("jointgeo") / "data" / "pieces" / "porch-set" / "porch-planter.toml"
    return tomllib.loads(path.read_text("utf-8"))


def _flat(parameters: dict[str, Any]) -> dict[str, str]:
    return {
        name: str(value).lower() if isinstance(value, bool) else str(value)
        for name, value in parameters.items()
        if value is not None
    }


def _fields(answer: Any) -> dict[str, str]:
    assert answer.status_code == 422, answer.text
    assert answer.mimetype == "application/problem+json"
    return {e["field"]: e["message"] for e in answer.json["errors"]}


def test_every_piece_type_is_listed_with_examples(client: FlaskClient) -> None:
    listed = client.get("/v1/piece-types").json
    assert [t["name"] for t in listed["piece_types"]] == TYPES
    assert listed["refused"] == []
    for name in TYPES:
        one = client.get(f"/v1/piece-types/{name}").json
        assert one["examples"] == [e.to_dict() for e in piece_type(name).examples()]
    missing = client.get("/v1/piece-types/sofa")
    assert missing.status_code == 404
    assert missing.json["errors"][0]["allowed"] == "one of " + ", ".join(TYPES)


@pytest.mark.parametrize("name", TYPES)
def test_a_piece_is_rebuilt_from_the_answer_alone(client: FlaskClient, name: str) -> None:
    """Cut bar by bar from the JSON and put up: nothing overlaps, faces meet, the height holds."""
    example = piece_type(name).examples()[0]
    question = {"piece": example.to_dict(), "fixture": "porch"}
    answer = client.post(f"/v1/piece-types/{name}/answer", json=question)
    assert answer.status_code == 200
    fit = fit_piece(answer.json)
    assert fit.goes_together, [f.what for f in fit.faults]
    assert set(fit.parts) == {b["bar"] for b in answer.json["bars"]}
    low, high = fit.extents_mm.tolist()
    planed = any(bar["planed"] for bar in answer.json["bars"])
    if not planed:  # the dry fit leaves rims as they are before they are planed
        # 0.001 mm: what the solids' kernel rounds to.
        assert high[2] - low[2] == pytest.approx(answer.json["measured_mm"]["height"], abs=1e-3)


def test_the_bench_has_its_height_and_footprint(client: FlaskClient) -> None:
    tape = client.post(f"{URL}/cut-list", json=QUESTION).json["measured_mm"]
    # By hand: what was drawn, seat 430 over a footprint of 1040 by 480; rounding of floats.
    assert tape["height"] == pytest.approx(430, abs=1e-6)
    assert tape["feet, left to right"] == pytest.approx(1040, abs=1e-6)
    assert tape["feet, front to back"] == pytest.approx(480, abs=1e-6)


@pytest.mark.parametrize("want", FORMS)
def test_each_part_is_that_of_the_library(client: FlaskClient, want: str) -> None:
    answer = solve_piece(piece_type("splayed_bench").from_dict(BENCH).piece(),
                         jointgeo.load_fixture("porch"))  # fmt: skip
    whole = json.loads(json.dumps(answer.to_dict("closing", "assembly")))
    whole |= whole.pop("closing") | whole.pop("assembly")
    posted = client.post(f"{URL}/{want}", json=QUESTION)
    assert posted.status_code == 200
    for name, value in posted.json.items():
        if name in ("measured_mm", "edition"):
            continue
        if (want, name) == ("marks", "bars"):
            value = [(b["bar"], b["marks"], b["planed"]) for b in value]
            assert value == [(b["bar"], b["marks"], b["planed"]) for b in whole["bars"]]
        else:
            assert value == whole[name], name
    got = client.get(f"{URL}/{want}", query_string={**_flat(BENCH), "fixture": "porch"})
    assert got.json == posted.json


def test_marks_as_drawn_is_another_answer(client: FlaskClient) -> None:
    drawn = client.post(f"{URL}/answer", json=QUESTION | {"marks": "as_drawn"}).json
    alike = client.post(f"{URL}/answer", json=QUESTION).json
    assert len(drawn["settings"]) > len(alike["settings"])


def test_tables_for_a_spreadsheet(client: FlaskClient) -> None:
    query = {**_flat(BENCH), "fixture": "porch", "shape": "csv"}
    text = client.get(f"{URL}/cut-list", query_string=query)
    assert text.mimetype == "text/csv"
    rows = list(csv.DictReader(io.StringIO(text.text, newline="")))
    assert [(r["count"], r["name"], r["shape"]) for r in rows] == [
        ("2", "rail", "straight"),
        ("4", "leg", "parallelogram"),
        ("2", "end stretcher", "trapezoid"),
        ("1", "long stretcher", "trapezoid"),
    ]
    settings = client.get(f"{URL}/settings", query_string=query)
    passes = list(csv.DictReader(io.StringIO(settings.text, newline="")))
    whole = client.post(f"{URL}/settings", json=QUESTION).json["settings"]
    setups = {(r["setting"], r["setup"]) for r in passes}
    assert len(setups) == sum(len(end["setups"]) for end in whole)
    assert float(passes[0]["swivel_deg"]) == whole[0]["setups"][0]["swivel_deg"]
    checks = client.get(f"{URL}/feasibility", query_string=query).text.splitlines()
    assert len(checks) == 1 + len(client.post(f"{URL}/feasibility", json=QUESTION).json["checks"])
    refused = client.get(f"{URL}/marks", query_string=query)
    assert _fields(refused) == {"shape": "is not a choice"}


def test_one_number_by_its_path(client: FlaskClient) -> None:
    query = {**_flat(BENCH), "fixture": "porch", "shape": "value", "cells": "1"}
    whole = client.post(f"{URL}/cut-list", json=QUESTION).json

    def value(pick: str) -> str:
        got = client.get(f"{URL}/cut-list", query_string=query | {"pick": pick})
        assert (got.status_code, got.mimetype) == (200, "text/plain")
        return got.text

    assert float(value("members.leg.blank_mm")) == whole["members"][1]["blank_mm"]
    assert value("members.2.count") == "4"
    assert float(value("measured_mm.leg, length")) == whole["measured_mm"]["leg, length"]
    assert value("members.5.count").startswith("# pick there is no '5' there; ")
    assert value("members").startswith("# pick does not lead to a single value")
    assert "rail, leg, end stretcher, long stretcher" in value("members.foot.count")


def test_every_field_at_fault_is_named(client: FlaskClient) -> None:
    wrong = {"piece": BENCH | {"leg_width_mm": -3, "sofa": 1}, "fixture": "patio", "marks": "odd"}
    found = _fields(client.post(f"{URL}/settings", json=wrong | {"hand": "mirrored"}))
    assert set(found) == {"piece.leg_width_mm", "piece.sofa", "fixture", "marks", "hand"}
    query = {**_flat(BENCH), "fixture": "porch", "leg_width_mm": "1_0", "nonsense": "1"}
    found = _fields(client.get(f"{URL}/settings", query_string=query))
    assert set(found) == {"leg_width_mm", "nonsense"}
    # A rule between fields, and a drawing that cannot be.
    crooked = BENCH | {"rails_apart_mm": 5}
    found = _fields(client.post(f"{URL}/answer", json=QUESTION | {"piece": crooked}))
    assert all(field.startswith("piece.") for field in found)
    query = {**_flat(BENCH), "fixture": "porch", "footprint_length_mm": "x", "cells": "1"}
    cell = client.get(f"{URL}/cut-list", query_string=query)
    assert (cell.status_code, cell.text[:21]) == (200, "# footprint_length_mm")
    assert client.get("/v1/piece-types/sofa/cut-list").status_code == 404


def test_a_piece_file_is_posted_whole(client: FlaskClient) -> None:
    question = {"piece": _planter(), "fixture": "porch"}
    answer = client.post("/v1/pieces/answer", json=question)
    assert answer.status_code == 200
    fit = fit_piece(answer.json)
    assert fit.goes_together
    assert len(fit.parts) == 4
    for want in FORMS:
        assert client.post(f"/v1/pieces/{want}", json=question).status_code == 200, want


def test_a_piece_file_names_what_is_wrong_with_it(client: FlaskClient) -> None:
    planter = _planter()
    planter["board"][0]["thickness_mm"] = -1
    planter["joint"][0]["type"] = "glue"
    found = _fields(client.post("/v1/pieces/settings", json={"piece": planter, "fixture": "porch"}))
    assert set(found) == {"piece.board[0].thickness_mm"}
    planter = _planter()
    planter["measured_mm"] = {"height": 1}
    found = _fields(client.post("/v1/pieces/settings", json={"piece": planter, "fixture": "porch"}))
    assert set(found) == {"piece.measured_mm.height"}


def test_no_file_of_the_service_is_opened(client: FlaskClient, tmp_path: Path) -> None:
    """A piece file may name its fixture by a path; here only the question's own fixture counts."""
    trap = tmp_path / "secret.toml"
    trap.write_text("this is no fixture")
    question = {"piece": _planter() | {"fixture": str(trap)}, "fixture": "porch"}
    answer = client.post("/v1/pieces/cut-list", json=question)
    assert answer.status_code == 200
    assert answer.json["fixture"] == "porch"
    assert "secret" not in answer.text
    question["fixture"] = str(trap)
    refused = client.post("/v1/pieces/cut-list", json=question)
    assert _fields(refused).keys() == {"fixture"}


def test_a_batch_answers_each_by_itself(client: FlaskClient) -> None:
    items = [
        {**QUESTION, "piece_type": "splayed_bench", "want": "cut-list", "id": "bench"},
        {"piece": _planter(), "fixture": "porch", "want": "settings"},
        {**QUESTION, "piece_type": "sofa", "want": "cut-list", "id": "sofa"},
        {"piece": {}, "fixture": "porch", "want": "marks"},
        7,
    ]
    answer = client.post("/v1/pieces/batch", json={"items": items})
    assert answer.status_code == 200
    first, second, *wrong = answer.json["items"]
    assert first == {
        "id": "bench",
        "status": 200,
        "answer": client.post(f"{URL}/cut-list", json=QUESTION).json,
    }
    assert second["answer"]["settings"]
    assert [w["status"] for w in wrong] == [422] * 3
    assert wrong[0]["problem"]["errors"][0]["field"] == "piece_type"
    assert client.post("/v1/pieces/batch", json={"items": []}).json == {"items": []}
    most = client.post("/v1/pieces/batch", json={"items": [7] * (limits.PIECES + 1)})
    assert _fields(most) == {"items": "is too long or short"}


def test_a_batch_has_its_time(client: FlaskClient, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(piece_batches, "BATCH_SECONDS", -1)
    item = {**QUESTION, "piece_type": "splayed_bench", "want": "cut-list"}
    (late,) = client.post("/v1/pieces/batch", json={"items": [item]}).json["items"]
    assert late["status"] == 503


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"bar": [{}] * (limits.PIECE_BARS + 1)}, "piece.bar"),
        ({"joint": [{}] * (limits.PIECE_JOINTS + 1)}, "piece.joint"),
        ({"symmetry": ["turned 36", "turned 35", "left_right"]}, "piece.symmetry"),
        ({"symmetry": ["turned 36"], "bar": [{}] * 8}, "piece.symmetry"),
    ],
)
def test_too_much_is_refused_before_it_is_read(
    client: FlaskClient, change: dict[str, Any], field: str
) -> None:
    began = time.monotonic()
    question = {"piece": _planter() | change, "fixture": "porch"}
    found = _fields(client.post("/v1/pieces/settings", json=question))
    assert found == {field: "makes too much work"}
    assert time.monotonic() - began < 2  # a busy machine keeps it; our choice


def test_bars_joints_and_passes_have_their_limits(
    client: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    def asked(want: str = "settings", **fixture: Any) -> dict[str, str]:
        whole = client.get("/v1/fixtures/porch").json | fixture
        body = QUESTION | {"fixture": whole}
        return _fields(client.post(f"{URL}/{want}", json=body))

    monkeypatch.setattr(piece_budgets, "PASSES", 30)
    assert asked(name="porch-1") == {"fixture.cutter": "makes too many passes"}
    monkeypatch.undo()
    monkeypatch.setattr(piece_budgets, "ASSEMBLY_JOINTS", 9)
    assert asked("assembly") == {"piece.joint": "makes too much work"}
    monkeypatch.setattr(piece_budgets, "PIECE_JOINTS", 9)
    assert asked(name="porch-2") == {"piece.joint": "makes too much work"}
    monkeypatch.setattr(piece_budgets, "PIECE_BARS", 8)
    assert asked(name="porch-3") == {"piece.bar": "makes too much work"}


SOURCE = """
import os, time
from typing import ClassVar
import attrs
from jointgeo.pieces.plugin import PieceType, choice
from jointgeo.pieces.registry import piece_type as of_name

@attrs.frozen
class Odd(PieceType):
    name: ClassVar[str] = "odd"
    summary: ClassVar[str] = "A piece that misbehaves"
    does: str = choice("What it does when it is drawn", ("nothing", "sleeps", "dies", "fails"),
                       default="nothing")

    def piece(self):
        if self.does == "sleeps":
            time.sleep(3600)
        if self.does == "dies":
            os._exit(3)
        if self.does == "fails":
            raise KeyError("no such leg")
        return of_name("splayed_bench").examples()[0].piece()

    def measured(self):
        return {}

    @classmethod
    def examples(cls):
        return (cls(),)
"""


@pytest.fixture
def beside(tmp_path: Path) -> str:
    """A PYTHONPATH with the distribution "shop-pieces 2.1" on it."""
    info = tmp_path / "shop_pieces-2.1.dist-info"
    info.mkdir()
    (info / "METADATA").write_text("Metadata-Version: 2.1\nName: shop-pieces\nVersion: 2.1\n")
    (info / "entry_points.txt").write_text("[jointgeo.piece_types]\nodd = shop_pieces:Odd\n")
    (tmp_path / "shop_pieces.py").write_text(SOURCE)
    return os.pathsep.join([str(tmp_path), *filter(None, [os.environ.get("PYTHONPATH")])])


def test_a_type_that_does_not_ship_answers_in_a_process_of_its_own(
    start: Callable[..., Any], beside: str
) -> None:
    service = start(PYTHONPATH=beside)
    post, odd = service.session.post, f"{service.url}/v1/piece-types/odd"

    def asked(does: str) -> Any:
        question = {"piece": {"does": does}, "fixture": "porch"}
        return post(f"{odd}/cut-list", json=question, timeout=60)

    assert service.session.get(odd).json()["examples"] == [{"does": "nothing"}]
    bench = post(f"{service.url}{URL}/cut-list", json=QUESTION).json()
    assert asked("nothing").json() == bench
    for does, says in (("fails", "KeyError"), ("dies", "its process ended with code 3")):
        failed = asked(does)
        assert failed.status_code == 500
        assert says in failed.json()["detail"]
        assert "odd from shop-pieces 2.1" in failed.json()["detail"]
        assert failed.json()["piece_type"] == "odd"
    # A piece file that names it is asked of the same process.
    named = {"piece": 1, "title": "Odd", "type": "odd", "parameters": {"does": "dies"}}
    file = post(f"{service.url}/v1/pieces/cut-list", json={"piece": named, "fixture": "porch"})
    assert file.json()["piece_type"] == "odd"
    assert asked("sofa").json()["errors"][0]["field"] == "piece.does"
    # And so are its pages.
    form = service.session.get(f"{service.url}/piece/odd")
    assert form.status_code == 200
    assert "<svg" in form.text
    page = service.session.get(f"{service.url}/piece/odd?does=nothing")
    assert page.status_code == 200
    assert "Feasible" in page.text
    dead = service.session.get(f"{service.url}/piece/odd?does=dies")
    assert dead.status_code == 500
    assert "The plug-in is at fault: odd from shop-pieces 2.1" in dead.text
    assert asked("nothing").json() == bench
    assert service.stop() == 0


def test_one_that_sleeps_is_ended(beside: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.syspath_prepend(beside.partition(os.pathsep)[0])
    worker = "jointgeo_service.piece_worker"
    one = Apart("odd", "shop-pieces 2.1", deadline=1.0, kind="piece type", worker=worker)
    fixture = jointgeo.load_fixture("porch")
    try:
        assert one.ask("examples", "odd") == [{"does": "nothing"}]
        with pytest.raises(PluginError) as late:
            one.ask("piece", "odd", {"does": "sleeps"}, fixture, "alike", ["cut-list"])
        assert late.value.reason == "it did not answer within 1 s and was ended"
        assert (late.value.joint_type, late.value.kind) == ("odd", "piece type")
        assert one.ask("parameters", "odd", {}) == {"does": "nothing"}
    finally:
        one.end()


def test_tables_with_tabs_have_words_for_people(client: FlaskClient) -> None:
    query = {**_flat(BENCH), "fixture": "porch", "shape": "tsv", "heading": "words"}
    answer = client.get(f"{URL}/cut-list", query_string=query)
    assert answer.mimetype == "text/tab-separated-values"
    head, *rows = (line.split("\t") for line in answer.text.split("\n"))
    assert head[:3] == ["member", "how many", "of them mirrored"]
    whole = client.post(f"{URL}/cut-list", json=QUESTION).json
    blanks = [float(row[head.index("cut the blank to (mm)")]) for row in rows]
    assert blanks == [m["blank_mm"] for m in whole["members"]]
    wrong = client.get(f"{URL}/cut-list", query_string=query | {"shape": "csv"})
    assert _fields(wrong) == {"heading": "is for shape=tsv only"}


def test_a_slip_in_a_cell_is_told_with_what_is_meant(client: FlaskClient) -> None:
    for name, says in (
        ("marcks", "# marcks is not a known name; did you mean marks?; given "),
        ("colour", "# colour is not a known name; given "),
    ):
        query = {**_flat(BENCH), "fixture": "porch", "cells": "1", name: "all"}
        text = client.get(f"{URL}/settings", query_string=query).text
        assert text.startswith(says)
        assert "allowed: one of" in text
