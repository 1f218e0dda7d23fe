"""Plane geometry of the drawings: hulls, clipping, hatching, and labels kept apart.

Knows numpy only; no drawing, no joint. Points are rows of arrays of shape (n, 2).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import ceil, floor, isfinite
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = [
    "Array",
    "Point",
    "between",
    "clipped",
    "hatching",
    "hull",
    "inside_box",
    "segment_in_box",
    "spread",
    "turned",
]

Array = NDArray[np.float64]
Point: TypeAlias = tuple[float, float]

#: Shorter or thinner than this (mm) is nothing on any paper.
TINY = 1e-9


def hull(points: ArrayLike) -> Array:
    """Convex hull (n, 2), counter-clockwise with v up."""
    p = np.unique(np.round(np.asarray(points, float), 9), axis=0)
    if len(p) < 3:
        return p

    def half(rows: Iterable[Array]) -> list[Array]:
        chain: list[Array] = []
        for row in rows:
            while len(chain) > 1 and _turn(chain[-2], chain[-1], row) <= TINY:
                chain.pop()
            chain.append(row)
        return chain[:-1]

    return np.array(half(p) + half(p[::-1]))


def _turn(a: Array, b: Array, c: Array) -> float:
    return float((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))


def turned(points: ArrayLike, about: ArrayLike, angle_deg: float) -> Array:
    """Points (..., 2) turned about one, positive from u towards v."""
    p, centre, a = np.asarray(points, float), np.asarray(about, float), np.radians(angle_deg)
    u, v = np.cos(a), np.sin(a)
    return np.asarray((p - centre) @ [[u, v], [-v, u]] + centre)


def clipped(polygon: ArrayLike, normal: ArrayLike, most: float) -> Array:
    """The part of a convex polygon with normal·p ≤ most; no rows where nothing is left."""
    return _rows(_clipped(_points(polygon), *_pair(normal), most))


def between(polygon: ArrayLike, normal: ArrayLike, low: float, high: float) -> Array:
    """The part of a convex polygon with low ≤ normal·p ≤ high."""
    x, y = _pair(normal)
    return _rows(_clipped(_clipped(_points(polygon), x, y, high), -x, -y, -low))


def inside_box(polygon: ArrayLike, low: ArrayLike, high: ArrayLike) -> Array:
    """The part of a convex polygon between two opposite corners."""
    (left, bottom), (right, top) = _pair(low), _pair(high)
    out = _clipped(_clipped(_points(polygon), 1.0, 0.0, right), -1.0, 0.0, -left)
    return _rows(_clipped(_clipped(out, 0.0, 1.0, top), 0.0, -1.0, -bottom))


# Polygons have few corners, over which plain floats are quicker than arrays.
_Points = list[Point]


def _points(polygon: ArrayLike) -> _Points:
    return [(x, y) for x, y in np.asarray(polygon, float).reshape(-1, 2).tolist()]


def _pair(value: ArrayLike) -> tuple[float, float]:
    x, y = np.asarray(value, float).tolist()
    return x, y


def _rows(points: _Points) -> Array:
    return np.array(points, float).reshape(-1, 2)


def _clipped(points: _Points, nx: float, ny: float, most: float) -> _Points:
    if not points or not isfinite(most):
        return points
    over = [x * nx + y * ny - most for x, y in points]
    out: _Points = []
    for (x, y), (x1, y1), here, there in zip(
        points, [*points[1:], points[0]], over, [*over[1:], over[0]], strict=True
    ):
        if here <= TINY:
            out.append((x, y))
        if (here > TINY) != (there > TINY) and abs(here - there) > TINY:
            part = here / (here - there)
            out.append((x + (x1 - x) * part, y + (y1 - y) * part))
    return out


def hatching(
    polygon: ArrayLike, spacing: float, angle_deg: float = 45.0
) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    """Parallel lines that fill a convex polygon, on one grid for the whole drawing."""
    p = np.asarray(polygon, float)
    if len(p) < 3:
        return []
    a = np.radians(angle_deg)
    along, across = np.array([np.cos(a), np.sin(a)]), np.array([-np.sin(a), np.cos(a)])
    # In the grid's own frame every line is level.
    u, v = (p @ along).tolist(), (p @ across).tolist()
    first, last = ceil(min(v) / spacing), floor(max(v) / spacing)
    sides = list(zip(u, v, u[1:] + u[:1], v[1:] + v[:1], strict=True))
    (au, av), (bu, bv) = along.tolist(), across.tolist()
    out = []
    for k in range(first, last + 1):
        level = k * spacing
        found = [
            x + (x1 - x) * (level - y) / (y1 - y)
            for x, y, x1, y1 in sides
            if (y < level) != (y1 < level)
        ]
        if len(found) > 1 and max(found) - min(found) > TINY:
            lo, hi = min(found), max(found)
            out.append(
                (
                    (lo * au + level * bu, lo * av + level * bv),
                    (hi * au + level * bu, hi * av + level * bv),
                )
            )
    return out


def segment_in_box(
    a: ArrayLike, b: ArrayLike, low: ArrayLike, high: ArrayLike
) -> tuple[Array, Array] | None:
    """The part of a–b between two opposite corners, None where there is none."""
    p, q, lo, hi = (np.asarray(v, float) for v in (a, b, low, high))
    start, stop = 0.0, 1.0
    for axis in (0, 1):
        run = q[axis] - p[axis]
        if abs(run) < TINY:
            if not lo[axis] <= p[axis] <= hi[axis]:
                return None
            continue
        s, t = sorted(((lo[axis] - p[axis]) / run, (hi[axis] - p[axis]) / run))
        start, stop = max(start, s), min(stop, t)
    if stop - start < TINY:
        return None
    return p + start * (q - p), p + stop * (q - p)


def spread(
    wanted: Sequence[float], apart: float | Sequence[float], low: float, high: float
) -> list[float]:
    """Places near ``wanted`` (ascending) that keep their distance, in [low, high].

    apart: the least distance of neighbours, one for all or one for each pair. Squares of the
    moves are least (isotonic regression, pooling neighbours that would touch). If the range
    is too short for all, all distances shrink alike.
    """
    n = len(wanted)
    if n == 0:
        return []
    steps = np.broadcast_to(np.asarray(apart, float), n - 1) if n > 1 else np.zeros(0)
    offset = np.concatenate([[0.0], np.cumsum(steps)])
    if offset[-1] > high - low:
        return [float(v) for v in low + offset * (high - low) / offset[-1]]
    blocks: list[tuple[float, int]] = []  # mean of value - offset, number
    for value in np.asarray(wanted, float) - offset:
        blocks.append((float(value), 1))
        while len(blocks) > 1 and blocks[-2][0] > blocks[-1][0]:
            (a, m), (b, k) = blocks[-2:]
            blocks[-2:] = [((a * m + b * k) / (m + k), m + k)]
    level = np.repeat([m for m, _ in blocks], [k for _, k in blocks])
    return [float(v) for v in np.clip(level, low, high - offset[-1]) + offset]
