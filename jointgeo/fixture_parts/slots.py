"""Arc slots about an axis: where they run, what they keep off, and how well they lock.

Knows axes and arcs of circles; no fixture, no part. Marks as in ``axis``.

Hand. A screw on the part that turns runs the way the part does, so a slot in the part that stands
covers its zero place plus the range. A slot in the part that turns runs past a screw that stands:
the screw goes backwards in it, so it covers the zero place *minus* the range. Over a range that is
the same both ways the wrong hand fits as well, and binds over any other.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import combinations, product
from math import cos, degrees, hypot, radians, sin
from typing import TypeAlias

import attrs

from jointgeo.fixture_parts.axis import Axis
from jointgeo.geometry.arcs import Arc, edge_keeps_off, free_arcs, hole_keeps_off, slots_apart
from jointgeo.geometry.flat import Point, Polygon, sides

__all__ = [
    "FRICTION",
    "Keep",
    "Mark",
    "Slot",
    "angle_of_play_deg",
    "clamping_n",
    "farthest_pair",
    "slip_torque_nm",
    "slot",
    "two_slots_apart_mm",
]

#: Radius and mark, as in ``axis``.
Mark: TypeAlias = tuple[float, float]

#: Wood or washer on wood, dry; from memory.
FRICTION = 0.25
#: Torque over clamping force and diameter of a dry screw; from memory.
NUT_FACTOR = 0.2


@attrs.frozen
class Slot:
    """A slot's middle line: marks of both ends, which are the middles of the cutter there."""

    axis: Axis
    radius_mm: float
    width_mm: float
    start_deg: float
    end_deg: float

    @property
    def span_deg(self) -> float:
        return self.end_deg - self.start_deg

    @property
    def chord_mm(self) -> float:
        """Between the middles of both ends, straight."""
        return 2 * self.radius_mm * sin(radians(min(self.span_deg, 180.0)) / 2)

    @property
    def ends(self) -> tuple[Point, Point]:
        at = self.axis.at
        return at(self.radius_mm, self.start_deg), at(self.radius_mm, self.end_deg)

    def distance_mm(self, point: Point) -> float:
        """From its middle line to a point."""
        radius, mark = self.axis.marks(point)
        if Arc(self.start_deg, self.end_deg).holds(mark):
            return abs(radius - self.radius_mm)
        return min(hypot(point[0] - u, point[1] - v) for u, v in self.ends)

    def web_to_hole_mm(self, point: Point, diameter_mm: float) -> float:
        """Wood between it and a hole; negative where they run into each other."""
        return self.distance_mm(point) - self.width_mm / 2 - diameter_mm / 2

    def web_to_edges_mm(self, board: Polygon) -> float:
        """Least wood between it and the edges of a convex board that it lies in."""
        least = float("inf")
        for across, far, *_ in sides(board, self.axis.centre):
            # Nearest where it runs square to the edge, or at one of its ends.
            mark = degrees(self.axis.zero_rad - across)
            if Arc(self.start_deg, self.end_deg).holds(mark):
                reach = self.radius_mm
            else:
                reach = max(
                    self.radius_mm * cos(self.axis.rad(m) - across)
                    for m in (self.start_deg, self.end_deg)
                )
            least = min(least, far - reach)
        return least - self.width_mm / 2


def slot(
    axis: Axis,
    radius_mm: float,
    width_mm: float,
    screw_at_deg: float,
    low_deg: float,
    high_deg: float,
    over_run_deg: float,
    moving: bool,
) -> Slot:
    """The slot for a range of angles; moving: whether it is in the part that turns."""
    first, last = (-high_deg, -low_deg) if moving else (low_deg, high_deg)
    start, end = screw_at_deg + first - over_run_deg, screw_at_deg + last + over_run_deg
    return Slot(axis, radius_mm, width_mm, start, end)


def two_slots_apart_mm(one: Slot, other: Slot) -> float:
    """Wood between two slots about one axis; negative where they run into each other."""
    apart = slots_apart(
        (one.radius_mm, other.radius_mm),
        (one.start_deg, other.start_deg),
        (one.span_deg, other.span_deg),
    )
    return apart - (one.width_mm + other.width_mm) / 2


@attrs.frozen
class Keep:
    """What a slot keeps off: holes as (place, diameter), and the edges of a convex board."""

    board: Polygon
    holes: tuple[tuple[Point, float], ...]
    web_mm: float

    def free(self, axis: Axis, radius: float, width: float) -> tuple[Arc, ...]:
        """Marks between which a slot's middle line may run at that radius."""
        return free_arcs(self._taken(axis, radius, width))

    def _taken(self, axis: Axis, radius: float, width: float) -> Iterable[tuple[float, float]]:
        for place, diameter in self.holes:
            far, mark = axis.marks(place)
            yield mark, hole_keeps_off(radius, far, width / 2 + diameter / 2 + self.web_mm)
        for across, far, *_ in sides(self.board, axis.centre):
            mark = degrees(axis.zero_rad - across)
            yield mark, edge_keeps_off(radius, far, width / 2 + self.web_mm)

    def radii(self, axis: Axis, width: float) -> list[float]:
        """Radii at which free arcs come or go, each a trifle to either side."""
        out = []
        for place, diameter in self.holes:
            far, apart = axis.marks(place)[0], width / 2 + diameter / 2 + self.web_mm
            out += [far - apart, far + apart]
        for _, far, *_ in sides(self.board, axis.centre):
            out.append(far - width / 2 - self.web_mm)
        reach = max(axis.marks(p)[0] for p in self.board)
        near = [r + by for r in out for by in (-1e-9, 1e-9)]
        return sorted({r for r in near if 1.0 < r < reach} | {*_steps(1.0, reach, 1.0)})


