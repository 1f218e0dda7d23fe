"""Fixtures to be changed and built, over HTTP: the library's answers, within bounds.

The bench and the six-sided planter are the demo's (invented); that what is found is enough, and the
least, is tested on the library. Here: that it is the same, and what a service adds to it.
"""

from __future__ import annotations

import json
import time
import tomllib
from importlib.resources import files
from typing import Any

import attrs
import pytest
from flask.testing import FlaskClient

import jointgeo
from jointgeo.fixture_changes import allowed, what_would_do
from jointgeo.fixture_parts import Wanted, fixture_parts
from jointgeo.fixtures.file import named_digest
from jointgeo.fixtures.text import fixture_tables
from jointgeo.pieces import piece_type, solve_piece
from jointgeo_service import change_work, limits

PORCH = jointgeo.load_fixture("porch")
BENCH = piece_type("splayed_bench").examples()[0]
BENCH_WORK = {"name": "bench", "piece_type": "splayed_bench", "piece": BENCH.to_dict()}
#: The bench fits the porch fixture, and no longer with a beam 20 mm nearer.
NEAR = attrs.evolve(
    PORCH,
    name="porch-near",
    front_beam=tuple(
        attrs.evolve(b, face_distance_mm=b.face_distance_mm - 20) for b in PORCH.front_beam
    ),
)


def _plain(fixture: Any) -> dict[str, Any]:
    plain: dict[str, Any] = fixture_tables(fixture)
    return plain


def _demo(*names: str) -> dict[str, Any]:
    path = files("jointgeo").joinpath("data", *names)
    return tomllib.loads(path.read_text("utf-8"))


def _fields(answer: Any) -> dict[str, str]:
    assert answer.status_code == 422, answer.text
    return {e["field"]: e["message"] for e in answer.json["errors"]}


def test_what_would_help_is_what_the_library_finds(client: FlaskClient) -> None:
    question = {
        "works": [BENCH_WORK],
        "fixture": _plain(NEAR),
        "allow": [
            {"change": "beam_out", "most": 100, "price": 2},
            {"change": "backing_thinner", "once": 0},
        ],
        "pairs": False,
        "room_mm": 1,
    }
    answer = client.post("/v1/fixture-changes", json=question)
    assert answer.status_code == 200
    outs = [allowed("beam_out", b.name, most=100.0, price=2.0) for b in NEAR.front_beam]
    thin = allowed("backing_thinner", most=NEAR.backing.thickness_mm, once=0.0)
    found = what_would_do(
        [solve_piece(BENCH.piece(), NEAR)], NEAR, [*outs, thin], room_mm=1, pairs=False
    ).to_dict()
    own = {"most_plans": limits.PLANS, "edition": None}  # a whole fixture has none
    assert answer.json == json.loads(json.dumps(found)) | own
    assert "front_beam" in answer.json["falls_short"]
    alone = [o["changes"][0] for o in answer.json["options"] if len(o["changes"]) == 1]
    change = next(c for c in alone if c["change"] == "beam_out")
    assert 0 < change["amount_mm"] <= 20 + 1 + 1e-6  # back where it was, and 1 mm of room more


def test_joints_jobs_and_piece_files_are_works_too(client: FlaskClient) -> None:
    tenon = jointgeo.joint_type("angled_tenon").examples()[0].to_dict()
    works = [
        {"joint_type": "angled_tenon", "joint": tenon, "hand": "mirrored"},
        {"piece": _demo("pieces", "porch-set", "porch-planter.toml")},
        {"job": _demo("jobs", "porch-joints", "bench.toml")},
    ]
    question = {"works": works, "fixtures": ["porch", _plain(NEAR)], "thicknesses_mm": [30, 60]}
    answer = client.post("/v1/fixture-comparisons", json=question)
    assert answer.status_code == 200, answer.text
    cells = answer.json["cells"]
    assert [(c["work"], c["fixture"]) for c in cells] == [
        (f"work {i}", name) for i in (1, 2, 3) for name in ("porch", "porch-near")
    ]
    for porch, near in zip(cells[::2], cells[1::2], strict=True):
        if "front_beam" in porch["least"]:
            # At no tilt by 20 mm exactly; a tilt turns the beam's gap, never to more than 20.
            assert porch["least"]["front_beam"] > near["least"]["front_beam"]
    thin, thick = answer.json["envelope"]
    assert thin["thickness_mm"] == 30
    assert all(t is None or t > 0 for t in (*thin["tilt_deg"], *thick["tilt_deg"]))


