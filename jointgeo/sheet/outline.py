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
from collections.abc import Iterable, Iterator, Sequence

import attrs
import numpy as np
from numpy.typing import NDArray

from jointgeo.geometry.vectors import Vec
from jointgeo.sheet.many_planes import Solids
from jointgeo.sheet.plane import Array
from jointgeo.sheet.wood import Wood

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
        (x, y), (x1, y1) = self.ends.tolist()
        return np.array([(x + t * (x1 - x), y + t * (y1 - y)) for t in stretch])


def split(
    lines: Sequence[tuple[Vec, Vec]],
    others: Iterable[tuple[Vec, Vec]],
    woods: Sequence[Wood],
    view: View,
) -> list[Edge]:
    """Edges ``lines`` behind ``woods``, whose own edges are ``others``."""
    crossing = np.array([[view.flat(a), view.flat(b)] for a, b in others]).reshape(-1, 2, 2)
    low, high = crossing.min(axis=1) - ON_IT, crossing.max(axis=1) + ON_IT
    found: list[tuple[Array, list[tuple[float, float]]]] = []
    middles: list[Vec] = []
    for a, b in lines:
        ends = np.array([view.flat(a), view.flat(b)])
        if np.ptp(ends, axis=0).max() > ON_IT:  # it is not looked at end on
            # Only what lies beside it on paper can cross it.
            (x0, y0), (x1, y1) = ends.min(axis=0).tolist(), ends.max(axis=0).tolist()
            level = (low[:, 1] <= y1) & (high[:, 1] >= y0)
            near = crossing[level & (low[:, 0] <= x1) & (high[:, 0] >= x0)]
            stops = itertools.pairwise([0.0, *_crossings(ends, near), 1.0])
            stretches = [(t, u) for t, u in stops if u - t >= ON_IT]
            middles += [a + (b - a) * ((t + u) / 2) for t, u in stretches]
            found.append((ends, stretches))
    behind = iter(_hidden(middles, woods, view))
    return [_edge(ends, stretches, behind) for ends, stretches in found]


def _crossings(ends: Array, others: Array) -> list[float]:
    """Where along the first line others cross it, ascending, 0 to 1."""
    along, over = ends[1] - ends[0], others[:, 1] - others[:, 0]
    off = others[:, 0] - ends[0]
    both = along[0] * over[:, 1] - along[1] * over[:, 0]
    safe = np.where(np.abs(both) < ALONG, np.nan, both)
    at = (off[:, 0] * over[:, 1] - off[:, 1] * over[:, 0]) / safe
    there = (off[:, 0] * along[1] - off[:, 1] * along[0]) / safe
    near = (at > 0) & (at < 1) & (there > -1e-6) & (there < 1 + 1e-6)
    return sorted(at[near].tolist())


def _edge(ends: Array, stretches: Sequence[tuple[float, float]], behind: Iterator[bool]) -> Edge:
    """Its stretches, those alike that follow on as one."""
    seen: list[tuple[float, float]] = []
    dashed: list[tuple[float, float]] = []
    for start, stop in stretches:
        kind = dashed if next(behind) else seen
        if kind and start - kind[-1][1] < ON_IT:
            kind[-1] = (kind[-1][0], stop)
        else:
            kind.append((start, stop))
    return Edge(ends, tuple(seen), tuple(dashed))


def hidden(point: Vec, woods: Sequence[Wood], view: View) -> bool:
    """Whether wood stands before a point."""
    return _hidden([point], woods, view)[0]


def _hidden(points: Sequence[Vec], woods: Sequence[Wood], view: View) -> list[bool]:
    """The same of many points."""
    if not points:
        return []
    rows = np.array(points, float)
    before = np.zeros(len(points), bool)
    for wood in woods:
        before |= _before(rows, wood, view.towards)
    found: list[bool] = before.tolist()
    return found


def _before(points: Array, wood: Wood, towards: Vec) -> NDArray[np.bool_]:
    """Which of the points stand behind a wood."""
    # A line along the body's surface is outside it, one along the surface of a cut inside that.
    low, high = Solids.of([wood.body]).within(points, towards, ALONG, -ON_IT)
    start, stop = np.maximum(low[:, 0], BEHIND_MM), high[:, 0]
    out = stop - start >= BEHIND_MM
    if not wood.cuts:
        return out
    candidates = np.flatnonzero(out)
    lows, highs = Solids.of(wood.cuts).within(points[candidates], towards, ALONG, ON_IT)
    cut = (lows < highs) & (highs > start[candidates, None])
    for i, index in enumerate(candidates.tolist()):
        at = start[index]
        mine = np.flatnonzero(cut[i])
        for first, last in sorted(
            zip(lows[i, mine].tolist(), highs[i, mine].tolist(), strict=True)
        ):
            if first - at > BEHIND_MM:
                break
            at = max(at, last)
        out[index] = stop[index] - at > BEHIND_MM
    return out
