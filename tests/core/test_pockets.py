"""Mortises, grooves, housings and bevels: where they lie and what a person marks, by hand."""

from __future__ import annotations

import math

import pytest

from jointgeo.errors import PluginError
from jointgeo.geometry.vectors import Plane, Vec, X, Y, Z
from jointgeo.joints.drawing import Block
from jointgeo.joints.pockets import bevel, groove, housing, mortise

from .bars import leg, rail

TINY = 1e-9  # mm or degree: rounding


def reach(block: Block, way: Vec) -> tuple[float, float]:
    """From where to where a box reaches along a direction."""
    half = sum(
        abs(axis @ way) * size / 2 for axis, size in zip(block.axes, block.size, strict=True)
    )
    return block.middle @ way - half, block.middle @ way + half


def test_a_mortise_goes_into_its_side_and_runs_along_the_grain() -> None:
    """Into the rail's face side at X = -10; 8 mm wide about Z = 30, so 26 mm from the top."""
    made = mortise(rail(), "face_side", "mortise", Vec(-10, 5, 30), 40, 8, 12)
    assert reach(made.block, X) == pytest.approx((-10, 2), abs=TINY)
    assert reach(made.block, Y) == pytest.approx((-15, 25), abs=TINY)
    assert reach(made.block, Z) == pytest.approx((26, 34), abs=TINY)
    assert made.marks == {
        "length_mm": 40,
        "width_mm": 8,
        "depth_mm": 12,
        "from_face_edge_mm": pytest.approx(26, abs=TINY),
    }
    assert (made.bar, made.side) == ("rail", "face_side")


def test_a_mortise_in_an_edge_is_gauged_from_the_face_side() -> None:
    """Into the top at Z = 0; X from -3 to 5, so 7 mm behind the face side at X = -10. A point
    that is not quite on the side counts by its place along it."""
    made = mortise(rail(), "face_edge", "mortise", Vec(1, 5, -4), 40, 8, 12)
    assert reach(made.block, Z) == pytest.approx((0, 12), abs=TINY)
    assert made.marks["from_face_side_mm"] == pytest.approx(7, abs=TINY)
    assert "from_face_edge_mm" not in made.marks


def test_a_groove_runs_the_whole_bar_and_out_of_it() -> None:
    made = groove(rail(), "face_side", "groove", Vec(-10, 99, 30), 6, 4)
    assert reach(made.block, Y) == pytest.approx((-151, 151), abs=TINY)
    assert reach(made.block, X) == pytest.approx((-10, -6), abs=TINY)
    assert reach(made.block, Z) == pytest.approx((27, 33), abs=TINY)
    assert made.marks == {"width_mm": 6, "depth_mm": 4}


def test_a_groove_reaches_the_tip_of_an_end_that_leans_far() -> None:
    """100 wide; an end that leans 40 along for 10 down and crosses the middle line 145 out has its
    tip 50·4 = 200 further on, at 345."""
    end = Plane.through(Vec(0, 145, 50), Vec(0, 1, 4).unit)
    made = groove(rail(), "face_side", "groove", Vec(-10, 0, 30), 6, 4, [end])
    assert reach(made.block, Y) == pytest.approx((-346, 346), abs=TINY)
    assert made.marks == {"width_mm": 6, "depth_mm": 4}