def test_gains_say_what_a_change_spoils(client: FlaskClient) -> None:
    question = {"works": [BENCH_WORK], "before": "porch", "after": _plain(NEAR)}
    answer = client.post("/v1/fixture-gains", json=question).json
    assert [(w["work"], w["change"]) for w in answer["works"]] == [("bench", "lost")]
    assert "front_beam" in answer["works"][0]["after"]["fails"]
    back = client.post(
        "/v1/fixture-gains", json=question | {"before": _plain(NEAR), "after": "porch"}
    ).json
    assert back["works"][0]["change"] == "gained"


def test_a_search_is_bounded_and_says_so(
    client: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    question = {"works": [BENCH_WORK], "fixture": _plain(NEAR), "plans": 3}
    answer = client.post("/v1/fixture-changes", json=question).json
    assert (answer["plans_tried"], answer["whole"], answer["most_plans"]) == (3, False, 3)
    monkeypatch.setattr(change_work, "SEARCH_SECONDS", 0)
    began = time.monotonic()
    answer = client.post("/v1/fixture-changes", json=question | {"plans": 100}).json
    assert (answer["plans_tried"], answer["whole"]) == (0, False)
    assert time.monotonic() - began < 10  # a busy machine keeps it; our choice
    most = limits.MOST_PLANS + 1
    found = _fields(client.post("/v1/fixture-changes", json=question | {"plans": most}))
    assert found == {"plans": "is too large"}
    works = [BENCH_WORK] * (limits.WORKS + 1)
    found = _fields(client.post("/v1/fixture-changes", json=question | {"works": works}))
    assert found == {"works": "is too long or short"}
    found = _fields(client.post("/v1/fixture-changes", json=question | {"works": works[:10]}))
    assert found == {"works": "cut too many ends"}
    count = limits.PAIRS // len(NEAR.front_beam)  # as many as one question may bring otherwise
    bodies = [_plain(NEAR)["body"][0] | {"name": f"body {i}"} for i in range(count)]
    wide = _plain(NEAR) | {"body": bodies}
    found = _fields(client.post("/v1/fixture-changes", json=question | {"fixture": wide}))
    assert found == {"fixture": "makes too many pairs"}


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"works": []}, "works"),
        ({"works": [{}]}, "works[0]"),
        ({"works": [{"joint": {}}]}, "works[0].joint_type"),
        ({"works": [{"joint": {}, "joint_type": "glue"}]}, "works[0].joint.joint_type"),
        ({"works": [BENCH_WORK | {"job": {}}]}, "works[0]"),
        ({"works": [BENCH_WORK | {"joint_type": "angled_tenon"}]}, "works[0].joint_type"),
        ({"works": [BENCH_WORK, BENCH_WORK | {"piece": {"a": 1}}]}, "works[1].piece.a"),
        ({"works": [{"job": {"title": 3}}]}, "works[0].job.title"),
        ({"fixture": "patio"}, "fixture"),
        ({"allow": [{"change": "paint"}]}, "allow[0].change"),
        ({"allow": [{"change": "beam_out", "target": "moon"}]}, "allow[0].target"),
        ({"allow": [{"change": "beam_out", "price": -1}]}, "allow[0].price"),
        ({"allow": [{"change": "cutter"}]}, "allow[0].cutter"),
        ({"allow": [{"change": "cutter", "cutter": {"name": 3}}]}, "allow[0].cutter.name"),
        ({"room_mm": -1}, "room_mm"),
        ({"pairs": 1}, "pairs"),
        ({"colour": "red"}, "colour"),
    ],
)
def test_every_field_at_fault_is_named(
    client: FlaskClient, change: dict[str, Any], field: str
) -> None:
    question = {"works": [BENCH_WORK], "fixture": "porch"} | change
    assert field in _fields(client.post("/v1/fixture-changes", json=question))


