"""How far a front beam must go out, as a function of how far it goes up: exact.

Knows stands, beams and piecewise straight functions; no joint type and no search.

Theory. Let m(z) be the least Y of a solid at height z: the lower edge of its outline seen from the
end, convex. A beam whose window is [low + u, high + u] meets least m over that window; so it must
stand out by F(u) = -(that) - its face distance. The least of a convex function over a sliding
window is convex, hence F is concave where it is finite, straight between break points, and ends
where the solid leaves the window: it jumps there to nothing at all. What is needed of a clamping is
the greatest F of its solids, of a setup the least of its clampings, of all setups the greatest; all
of them straight between break points again, so the smallest move is found among these and the
crossings, with nothing stepped over.

Moving the hinge instead by (dy, dz) shifts all that swings by (dy(1 - cos t) - dz sin t,
dy sin t + dz(1 - cos t)) in Y and Z at a tilt t: a move of the beam, another one in each setup.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import attrs

from jointgeo.checks.context import Context
from jointgeo.fixtures.model import FrontBeam
from jointgeo.geometry.boxes import box_corners
from jointgeo.geometry.piecewise import Piecewise, greatest_of
from jointgeo.geometry.rotations import Vector

__all__ = ["BEYOND_MM", "NOT_ENOUGH_MM", "Move", "least_move", "least_rise", "out_needed"]

#: How far beyond a jump a beam is put: rounding is a millionth of it, no shop could set it.
BEYOND_MM = 0.001
NOT_ENOUGH_MM = 1e6


def out_needed(context: Context, beam: FrontBeam, room_mm: float = 0.0) -> Piecewise:
    """How far out (mm) ``beam`` must go to leave ``room_mm`` to all that swings in this clamping,
    by how far up it goes (mm). Nothing where every solid is at least the room above or below it,
    ``NOT_ENOUGH_MM`` where the nearest is less than that above or below and none beside it: there
    only a rise helps, as the check ``front_beam`` has it.
    """
    clamped = context.setup.chosen.clamped
    solids: list[tuple[Sequence[Vector], float]] = [
        (corners, context.thin_ends_mm if name == "stock" else 0.0)
        for name, (corners, _) in zip(clamped.names, clamped.outlines, strict=True)
    ]
    solids += [(box_corners(body), 0.0) for body in context.carried.values()]
    beside, near = (
        greatest_of(
            _solid(
                corners,
                (beam.z_min_mm - wider, beam.z_max_mm + wider),
                beam.face_distance_mm - before - room_mm,
            )
            for corners, before in solids
        )
        for wider in (0.0, room_mm)
    )
    return beside.but_within(near, NOT_ENOUGH_MM)


def _solid(corners: Sequence[Vector], window: tuple[float, float], face_mm: float) -> Piecewise:
    low, high = window
    chain = _foremost(corners)
    first = min(range(len(chain)), key=lambda i: chain[i][1])
    points = [(z - high, -y - face_mm) for z, y in chain[: first + 1]]
    points += [(z - low, -y - face_mm) for z, y in chain[first:]]
    return Piecewise.through(points)


def _foremost(corners: Sequence[Vector]) -> list[tuple[float, float]]:
    """(z, least Y there) at the corners of the outline's lower edge, in order of z."""
    chain: list[tuple[float, float]] = []
    for z, y in sorted((z, y) for _, y, z in corners):
        if chain and chain[-1][0] == z:
            continue  # of one height the first has the least Y
        while len(chain) > 1 and _above(chain[-2], chain[-1], (z, y)):
            chain.pop()
        chain.append((z, y))
    return chain


def _above(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> bool:
    """Whether b lies on or above the line from a to c."""
    return (b[0] - a[0]) * (c[1] - a[1]) <= (c[0] - a[0]) * (b[1] - a[1])


@attrs.frozen
class Move:
    """Of the beam: out (away from the plate) and up, mm."""

    out_mm: float
    up_mm: float

    @property
    def length_mm(self) -> float:
        return math.hypot(self.out_mm, self.up_mm)


def least_rise(needed: Piecewise, low_mm: float, high_mm: float) -> float | None:
    """The least rise of the beam, up or down, that alone is enough; None within these bounds."""
    found = [m.up_mm for m in _candidates(needed, low_mm, high_mm) if m.out_mm <= 0.0]
    return min(found, key=abs, default=None)


def least_move(
    needed: Piecewise, low_mm: float, high_mm: float, out_price: float, up_price: float
) -> Move:
    """The cheapest move out and up at once; with both prices 0 the shortest."""

    def cost(move: Move) -> tuple[float, float]:
        price = out_price * move.out_mm + up_price * abs(move.up_mm)
        return (price if out_price or up_price else move.length_mm), move.length_mm

    return min(_candidates(needed, low_mm, high_mm), key=cost)


def _candidates(needed: Piecewise, low: float, high: float) -> Iterable[Move]:
    """Where the least of any rising cost of (out, |up|) can be: at break points from either side,
    where nothing more is needed, at no rise, and nearest to the origin on each step."""
    places: set[float] = {0.0, low, high}
    for step in needed.steps:
        places |= {step.start, step.end, step.start - BEYOND_MM, step.end + BEYOND_MM}
        slope = (step.last - step.first) / (step.end - step.start)
        at_zero = step.first - slope * step.start
        if slope:
            zero = -at_zero / slope
            places |= {zero, zero - BEYOND_MM, zero + BEYOND_MM}
        foot = -slope * at_zero / (1.0 + slope * slope)
        if step.start < foot < step.end:
            places.add(foot)
    for up in sorted(places):
        if low <= up <= high:
            yield Move(max(0.0, needed.at(up)), up)
