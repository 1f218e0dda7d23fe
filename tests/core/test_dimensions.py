"""What a dimension measures: known drawings in, number and sign out; places that are none."""

from __future__ import annotations

import math
from typing import Any

import attrs
import pytest

from jointgeo.errors import PluginError
from jointgeo.geometry.vectors import INF, Plane, Vec, X, Y, Z
from jointgeo.joints.dimensions import (
    Cross,
    Length,
    Meet,
    Middle,
    Turn,
    deg,
    dimensions,
    mm,
    used_planes,
    value,
)
from jointgeo.joints.drawing import Bar, Drawing, Notch
from jointgeo.joints.pockets import groove, housing, mortise

from .bars import bridle, leg, rail

TINY = 1e-9  # mm or degree: rounding

SOCKET = mortise(rail(), "face_side", "mortise", Vec(-10, 5, 30), 40, 8, 12)
X_WALLS = "rail/mortise.x1", "rail/mortise.x2"
CHEEKS = "leg/slot.cheek1", "leg/slot.cheek2"


@pytest.mark.parametrize(
    ("dimension", "expected"),
    [
        (Length("leg.face_edge", "leg.back_edge"), 60),
        (Length("leg.back", "leg.face_side"), 40),
        (Length("rail.near", "rail.far"), 300),
        # A slot from -10.5 to 10, 100 deep.
        (Length(*CHEEKS), 20.5),
        (Length("leg/slot.end", "leg/slot.floor"), 100),
        # The rail's 20 mm less the 4 mm of its housing.
        (Length("rail.face_side.floor", "rail.back.floor"), 16),
        (Length(*CHEEKS, minus=("rail.face_side", "rail.back")), 0.5),
        (Length(*CHEEKS, minus=("rail.face_side", "rail.back"), times=2), 1),
        # Walls of a mortise of 40 × 8 × 12 mm.
        (Length(*X_WALLS), 8),
        (Length("rail/mortise.z1", "rail/mortise.z2"), 40),
        (Length("rail.face_side", "rail/mortise.y2"), 12),
        # Half way between its walls, 30 mm below the top.
        (Length("rail.face_edge", Middle(*X_WALLS)), 30),
        # The leg's centre line comes to the top at X = 0; the face side is at -10.
        (Length(Meet("leg.centre", "rail.face_edge"), "rail.face_side", towards="rail.back"), -10),
        (Length(Meet("leg.centre", "rail.face_edge"), "rail.face_side", towards="leg.edge"), None),
        # With a sign, towards the side named.
        (Length("rail.face_side", "rail.back", towards="rail.back"), 20),
        (Length("rail.back", "rail.face_side", towards="rail.back"), -20),
        # From one face to the other's along its centre line, and along an arris.
        (Length("rail.back_edge", "leg.far", along="leg.centre"), 400),
        (Length("rail.back_edge", "leg.far", along=("leg.face_side", "leg.face_edge")), 400),
    ],
)
def test_a_length_by_hand(dimension: Length, expected: float | None) -> None:
    let_in = housing(rail(), "face_side", Vec(-10, 0, 0), Z, 40, 4)
    drawing = bridle(pockets=(SOCKET, let_in))
    if expected == 16:  # the mortise is deeper than the housing
        drawing = bridle(pockets=(let_in,))
    if expected is None:
        with pytest.raises(PluginError, match="cannot be measured on the drawing"):
            value(dimension, drawing)
        return
    assert value(dimension, drawing) == pytest.approx(expected, abs=TINY)


def leaning(along: float, across: float) -> Drawing:
    """The leg leans by so many degrees along the rail, to its back, and across, to +X."""
    grain = Vec(math.tan(math.radians(across)), math.tan(math.radians(along)), 1.0).unit
    face = (X ^ grain).unit
    return bridle(bars=(leg(grain=grain, face=face, edge=face ^ grain), rail()), notches=())


ALONG = Turn("rail.back_edge", "leg.grain", seen="rail.face_side", towards="leg.back")
ACROSS = Turn("rail.back_edge", "leg.grain", seen="rail.grain", towards="rail.back")


@pytest.mark.parametrize("angles", [(12, 8), (-12, 8), (12, -8), (0, 0), (50, -40)])
def test_a_turn_is_that_of_its_view_alone(angles: tuple[float, float]) -> None:
    """Seen square on the lean along shows and nothing of the lean across, and the reverse."""
    drawing = leaning(*angles)
    for hand in (drawing, drawing.mirrored):
        assert value(ALONG, hand) == pytest.approx(angles[0], abs=TINY)
        assert value(ACROSS, hand) == pytest.approx(angles[1], abs=TINY)


