"""Which bars are the same piece of wood, and which are mirror images.

Knows parts and vectors; no joint and no fixture. Everything that is taken from a bar (ends,
channels, mortises) is a set of half-spaces; it is written in the bar's own frame, its origin midway
between the two datums on the centre line. Two bars are alike if one of the sign changes of the axes
(with a quarter turn too where the section is square) carries the one's half-spaces into the
other's. The measure is the greatest move of any bounding plane over the bar, mm: 0.01° on a bar of
440 mm moves one by 0.08 mm, and the rounding of a piece is 1e-13 mm.

Rejected: comparing volumes (a mortise drowns in them), parameters (a far end turned to a near one
has other numbers) and lists of corners (they depend on how a surface is cut into triangles).
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator
from math import isfinite
from typing import TypeAlias

import attrs

from jointgeo.geometry.vectors import Vec
from jointgeo.joints.drawing import XFrom
from jointgeo.joints.stock import LayoutBox, Part

__all__ = ["LIKE_MM", "Shape", "Turn", "shape", "turns"]

LIKE_MM = 0.01
SQUARE_MM = 1e-6

Half: TypeAlias = tuple[Vec, float]  # all p with n·p at most that
Region: TypeAlias = tuple[Half, ...]
Turn: TypeAlias = tuple[Vec, Vec, Vec]  # rows: the other's axes in one's own


@attrs.frozen
class Shape:
    """A bar's size and what is taken from it, in its own frame. marked: where x is 0, if the bar's
    marks are where they must be, as at a corner: both boards are marked from one rim."""

    size: Vec
    regions: tuple[Region, ...]
    marked: XFrom | None = None

    @property
    def corners(self) -> tuple[Vec, ...]:
        half = self.size / 2
        signs = itertools.product((-1, 1), repeat=3)
        return tuple(Vec(i * half.x, j * half.y, k * half.z) for i, j, k in signs)


def shape(near: Part, far: Part, also: Iterable[LayoutBox] = ()) -> Shape:
    """The shape of a bar by its two ends and the near end's layout. also: what else is struck on
    it, though nothing is cut there."""
    size = Vec(near.width_mm, near.thickness_mm, near.length_mm)
    middle = size / 2

    def here(way: Vec, at: float) -> Half:
        return way, at - way @ middle

    def there(way: Vec, at: float) -> Half:
        """Of the far end's frame, which is the near one's turned end for end."""
        turned = Vec(-way.x, way.y, -way.z)
        return turned, at - way @ middle

    out = [tuple(here(*h) for h in region) for region in _taken(near)]
    out += [tuple(there(*h) for h in region) for region in _taken(far)]
    out += [tuple(here(*h) for h in _box(box)) for box in (*near.layout, *also)]
    free = near.turns_over and far.turns_over
    return Shape(size, tuple(out), None if free else near.x_from)


def _taken(part: Part) -> Iterator[Region]:
    if not part.notches:
        yield ((Vec(0.0, 0.0, 1.0), 0.0),)
    for number, notch in enumerate(part.notches):
        q_x, _, q_z = notch.rows
        base, zero = q_x @ notch.at, q_z @ notch.at
        if number == 0:
            yield ((q_z, zero),)
        for c in notch.channels:
            sides = ((-q_x, -c.low - base), (q_x, c.high + base))
            kept = tuple((n, at) for n, at in sides if isfinite(at))
            yield (*kept, (q_z, zero + c.depth))


def _box(box: LayoutBox) -> Iterator[Half]:
    middle = Vec(*(row[3] for row in box.rows[:3]))
    for axis in range(3):
        way = Vec(*(row[axis] for row in box.rows[:3]))
        for sign in (1.0, -1.0):
            yield way * sign, (way * sign) @ middle + box.size[axis] / 2


def turns(one: Shape, other: Shape, like_mm: float = LIKE_MM) -> list[tuple[Turn, int]]:
    """Every way to lay ``other`` on ``one``, with 1 for the same piece and -1 for its mirror image;
    those that change fewest marks first."""
    found = [
        (turn, hand) for turn, hand in _possible(one, other) if _moved(one, other, turn) <= like_mm
    ]
    return sorted(found, key=lambda f: (-f[1], -sum(row[i] for i, row in enumerate(f[0]))))


def _possible(one: Shape, other: Shape) -> Iterator[tuple[Turn, int]]:
    if one.marked is not None:  # the marked sides stay; only the two ends may be exchanged
        i = 1 if one.marked == other.marked else -1
        x, y, z = Vec(float(i), 0.0, 0.0), Vec(0.0, 1.0, 0.0), Vec(0.0, 0.0, 1.0)
        yield from (((x, y, z), i), ((x, y, -z), -i))
        return
    square = abs(one.size.x - one.size.y) <= SQUARE_MM
    for quarter in (False, True) if square else (False,):
        for i, j, k in itertools.product((1, -1), repeat=3):
            x, y = Vec(float(i), 0.0, 0.0), Vec(0.0, float(j), 0.0)
            rows = (y, x) if quarter else (x, y)
            yield (*rows, Vec(0.0, 0.0, float(k))), i * j * k * (-1 if quarter else 1)


def _moved(one: Shape, other: Shape, turn: Turn) -> float:
    """The greatest move of a plane, mm; inf where they do not pair within LIKE_MM."""
    a, b = one.size, other.size
    worst = max(abs(a.x - b.x), abs(a.y - b.y), abs(a.z - b.z))
    if worst > LIKE_MM or len(one.regions) != len(other.regions):
        return float("inf")
    corners, left = one.corners, [_turned(r, turn) for r in other.regions]
    for region in one.regions:
        moves = [_apart(region, r, corners) for r in left]
        best = min(range(len(left)), key=moves.__getitem__)
        worst = max(worst, moves[best])
        if worst > LIKE_MM:
            return float("inf")
        del left[best]
    return worst


def _turned(region: Region, turn: Turn) -> Region:
    return tuple((Vec(*(row @ n for row in turn)), at) for n, at in region)


def _apart(one: Region, other: Region, corners: tuple[Vec, ...]) -> float:
    if len(one) != len(other):
        return float("inf")
    left, worst = list(other), 0.0
    for n, at in one:
        moves = [
            max(abs((n - m) @ p - (at - b)) for p in corners) if n @ m > 0 else float("inf")
            for m, b in left
        ]
        best = min(range(len(left)), key=moves.__getitem__)
        worst = max(worst, moves[best])
        if worst > LIKE_MM:  # nobody asks by how much, and most pairs end at the first plane
            return float("inf")
        del left[best]
    return worst
