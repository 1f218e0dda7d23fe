"""Plane geometry of the drawings: hulls, clipping, hatching, and labels kept apart.

Knows numpy only; no drawing, no joint. Points are rows of arrays of shape (n, 2).
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from math import ceil, floor, isfinite
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = [
    "Array",
    "Place",
    "Point",
    "between",
    "clipped",
    "hatching",
    "hull",
    "inside_box",
    "pair",
    "segment_in_box",
    "spread",
    "turned",
]

Array = NDArray[np.float64]
Point: TypeAlias = tuple[float, float]
#: A point or a direction, however it is given.
Place: TypeAlias = Point | list[float] | Array

#: Shorter or thinner than this (mm) is nothing on any paper.
TINY = 1e-9


def pair(value: Place) -> Point:
    """As plain floats: over two numbers they are quicker than an array."""
    if isinstance(value, tuple):
        return value
    x, y = value
    return float(x), float(y)


def hull(points: ArrayLike) -> Array:
    """Convex hull (n, 2), counter-clockwise with v up."""
    rounded = np.round(np.asarray(points, float), 9).tolist()
    p = sorted({(x, y) for x, y in rounded})
    if len(p) < 3:
        return _rows(p)

    def half(rows: Iterable[Point]) -> _Points:
        chain: _Points = []
        for row in rows:
            while len(chain) > 1 and _turn(chain[-2], chain[-1], row) <= TINY:
                chain.pop()
            chain.append(row)
        return chain[:-1]

    return _rows(half(p) + half(reversed(p)))


def _turn(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def turned(points: ArrayLike, about: ArrayLike, angle_deg: float) -> Array:
    """Points (..., 2) turned about one, positive from u towards v."""
    p, centre, a = np.asarray(points, float), np.asarray(about, float), np.radians(angle_deg)
    u, v = np.cos(a), np.sin(a)
    return np.asarray((p - centre) @ [[u, v], [-v, u]] + centre)


def clipped(polygon: ArrayLike, normal: Place, most: float) -> Array:
    """The part of a convex polygon with normal·p ≤ most; no rows where nothing is left."""
    return _rows(_clipped(_points(polygon), *pair(normal), most))


def between(polygon: ArrayLike, normal: Place, low: float, high: float) -> Array:
    """The part of a convex polygon with low ≤ normal·p ≤ high."""
    x, y = pair(normal)
    return _rows(_clipped(_clipped(_points(polygon), x, y, high), -x, -y, -low))


def inside_box(polygon: ArrayLike, low: Place, high: Place) -> Array:
    """The part of a convex polygon between two opposite corners."""
    (left, bottom), (right, top) = pair(low), pair(high)
    out = _clipped(_clipped(_points(polygon), 1.0, 0.0, right), -1.0, 0.0, -left)
    return _rows(_clipped(_clipped(out, 0.0, 1.0, top), 0.0, -1.0, -bottom))


# Polygons have few corners, over which plain floats are quicker than arrays.
_Points = list[Point]


def _points(polygon: ArrayLike) -> _Points:
    return [(x, y) for x, y in np.asarray(polygon, float).reshape(-1, 2).tolist()]


def _rows(points: _Points) -> Array:
    return np.array(points, float).reshape(-1, 2)


def _clipped(points: _Points, nx: float, ny: float, most: float) -> _Points:
    if not points or not isfinite(most):
        return points
    over = [x * nx + y * ny - most for x, y in points]
    if max(over) <= TINY:
        return points
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


def segment_in_box(a: Place, b: Place, low: Place, high: Place) -> tuple[Point, Point] | None:
    """The part of a–b between two opposite corners, None where there is none."""
    (ax, ay), (bx, by) = pair(a), pair(b)
    (left, bottom), (right, top) = pair(low), pair(high)
    start, stop = 0.0, 1.0
    for at, run, least, most in ((ax, bx - ax, left, right), (ay, by - ay, bottom, top)):
        if abs(run) < TINY:
            if not least <= at <= most:
                return None
            continue
        s, t = sorted(((least - at) / run, (most - at) / run))
        start, stop = max(start, s), min(stop, t)
    if stop - start < TINY:
        return None
    return (
        (ax + start * (bx - ax), ay + start * (by - ay)),
        (ax + stop * (bx - ax), ay + stop * (by - ay)),
    )


def spread(
    wanted: Sequence[float], apart: float | Sequence[float], low: float, high: float
) -> list[float]:
    """Places near ``wanted`` (ascending) that keep their distance, in [low, high].

    apart: the least distance of neighbours, one for all or one for each pair. Squares of the
    moves are least (isotonic regression, pooling neighbours that would touch). If the range
    is too short for all, all distances shrink alike.
    """
    if not wanted:
        return []
    steps = [apart] * (len(wanted) - 1) if isinstance(apart, int | float) else apart
    offsets = list(itertools.accumulate(steps, initial=0.0))
    room = high - low
    if offsets[-1] > room:
        return [low + offset * room / offsets[-1] for offset in offsets]
    blocks: list[tuple[float, int]] = []  # mean of value - offset, number
    for value, offset in zip(wanted, offsets, strict=True):
        blocks.append((value - offset, 1))
        while len(blocks) > 1 and blocks[-2][0] > blocks[-1][0]:
            (a, m), (b, k) = blocks[-2:]
            blocks[-2:] = [((a * m + b * k) / (m + k), m + k)]
    levels = [min(max(mean, low), high - offsets[-1]) for mean, k in blocks for _ in range(k)]
    return [level + offset for level, offset in zip(levels, offsets, strict=True)]
