"""The Python client's questions about pieces and fixtures, against the real service.

The expected answers are the library's own, since the client only carries them; what has a source
of its own is the bench's drawing: seat 430, footprint 1040 by 480 (the demo's, invented).
"""

from __future__ import annotations

import json
import tomllib
from importlib.resources import files
from typing import Any

import pytest

import jointgeo
from jointgeo.fixture_parts import fixture_parts
from jointgeo.pieces import piece_type, piece_types, solve_piece
from jointgeo.proof import fit_piece
from jointgeo_client import Client, ProblemError

from .support import Service

NAME = "splayed_bench"
BENCH: dict[str, Any] = piece_type(NAME).examples()[0].to_dict()
WORK = {"name": "bench", "piece_type": NAME, "piece": BENCH}


@pytest.fixture
def client(service: Service) -> Client:
    return Client(service.url)


def test_the_piece_types_are_the_librarys(client: Client) -> None:
    assert [t["name"] for t in client.piece_types()["piece_types"]] == list(piece_types())
    assert client.piece_type(NAME)["examples"][0] == BENCH
    with pytest.raises(ProblemError) as refused:
        client.piece_type("a/b")
    assert refused.value.status == 404


def test_a_piece_comes_back_whole_and_goes_together(client: Client) -> None:
    answer = client.piece(NAME, BENCH, "porch")
    assert fit_piece(answer).goes_together
    # What was drawn, by hand; rounding of floats.
    assert answer["measured_mm"]["height"] == pytest.approx(430, abs=1e-6)
    expected = solve_piece(
        piece_type(NAME).from_dict(BENCH).piece(), jointgeo.load_fixture("porch")
    )
    assert answer["settings"] == json.loads(json.dumps(expected.to_dict()))["settings"]
    assert client.piece(NAME, BENCH, client.fixture("porch"), "closing", "as_drawn")["frames"]


def test_rows_and_single_values(client: Client) -> None:
    rows = client.piece_table(NAME, "cut-list", BENCH, "porch")
    assert [(r["count"], r["name"]) for r in rows] == [
        (2, "rail"), (4, "leg"), (2, "end stretcher"), (1, "long stretcher"),
    ]  # fmt: skip
    blank = client.piece_value(NAME, "cut-list", "members.leg.blank_mm", BENCH, "porch")
    assert blank == rows[1]["blank_mm"]
    with pytest.raises(ProblemError) as refused:
        client.piece_value(NAME, "cut-list", "members.wing.blank_mm", BENCH, "porch")
    assert refused.value.status == 422


def test_a_piece_file_and_a_batch(client: Client) -> None:
    path = files("jointgeo") / "data" / "pieces" / "porch-set" / "porch-planter.toml"
    planter = tomllib.loads(path.read_text("utf-8"))
    marks = client.piece_file(planter, "porch", "marks")
    items = [
        {"piece": planter, "fixture": "porch", "want": "marks", "id": "planter"},
        {"piece_type": NAME, "piece": {}, "fixture": "porch", "want": "marks"},
    ]
    good, bad = client.piece_batch(items)
    assert (good.id, good.status, good.answer, good.problem) == ("planter", 200, marks, None)
    assert (bad.status, bad.answer) == (422, None)
    assert bad.problem is not None
    assert "piece.seat_height_mm" in str(bad.problem)


def test_fixtures_to_be_changed_and_built(client: Client) -> None:
    found = client.fixture_changes([WORK], "porch", [{"change": "beam_out"}], room_mm=30, plans=40)
    assert found["falls_short"] == ["bodies", "front_beam"]
    assert (found["room_mm"], found["most_plans"]) == (30, 40)
    cells = client.compare_fixtures([WORK], ["porch", client.fixture("porch")], [30])["cells"]
    assert [c["work"] for c in cells] == ["bench", "bench"]
    same = client.fixture_gains([WORK], "porch", client.fixture("porch"))
    assert [w["change"] for w in same["works"]] == ["same"]
    parts = client.fixture_parts("porch", ["swivel_slots"], {"screw_mm": 8})
    expected = fixture_parts(jointgeo.load_fixture("porch"), None, ["swivel_slots"]).to_dict()
    values = [[f["value"] for f in p["figures"]] for p in (parts["parts"][0], expected["parts"][0])]
    assert values[0] == values[1]  # 8 mm is what stands in
    assert client.fixture_parts("porch")["left_out"]