def _steps(low: float, high: float, by: float) -> Iterable[float]:
    at = low
    while at < high:
        yield at
        at += by


def farthest_pair(
    axis: Axis,
    keep: Keep,
    width: float,
    first_deg: float,
    last_deg: float,
    foot: Keep | None = None,
    screw: float = 0.0,
) -> tuple[Mark, Mark] | None:
    """The zero places (radius, mark) of two screws that stand farthest apart; None: no room.

    first_deg, last_deg: marks of the slot's ends from the screw's zero place, over-run included.
    foot: the board that holds the screws, if it is another; screw: their diameter there. Both lie
    on one radius, one setting of the trammel, and only where no radius has room for two on two. At
    one radius the best places are ends of what is free; the radius is searched where arcs come or
    go, at each millimetre between, and closer about the best.
    """
    span = last_deg - first_deg

    def places(radius: float) -> list[Mark]:
        return [
            (radius, m)
            for m in _places(axis, keep, width, first_deg, last_deg, foot, screw, radius)
        ]

    def wood(a: Mark, b: Mark) -> float:
        starts = a[1] + first_deg, b[1] + first_deg
        return slots_apart((a[0], b[0]), starts, (span, span)) - width - keep.web_mm

    def best(found: Iterable[tuple[Mark, Mark]]) -> tuple[Mark, Mark] | None:
        fits = [pair for pair in found if wood(*pair) >= -1e-9]
        return max(fits, key=lambda pair: _apart(axis, *pair), default=None)

    radii = keep.radii(axis, width)
    known = [places(r) for r in radii]
    pair = best(p for there in known for p in combinations(there, 2))
    for by in (0.1, 0.01):
        if pair is not None:
            near = (pair[0][0] + k * by for k in range(-10, 11))
            closer = best(p for r in near if r > 0 for p in combinations(places(r), 2))
            if closer is not None and _apart(axis, *closer) > _apart(axis, *pair) + 1e-9:
                pair = closer
    if pair is None:
        pair = best(combinations([m for there in known[::4] for m in there], 2))
    if pair is None:
        return None
    low, high = sorted((r, (m + 180.0) % 360.0 - 180.0) for r, m in pair)
    return (low, high) if low[1] <= high[1] else (high, low)


def _apart(axis: Axis, a: Mark, b: Mark) -> float:
    (u, v), (x, y) = axis.at(*a), axis.at(*b)
    return hypot(u - x, v - y)


def _places(
    axis: Axis,
    keep: Keep,
    width: float,
    first_deg: float,
    last_deg: float,
    foot: Keep | None,
    screw: float,
    radius: float,
) -> list[float]:
    """Ends of what is free for a screw's zero place at a radius."""
    free = keep.free(axis, radius, width)
    if any(a.whole for a in free):
        found = [Arc(-180.0, 180.0)]
    else:
        span = last_deg - first_deg
        found = [
            Arc(a.start_deg - first_deg, a.end_deg - last_deg) for a in free if a.span_deg >= span
        ]
    if foot is not None:
        found = _shared(found, foot.free(axis, radius, screw))
    if any(a.whole for a in found):
        return [-90.0, 90.0]
    return [m for a in found for m in (a.start_deg, a.end_deg)]


def _shared(places: Sequence[Arc], arcs: Sequence[Arc]) -> list[Arc]:
    """What two sets of arcs have in common."""
    out = []
    for p, q in product(places, arcs):
        if p.whole:
            out.append(q)
            continue
        if q.whole:
            out.append(p)
            continue
        for turn in (-360.0, 0.0, 360.0):
            low, high = (
                max(p.start_deg, q.start_deg + turn),
                min(p.end_deg, q.end_deg + turn),
            )
            if low <= high:
                out.append(Arc(low, high))
    return out


def angle_of_play_deg(play_mm: float, radius_mm: float) -> float:
    """How far the part turns while a screw goes from one side of what is loose to the other."""
    return degrees(play_mm / radius_mm)


def clamping_n(torque_nm: float, screw_mm: float) -> float:
    """Force of a screw done up with a torque: torque over 0.2 times its diameter (from memory)."""
    return torque_nm / (NUT_FACTOR * screw_mm / 1000)


def slip_torque_nm(force_n: float, radii_mm: Sequence[float]) -> float:
    """Torque at which screws of that force slip in their slots."""
    return sum(FRICTION * force_n * r / 1000 for r in radii_mm)
