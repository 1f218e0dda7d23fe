"""One end of a blank: trim, end face, corners, and the lines a person marks on it.

Knows notches and plain geometry; no fixture and no clamping. All lengths in
millimetres, in the part's stock frame (z = 0 at the length datum, see ``joints.stock``).

Theory. The four long edges of the stock are lines along z. A plane of the notch's
frame at depth d meets the edge through (x, y) at

    z = o_z + (d - q_zx·(x - o_x) - q_zy·(y - o_y)) / q_zz

so every corner, trim line and shoulder line is one expression. The trim plane (d = 0)
must clear the square end: the blank reaches below the datum until the plane stands
``trim_extra_mm`` (square to itself) above the end's highest corner.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TypeAlias

from jointgeo.geometry.rotations import Vector, dot
from jointgeo.joints.stock import StockNotch

__all__ = [
    "Corner",
    "Polygon",
    "allowance_mm",
    "corner_points",
    "end_pieces",
    "extent_across",
    "heights",
    "least_across",
    "point_across",
    "section",
    "trim_depth_mm",
]

_TINY = 1e-12
_TINY_MM = 1e-9

Corner: TypeAlias = tuple[float, float]
Polygon: TypeAlias = list[Vector]


def section(width_mm: float, thickness_mm: float) -> tuple[Corner, Corner, Corner, Corner]:
    """Corners of the section: (0, 0), (w, 0), (w, t), (0, t)."""
    w, t = width_mm, thickness_mm
    return (0.0, 0.0), (w, 0.0), (w, t), (0.0, t)


def heights(
    normal: Vector, origin: Vector, depth_mm: float, corners: Sequence[Corner]
) -> tuple[float, ...]:
    """z where the plane at ``depth_mm`` meets each long edge; normal is q_z."""
    a, b, c = normal
    x, y, z = origin
    return tuple(z + (depth_mm - (a * (u - x) + b * (v - y))) / c for u, v in corners)


def trim_depth_mm(normal: Vector, corners: Sequence[Corner], extra_mm: float) -> float:
    """Trim plane above the lowest corner of the square end, square to the plane."""
    a, b, _ = normal
    along = [a * x + b * y for x, y in corners]
    return max(along) - min(along) + extra_mm


def allowance_mm(
    normal: Vector, origin: Vector, corners: Sequence[Corner], extra_mm: float
) -> float:
    """How far the blank's square end lies beyond the length datum, along z."""
    return extra_mm / normal[2] - min(heights(normal, origin, 0.0, corners))


def corner_points(notch: StockNotch, depth_mm: float, corners: Sequence[Corner]) -> Polygon:
    """The four corners of the section made by the notch's plane at ``depth_mm``."""
    z = heights(notch.rows[2], notch.at, depth_mm, corners)
    return [(x, y, up) for (x, y), up in zip(corners, z, strict=True)]


def point_across(notch: StockNotch, point: Vector) -> float:
    """A point's coordinate along q_x, from the notch's origin."""
    x, y, z = notch.at
    return dot(notch.rows[0], (point[0] - x, point[1] - y, point[2] - z))


def extent_across(
    notch: StockNotch, end: Sequence[Vector], low_mm: float, high_mm: float
) -> tuple[float, float]:
    """Least and greatest q_x coordinate of the wood between two depths of the notch.

    end: corners of the trimmed end. Deeper by d, each long edge lies further by d·q_xz / q_zz.
    """
    across = [point_across(notch, p) for p in end]
    lean = notch.rows[0][2] / notch.rows[2][2]
    shifts = lean * low_mm, lean * high_mm
    return min(across) + min(shifts), max(across) + max(shifts)


def least_across(notch: StockNotch, sense: float, pieces: list[Polygon]) -> float:
    """Least of sense·q_x over the trimmed end face as earlier notches leave it.

    ``sense`` is +1 or -1; pieces: from ``end_pieces``. Returns the coordinate from the
    notch's origin.
    """
    return min(sense * point_across(notch, p) for piece in pieces for p in piece)


def end_pieces(end: Polygon, earlier: tuple[StockNotch, ...]) -> list[Polygon]:
    """The trimmed end face less what earlier notches have taken: convex polygons.

    The end face is a convex polygon; an earlier notch leaves strips of it between its
    channels.
    """
    pieces = [end]
    for before in earlier:
        axis, strips = before.rows[0], _between(before)
        pieces = [_strip(p, axis, lo, hi) for p in pieces for lo, hi in strips]
        # A strip of no width is no wood: a cut that ends at the very side leaves none there.
        pieces = [p for p in pieces if p and _width(p, axis) > _TINY_MM]
    return pieces or [end]  # nothing of the end is left; the corner is where it was


def _width(polygon: Polygon, axis: Vector) -> float:
    along = [dot(axis, p) for p in polygon]
    return max(along) - min(along)


def _between(notch: StockNotch) -> list[tuple[float, float]]:
    """What stands between a notch's channels, along its q_x from the stock's origin."""
    base = dot(notch.rows[0], notch.at)
    bounds = [-math.inf]
    for c in sorted(notch.channels, key=lambda c: c.low):
        if base + c.low <= bounds[-1]:  # overlaps the channel before it, or lies inside it
            bounds[-1] = max(bounds[-1], base + c.high)
        else:
            bounds += [base + c.low, base + c.high]
    bounds.append(math.inf)
    return [(lo, hi) for lo, hi in zip(bounds[::2], bounds[1::2], strict=True) if lo < hi]


def _strip(polygon: Polygon, axis: Vector, low: float, high: float) -> Polygon:
    """The part of a convex polygon with low ≤ axis·p ≤ high."""
    for sign, bound in ((1.0, low), (-1.0, -high)):
        if not polygon or not math.isfinite(bound):
            continue
        side = [sign * dot(axis, p) - bound for p in polygon]
        kept: Polygon = []
        for i, here in enumerate(polygon):
            j = (i + 1) % len(polygon)
            if side[i] >= -_TINY:
                kept.append(here)
            if (side[i] > 0) != (side[j] > 0) and abs(side[i] - side[j]) > _TINY:
                part, (x, y, z) = side[i] / (side[i] - side[j]), here
                u, v, w = polygon[j]
                kept.append((x + (u - x) * part, y + (v - y) * part, z + (w - z) * part))
        polygon = kept
    return polygon
