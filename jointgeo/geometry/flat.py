"""Convex polygons in a plane, in plain floats.

Knows ``math`` only. A point is (u, v), a polygon its corners, anticlockwise with u to the right
and v up; turns are positive anticlockwise.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import atan2, cos, hypot, radians, sin
from typing import TypeAlias

__all__ = ["Point", "Polygon", "Side", "area", "box_polygon", "overlap", "sides", "turned"]

Point: TypeAlias = tuple[float, float]
Polygon: TypeAlias = Sequence[Point]
#: (angle of the outward normal in radians, distance of the side's line from the centre,
#: start, end), as seen from a centre.
Side: TypeAlias = tuple[float, float, Point, Point]


def turned(points: Polygon, about: Point, turn_deg: float) -> list[Point]:
    c, s = cos(radians(turn_deg)), sin(radians(turn_deg))
    u, v = about
    return [(u + c * (x - u) - s * (y - v), v + s * (x - u) + c * (y - v)) for x, y in points]


def area(points: Polygon) -> float:
    """Positive where the corners run anticlockwise."""
    total = 0.0
    for (a, b), (c, d) in zip(points, [*points[1:], points[0]], strict=True):
        total += a * d - b * c
    return total / 2


def box_polygon(low: Point, high: Point) -> list[Point]:
    (a, b), (c, d) = low, high
    return [(a, b), (c, b), (c, d), (a, d)]


def sides(points: Polygon, centre: Point) -> list[Side]:
    """Sides of a convex polygon as seen from ``centre``; a distance is negative where the centre
    lies outside that side. Sides of no length are left out."""
    u, v = centre
    out = []
    for a, b in zip(points, [*points[1:], points[0]], strict=True):
        x, y = b[1] - a[1], a[0] - b[0]
        long = hypot(x, y)
        if long > 1e-12:
            out.append((atan2(y, x), (x * (a[0] - u) + y * (a[1] - v)) / long, a, b))
    return out


def overlap(first: Polygon, second: Polygon) -> float:
    """How deep two convex polygons lie in each other along the side that parts them best;
    negative where they are apart."""
    found = float("inf")
    for one, other in ((first, second), (second, first)):
        for angle, far, *_ in sides(one, (0.0, 0.0)):
            x, y = cos(angle), sin(angle)
            found = min(found, far - min(x * u + y * v for u, v in other))
    return found
