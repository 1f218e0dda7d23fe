"""The settings' JSON: its names, the sides a person reads, heights, marks, and its drawing."""

from __future__ import annotations

import json
from typing import Any, ClassVar

import attrs
import numpy as np
import pytest

from jointgeo.errors import PluginError
from jointgeo.fixtures.model import Fixture
from jointgeo.joints.sides import clamped_sides, edge_names, opposite, other_edge
from jointgeo.joints.stock import LayoutBox, Part
from jointgeo.plugin import INF, Notch, Plane, X, Z
from jointgeo.solution.drawing_form import drawing_form
from jointgeo.solution.serialise import end_settings
from jointgeo.solution.solution import solve

from .rebuild import agree_on_the_wood, quarter_turns
from .samples import Sample, fixture_with, notch_at, part_at, solved, turn

EXACT = 1e-9


def told(part: Part, fixture: Fixture | None = None) -> dict[str, Any]:
    return end_settings(solved(part, fixture or fixture_with()), aids=True)


def outward(side: str, x_from: str) -> np.ndarray:
    """A marked side's outward normal in stock coordinates: x runs from ``x_from``."""
    if side in ("face_side", "back"):
        return np.array([0, -1.0 if side == "face_side" else 1.0, 0])
    return np.array([-1.0 if side == x_from else 1.0, 0, 0])


@pytest.mark.parametrize("side", [0, 1, 2, 3])
@pytest.mark.parametrize("x_from", ["face_edge", "back_edge"])
def test_sides_are_where_the_rotation_puts_them(side, x_from) -> None:
    sides = clamped_sides(side, x_from)
    ways = {"plate": [0, 1, 0], "you": [0, -1, 0], "left": [-1, 0, 0], "right": [1, 0, 0]}
    for where, way in ways.items():
        lies = turn(0, 0, 0, side) @ outward(sides[where], x_from)
        np.testing.assert_allclose(lies, way, rtol=0, atol=1e-12)
    assert opposite(sides["plate"]) == sides["you"]
    assert quarter_turns(sides["plate"], x_from) == side


def test_the_other_end_and_the_mirror_image_count_from_the_other_edge() -> None:
    assert other_edge("face_edge") == "back_edge"
    assert other_edge("back_edge") == "face_edge"


@pytest.mark.parametrize("side", [0, 1, 2, 3])
@pytest.mark.parametrize("x_from", ["face_edge", "back_edge"])
@pytest.mark.parametrize("fence", ["left", "right"])
@pytest.mark.parametrize("feed", ["towards_plate", "away_from_plate"])
@pytest.mark.parametrize("sense", ["towards_plate", "away_from_plate"])
def test_a_setup_names_plate_fence_and_exit_by_marked_sides(
    side, x_from, fence, feed, sense
) -> None:
    """A disc's teeth leave on the side its top moves to, whichever way it is fed."""
    fixture = fixture_with({"fence.side": fence, "feed.sense": feed, "cutter.0.top_moves": sense})
    (setup,) = told(part_at(7, 11, side=side, x_from=x_from), fixture)["setups"]
    rotation = turn(7, 11, 0, side)
    assert (rotation @ outward(setup["against_plate"], x_from))[1] > 0.9
    to_fence = (rotation @ outward(setup["against_fence"], x_from))[0]
    assert to_fence * (-1 if fence == "left" else 1) > 0.9
    leaves = (rotation @ outward(setup["exit_side"], x_from))[1]
    assert leaves * (1 if sense == "towards_plate" else -1) > 0.9


