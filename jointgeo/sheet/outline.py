"""Edges of solids as lines, each divided into what is seen and what is hidden.

Knows solids and vectors; no joint, no drawing on paper.

Theory. Along an edge that is looked at, what stands before it changes only where another edge
crosses it on paper. Between two crossings one point tells for the whole stretch: it is hidden if
its line towards the viewer passes through wood, that is, through a body's convex solid where none
of its convex cuts is. This is exact: nothing is sampled. An edge does not flicker where two solids
touch, because a line that runs along a surface passes through no wood, and wood hides only what
lies ``BEHIND_MM`` or more behind it.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence

import attrs
import numpy as np

from jointgeo.geometry.vectors import INF, Vec
from jointgeo.sheet.plane import Array
from jointgeo.sheet.wood import Convex, Wood

__all__ = ["Edge", "View", "hidden", "split"]

#: Far below any fit that is asked for, far above rounding.
BEHIND_MM = 1e-3
ALONG = 1e-9  # of a unit vector: a surface that is seen edge-on
ON_IT = 1e-6  # mm: a line that runs along a surface


@attrs.frozen
class View:
    """right, up, towards: unit vectors square to each other; ``towards`` points at the viewer."""

    right: Vec
    up: Vec
    towards: Vec

    @classmethod
    def along(cls, towards: Vec, up: Vec) -> View:
        """Seen from ``towards`` with ``up`` as upright on the page as can be."""
        t = towards.unit
        right = (up ^ t).unit
        return cls(right, t ^ right, t)

    def flat(self, point: Vec) -> tuple[float, float]:
        """To the right and up."""
        return self.right @ point, self.up @ point


@attrs.frozen(eq=False)
class Edge:
    """A straight edge on paper at full size, ends (2, 2), and stretches of it, 0 to 1."""

    ends: Array
    seen: tuple[tuple[float, float], ...]
    hidden: tuple[tuple[float, float], ...]

    def between(self, stretch: tuple[float, float]) -> Array:
        a, b = self.ends
        return np.stack([a + stretch[0] * (b - a), a + stretch[1] * (b - a)])


def split(
    lines: Sequence[tuple[Vec, Vec]],
    others: Iterable[tuple[Vec, Vec]],
    woods: Sequence[Wood],
    view: View,
) -> list[Edge]:
    """Edges ``lines`` behind ``woods``, whose own edges are ``others``."""
    crossing = np.array([[view.flat(a), view.flat(b)] for a, b in others]).reshape(-1, 2, 2)
    out = []
    for a, b in lines:
        ends = np.array([view.flat(a), view.flat(b)])
        if np.ptp(ends, axis=0).max() > ON_IT:  # it is not looked at end on
            out.append(_split(a, b, ends, _crossings(ends, crossing), woods, view))
    return out


def _crossings(ends: Array, others: Array) -> list[float]:
    """Where along the first line others cross it, ascending, 0 to 1."""
    along, over = ends[1] - ends[0], others[:, 1] - others[:, 0]
    off = others[:, 0] - ends[0]
    both = along[0] * over[:, 1] - along[1] * over[:, 0]
    safe = np.where(np.abs(both) < ALONG, np.nan, both)
    at = (off[:, 0] * over[:, 1] - off[:, 1] * over[:, 0]) / safe
    there = (off[:, 0] * along[1] - off[:, 1] * along[0]) / safe
    near = (at > 0) & (at < 1) & (there > -1e-6) & (there < 1 + 1e-6)
    return sorted(float(v) for v in at[near])


def _split(
    a: Vec, b: Vec, ends: Array, crossings: list[float], woods: Sequence[Wood], view: View
) -> Edge:
    seen: list[tuple[float, float]] = []
    behind: list[tuple[float, float]] = []
    for start, stop in itertools.pairwise([0.0, *crossings, 1.0]):
        if stop - start < ON_IT:
            continue
        kind = behind if hidden(a + (b - a) * ((start + stop) / 2), woods, view) else seen
        if kind and start - kind[-1][1] < ON_IT:
            kind[-1] = (kind[-1][0], stop)
        else:
            kind.append((start, stop))
    return Edge(ends, tuple(seen), tuple(behind))


def hidden(point: Vec, woods: Sequence[Wood], view: View) -> bool:
    """Whether wood stands before a point."""
    return any(_before(point, wood, view.towards) for wood in woods)


def _before(point: Vec, wood: Wood, towards: Vec) -> bool:
    low, high = _within(point, towards, wood.body, -ON_IT)
    at = max(low, BEHIND_MM)
    if high - at < BEHIND_MM:
        return False
    for start, stop in sorted(_within(point, towards, cut, ON_IT) for cut in wood.cuts):
        if start - at > BEHIND_MM and start < stop:
            break
        at = max(at, stop) if start < stop else at
    return high - at > BEHIND_MM


def _within(point: Vec, towards: Vec, planes: Convex, edge_mm: float) -> tuple[float, float]:
    """Where a line enters and leaves a convex solid; none where the first is the greater.

    edge_mm: how far outside a surface that it runs along still counts as inside.
    """
    low, high = -INF, INF
    for plane in planes:
        rise, out = plane.normal @ towards, plane.out(point)
        if abs(rise) < ALONG:
            if out > edge_mm:
                return INF, -INF
        elif rise > 0:
            high = min(high, -out / rise)
        else:
            low = max(low, -out / rise)
    return low, high
