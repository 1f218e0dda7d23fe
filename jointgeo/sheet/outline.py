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
from numpy.typing import NDArray

from jointgeo.geometry.vectors import Vec
from jointgeo.sheet.many_planes import in_parts
from jointgeo.sheet.plane import Array, Point
from jointgeo.sheet.stretches import Indices, divided
from jointgeo.sheet.wood import Line, Wood

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

    def flat_rows(self, points: Array) -> Array:
        """The same of many points (..., 3)."""
        x, y, z = np.moveaxis(points, -1, 0)
        return np.stack([x * way.x + y * way.y + z * way.z for way in (self.right, self.up)], -1)


@attrs.frozen(eq=False)
class Edge:
    """A straight edge on paper at full size, ends (2, 2), and stretches of it, 0 to 1."""

    ends: Array
    seen: tuple[tuple[float, float], ...]
    hidden: tuple[tuple[float, float], ...]

    def between(self, stretch: tuple[float, float]) -> tuple[Point, Point]:
        """The ends of a stretch."""
        (x, y), (x1, y1) = self.ends.tolist()
        start, stop = stretch
        return (
            (x + start * (x1 - x), y + start * (y1 - y)),
            (x + stop * (x1 - x), y + stop * (y1 - y)),
        )


def split(groups: Sequence[Sequence[Line]], woods: Sequence[Wood], view: View) -> list[list[Edge]]:
    """Groups of edges behind ``woods``, whose own edges they are; what is looked at end on is left
    out."""
    lines = np.array([line for group in groups for line in group], float).reshape(-1, 2, 3)
    flat = view.flat_rows(lines)
    looked_at = np.flatnonzero(np.ptp(flat, axis=1).max(axis=1) > ON_IT)
    ends = np.zeros(len(looked_at)), np.ones(len(looked_at))
    which, start, stop = divided(*_crossings(flat[looked_at], flat), *ends, ON_IT)
    a, b = lines[looked_at[which]].transpose(1, 0, 2)
    behind = hidden(a + (b - a) * ((start + stop) / 2)[:, None], woods, view)
    stretches = zip(start.tolist(), stop.tolist(), behind, strict=True)
    counts = np.bincount(which, minlength=len(looked_at)).tolist()
    edges = [
        _edge(ends, itertools.islice(stretches, count))
        for ends, count in zip(flat[looked_at], counts, strict=True)
    ]
    bounds = np.searchsorted(looked_at, np.cumsum([0, *map(len, groups)])).tolist()
    return [edges[i:k] for i, k in itertools.pairwise(bounds)]


def _crossings(lines: Array, others: Array) -> tuple[Indices, Array]:
    """Which of the lines are crossed by others, and where along them, 0 to 1."""
    found, start = [], 0
    for part in in_parts(lines, len(others)):
        mine, at = _crossed(part, others)
        found.append((mine + start, at))
        start += len(part)
    which, places = (np.concatenate(part) for part in zip(*found, strict=True))
    return which, places


def _crossed(lines: Array, others: Array) -> tuple[Indices, Array]:
    # Only what lies beside a line on paper can cross it.
    least, most = lines.min(axis=1).T[..., None], lines.max(axis=1).T[..., None]
    low, high = others.min(axis=1).T - ON_IT, others.max(axis=1).T + ON_IT
    level, upright = ((low[i] <= most[i]) & (high[i] >= least[i]) for i in (1, 0))
    mine, theirs = np.nonzero(level & upright)
    a, b = lines[mine], others[theirs]
    along, over, off = a[:, 1] - a[:, 0], b[:, 1] - b[:, 0], b[:, 0] - a[:, 0]
    both = _cross(along, over)
    safe = np.where(np.abs(both) < ALONG, np.nan, both)
    at, there = _cross(off, over) / safe, _cross(off, along) / safe
    near = (at > 0) & (at < 1) & (there > -1e-6) & (there < 1 + 1e-6)
    return mine[near], at[near]


def _cross(a: Array, b: Array) -> Array:
    return np.asarray(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0])


def _edge(ends: Array, stretches: Iterable[tuple[float, float, bool]]) -> Edge:
    """Its stretches, those alike that follow on as one."""
    seen: list[tuple[float, float]] = []
    dashed: list[tuple[float, float]] = []
    for start, stop, behind in stretches:
        kind = dashed if behind else seen
        if kind and start - kind[-1][1] < ON_IT:
            kind[-1] = (kind[-1][0], stop)
        else:
            kind.append((start, stop))
    return Edge(ends, tuple(seen), tuple(dashed))


def hidden(points: Sequence[Vec] | Array, woods: Sequence[Wood], view: View) -> list[bool]:
    """Before which of the points wood stands."""
    rows, towards = np.asarray(points, float).reshape(-1, 3), np.array([view.towards])
    before = np.zeros(len(rows), bool)
    for wood in woods:
        parts = in_parts(rows, 1 + len(wood.cuts))
        before |= np.concatenate([_before(part, wood, towards) for part in parts])
    found: list[bool] = before.tolist()
    return found


def _before(points: Array, wood: Wood, towards: Array) -> NDArray[np.bool_]:
    """Which of the points stand behind a wood."""
    # A line along the body's surface is outside it, one along the surface of a cut inside that.
    low, high = wood.whole.within(points, towards, ALONG, -ON_IT)
    start, stop = np.maximum(low[:, 0], BEHIND_MM), high[:, 0]
    out = stop - start >= BEHIND_MM
    if not wood.cuts:
        return out
    in_line = np.flatnonzero(out)
    start, stop = start[in_line], stop[in_line]
    out[in_line] = stop - _first_wood(points[in_line], start, wood, towards) > BEHIND_MM
    return out


def _first_wood(points: Array, start: Array, wood: Wood, towards: Array) -> Array:
    """Where along a line from each point its way through the cuts, from ``start`` on, comes to
    wood."""
    low, high = wood.gone.within(points, towards, ALONG, ON_IT)
    met = (low < high) & (high > start[:, None])
    low, high = np.where(met, low, np.inf), np.where(met, high, -np.inf)
    order = np.argsort(low, axis=1)
    low, high = (np.take_along_axis(v, order, axis=1) for v in (low, high))
    # As far as all the cuts before the next one reach.
    reach = np.maximum.accumulate(np.column_stack([start, high]), axis=1)
    with np.errstate(invalid="ignore"):
        wood_between = low - reach[:, :-1] > BEHIND_MM
    first = np.where(wood_between.any(axis=1), wood_between.argmax(axis=1), -1)
    return np.asarray(np.take_along_axis(reach, first[:, None], axis=1)[:, 0])