def test_a_setup_by_hand() -> None:
    """60 × 30 mm stock, 400 mm finished, upright, a slot of 10 mm, 20 mm deep, in its middle."""
    found = told(part_at())
    assert found["stock"] == {
        "width_mm": 60,
        "thickness_mm": 30,
        "length_mm": 401,
        "x_from": "face_edge",
    }
    (setup,) = found["setups"]
    assert setup["for"] == [{"member": "piece", "end": "near", "hand": "as_drawn", "count": 1}]
    assert (setup["swivel_deg"], setup["tilt_deg"], setup["packing_deg"]) == (0, 0, 0)
    assert setup["packing"] is None
    assert setup["trim_mm"] == 1
    # 1 mm of trim, 20 mm of slot, 3 mm of clearance below the plate's edge.
    assert setup["overhang_mm"] == pytest.approx(24, abs=EXACT)
    # The datum stands at -400: the trimmed end at -23 is 377 above it, the floor 397.
    heights = setup["cutter_height_mm"]
    assert heights["datum"] == "the rails"
    assert heights["trim"] == pytest.approx(377, abs=EXACT)
    at = pytest.approx(397, abs=EXACT)  # in one step, which is all it is
    assert heights["cuts"] == [{"depth_mm": 20, "height": at, "steps": [at]}]
    assert setup["touch_off"]["machine_x_mm"] == pytest.approx(-20, abs=EXACT)
    assert setup["touch_off"]["cut_away_mm"] == pytest.approx(0, abs=EXACT)
    assert (setup["cutter"], setup["kerf_mm"]) == ("disc", 6)
    (cut,) = setup["cuts"]
    assert (cut["left_mm"], cut["right_mm"], cut["depth_mm"]) == (25, 35, 20)
    assert [p["travel_mm"] for p in cut["passes"]] == [31, 35]
    # 31 mm on a screw of 4 mm: 7 turns and 3 mm, 60 of its 80 divisions.
    assert [(p["turns"], p["divisions"]) for p in cut["passes"]] == [(7, 60), (8, 60)]
    assert [c["chosen"] for c in setup["candidates"]] == [True, False]


@pytest.mark.parametrize("x_from", ["face_edge", "back_edge"])
def test_a_second_setup_counts_from_the_corner_that_the_first_one_left(x_from, rng) -> None:
    """Two pairs of cuts askew to each other: each has wood of the end's own corner to take."""
    moved = []
    for _ in range(10):
        frame = turn(*rng.uniform(-25, 25, size=2))
        second = turn(0, 0, rng.choice([70.0, 110.0, -70.0])) @ frame
        pair = ((-np.inf, -9, 20), (9, np.inf, 20))
        notches = tuple(notch_at(q, [30, 15, 0], pair) for q in (frame, second))
        part = attrs.evolve(part_at(x_from=x_from), notches=notches)
        made = told(part)
        agree_on_the_wood(part, made, rng)
        moved.append(made["setups"][1]["touch_off"]["cut_away_mm"])
    # The corner has moved to the right, and never to the left.
    assert min(moved) >= -EXACT
    assert max(moved) > 1.0


@pytest.mark.parametrize("x_from", ["face_edge", "back_edge"])
def test_marks_are_where_the_planes_meet_the_long_edges(x_from, rng) -> None:
    """On the machine every mark of a line stands at one height: the trim's, or the floor's."""
    for _ in range(20):
        angles = [*rng.uniform(-40, 40, size=2), rng.uniform(-15, 15)]
        part = part_at(*angles, x_from=x_from, channels=[(-5, 5, 20), (10, np.inf, 12)])
        found = told(part)
        (setup,) = found["setups"]
        side = quarter_turns(setup["against_plate"], x_from)
        rotation = turn(setup["swivel_deg"], setup["tilt_deg"], setup["packing_deg"], side)
        square = np.array([[x, y, 0] for x in (0, 60) for y in (0, 30)], dtype=float)
        trimmed = float((square @ rotation[2]).min()) + setup["trim_mm"]
        depth = {"trim": 0.0, "floor": 20.0, "shoulder": 12.0}
        assert {m["line"] for m in found["marks"]} == set(depth)
        for mark in found["marks"]:
            for edge, z in mark["at_mm"].items():
                at_zero = edge.endswith(x_from)
                point = [0.0 if at_zero else 60.0, 0.0 if edge.startswith("face_side") else 30.0, z]
                height = float(rotation[2] @ point)
                assert height == pytest.approx(trimmed + depth[mark["line"]], abs=EXACT)


def test_edge_names_go_round_with_the_corners() -> None:
    assert edge_names("face_edge") == (
        "face_side_face_edge",
        "face_side_back_edge",
        "back_back_edge",
        "back_face_edge",
    )
    assert edge_names("back_edge")[0] == "face_side_back_edge"


def test_what_is_measured_with_calipers() -> None:
    """Two slots of 10 and 8 mm with 12 mm of wood between them, 20 and 15 mm deep."""
    part = part_at(channels=[(-20, -10, 20), (2, 10, 15)])
    told_of = [(v["what"].partition(": ")[2], v["expected_mm"]) for v in told(part)["verify"]]
    found = dict(told_of)
    expected = {
        "wood left between cut 1 and cut 2, square across": 12,
        "width of cut 1, square across": 10,
        "width of cut 2, square across": 8,
    }
    assert {k: found[k] for k in expected} == pytest.approx(expected, abs=EXACT)
    assert sorted(v for what, v in told_of if "depth" in what) == [15, 20]


