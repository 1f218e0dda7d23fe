"""Convex solids with flat faces, and how far two of them are apart or in each other.

Knows vectors; no bar and no joint. Millimetres.

Theory. Two convex solids are apart if, and only if, they are apart along the normal of a face of
either or along the vector product of an edge of one with an edge of the other. The greatest of
these distances is a lower bound of how far they are apart; negative, it is how far one must be
moved to come free (S. Gottschalk and others, SIGGRAPH 96, 171).
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property

import attrs

from jointgeo.geometry.vectors import INF, Vec

__all__ = ["Prism", "prism_gap"]

PARALLEL = 1e-9  # sine; edges nearer to parallel span no axis of their own


@attrs.frozen(slots=False)
class Prism:
    """corners: all of them; normals: of its faces, unit vectors; edges: the ways they run."""

    corners: tuple[Vec, ...]
    normals: tuple[Vec, ...]
    edges: tuple[Vec, ...]

    @cached_property
    def reach(self) -> tuple[tuple[float, float], ...]:
        """Least and greatest x, y and z."""
        return tuple((min(at), max(at)) for at in zip(*self.corners, strict=True))


def prism_gap(a: Prism, b: Prism, enough: float = INF) -> float:
    """How far they are apart at least, mm; negative: how far one must be moved to come free.

    enough: where they are further apart, any distance above it is an answer too.
    """
    extents = zip(a.reach, b.reach, strict=True)
    best = max(max(p - s, r - q) for (p, q), (r, s) in extents)
    if best > enough:
        return best
    for axis in _axes(a, b):
        mine, other = [axis @ p for p in a.corners], [axis @ p for p in b.corners]
        best = max(best, min(mine) - max(other), min(other) - max(mine))
        if best > enough:
            break
    return best


def _axes(a: Prism, b: Prism) -> Iterator[Vec]:
    yield from a.normals
    yield from b.normals
    for e in a.edges:
        for f in b.edges:
            way = e ^ f
            if way.length > PARALLEL * e.length * f.length:
                yield way.unit
