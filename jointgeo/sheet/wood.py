"""Bars as solids: what is left of each, and its sharp edges.

Knows drawings of joints and plane geometry; no joint type, no page, no kernel.

Theory. A bar is a convex body less convex cuts, each the common part of half-spaces, so every edge
lies where two of all those planes meet. Along such a line nothing changes but where another of the
planes crosses it; between two crossings one point tells for the whole stretch. Round that point
the planes through it bound sectors, each of wood or of none: it is an edge unless wood and no wood
meet in one flat face, or not at all.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from functools import cached_property
from math import atan2, cos, pi, sin

import attrs
import numpy as np

from jointgeo.geometry.vectors import INF, Plane, Vec, meet
from jointgeo.joints.drawing import Bar, Block, Drawing, Notch
from jointgeo.sheet.many_planes import Array, Solids, Stack

__all__ = ["Convex", "Line", "Shape", "Wood", "bodies", "edges", "shortened"]

#: All points that lie inside every one of them; the normals look out.
Convex = tuple[Plane, ...]
#: A straight edge, by its ends.
Line = tuple[Vec, Vec]

SAME = 1e-7  # mm and parts of a unit vector: two planes that are one
BESIDE_MM = 1e-4  # from an edge to where wood is looked for; far below any fit
SIDES = ("face_side", "back", "face_edge", "back_edge")


@attrs.frozen
class Wood:
    """What is left of a bar: ``body`` less ``cuts``."""

    bar: Bar
    body: Convex
    cuts: tuple[Convex, ...]

    @property
    def name(self) -> str:
        return self.bar.name

    @cached_property
    def whole(self) -> Solids:
        """The body alone, as arrays."""
        return Solids.of([self.body])

    @cached_property
    def gone(self) -> Solids:
        """The cuts, of which there is one at least, as arrays."""
        return Solids.of(self.cuts)

    def moved(self, by: Vec) -> Wood:
        """The same elsewhere."""
        bar = attrs.evolve(self.bar, middle=self.bar.middle + by)
        return Wood(bar, _moved(self.body, by), tuple(_moved(c, by) for c in self.cuts))

    def holds(self, point: Vec) -> bool:
        """Whether there is wood at a point that lies on no surface."""
        return _inside(self.body, point) and not any(_inside(c, point) for c in self.cuts)


def _moved(planes: Convex, by: Vec) -> Convex:
    return tuple(p.moved(p.normal @ by) for p in planes)


def _inside(planes: Convex, point: Vec) -> bool:
    return all(p.out(point) < 0.0 for p in planes)


def bodies(drawing: Drawing) -> tuple[Wood, ...]:
    """Every bar as it is cut, trimmed where a notch trims it."""
    return tuple(_wood(drawing, bar) for bar in drawing.bars)


def _wood(drawing: Drawing, bar: Bar) -> Wood:
    notches = [n for n in drawing.notches if n.bar == bar.name]
    # Before it is trimmed a cut end reaches beyond its datum.
    ends = [n.end for n in notches] or [bar.near]
    cuts = [c for n in notches for c in _channels(n)]
    cuts += [_box(p.block) for p in drawing.pockets if p.bar == bar.name]
    return Wood(bar, (*(bar.side(s) for s in SIDES), bar.far, *_once(ends)), tuple(cuts))


def _once(planes: list[Plane]) -> list[Plane]:
    out: list[Plane] = []
    for plane in planes:
        if not any(_alike(plane, known) for known in out):
            out.append(plane)
    return out


def _alike(a: Plane, b: Plane) -> bool:
    """One and the same plane, whichever way it looks."""
    sign = 1.0 if a.normal @ b.normal > 0 else -1.0
    return (a.normal - b.normal * sign).length < SAME and abs(a.at - b.at * sign) < SAME


def _channels(notch: Notch) -> Iterator[Convex]:
    for c in notch.channels:
        floor = notch.end.moved(-c.depth)
        planes = [Plane(-floor.normal, -floor.at)]
        if c.low > -INF:
            planes.append(Plane(-notch.across, -c.low))
        if c.high < INF:
            planes.append(Plane(notch.across, c.high))
        yield tuple(planes)


def _box(block: Block) -> Convex:
    return tuple(
        Plane.through(block.middle + axis * (sign * size / 2), axis * sign)
        for axis, size in zip(block.axes, block.size, strict=True)
        for sign in (-1.0, 1.0)
    )


# Edges ---------------------------------------------------------------------------------------


def edges(wood: Wood) -> list[Line]:
    """Every sharp edge, in stretches that no other plane crosses; those in line follow on."""
    planes = _once([*wood.body, *itertools.chain.from_iterable(wood.cuts)])
    held = _Held(Stack.of(planes), Solids.of([wood.body, *wood.cuts]))
    normals = held.planes.normals
    first, second = np.triu_indices(len(planes), 1)
    ways = np.cross(normals[first], normals[second])
    crossing = np.flatnonzero((ways * ways).sum(axis=1) > SAME * SAME)
    found: list[Line] = []
    for i in crossing.tolist():
        a, b, along = planes[first[i]], planes[second[i]], Vec(*ways[i].tolist()).unit
        found += _on_line(wood, held, _foot(a, b, along), along)
    return _distinct(found)


@attrs.frozen(eq=False)
class _Held:
    """A wood's different planes, and its body with its cuts, as arrays."""

    planes: Stack
    solids: Solids

    def holds(self, points: Array) -> list[bool]:
        """Whether there is wood at each of the points."""
        inside = self.solids.hold(points)
        found: list[bool] = (inside[:, 0] & ~inside[:, 1:].any(axis=1)).tolist()
        return found


