"""How far one convex body can turn before it meets another.

Knows ``flat`` only; exact, nothing is stepped.

Theory. Two polygons first meet with a corner of one on a side of the other: between two straight
sides the angle of turn that is left is acos(d/r) apart at the distance r, which is monotone in r,
so its least value stands at an end of a side, which is a corner. A corner at radius r and angle b
comes to the line at distance d in the direction a where its angle is a ± acos(d/r), and meets the
side if that point lies on it.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import acos, atan2, cos, degrees, hypot, inf, pi, sin

from jointgeo.geometry.flat import Point, Polygon, overlap, sides, turned

__all__ = ["swing_until"]

ON_IT = 1e-9  # mm: a corner at the end of a side
TOUCHING = 1e-9  # radians


def swing_until(
    moving: Polygon, fixed: Polygon, about: Point, most_deg: float = 360.0
) -> float | None:
    """The greatest anticlockwise turn (degrees) of ``moving`` before it meets ``fixed``.

    Turn both the other way round by mirroring them. None where they do not meet up to
    ``most_deg``; 0 where they stand in each other, or touch and the turn presses them together.
    """
    if overlap(moving, fixed) > ON_IT:
        return 0.0
    least = inf
    for turn in _meetings(moving, fixed, about):
        if min(turn, 2 * pi - turn) < TOUCHING:
            if overlap(turned(moving, about, 1e-3), fixed) > 0:
                return 0.0
        else:
            least = min(least, turn)
    found = degrees(least)
    return found if found <= most_deg else None


def _meetings(moving: Polygon, fixed: Polygon, about: Point) -> Iterator[float]:
    """Turns in [0, 2π) that bring a corner on to a side."""
    for corner in moving:
        for there, own in _crossings(corner, fixed, about):
            yield (there - own) % (2 * pi)
    for corner in fixed:
        for there, own in _crossings(corner, moving, about):
            yield (own - there) % (2 * pi)


def _crossings(corner: Point, body: Polygon, about: Point) -> Iterator[tuple[float, float]]:
    """(angle at which a corner's circle crosses a side of the body, the corner's own angle)."""
    u, v = about
    r, own = hypot(corner[0] - u, corner[1] - v), atan2(corner[1] - v, corner[0] - u)
    for across, far, a, b in sides(body, about):
        if abs(far) > r:
            continue
        half = acos(far / r) if r > 0 else 0.0
        along = -sin(across), cos(across)
        start, end = (along[0] * (p[0] - u) + along[1] * (p[1] - v) for p in (a, b))
        for sign in (-1.0, 1.0):
            if start - ON_IT <= sign * r * sin(half) <= end + ON_IT:
                yield across + sign * half, own
