"""How much room there is between solids, to the sign and to the millimetre.

Knows boxes and corners; no fixture, no stock. Two questions, two answers:

* ``beam_gap``: how far a beam, which only ever moves square to itself, is from the
  foremost wood at its own height. Directional, along Y.
* ``box_gap``: the distance between two boxes that lie anyhow; negative is the depth by
  which they enter each other.

Theory of ``beam_gap``. The least of a linear function over a convex polyhedron cut by a
slab lies at a corner inside the slab or where an edge crosses its bounds. So each solid
is looked at *by itself*, corner by corner and edge by edge. The rejected alternative, the
hull of everything together, was pessimistic by up to 31 mm: it fills the hollow between stock
and plate with wood that is not there.

Theory of ``box_gap``. Two boxes of centres a, b and half-edges g_i are apart by the
distance from the origin to their Minkowski difference, the zonotope with centre a - b
and all six half-edges as generators. Its facets are square to g_i × g_j. If some facet
plane has the origin outside, the boxes are apart, and the distance is the least distance
to any of the parallelograms that tile the surface; otherwise the least depth behind a
facet plane is how far one must be moved to come free. Parallel edges make facets of
several tiles; the tiles' places are then read from generators turned by about 1e-7,
which settles every tie in one consistent way and moves no tile.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike

from jointgeo.geometry.arith import Number, anywhere, least, where
from jointgeo.geometry.rotations import Array, Vector

__all__ = [
    "BOX_EDGES",
    "RING_EDGES",
    "WEDGE_EDGES",
    "Edges",
    "beam_gap",
    "box",
    "box_corners",
    "box_gap",
    "least_in_slab",
]

Edges: TypeAlias = Sequence[tuple[int, int]]

_SIGNS = np.array([[x, y, z] for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)], dtype=float)
#: Pairs of rows of ``box_corners`` that an edge joins.
BOX_EDGES: Edges = tuple(
    (i, j) for i, j in combinations(range(8), 2) if np.abs(_SIGNS[i] - _SIGNS[j]).sum() == 2
)
#: Edges of a triangular prism given as three corners below and the same three above.
WEDGE_EDGES: Edges = ((0, 1), (1, 2), (2, 0), (3, 4), (4, 5), (5, 3), (0, 3), (1, 4), (2, 5))
#: Edges of a rectangle, whose corners are given like those of a box: what is left of a box
#: that lies along X where only Y and Z are asked for.
RING_EDGES: Edges = ((0, 1), (0, 2), (1, 3), (2, 3))
_PAIRS = np.array(list(combinations(range(6), 2)))
# Six fixed directions with nothing in common, used only to settle ties.
_NUDGE = 1e-7 * np.array(
    [
        [0.31, -0.57, 0.73],
        [-0.83, 0.29, 0.41],
        [0.61, 0.67, -0.23],
        [-0.37, -0.89, -0.17],
        [0.97, -0.13, 0.59],
        [-0.19, 0.79, 0.47],
    ]
)


def box(low: ArrayLike, high: ArrayLike) -> tuple[Array, Array]:
    """Centre (..., 3) and half-edges (..., 3, 3), one a row, of an upright box."""
    lo, hi = np.asarray(low, float), np.asarray(high, float)
    return (lo + hi) / 2, ((hi - lo) / 2)[..., None] * np.eye(3)


def box_corners(centre: Array, halves: Array) -> Array:
    """Corners of boxes, shape (..., 8, 3)."""
    return np.asarray(centre[..., None, :] + _SIGNS @ halves)


def least_in_slab(
    corners: Sequence[Vector], edges: Edges, axis: int, slab: int, low: Number, high: Number
) -> Number:
    """Least coordinate ``axis`` of a convex solid where ``low`` ≤ coordinate ``slab`` ≤ ``high``.

    edges: places in ``corners`` that are joined. Coordinates and bounds are numbers or columns.
    Inf where the solid does not reach the slab; touching it counts.
    """
    across = [corner[slab] for corner in corners]
    found: list[Number] = []
    for corner, at in zip(corners, across, strict=True):
        inside = (low <= at) & (at <= high)
        if anywhere(inside):
            found.append(where(inside, corner[axis], math.inf))
    for bound in (low, high):
        below = [at < bound for at in across]
        for i, j in edges:
            crosses = below[i] != below[j]
            if not anywhere(crosses):
                continue
            start, end = corners[i][axis], corners[j][axis]
            part = (bound - across[i]) / where(crosses, across[j] - across[i], 1.0)
            found.append(where(crosses, start + part * (end - start), math.inf))
    return least(found) if found else where(across[0] < math.inf, math.inf, math.inf)


def beam_gap(
    corners: Sequence[Vector],
    edges: Edges,
    face_distance_mm: Number,
    z_min_mm: Number,
    z_max_mm: Number,
) -> Number:
    """Room (mm) between one solid and a beam whose face stands at Y = -face_distance.

    Negative: the solid stands in the beam. Inf: no wood at the beam's height.
    """
    return least_in_slab(corners, edges, 1, 2, z_min_mm, z_max_mm) + face_distance_mm


def box_gap(centre_a: Array, halves_a: Array, centre_b: Array, halves_b: Array) -> Array:
    """Signed distance (mm) between boxes; shapes (..., 3) and (..., 3, 3), broadcasting."""
    centre = np.asarray(centre_a, float) - np.asarray(centre_b, float)
    lead = np.broadcast_shapes(centre.shape[:-1], halves_a.shape[:-2], halves_b.shape[:-2])
    g = np.concatenate([np.broadcast_to(h, (*lead, 3, 3)) for h in (halves_a, halves_b)], axis=-2)
    c = np.broadcast_to(centre, (*lead, 3))
    first, second = g[..., _PAIRS[:, 0], :], g[..., _PAIRS[:, 1], :]
    normal = _cross(first, second)
    size = _length(normal)
    long = _length(g)
    flat = size < 1e-9 * long[..., _PAIRS[:, 0]] * long[..., _PAIRS[:, 1]]  # they span no facet
    n = normal / np.where(flat, 1.0, size)[..., None]
    reach = np.abs(n @ np.swapaxes(g, -1, -2)).sum(-1)
    apart = np.abs((n * c[..., None, :]).sum(-1)) - reach
    inside = np.max(np.where(flat, -np.inf, apart), axis=-1)

    # The sign of every other generator on each tile, ties settled by the nudge.
    nudged = g + _NUDGE * long[..., None]
    tilted = _cross(nudged[..., _PAIRS[:, 0], :], nudged[..., _PAIRS[:, 1], :])
    signs = np.sign(tilted @ np.swapaxes(nudged, -1, -2))
    rows = np.arange(len(_PAIRS))
    signs[..., rows, _PAIRS[:, 0]] = signs[..., rows, _PAIRS[:, 1]] = 0.0
    offset = signs @ g
    # Each tile has its like on the far side.
    middles = np.stack([c[..., None, :] + offset, c[..., None, :] - offset])
    distance = np.min(_to_tile(middles, first, second), axis=(0, -1))
    return np.asarray(np.where(inside > 0, distance, inside))


def _cross(a: Array, b: Array) -> Array:
    """Vector products (..., 3), without the ado of the general function."""
    out = np.empty(np.broadcast_shapes(a.shape, b.shape))
    for i, j, k in ((0, 1, 2), (1, 2, 0), (2, 0, 1)):
        out[..., i] = a[..., j] * b[..., k] - a[..., k] * b[..., j]
    return out


def _length(v: Array) -> Array:
    return np.asarray(np.sqrt((v * v).sum(-1)))


def _to_tile(m: Array, u: Array, v: Array) -> Array:
    """Distance from the origin to the parallelograms m ± u ± v, shape (...)."""
    uu, vv, uv = (u * u).sum(-1), (v * v).sum(-1), (u * v).sum(-1)
    mu, mv = (m * u).sum(-1), (m * v).sum(-1)
    det = uu * vv - uv * uv
    ok = det > 1e-18 * uu * vv
    det = np.where(ok, det, 1.0)
    s, t = (uv * mv - vv * mu) / det, (uv * mu - uu * mv) / det
    within = ok & (np.abs(s) <= 1) & (np.abs(t) <= 1)
    best = np.where(within, _length(m + s[..., None] * u + t[..., None] * v), np.inf)
    for sign in (-1.0, 1.0):
        for a, along, size in ((m + sign * u, v, vv), (m + sign * v, u, uu)):
            k = np.clip(-(a * along).sum(-1) / size, -1.0, 1.0)
            best = np.minimum(best, _length(a + k[..., None] * along))
    return np.asarray(best)