def _foot(a: Plane, b: Plane, along: Vec) -> Vec:
    return meet(a, b, Plane(along, 0.0))


def _on_line(wood: Wood, held: _Held, foot: Vec, along: Vec) -> Iterator[Line]:
    low, high = _reach(wood.body, foot, along)
    if not high - low > SAME:
        return
    rise = held.planes.rise(along)
    out = held.planes.out(np.array([foot]))[0]
    across = np.abs(rise) > SAME
    at = np.sort(-out[across] / rise[across])
    stops = [low, *at[(at > low) & (at < high)].tolist(), high]
    through = held.planes.normals[~across & (np.abs(out) < SAME)]
    ways = _sectors(through, along)
    stretches = [(t, u) for t, u in itertools.pairwise(stops) if u - t > SAME]
    sharp = _sharp(held, [foot + along * ((t + u) / 2) for t, u in stretches], ways, along)
    start: float | None = None
    for (t, _), edge in zip(stretches, sharp, strict=True):
        if edge and start is None:
            start = t
        if start is not None and not edge:
            yield foot + along * start, foot + along * t
            start = None
    if start is not None:
        yield foot + along * start, foot + along * high


def _reach(body: Convex, foot: Vec, along: Vec) -> tuple[float, float]:
    """Where a line enters and leaves a body, its surface included; none where low > high."""
    low, high = -INF, INF
    for plane in body:
        rise, out = plane.normal @ along, plane.out(foot)
        if abs(rise) <= SAME:
            if out > SAME:
                return INF, -INF
        elif rise > 0:
            high = min(high, -out / rise)
        else:
            low = max(low, -out / rise)
    return low, high


def _sectors(through: Array, along: Vec) -> list[float]:
    """Angles (radians, ascending) at which planes that contain a line stand round it; through:
    their normals."""
    right, up = _square(along)
    out: set[float] = set()
    for normal in through.tolist():
        way = Vec(*normal) ^ along
        turn = atan2(way @ up, way @ right) % pi
        out |= {turn, turn + pi}
    return sorted(out)


def _square(along: Vec) -> tuple[Vec, Vec]:
    """Two unit vectors square to a third and to each other."""
    least = min(range(3), key=lambda i: abs(along[i]))
    right = Vec(*(float(i == least) for i in range(3))).across(along).unit
    return right, along ^ right


