"""The two axes as a person sees them turn, and places about them in polar marks.

Knows the fixture and plane geometry. Both turn clockwise for a positive angle: the swivel as you
face the plate (u is X, v is Z), the tilt as seen from the fixture's right-hand end (u is Y, away
from you, v is Z). Marks: radius from the axis, and an angle clockwise from straight up at the pivot
or from straight down at the hinge, which is towards you; turning by a adds a to it.
"""

from __future__ import annotations

from math import atan2, cos, degrees, hypot, pi, radians, sin

import attrs

from jointgeo.fixtures.model import Fixture
from jointgeo.geometry.flat import Point
from jointgeo.geometry.swept import Bow

__all__ = ["Axis", "axis_of", "band"]

SEEN = {
    "swivel": "from where you stand, facing the plate",
    "tilt": "from the fixture's right-hand end, you stand at its left",
}


@attrs.frozen
class Axis:
    """name: "swivel" or "tilt". zero_rad: where its marks count from, anticlockwise from u."""

    name: str
    centre: Point
    zero_rad: float
    min_deg: float
    max_deg: float

    @property
    def seen_from(self) -> str:
        return SEEN[self.name]

    def rad(self, mark_deg: float) -> float:
        """A mark's angle anticlockwise from u."""
        return self.zero_rad - radians(mark_deg)

    def at(self, radius: float, mark_deg: float) -> Point:
        angle = self.rad(mark_deg)
        return self.centre[0] + radius * cos(angle), self.centre[1] + radius * sin(angle)

    def marks(self, point: Point) -> tuple[float, float]:
        """Radius and mark of a point, the mark in (-180°, 180°]."""
        u, v = point[0] - self.centre[0], point[1] - self.centre[1]
        mark = -degrees(atan2(v, u) - self.zero_rad)
        mark = (mark + 180.0) % 360.0 - 180.0
        return hypot(u, v), 180.0 if mark == -180.0 else mark


def axis_of(fixture: Fixture, name: str) -> Axis:
    """The "swivel" or the "tilt"."""
    if name == "swivel":
        s = fixture.swivel
        return Axis(name, (s.pivot_x_mm, s.pivot_z_mm), pi / 2, s.min_deg, s.max_deg)
    t = fixture.tilt
    return Axis(name, (t.hinge_y_mm, t.hinge_z_mm), -pi / 2, t.min_deg, t.max_deg)


def band(
    axis: Axis, radius: float, half: float, start_deg: float, end_deg: float
) -> tuple[Bow, ...]:
    """All within ``half`` of an arc between two marks: a slot, or one grown by its wall."""
    high, low = axis.rad(start_deg), axis.rad(end_deg)
    cap = axis.at(radius, end_deg), axis.at(radius, start_deg)
    inner = () if half >= radius else (Bow(axis.centre, radius - half, high, low),)
    return (
        Bow(axis.centre, radius + half, low, high),
        Bow(cap[1], half, high, high + pi),
        *inner,
        Bow(cap[0], half, low + pi, low + 2 * pi),
    )