def test_layout_and_poses_are_told_from_the_blank() -> None:
    """A joint type counts from its datum; the sheet from the blank's end, 1 mm further out."""
    rows = (
        (1.0, 0.0, 0.0, 30.0),
        (0.0, 1.0, 0.0, 15.0),
        (0.0, 0.0, 1.0, 100.0),
        (0.0, 0.0, 0.0, 1.0),
    )
    box = LayoutBox("pocket", rows, (10, 10, 10), "face_side", {})
    found = told(attrs.evolve(part_at(), layout=(box,)))
    assert np.array(found["layout"][0]["frame"])[:3, 3] == pytest.approx([30, 15, 101], abs=EXACT)
    settings = solve(Sample(swivel_deg=0, tilt_deg=0), fixture_with()).to_dict()
    placed, _ = settings["assembly"]
    assert np.array(placed["pose"])[:3, 3] == pytest.approx([0, 0, -1], abs=EXACT)


def test_settings_of_a_third_partys_joint_are_whole() -> None:
    settings = solve(Sample(), fixture_with()).to_dict()
    assert set(settings) >= {"joint_type", "fixture", "parts", "drawing", "assembly", "notes"}
    assert (settings["joint_type"], settings["fixture"]) == ("sample", "sample")
    (setup,) = settings["parts"][0]["setups"]
    assert setup["swivel_deg"] == pytest.approx(10, abs=EXACT)
    assert setup["tilt_deg"] == pytest.approx(5, abs=EXACT)
    image = solve(Sample(), fixture_with(), "mirrored").to_dict()
    (setup,) = image["parts"][0]["setups"]
    assert setup["swivel_deg"] == pytest.approx(-10, abs=EXACT)
    assert setup["tilt_deg"] == pytest.approx(5, abs=EXACT)
    assert setup["for"][0]["hand"] == "mirrored"
    json.dumps(image, allow_nan=False)


# The drawing in the settings, and what is none ---------------------------------------------


def test_the_drawing_is_told_in_the_joints_world() -> None:
    """Upright, a slot from -5 to 5 about the middle of 60 mm, 20 mm deep; the mate is not cut."""
    told_of = solve(Sample(swivel_deg=0, tilt_deg=0), fixture_with()).to_dict()["drawing"]
    piece, mate = told_of["bars"]
    assert (piece["name"], piece["size_mm"]) == ("piece", [60, 30, 400])
    np.testing.assert_allclose(piece["pose"], np.eye(4), rtol=0, atol=EXACT)
    assert (mate["name"], mate["size_mm"]) == ("mate", [80, 40, 500])
    (slot,) = told_of["notches"]
    assert (slot["name"], slot["bar"]) == ("slot", "piece")
    np.testing.assert_allclose(slot["end"]["normal"], [0, 0, -1], rtol=0, atol=EXACT)
    assert slot["end"]["at_mm"] == pytest.approx(0, abs=EXACT)
    np.testing.assert_allclose(slot["across"], [1, 0, 0], rtol=0, atol=EXACT)
    assert slot["channels"] == [
        {"low_mm": 25.0, "high_mm": 35.0, "depth_mm": 20, "gap_mm": 0.0},
    ]
    assert (told_of["pockets"], told_of["empty"], told_of["slides"]) == ([], [], {})


def test_a_bound_that_runs_out_of_the_wood_is_null() -> None:
    notch = Notch("slot", "piece", Plane(-Z, 0.0), X, [(-INF, 35.0, 20.0)], gap=0.2)
    drawing = attrs.evolve(Sample().drawing, notches=(notch,))
    (channel,) = drawing_form(drawing)["notches"][0]["channels"]
    assert channel == {"low_mm": None, "high_mm": 35.0, "depth_mm": 20.0, "gap_mm": 0.2}


@attrs.frozen
class NoDrawing(Sample):
    """Hands over something else."""

    name: ClassVar[str] = "no_drawing"
    given: ClassVar[Any] = None

    def draw(self) -> Any:
        return type(self).given


@pytest.mark.parametrize("given", [None, {}, 5, "drawing", [], True, Sample().drawing.bars])
@pytest.mark.parametrize("hand", ["as_drawn", "mirrored"])
def test_what_is_no_drawing_is_the_types_fault(monkeypatch, given, hand) -> None:
    monkeypatch.setattr(NoDrawing, "given", given)
    with pytest.raises(PluginError, match=r"no_drawing .*draw"):
        solve(NoDrawing(), fixture_with(), hand).to_dict()
