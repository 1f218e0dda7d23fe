"""A bridle's leg turned about its own length, and off the rail's middle."""

from __future__ import annotations

import math
from typing import Any

import attrs
import pytest

from jointgeo.errors import InputError
from jointgeo.geometry.vectors import Vec
from jointgeo.joints.registry import joint_type
from jointgeo.joints.stock import parts
from jointgeo.solution.solution import solve
from jointgeo.types.splayed_bridle import SplayedBridle

from .by_hand import packing_deg
from .samples import fixture_with

EXACT = 1e-9  # mm or degree: rounding only


def leg(**changes: Any) -> SplayedBridle:
    base = attrs.evolve(SplayedBridle.examples()[0], rail_thickness_mm=22, fit_mm=0)
    return attrs.evolve(base, **changes)


@pytest.mark.parametrize("turn", [1.0, -1.0, 5.0])
def test_a_turned_leg_needs_packing_of_its_turn(turn: float) -> None:
    """Swivel and tilt are those of the leg that is not turned: the slot lies in the same way along
    the grain, and only the sides stand otherwise."""
    plain, turned = (solve(leg(leg_turn_deg=t), fixture_with()).setups[0] for t in (0.0, turn))
    assert abs(turned.packing_deg) == pytest.approx(abs(turn), abs=EXACT)
    assert (turned.swivel_deg, turned.tilt_deg) == pytest.approx(
        (plain.swivel_deg, plain.tilt_deg), abs=EXACT
    )
    (notch,) = parts(leg(leg_turn_deg=turn).drawing)[0].notches
    assert packing_deg(notch) == pytest.approx(abs(turn), abs=EXACT)


def test_a_turn_is_positive_from_face_side_to_face_edge() -> None:
    """An upright leg whose face side looks to -Y and its face edge to -X: turned by 30° the face
    side looks along (-sin 30°, -cos 30°)."""
    upright = leg(splay_along_deg=0, splay_across_deg=0, leg_turn_deg=30)
    face = upright.drawing.bars[0].face
    assert (face - Vec(-0.5, -math.sqrt(3) / 2, 0)).length == pytest.approx(0, abs=EXACT)


def test_an_offset_is_positive_towards_the_rails_back() -> None:
    """The leg moves, the slot stays on the rail: its left wall 66/2 + 5 - 11 = 27 mm thick."""
    upright = leg(splay_along_deg=0, splay_across_deg=0, leg_offset_mm=5)
    bar, rail = upright.drawing.bars
    assert bar.middle @ -rail.face == pytest.approx(5, abs=EXACT)
    (cut,) = solve(upright, fixture_with()).setups[0].cuts
    assert sorted((cut.left_mm, 66 - cut.right_mm)) == pytest.approx([17, 27], abs=EXACT)
    wall = next(c for c in upright.checks() if c.name == "slot_wall")
    assert wall.value == pytest.approx(17, abs=EXACT)


def test_a_turned_leg_is_not_let_in() -> None:
    with pytest.raises(InputError) as caught:
        attrs.evolve(SplayedBridle.examples()[0], leg_turn_deg=1)
    (problem,) = caught.value.problems
    assert problem.field == "leg_turn_deg"
    assert "tongue_thickness_mm = rail_thickness_mm = 30 mm" in str(problem.allowed)


def test_bars_in_a_room_show_turn_and_offset() -> None:
    """A leg that is turned 5° and stands 3 mm off its rail, wherever the two stand."""
    drawn = leg(leg_turn_deg=5, leg_offset_mm=3)
    bar, rail = drawn.drawing.bars
    found, _ = joint_type("splayed_bridle").between(bar, rail, tongue_thickness_mm=22)
    assert found.to_dict()["leg_turn_deg"] == pytest.approx(5, abs=EXACT)
    assert found.to_dict()["leg_offset_mm"] == pytest.approx(3, abs=EXACT)
