"""The outline of all that a convex body covers while it turns about a centre, exact.

Knows ``flat`` only. Degrees, anticlockwise with u to the right and v up.

Theory. What is swept is bounded by pieces of: the body's sides at both ends of the turn, the arc
of each corner, and the arc of each side whose foot of the perpendicular from the centre lies on
it. All are split where they cross or touch, and those pieces are kept that have the swept area on
one side only. A point is covered if the circle through it, less the arcs that lie outside a side
of the body, has a part within the turn counted back from the point.

Trap. A side touches the arc of its own foot there, a double root that rounding loses; the sides are
therefore split at their feet explicitly.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from math import acos, atan2, ceil, cos, hypot, pi, radians, sin, sqrt

import attrs

from jointgeo.geometry.flat import Point, Polygon, area, sides, turned

__all__ = ["Bow", "Stroke", "covers", "outline_area", "reach", "swept_outline"]

SAME = 1e-9  # mm and radians: rounding
BESIDE = 1e-9  # of the body's reach: how far beside a piece it is asked what is covered
TOUCH = 1e-9  # mm: a side and an arc nearer than that touch in one point


@attrs.frozen
class Stroke:
    """A straight piece, what it bounds at its left. share: its part of twice the enclosed area."""

    start: Point
    end: Point

    @property
    def share(self) -> float:
        return self.start[0] * self.end[1] - self.start[1] * self.end[0]

    @property
    def back(self) -> Stroke:
        return Stroke(self.end, self.start)


@attrs.frozen
class Bow:
    """An arc about ``centre``; radians, anticlockwise where the end is the greater. share: as of a
    ``Stroke``."""

    centre: Point
    radius: float
    start_rad: float
    end_rad: float

    def at(self, angle_rad: float) -> Point:
        u, v = self.centre
        return u + self.radius * cos(angle_rad), v + self.radius * sin(angle_rad)

    @property
    def start(self) -> Point:
        return self.at(self.start_rad)

    @property
    def end(self) -> Point:
        return self.at(self.end_rad)

    @property
    def share(self) -> float:
        (u, v), (a, b), (c, d) = self.centre, self.start, self.end
        round_ = self.radius**2 * (self.end_rad - self.start_rad)
        return round_ + u * (d - b) - v * (c - a)

    @property
    def back(self) -> Bow:
        return Bow(self.centre, self.radius, self.end_rad, self.start_rad)


@attrs.frozen
class _Sweep:
    """A body, in corners, turned from one angle to another (radians) about a centre."""

    body: Polygon
    centre: Point
    low: float
    high: float

    def covers(self, point: Point) -> bool:
        x, y = point[0] - self.centre[0], point[1] - self.centre[1]
        r, at = hypot(x, y), atan2(y, x)
        # Angles at which the body, unturned, would have to hold the point.
        first, last = at - self.high, at - self.low
        taken = []
        for across, far, *_ in sides(self.body, self.centre):
            if far >= r:
                continue
            if far <= -r:
                return False
            half = acos(far / r)
            middle = across + 2 * pi * ceil((first - half - across) / (2 * pi))
            while middle - half < last:
                taken.append((middle - half, middle + half))
                middle += 2 * pi
        reached = first
        for start, end in sorted(taken):
            if start > reached:
                return True
            reached = max(reached, end)
        return reached < last


def covers(body: Polygon, about: Point, low_deg: float, high_deg: float, point: Point) -> bool:
    """Whether a point is met while the body turns from ``low_deg`` to ``high_deg``."""
    return _Sweep(body, about, radians(low_deg), radians(high_deg)).covers(point)


def swept_outline(
    body: Polygon, about: Point, low_deg: float, high_deg: float
) -> tuple[tuple[Stroke | Bow, ...], ...]:
    """Closed outlines, what is swept at the left of each piece: the outer one, and holes.

    low_deg < high_deg ≤ low_deg + 360; body: convex.
    """
    if area(body) < 0:
        body = list(reversed(body))
    sweep = _Sweep(body, about, radians(low_deg), radians(high_deg))
    reach = max(hypot(x - about[0], y - about[1]) for x, y in body)
    kept: list[tuple[Point, Stroke | Bow]] = []
    for piece in _pieces(sweep):
        middle, across = _middle(piece)
        by = BESIDE * reach
        left, right = (
            sweep.covers((middle[0] + s * by * across[0], middle[1] + s * by * across[1]))
            for s in (1.0, -1.0)
        )
        # Pieces that lie on each other, of two alike corners, are one.
        if left != right and not any(_near(middle, known) for known, _ in kept):
            kept.append((middle, piece if left else piece.back))
    return _chained([piece for _, piece in kept])


def outline_area(loops: tuple[tuple[Stroke | Bow, ...], ...]) -> float:
    """Area within outlines, holes taken off."""
    return sum(piece.share for loop in loops for piece in loop) / 2


def reach(pieces: tuple[Stroke | Bow, ...]) -> tuple[float, float, float, float]:
    """Least and greatest u, least and greatest v of an outline, arcs included."""
    points: list[Point] = []
    for piece in pieces:
        points += [piece.start, piece.end]
        if isinstance(piece, Bow):
            low, high = sorted((piece.start_rad, piece.end_rad))
            quarter = int(low // (pi / 2)) + 1
            while quarter * pi / 2 < high:
                points.append(piece.at(quarter * pi / 2))
                quarter += 1
    us, vs = [p[0] for p in points], [p[1] for p in points]
    return min(us), max(us), min(vs), max(vs)


def _near(a: Point, b: Point) -> bool:
    return hypot(a[0] - b[0], a[1] - b[1]) < 1e-6


def _middle(piece: Stroke | Bow) -> tuple[Point, Point]:
    """The middle of a piece and the unit vector to its left there."""
    if isinstance(piece, Bow):
        angle = (piece.start_rad + piece.end_rad) / 2
        return piece.at(angle), (-cos(angle), -sin(angle))  # anticlockwise: the centre at its left
    (a, b), (c, d) = piece.start, piece.end
    long = hypot(c - a, d - b)
    return ((a + c) / 2, (b + d) / 2), ((b - d) / long, (c - a) / long)


def _pieces(sweep: _Sweep) -> Iterator[Stroke | Bow]:
    centre = sweep.centre
    ends = [turned(sweep.body, centre, a * 180 / pi) for a in (sweep.low, sweep.high)]
    strokes = [(a, b) for body in ends for *_, a, b in sides(body, centre)]
    circles: dict[float, list[tuple[float, float]]] = {}

    def add(radius: float, angle: float) -> None:
        if radius > SAME:
            known = next((r for r in circles if abs(r - radius) < SAME), radius)
            circles.setdefault(known, []).append((angle + sweep.low, angle + sweep.high))

    for x, y in sweep.body:
        add(hypot(x - centre[0], y - centre[1]), atan2(y - centre[1], x - centre[0]))
    for across, far, a, b in sides(sweep.body, centre):
        if (
            min(_along(a, centre, across), _along(b, centre, across))
            < 0
            < max(_along(a, centre, across), _along(b, centre, across))
        ):
            add(abs(far), across if far >= 0 else across + pi)
    yield from _split_strokes(strokes, centre, tuple(circles))
    yield from _split_arcs(strokes, centre, circles)


def _along(point: Point, centre: Point, across: float) -> float:
    return -sin(across) * (point[0] - centre[0]) + cos(across) * (point[1] - centre[1])


def _split_strokes(
    strokes: list[tuple[Point, Point]], centre: Point, radii: tuple[float, ...]
) -> Iterator[Stroke]:
    for index, (a, b) in enumerate(strokes):
        long = hypot(b[0] - a[0], b[1] - a[1])
        way = (b[0] - a[0]) / long, (b[1] - a[1]) / long
        foot = (centre[0] - a[0]) * way[0] + (centre[1] - a[1]) * way[1]
        far = way[0] * (centre[1] - a[1]) - way[1] * (centre[0] - a[0])
        at = [0.0, long, foot]
        for r in radii:
            if r > abs(far) + TOUCH:
                half = sqrt(r * r - far * far)
                at += [foot - half, foot + half]
        for other, (c, d) in enumerate(strokes):
            if other != index:
                at += _cuts(a, way, c, d)
        inner = sorted(t for t in at if 0.0 <= t <= long)
        for s, t in pairwise(inner):
            if t - s > SAME * 10:
                yield Stroke(
                    (a[0] + s * way[0], a[1] + s * way[1]), (a[0] + t * way[0], a[1] + t * way[1])
                )


def _cuts(a: Point, way: Point, c: Point, d: Point) -> list[float]:
    """Where along a line from ``a`` another side crosses it; its ends where it lies on it."""
    off = [way[0] * (p[1] - a[1]) - way[1] * (p[0] - a[0]) for p in (c, d)]
    on = [way[0] * (p[0] - a[0]) + way[1] * (p[1] - a[1]) for p in (c, d)]
    if abs(off[0]) < SAME and abs(off[1]) < SAME:
        return on
    if (off[0] < -SAME and off[1] < -SAME) or (off[0] > SAME and off[1] > SAME):
        return []
    if abs(off[0] - off[1]) < SAME:
        return []
    return [on[0] + (on[1] - on[0]) * off[0] / (off[0] - off[1])]


def _split_arcs(
    strokes: list[tuple[Point, Point]],
    centre: Point,
    circles: dict[float, list[tuple[float, float]]],
) -> Iterator[Bow]:
    for radius, arcs in circles.items():
        marks = [angle for arc in arcs for angle in arc]
        for a, b in strokes:
            marks += _meets(a, b, centre, radius)
        for start, end in arcs:
            # Each mark as often as it falls into this arc.
            found = {start, end}
            for mark in marks:
                angle = mark + 2 * pi * ceil((start - mark) / (2 * pi))
                while angle < end:
                    found.add(angle)
                    angle += 2 * pi
            for low, high in pairwise(sorted(found)):
                if (high - low) * radius > SAME * 10:
                    yield Bow(centre, radius, low, high)


def _meets(a: Point, b: Point, centre: Point, radius: float) -> list[float]:
    """Angles at which a side meets a circle, its foot among them where it lies near the circle."""
    long = hypot(b[0] - a[0], b[1] - a[1])
    way = (b[0] - a[0]) / long, (b[1] - a[1]) / long
    foot = (centre[0] - a[0]) * way[0] + (centre[1] - a[1]) * way[1]
    far = way[0] * (centre[1] - a[1]) - way[1] * (centre[0] - a[0])
    if abs(far) > radius + TOUCH:
        return []
    half = sqrt(max(0.0, radius * radius - far * far))
    at = [foot] if radius - abs(far) < TOUCH else [foot - half, foot + half]
    return [
        atan2(a[1] + t * way[1] - centre[1], a[0] + t * way[0] - centre[0])
        for t in at
        if -SAME <= t <= long + SAME
    ]


def _chained(pieces: list[Stroke | Bow]) -> tuple[tuple[Stroke | Bow, ...], ...]:
    """Pieces end to start, each loop with its longest way round first in the list."""
    left, loops = pieces[:], []
    while left:
        chain = [left.pop(0)]
        while left:
            x, y = chain[-1].end
            gap = [hypot(p.start[0] - x, p.start[1] - y) for p in left]
            near = gap.index(min(gap))
            home = hypot(chain[0].start[0] - x, chain[0].start[1] - y)
            if home <= gap[near] and (len(chain) > 1 or home < SAME):
                break
            chain.append(left.pop(near))
        loops.append(tuple(chain))
    return tuple(sorted(loops, key=lambda loop: -abs(sum(p.share for p in loop))))