def test_two_planes_cross_in_the_line_that_is_turned_to() -> None:
    """The leg's face side meets the rail's lower edge level; turned by 20° about Y it rises."""
    a = math.radians(20)
    grain, edge = Vec(math.sin(a), 0.0, math.cos(a)), Vec(-math.cos(a), 0.0, math.sin(a))
    turned = bridle(bars=(leg(grain=grain, edge=edge), rail()), notches=())
    rise = Turn(
        "leg.back_edge",
        Cross("leg.face_side", "rail.back_edge"),
        seen="leg.face_side",
        towards="leg.grain",
    )
    # The line is along X; in the leg it leans towards the grain, by as much as the leg leans.
    assert value(rise, turned) == pytest.approx(20, abs=TINY)
    assert value(attrs.evolve(rise, towards="leg.grain"), turned.mirrored) == pytest.approx(
        20, abs=TINY
    )
    # The same line either way round.
    swapped = attrs.evolve(rise, end=Cross("rail.back_edge", "leg.face_side"))
    assert value(swapped, turned) == pytest.approx(20, abs=TINY)


def test_a_place_off_a_leaning_line_keeps_its_sign_and_all_of_its_length() -> None:
    """The rail's side is not square to what says which way is positive; 7 mm stay 7."""
    moved = attrs.evolve(leg(), middle=Vec(7.0, 0.0, 0.0))
    drawing = bridle(bars=(moved, rail()), notches=())
    off = Length(Meet("leg.centre", "rail.face_edge"), Middle("rail.face_side", "rail.back"))
    for towards, expected in (("leg.face_edge", 7.0), ("leg.back_edge", -7.0)):
        found = value(attrs.evolve(off, towards=towards), drawing)
        assert found == pytest.approx(expected, abs=TINY)
    a = math.radians(30)
    grain, edge = Vec(math.sin(a), 0.0, math.cos(a)), Vec(-math.cos(a), 0.0, math.sin(a))
    steep = Bar("leg", 60, 40, 500, grain, -Y, edge, Vec(7.0, 0.0, 0.0))
    found = value(
        attrs.evolve(off, towards="leg.face_edge"), bridle(bars=(steep, rail()), notches=())
    )
    assert found == pytest.approx(7.0, abs=TINY)


def test_cheeks_have_the_same_numbers_on_either_hand() -> None:
    """The left of three cheeks is 7 mm from the face edge, and still is in the mirror."""
    notch = Notch("slot", "leg", Plane(-Z, 0.0), X, ((-23.0, -9.0, 20.0), (4.0, INF, 20.0)))
    drawing = bridle(notches=(notch,))
    for hand in (drawing, drawing.mirrored):
        found = [value(Length("leg.face_edge", f"leg/slot.cheek{n}"), hand) for n in (1, 2, 3)]
        assert found == pytest.approx([7, 21, 34], abs=TINY)


@pytest.mark.parametrize(
    "dimension",
    [
        Length("leg.face_side", "leg.face_edge"),
        Length("post.face_side", "leg.back"),
        Length("leg.left", "leg.back"),
        Length("leg/notch.end", "leg.near"),
        Length("leg/slot.cheek3", "leg.back_edge"),
        Length("leg/slot.floor2", "leg.near"),
        Length("rail.near", "leg.far", along="leg.centre"),
        Length("leg.face_side", Meet("leg.centre", "rail.face_edge")),
        Turn("leg.grain", "leg.face_side", seen="leg.grain", towards="leg.back"),
        Turn(Cross("leg.grain", "leg.grain"), "leg.back", seen="leg.grain", towards="leg.back"),
    ],
)
def test_what_cannot_be_measured_names_the_dimension(dimension: Any) -> None:
    with pytest.raises(PluginError, match="cannot be measured on the drawing"):
        value(dimension, bridle())


def test_the_planes_that_a_dimension_is_taken_from() -> None:
    drawing = bridle(pockets=(SOCKET,))
    found = used_planes(Length("rail.near", Middle(*CHEEKS)), drawing)
    assert found == [("leg", (X, -10.5)), ("leg", (-X, -10))]
    found = used_planes(ALONG, drawing)
    assert found == [("rail", (Z, 100))]
    lines = Turn("leg.back", Cross("leg.face_side", "rail.back_edge"), "leg.back", "leg.grain")
    assert [bar for bar, _ in used_planes(lines, drawing)] == ["leg", "leg", "rail"]


def test_only_fields_that_say_so_have_a_dimension() -> None:
    @attrs.frozen
    class Sample:
        wide_mm: float = mm("Width", 1, 9, Length("leg.face_edge", "leg.back_edge"), default=5.0)
        lean_deg: float = deg("Lean", -9, 9, ALONG, default=0.0)
        free_mm: float = mm("Anything", 0, default=1.0)

    assert dimensions(Sample) == {
        "wide_mm": Length("leg.face_edge", "leg.back_edge"),
        "lean_deg": ALONG,
    }


def test_a_groove_lets_its_side_in() -> None:
    drawing = bridle(pockets=(groove(rail(), "back", "groove", Vec(10, 0, 40), 6, 7),))
    assert value(Length("rail.back", "rail.back.floor"), drawing) == pytest.approx(7, abs=TINY)
    assert value(Length("rail.face_side", "rail.face_side.floor"), drawing) == 0
