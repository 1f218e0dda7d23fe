"""Plane geometry of the drawings: hulls, clipping, hatching, and labels kept apart.

Knows numpy only; no drawing, no joint. Points are rows of arrays of shape (n, 2).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = [
    "Array",
    "between",
    "clipped",
    "hatching",
    "hull",
    "inside_box",
    "line_in",
    "segment_in_box",
    "spread",
    "turned",
]

Array = NDArray[np.float64]

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
    p, n = np.asarray(polygon, float).reshape(-1, 2), np.asarray(normal, float)
    if len(p) == 0 or not np.isfinite(most):
        return p
    over = p @ n - most
    out: list[Array] = []
    for i, here in enumerate(p):
        j = (i + 1) % len(p)
        if over[i] <= TINY:
            out.append(here)
        if (over[i] > TINY) != (over[j] > TINY) and abs(over[i] - over[j]) > TINY:
            out.append(here + (p[j] - here) * over[i] / (over[i] - over[j]))
    return np.array(out).reshape(-1, 2)


def between(polygon: ArrayLike, normal: ArrayLike, low: float, high: float) -> Array:
    """The part of a convex polygon with low ≤ normal·p ≤ high."""
    n = np.asarray(normal, float)
    return clipped(clipped(polygon, n, high), -n, -low)


def inside_box(polygon: ArrayLike, low: ArrayLike, high: ArrayLike) -> Array:
    """The part of a convex polygon between two opposite corners."""
    lo, hi = np.asarray(low, float), np.asarray(high, float)
    out = np.asarray(polygon, float)
    for axis in (0, 1):
        unit = np.eye(2)[axis]
        out = clipped(clipped(out, unit, hi[axis]), -unit, -lo[axis])
    return out


def line_in(polygon: ArrayLike, point: ArrayLike, along: ArrayLike) -> tuple[Array, Array] | None:
    """The part of an endless line that lies in a convex polygon."""
    p, start, d = (np.asarray(a, float) for a in (polygon, point, along))
    across = np.array([-d[1], d[0]])
    off = (p - start) @ across
    at: list[float] = []
    for i in range(len(p)):
        j = (i + 1) % len(p)
        if (off[i] < 0) != (off[j] < 0):
            crossing = p[i] + (p[j] - p[i]) * off[i] / (off[i] - off[j])
            at.append(float((crossing - start) @ d / (d @ d)))
    if len(at) < 2 or max(at) - min(at) < TINY:
        return None
    return start + min(at) * d, start + max(at) * d


def hatching(
    polygon: ArrayLike, spacing: float, angle_deg: float = 45.0
) -> list[tuple[Array, Array]]:
    """Parallel lines that fill a convex polygon, on one grid for the whole drawing."""
    p = np.asarray(polygon, float)
    if len(p) < 3:
        return []
    a = np.radians(angle_deg)
    along, across = np.array([np.cos(a), np.sin(a)]), np.array([-np.sin(a), np.cos(a)])
    reach = p @ across
    first, last = np.ceil(reach.min() / spacing), np.floor(reach.max() / spacing)
    found = (line_in(p, k * spacing * across, along) for k in np.arange(first, last + 1))
    return [f for f in found if f is not None]


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