def test_fixtures_in_lists_are_named_by_their_place(client: FlaskClient) -> None:
    question: dict[str, Any] = {"works": [BENCH_WORK], "fixtures": ["porch", "patio", 3, None]}
    found = _fields(client.post("/v1/fixture-comparisons", json=question))
    assert set(found) == {"fixtures[1]", "fixtures[2]", "fixtures[3]"}
    question = {"works": [BENCH_WORK], "before": "patio", "after": {"name": 3}}
    found = _fields(client.post("/v1/fixture-gains", json=question))
    assert {"before", "after.name"} <= set(found)
    question = {"works": [BENCH_WORK], "fixtures": ["porch"], "thicknesses_mm": [0, "x"]}
    found = _fields(client.post("/v1/fixture-comparisons", json=question))
    assert set(found) == {"thicknesses_mm[0]", "thicknesses_mm[1]"}


def test_a_cutter_may_be_allowed(client: FlaskClient) -> None:
    cutter = _plain(PORCH)["cutter"][0] | {"name": "another"}
    question = {
        "works": [BENCH_WORK],
        "fixture": _plain(NEAR),
        "allow": [{"change": "cutter", "cutter": cutter}, {"change": "beam_out"}],
        "plans": 20,
    }
    assert client.post("/v1/fixture-changes", json=question).status_code == 200


def test_parts_are_those_of_the_library(client: FlaskClient) -> None:
    edition = {"edition": named_digest("porch")[:6]}
    whole = json.loads(json.dumps(fixture_parts(PORCH).to_dict())) | edition
    assert client.get("/v1/fixture-parts?fixture=porch").json == whole
    posted = {"fixture": _plain(PORCH), "wanted": {"screw_mm": 6}, "parts": ["swivel_slots"]}
    answer = client.post("/v1/fixture-parts", json=posted).json
    asked = fixture_parts(PORCH, Wanted(screw_mm=6), ["swivel_slots"])
    assert answer == json.loads(json.dumps(asked.to_dict())) | {"edition": None}
    query = "fixture=porch&part=swivel_slots&screw_mm=6"
    assert client.get(f"/v1/fixture-parts?{query}").json == answer | edition
    inches = client.get("/v1/fixture-parts?fixture=porch&part=swivel_slots&screw_in=1/4").json
    figures = {f["name"]: f["value"] for f in inches["parts"][0]["figures"]}
    assert figures["screw_mm"] == pytest.approx(6.35, abs=1e-9)  # an inch is 25.4 mm


def test_parts_in_cells(client: FlaskClient) -> None:
    url = "/v1/fixture-parts?fixture=porch&part=swivel_slots"
    pick = "parts.swivel_slots.figures.slot_1_chord_mm.value"
    (part,) = fixture_parts(PORCH, None, ["swivel_slots"]).parts
    got = client.get(f"{url}&shape=value&pick={pick}")
    assert float(got.text) == part["slot_1_chord_mm"]
    table = client.get(f"{url}&shape=csv").text.splitlines()
    assert table[0] == "part,name,value,unit,source"
    assert len(table) == 1 + len(part.figures)
    wrong = client.get(f"{url}&screw_mm=-1&cells=1").text
    assert wrong.startswith("# screw_mm is too small")


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"wanted": {"screw_mm": 0}}, "wanted.screw_mm"),
        ({"wanted": {"hole": [{"across_mm": 1}]}}, "wanted.hole[0].up_mm"),
        ({"wanted": {"min_deg": 0, "max_deg": 0.01}, "parts": ["swept"]}, "wanted.max_deg"),
        ({"parts": ["leg"]}, "parts[0]"),
        ({"parts": []}, "parts"),
        ({"wanted": 3}, "wanted"),
        ({"fixture": 3}, "fixture"),
    ],
)
def test_parts_name_what_is_wrong(client: FlaskClient, change: dict[str, Any], field: str) -> None:
    assert field in _fields(client.post("/v1/fixture-parts", json={"fixture": "porch"} | change))
