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
from math import pi

import attrs
import numpy as np
from numpy.typing import NDArray

from jointgeo.geometry.vectors import INF, Plane, Vec
from jointgeo.joints.drawing import Bar, Block, Drawing, Notch
from jointgeo.sheet.many_planes import Array, Solids, Stack
from jointgeo.sheet.stretches import divided, runs

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

    def holds(self, points: Array) -> NDArray[np.bool_]:
        """At which of the points (n, 3), which lie on no surface, there is wood."""
        found = self.whole.hold(points)[:, 0]
        if self.cuts:
            found[found] = ~self.gone.hold(points[found]).any(axis=1)
        return found


def _moved(planes: Convex, by: Vec) -> Convex:
    return tuple(p.moved(p.normal @ by) for p in planes)


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


def _once(planes: Sequence[Plane]) -> list[Plane]:
    """Each different plane, whichever way it looks."""
    stack = Stack.of(planes)
    normals, at = stack.normals, stack.at
    sign = np.where(normals @ normals.T > 0, 1.0, -1.0)
    off = normals[:, None] - normals * sign[..., None]
    alike = (_dot(off, off) < SAME * SAME) & (np.abs(at[:, None] - at * sign) < SAME)
    first = np.flatnonzero(~np.tril(alike, -1).any(axis=1))
    return [planes[i] for i in first.tolist()]


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
    planes = Stack.of(_once([*wood.body, *itertools.chain.from_iterable(wood.cuts)]))
    foot, along = _lines(planes)
    low, high = _reach(wood, foot, along)
    inside = high - low > SAME
    foot, along, low, high = (v[inside] for v in (foot, along, low, high))
    # Each line by itself: its last digits must not follow from how many there are.
    rise, out = planes.rise(along[:, None])[:, 0], planes.out(foot[:, None])[:, 0]
    across = np.abs(rise) > SAME
    with np.errstate(divide="ignore", invalid="ignore"):
        at = -out / rise
    crossed = across & (at > low[:, None]) & (at < high[:, None])
    which, start, stop = divided(np.nonzero(crossed)[0], at[crossed], low, high, SAME)
    middles = foot[which] + along[which] * ((start + stop) / 2)[:, None]
    through = ~across & (np.abs(out) < SAME)
    sharp = _sharp(wood, middles, along[which], through[which], planes.normals)
    # An edge goes on to where the next stretch of its line starts, else to the line's end.
    until, goes_on = high[which], which[1:] == which[:-1]
    until[:-1][goes_on] = start[1:][goes_on]
    first, last = runs(which, sharp)
    mine = which[first]
    ends = (foot[mine] + along[mine] * t[:, None] for t in (start[first], until[last]))
    return _distinct([(Vec(*a), Vec(*b)) for a, b in zip(*(e.tolist() for e in ends), strict=True)])


def _lines(planes: Stack) -> tuple[Array, Array]:
    """Every line in which two planes meet: the point of it that is nearest to the origin, and its
    direction."""
    first, second = np.triu_indices(len(planes.at), 1)
    ways = np.cross(planes.normals[first], planes.normals[second])
    long = np.sqrt((ways * ways).sum(axis=1))
    meet = long > SAME
    first, second, along = first[meet], second[meet], ways[meet] / long[meet, None]
    a, b = planes.normals[first], planes.normals[second]
    across = np.cross(b, along)
    points = across * planes.at[first, None] + np.cross(along, a) * planes.at[second, None]
    return points / _dot(a, across)[:, None], along


def _reach(wood: Wood, foot: Array, along: Array) -> tuple[Array, Array]:
    """Where lines enter and leave a wood's body, its surface included."""
    planes = wood.whole.planes
    rise, out = (_dot(v[:, None], planes.normals) for v in (along, foot))
    low, high = wood.whole.crossed(rise, out - planes.at, SAME, SAME)
    return low[:, 0], high[:, 0]


def _dot(a: Array, b: Array) -> Array:
    return np.asarray((a * b).sum(axis=-1))


def _sharp(
    wood: Wood, points: Array, along: Array, through: NDArray[np.bool_], normals: Array
) -> NDArray[np.bool_]:
    """Whether there is an edge at each of the points on lines; through: which of the planes go
    through each, whose normals are given."""
    out, counts = np.zeros(len(points), bool), through.sum(axis=1)
    for count in np.unique(counts[counts > 0]).tolist():
        mine = np.flatnonzero(counts == count)
        own = normals[np.nonzero(through[mine])[1]].reshape(-1, count, 3)
        out[mine] = _turns(wood, points[mine], along[mine], own)
    return out


def _turns(wood: Wood, points: Array, along: Array, normals: Array) -> NDArray[np.bool_]:
    """Whether wood and no wood meet round each point in anything but one flat face.

    points, along: (n, 3); normals: (n, m, 3), of the planes through each.
    """
    right, up = (way[:, None] for way in _square(along))
    ways = np.cross(normals, along[:, None])
    turn = np.sort(np.arctan2(_dot(ways, up), _dot(ways, right)) % pi, axis=1)
    # At these angles the planes stand round the line and bound sectors.
    sides = np.concatenate([turn, turn + pi], axis=1)
    middles = (sides + np.concatenate([sides[:, 1:], sides[:, :1] + 2 * pi], axis=1))[..., None] / 2
    beside = (right * np.cos(middles) + up * np.sin(middles)) * BESIDE_MM
    filled = wood.holds((points[:, None] + beside).reshape(-1, 3)).reshape(sides.shape)
    # Where wood begins or ends, at the side that the sector before it shares with it.
    turns = filled != np.roll(filled, 1, axis=1)
    least = np.where(turns, sides, INF).min(axis=1)
    most = np.where(turns, sides, -INF).max(axis=1)
    flat = (turns.sum(axis=1) == 2) & (np.abs(most - least - pi) < 1e-6)
    return np.asarray(turns.any(axis=1) & ~flat)


def _square(along: Array) -> tuple[Array, Array]:
    """Unit vectors (n, 3) square to others and to each other."""
    least = np.eye(3)[np.abs(along).argmin(axis=1)]
    right = least - along * _dot(least, along)[:, None]
    right /= np.sqrt(_dot(right, right))[:, None]
    return right, np.cross(along, right)


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
