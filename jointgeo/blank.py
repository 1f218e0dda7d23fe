"""One end of a blank: trim, end face, corners, and the lines a person marks on it.

Knows notches and plain geometry; no fixture and no clamping. All lengths in
millimetres, in the part's stock frame (z = 0 at the length datum, see ``contract``).

Theory. The four long edges of the stock are lines along z. A plane of the notch's
frame at depth d meets the edge through (x, y) at

    z = o_z + (d - q_zx·(x - o_x) - q_zy·(y - o_y)) / q_zz

so every corner, trim line and shoulder line is one expression. The trim plane (d = 0)
must clear the square end: the blank reaches below the datum until the plane stands
``trim_extra_mm`` (square to itself) above the end's highest corner.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from jointgeo.contract import Notch
from jointgeo.rotations import Array

__all__ = [
    "allowance_mm",
    "edge_heights",
    "end_pieces",
    "extent_across",
    "least_across",
    "section_corners",
    "trim_depth_mm",
]

_TINY = 1e-12
_TINY_MM = 1e-9


def section_corners(width_mm: ArrayLike, thickness_mm: ArrayLike) -> Array:
    """Corners of the section, shape (..., 4, 2): (0, 0), (w, 0), (w, t), (0, t)."""
    w, t = np.broadcast_arrays(np.asarray(width_mm, float), np.asarray(thickness_mm, float))
    out = np.zeros((*w.shape, 4, 2))
    out[..., 1:3, 0] = w[..., None]
    out[..., 2:4, 1] = t[..., None]
    return out


def edge_heights(
    frame: ArrayLike, origin: ArrayLike, depth_mm: ArrayLike, corners: ArrayLike
) -> Array:
    """z where the plane at ``depth_mm`` meets each long edge, shape (..., 4)."""
    q, o, c = (np.asarray(a, float) for a in (frame, origin, corners))
    n = q[..., 2, :, None]
    from_origin = c - o[..., None, :2]
    slope = n[..., 0, :] * from_origin[..., 0] + n[..., 1, :] * from_origin[..., 1]
    depth = np.asarray(depth_mm, float)[..., None]
    return np.asarray(o[..., 2, None] + (depth - slope) / n[..., 2, :])


def end_spread_mm(frame: ArrayLike, corners: ArrayLike) -> Array:
    """Highest minus lowest corner of a square end, square to the trim plane, shape (...)."""
    q, c = np.asarray(frame, float), np.asarray(corners, float)
    return np.asarray(np.ptp(np.einsum("...k,...ik->...i", q[..., 2, :2], c), axis=-1))


def trim_depth_mm(frame: ArrayLike, corners: ArrayLike, extra_mm: ArrayLike) -> Array:
    """Trim plane above the lowest corner of the square end, square to the plane."""
    return np.asarray(end_spread_mm(frame, corners) + np.asarray(extra_mm, float))


def allowance_mm(
    frame: ArrayLike, origin: ArrayLike, corners: ArrayLike, extra_mm: ArrayLike
) -> Array:
    """How far the blank's square end lies beyond the length datum, along z; shape (...)."""
    n_z = np.asarray(frame, float)[..., 2, 2]
    highest = -np.min(edge_heights(frame, origin, 0.0, corners), axis=-1)
    return np.asarray(highest + np.asarray(extra_mm, float) / n_z)


def corner_points(frame: Array, origin: Array, depth_mm: float, corners: Array) -> Array:
    """The four corners of the section made by the plane at ``depth_mm``, shape (..., 4, 3)."""
    heights = edge_heights(frame, origin, depth_mm, corners)
    return np.concatenate([corners, heights[..., None]], axis=-1)


def extent_across(
    notch: Notch, corners: Array, low_mm: float, high_mm: float
) -> tuple[float, float]:
    """Least and greatest q_x coordinate of the wood between two depths of the notch."""
    points = np.concatenate(
        [corner_points(notch.frame, notch.origin_mm, d, corners) for d in (low_mm, high_mm)]
    )
    across = (points - notch.origin_mm) @ notch.frame[0]
    return float(across.min()), float(across.max())


def least_across(notch: Notch, sense: float, corners: Array, earlier: tuple[Notch, ...]) -> float:
    """Least of sense·q_x over the trimmed end face as earlier notches leave it.

    ``sense`` is +1 or -1. Returns the coordinate from the notch's origin.
    """
    pieces = end_pieces(notch, corners, earlier)
    return min(float((sense * ((p - notch.origin_mm) @ notch.frame[0])).min()) for p in pieces)


def end_pieces(notch: Notch, corners: Array, earlier: tuple[Notch, ...]) -> list[Array]:
    """The trimmed end face less what earlier notches have taken: convex polygons (n, 3).

    The end face is a convex polygon; an earlier notch leaves strips of it between its
    channels.
    """
    whole = corner_points(notch.frame, notch.origin_mm, 0.0, corners)
    pieces = [whole]
    for before in earlier:
        strips = _between(before)
        pieces = [_strip(p, before.frame[0], lo, hi) for p in pieces for lo, hi in strips]
        # A strip of no width is no wood: a cut that ends at the very side leaves none there.
        pieces = [p for p in pieces if len(p) and np.ptp(p @ before.frame[0]) > _TINY_MM]
    return pieces or [whole]  # nothing of the end is left; the corner is where it was


def _between(notch: Notch) -> list[tuple[float, float]]:
    """What stands between a notch's channels, along its q_x from the stock's origin."""
    base = float(notch.frame[0] @ notch.origin_mm)
    bounds = [-np.inf]
    for c in sorted(notch.channels, key=lambda c: c.low_mm):
        if base + c.low_mm <= bounds[-1]:  # overlaps the channel before it, or lies inside it
            bounds[-1] = max(bounds[-1], base + c.high_mm)
        else:
            bounds += [base + c.low_mm, base + c.high_mm]
    bounds.append(np.inf)
    return [(lo, hi) for lo, hi in zip(bounds[::2], bounds[1::2], strict=True) if lo < hi]


def _strip(polygon: Array, axis: Array, low: float, high: float) -> Array:
    """The part of a convex polygon (n, 3) with low ≤ axis·p ≤ high."""
    for sign, bound in ((1.0, low), (-1.0, -high)):
        if len(polygon) == 0 or not np.isfinite(bound):
            continue
        side = sign * (polygon @ axis) - bound
        kept = []
        for i, here in enumerate(polygon):
            j = (i + 1) % len(polygon)
            if side[i] >= -_TINY:
                kept.append(here)
            if (side[i] > 0) != (side[j] > 0) and abs(side[i] - side[j]) > _TINY:
                kept.append(here + (polygon[j] - here) * side[i] / (side[i] - side[j]))
        polygon = np.array(kept).reshape(-1, 3)
    return polygon