@pytest.mark.parametrize("lean", [3, -3])
def test_a_housing_leans_along_the_grain_and_leaves_no_skin(lean: float) -> None:
    """Down Z by 4 for 3 along the rail: 36.870° off square; 20 mm wide is 25 mm along the edge."""
    made = housing(rail(), "face_side", Vec(-10, 0, 0), Vec(0, lean, 4), 20, 5)
    assert made.marks["from_square_deg"] == pytest.approx(math.copysign(36.870, lean), abs=0.0005)
    assert made.marks["width_mm"] == 20
    assert made.marks["width_along_the_edge_mm"] == pytest.approx(25, abs=TINY)
    assert made.marks["depth_mm"] == 5
    # From the rail's beginning at Y = -150 to where the middle crosses the top edge.
    assert made.marks["middle_at_top_edge_mm"] == pytest.approx(150, abs=TINY)
    assert reach(made.block, X) == pytest.approx((-10, -5), abs=TINY)
    way, across = made.block.axes[0], made.block.axes[2]
    assert way == pytest.approx((0, lean / 5, 0.8), abs=TINY)
    # All four corners that its two sides have with the rail's edges lie within its length.
    for z in (0, 100):
        for side in (-10, 10):
            middle_there = Vec(-8, 0, 0) + Vec(0, lean, 4) * (z / 4)
            corner = middle_there + Vec(0, math.copysign(side / 0.8, lean), 0)
            off = corner - made.block.middle
            assert abs(off @ way) < made.block.size[0] / 2
            assert abs(off @ across) == pytest.approx(10, abs=TINY)


def test_housings_that_are_none() -> None:
    with pytest.raises(PluginError, match="lies on face side or back, not on face_edge"):
        housing(rail(), "face_edge", Vec(0, 0, 0), Z, 20, 5)
    with pytest.raises(PluginError, match="from the face edge to the back edge"):
        housing(rail(), "back", Vec(10, 0, 0), -Z, 20, 5)


def lean(degrees: float, up: float) -> Vec:
    """Out of the rail's back edge (up = 1) or face edge (-1), leaning to the back by degrees."""
    a = math.radians(degrees)
    return Vec(math.sin(a), 0.0, math.cos(a)) * up


@pytest.mark.parametrize(
    ("edge", "up", "at"), [("back_edge", 1, Vec(0, 0, 95)), ("face_edge", -1, Vec(0, 0, 5))]
)
def test_a_bevel_is_positive_where_it_leans_from_the_face_side(
    edge: str, up: float, at: Vec
) -> None:
    """The rail's face side is at -X. 20 mm thick at 10°: 20·tan 10° = 3.527 mm of width. Two
    parallel bevels have one sign."""
    for angle in (10.0, -10.0):
        made = bevel(rail(), edge, "rim", Plane.through(at, lean(angle, up)))
        assert made.marks["bevel_deg"] == pytest.approx(angle, abs=TINY)
        assert made.marks["extra_width_mm"] == pytest.approx(3.527, abs=0.0005)
        # All that is outside goes, nothing inside.
        inner = made.block.middle @ lean(angle, up) - made.block.size[2] / 2
        assert inner == pytest.approx(at @ lean(angle, up), abs=TINY)
        assert made.block.size[1] > rail().length


def test_a_bevel_reaches_the_tips_of_ends_that_lean_past_the_bars_own_length() -> None:
    """The rail is 300 mm long, 100 wide and 20 thick. An end through its datum at 80° off square
    has its tip 50·tan 80° = 283.56 mm before it: 433.56 from the middle, within 450 of a box three
    times as long. At 82° it is 355.77 before it and 505.77 from the middle; 1 mm more is taken."""
    top = Plane(Z, 95.0)
    for angle, reached in ((80.0, 450.0), (82.0, 506.77)):
        a = math.radians(angle)
        end = Plane.through(rail().middle, Y * -math.cos(a) + Z * math.sin(a))
        made = bevel(rail(), "back_edge", "rim", top, [end])
        far = rail().length / 2
        middle = rail().middle @ rail().grain + far
        assert reach(made.block, rail().grain) == pytest.approx(
            (middle - reached, middle + reached), abs=0.005
        )
        assert made.marks == bevel(rail(), "back_edge", "rim", top).marks


def test_a_bevel_at_the_other_edge_is_refused() -> None:
    with pytest.raises(PluginError, match="rim: its plane does not look out of the back_edge"):
        bevel(leg(), "back_edge", "rim", Plane(-X, 0.0))
