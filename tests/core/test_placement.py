"""Bars that stand in a room: where the drawing is laid, and what cannot be joined so."""

from __future__ import annotations

import math
from typing import Any

import attrs
import pytest

from jointgeo.errors import InputError
from jointgeo.geometry.vectors import Vec, X, Y, Z
from jointgeo.joints.drawing import Bar, Drawing, Notch, Plane
from jointgeo.joints.placement import Placement, placement_of

from .bars import bridle, leg, rail

TINY = 1e-9  # mm, or a share of 1: rounding over some metres

#: A quarter turn about Z, X to Y, and a move.
ROOM = Placement((Y, -X, Z), Vec(1000.0, 200.0, -30.0))


def near(expected: tuple[float, ...]) -> Any:
    return pytest.approx(expected, abs=TINY)


def test_a_point_is_turned_and_then_moved() -> None:
    assert ROOM.way(Vec(1, 2, 3)) == (-2, 1, 3)
    assert ROOM.place(Vec(1, 2, 3)) == (998, 201, -27)
    there = ROOM.bar(rail())
    assert (there.grain, there.face, there.edge) == (-X, -Y, -Z)
    assert there.middle == (1150, 200, 20)
    assert (there.width, there.name) == (100, "rail")


def test_the_drawing_is_laid_on_the_bar_and_the_mate_says_how_far_along() -> None:
    """The leg begins 70 mm further down than it was drawn; the joint stays at the rail."""
    there = ROOM.bar(leg())
    begun = attrs.evolve(there, middle=there.middle + Z * 70, length=430)
    found = placement_of(bridle(), begun, ROOM.bar(rail()))
    assert [*found.axes, found.at] == [near(v) for v in (*ROOM.axes, ROOM.at)]


@pytest.mark.parametrize(
    "marked",
    [
        {"edge": Z},
        {"grain": X, "middle": ROOM.bar(rail()).middle + X * -300},
        {"middle": ROOM.bar(rail()).middle + X * 55},
        {"length": 3000},
    ],
)
def test_a_mate_that_is_only_laid_out_is_the_same_wood(marked: dict[str, Any]) -> None:
    mate = attrs.evolve(ROOM.bar(rail()), **marked)
    found = placement_of(bridle(), ROOM.bar(leg()), mate)
    assert found.at == near(ROOM.at)


@pytest.mark.parametrize("marked", [{"edge": Z}, {"grain": X}])
def test_a_mate_that_is_cut_or_handed_is_not(marked: dict[str, Any]) -> None:
    mate = attrs.evolve(ROOM.bar(rail()), **marked)
    lap = Notch("lap", "rail", Plane(-Y, 150.0), X, ((0.0, 30.0, 40.0),))
    handed = bridle(bars=(leg(), rail(handed=True)))
    for drawing in (attrs.evolve(bridle(), notches=(lap,)), handed):
        with pytest.raises(InputError, match="rail: stands at another angle"):
            placement_of(drawing, ROOM.bar(leg()), mate)


def turned(bar: Bar, degrees: float) -> Bar:
    """About its own grain."""
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return attrs.evolve(bar, face=bar.face * c + bar.edge * s, edge=bar.edge * c - bar.face * s)


@pytest.mark.parametrize(
    ("drawing", "bar", "mate", "says"),
    [
        (bridle(), leg(), rail(width=100.2), "rail: has another width; given 0.2 mm off"),
        (bridle(), leg(), rail(thickness=21), "rail: has another thickness; given 1 mm off"),
        (bridle(), leg(), turned(rail(), 1), "rail: stands at another angle than this joint"),
        (
            bridle(),
            leg(),
            rail(middle=Vec(0.087, -150, 50)),
            "rail: passes at another distance than this joint can have; given 0.087 mm off",
        ),
        (bridle(), leg(edge=X), rail(), "leg: has its face edge on the other side"),
    ],
)
def test_what_cannot_be_joined_is_named_with_the_amount(
    drawing: Drawing, bar: Bar, mate: Bar, says: str
) -> None:
    with pytest.raises(InputError) as caught:
        placement_of(drawing, bar, mate)
    assert says in str(caught.value)