def _sharp(held: _Held, at: Sequence[Vec], ways: list[float], along: Vec) -> list[bool]:
    """Whether there is an edge at each of the points on a line."""
    if not ways:
        return [False] * len(at)
    right, up = _square(along)
    rest = [*ways[1:], ways[0] + 2 * pi]
    middles = [(a + b) / 2 for a, b in zip(ways, rest, strict=True)]
    beside = np.array([(right * cos(m) + up * sin(m)) * BESIDE_MM for m in middles])
    points = np.array(at, float).reshape(-1, 1, 3) + beside
    filled = held.holds(points.reshape(-1, 3))
    count = len(ways)
    return [_turns(filled[i : i + count], ways) for i in range(0, len(filled), count)]


def _turns(filled: Sequence[bool], ways: Sequence[float]) -> bool:
    """Whether wood and no wood meet round a line in anything but one flat face."""
    # Where wood begins or ends, at the side that the sector before it shares with it.
    turns = [
        w
        for w, now, before in zip(ways, filled, [filled[-1], *filled[:-1]], strict=True)
        if now != before
    ]
    flat = len(turns) == 2 and abs(turns[1] - turns[0] - pi) < 1e-6
    return bool(turns) and not flat


def _distinct(found: list[Line]) -> list[Line]:
    """Once each, where more than two planes meet in one line."""
    out: dict[tuple[tuple[float, ...], ...], Line] = {}
    for a, b in found:
        ends = sorted(tuple(round(v, 5) + 0.0 for v in p) for p in (a, b))
        out.setdefault((ends[0], ends[1]), (a, b))
    return list(out.values())


@attrs.frozen(eq=False)
class Shape:
    """A joint as it is shown: its drawing with short bars, and each of them as a solid with its
    edges."""

    drawing: Drawing
    woods: tuple[Wood, ...]
    edges: tuple[list[Line], ...]

    @classmethod
    def of(cls, drawing: Drawing) -> Shape:
        """Of a drawing with bars of any length."""
        short = shortened(drawing)
        woods = bodies(short)
        return cls(short, woods, tuple(edges(wood) for wood in woods))


# Shortened ------------------------------------------------------------------------------------


def shortened(drawing: Drawing) -> Drawing:
    """The same joint with every bar cut short around it, for a picture."""
    worked = [p for n in drawing.notches for p in _of_notch(drawing.bar(n.bar), n)]
    bars = []
    for bar in drawing.bars:
        own = [c for p in drawing.pockets if p.bar == bar.name for c in _corners(p.block)]
        # Of a groove that runs along the whole bar neither end is a place of the joint.
        places = [t for t in ((p - bar.middle) @ bar.grain for p in own) if 0 < t < bar.length]
        places += [(p - bar.middle) @ bar.grain for p in worked]
        bars.append(_short(bar, places, cut=any(n.bar == bar.name for n in drawing.notches)))
    return attrs.evolve(drawing, bars=tuple(bars))


def _short(bar: Bar, places: list[float], *, cut: bool) -> Bar:
    room = 0.9 * max(bar.width, bar.thickness)
    start = 0.0 if cut else min(max(0.0, min(places, default=0.0) - room), bar.length / 2)
    end = min(max([*places, start]) + room, bar.length)
    return attrs.evolve(bar, middle=bar.middle + bar.grain * start, length=end - start)


def _of_notch(bar: Bar, notch: Notch) -> Iterator[Vec]:
    for depth in {0.0, *(c.depth for c in notch.channels)}:
        yield from bar.arrises(notch.end.moved(-depth))


def _corners(block: Block) -> Iterator[Vec]:
    x, y, z = (axis * (size / 2) for axis, size in zip(block.axes, block.size, strict=True))
    for i, k, m in itertools.product((-1.0, 1.0), repeat=3):
        yield block.middle + x * i + y * k + z * m
