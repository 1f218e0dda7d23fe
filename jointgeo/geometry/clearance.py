"""How far a beam, which only ever moves square to itself, is from the wood at its own height.

Knows corners and edges, in plain floats; no fixture, no stock. Directional, along Y; the distance
between solids that lie anyhow is ``boxes.box_gap``.

Theory. The least of a linear function over a convex polyhedron cut by a slab lies at a corner
inside the slab or where an edge crosses its bounds. So each solid is looked at *by itself*,
corner by corner and edge by edge. The rejected alternative, the hull of everything together, was
pessimistic by up to 31 mm: it fills the hollow between stock and plate with wood that is not
there.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations
from typing import TypeAlias

from jointgeo.geometry.rotations import Vector

__all__ = [
    "BOX_EDGES",
    "RING_EDGES",
    "WEDGE_EDGES",
    "Edges",
    "Outline",
    "beam_gap",
    "extent_in_slab",
]

Edges: TypeAlias = Sequence[tuple[int, int]]
#: A convex solid: its corners, and the places in them that an edge joins.
Outline: TypeAlias = tuple[Sequence[Vector], Edges]

#: Pairs of places in ``boxes.box_corners`` that an edge joins: those that differ in one of three
#: binary digits.
BOX_EDGES: Edges = tuple((i, j) for i, j in combinations(range(8), 2) if (i ^ j).bit_count() == 1)
#: Edges of a triangular prism given as three corners below and the same three above.
WEDGE_EDGES: Edges = ((0, 1), (1, 2), (2, 0), (3, 4), (4, 5), (5, 3), (0, 3), (1, 4), (2, 5))
#: Edges of a rectangle, whose corners are given like those of a box: what is left of a box
#: that lies along X where only Y and Z are asked for.
RING_EDGES: Edges = ((0, 1), (0, 2), (1, 3), (2, 3))


def extent_in_slab(
    corners: Sequence[Vector], edges: Edges, axis: int, slab: int, low: float, high: float
) -> tuple[float, float]:
    """Least and greatest coordinate ``axis`` of a convex solid where ``low`` ≤ coordinate ``slab``
    ≤ ``high``.

    edges: places in ``corners`` that are joined. (inf, -inf) where the solid does not reach the
    slab; touching it counts.
    """
    across = [corner[slab] for corner in corners]
    bottom, top = min(across), max(across)
    if low <= bottom and top <= high:
        found = [corner[axis] for corner in corners]
        return min(found), max(found)
    if top < low or high < bottom:
        return math.inf, -math.inf
    found = [c[axis] for c, at in zip(corners, across, strict=True) if low <= at <= high]
    for bound in (low, high):
        if not bottom < bound < top:
            continue
        for i, j in edges:
            a, b = across[i], across[j]
            if (a < bound) != (b < bound):
                start = corners[i][axis]
                found.append(start + (bound - a) / (b - a) * (corners[j][axis] - start))
    return min(found), max(found)


def beam_gap(solid: Outline, face_distance_mm: float, z_min_mm: float, z_max_mm: float) -> float:
    """Room (mm) between one solid and a beam whose face stands at Y = -face_distance.

    Negative: the solid stands in the beam. Inf: no wood at the beam's height.
    """
    corners, edges = solid
    least, _ = extent_in_slab(corners, edges, 1, 2, z_min_mm, z_max_mm)
    return least + face_distance_mm
