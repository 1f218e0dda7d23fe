"""A wood's planes as arrays, so that many points or one line are held against all of them at once.

Knows vectors and arrays; no joint, no drawing. A box joint has two planes for each cut, and the
pictures ask of every edge where each of them lies: one by one that grows with the square of the
fingers and more.
"""

from __future__ import annotations

from collections.abc import Sequence

import attrs
import numpy as np
from numpy.typing import NDArray

from jointgeo.geometry.vectors import Plane

__all__ = ["Solids", "Stack", "in_parts"]

Array = NDArray[np.float64]
#: Numbers that are worked on together: more do not stay near the processor.
AT_ONCE = 100_000


def in_parts(rows: Array, against: int) -> list[Array]:
    """Rows in parts, few enough in each to be held against so many others at once; one at least."""
    return np.array_split(rows, 1 + len(rows) * against // AT_ONCE)


@attrs.frozen(eq=False)
class Stack:
    """Planes as rows: normals (n, 3), and for each how far it lies along its own."""

    normals: Array
    at: Array

    @classmethod
    def of(cls, planes: Sequence[Plane]) -> Stack:
        normals = np.array([p.normal for p in planes], float).reshape(-1, 3)
        return cls(normals, np.array([p.at for p in planes], float))

    def out(self, points: Array) -> Array:
        """How far each point (m, 3) lies outside each plane, (m, n)."""
        return np.asarray(points @ self.normals.T - self.at)

    def rise(self, ways: Array) -> Array:
        """How much further out of each plane a step along each way (m, 3) leads, (m, n)."""
        return np.asarray(ways @ self.normals.T)


@attrs.frozen(eq=False)
class Solids:
    """Convex solids, each the common part of half-spaces, one after another in one stack."""

    planes: Stack
    starts: NDArray[np.intp]

    @classmethod
    def of(cls, solids: Sequence[Sequence[Plane]]) -> Solids:
        counts = [len(s) for s in solids]
        starts = np.concatenate([[0], np.cumsum(counts)[:-1]]).astype(np.intp)
        return cls(Stack.of([p for s in solids for p in s]), starts)

    def hold(self, points: Array) -> NDArray[np.bool_]:
        """Which solid holds which point, (m, number of solids); a surface is not inside."""
        parts = (self.planes.out(part) < 0.0 for part in in_parts(points, len(self.planes.at)))
        return np.concatenate([np.logical_and.reduceat(p, self.starts, axis=1) for p in parts])

    def within(
        self, points: Array, way: Array, along: float, edge_mm: float
    ) -> tuple[Array, Array]:
        """``crossed`` by lines that run one way (1, 3) from points (m, 3)."""
        return self.crossed(self.planes.rise(way), self.planes.out(points), along, edge_mm)

    def crossed(self, rise: Array, out: Array, along: float, edge_mm: float) -> tuple[Array, Array]:
        """Where lines enter and leave each solid, (m, number of solids); none where the first is
        the greater.

        rise, out: of every plane, as ``Stack`` tells them of the lines' ways and of where they
        start. along: a rise no greater is none. edge_mm: how far outside a surface that a line runs
        along still counts as inside.
        """
        level = np.abs(rise) < along
        with np.errstate(divide="ignore", invalid="ignore"):
            at = -out / rise
        low = np.where(rise < 0, at, -np.inf)
        high = np.where(rise > 0, at, np.inf)
        beside = level & (out > edge_mm)
        low = np.where(level, np.where(beside, np.inf, -np.inf), low)
        high = np.where(level, np.where(beside, -np.inf, np.inf), high)
        return (
            np.maximum.reduceat(low, self.starts, axis=1),
            np.minimum.reduceat(high, self.starts, axis=1),
        )
