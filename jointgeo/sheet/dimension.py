"""Dimensions and labels: what makes a drawing one to cut from.

Knows drawings and plane geometry; no joint, no machine. Page millimetres throughout; the
number written is the caller's, so a dimension never depends on the scale it is drawn at. Heads,
gaps and distances between words follow the drawing's measure.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from math import hypot

import attrs
import numpy as np
from numpy.typing import ArrayLike

from jointgeo.sheet.lettering import Measure
from jointgeo.sheet.plane import Array, spread
from jointgeo.sheet.svg import Anchor, Drawing

__all__ = [
    "Callouts",
    "across",
    "arc",
    "arc_points",
    "arrow",
    "down",
    "ordinates",
    "outside_mm",
    "sloping",
    "tail_mm",
]

_HEAD, _HALF = 2.6, 0.6  # arrow head: length and half width, for letters of 4.9 mm


def outside_mm(measure: Measure) -> float:
    """Heads stand outside a shorter line."""
    return measure.of(3 * _HEAD)


def tail_mm(measure: Measure) -> float:
    """On such tails."""
    return measure.of(2 * _HEAD)


def arrow(d: Drawing, tip: ArrayLike, towards: ArrayLike) -> None:
    """A filled head at ``tip``, pointing along ``towards``."""
    (x, y), (u, v) = _pair(tip), _pair(towards)
    long = hypot(u, v)
    u, v = u / long, v / long
    head, half = d.measure.of(_HEAD), d.measure.of(_HALF)
    bx, by = x - head * u, y - head * v
    corners = [(x, y), (bx - half * v, by + half * u), (bx + half * v, by - half * u)]
    d.lines(corners, "hatch", closed=True, fill="black")


def _pair(value: ArrayLike) -> tuple[float, float]:
    x, y = np.asarray(value, float).tolist()
    return x, y


def _measure(
    d: Drawing, a: Array, b: Array, mark: str | None, none: ArrayLike = (1.0, 0.0)
) -> bool:
    """The dimension line with its heads; True where they had to stand outside.

    none: the line's direction where it has no length.
    """
    long = float(np.hypot(*(b - a)))
    way = (b - a) / long if long > 1e-9 else np.asarray(none, float)
    outside = long < outside_mm(d.measure)
    tail = tail_mm(d.measure) * way if outside else np.zeros(2)
    d.line(a, b, "thin", mark=mark)
    if outside:
        d.line(a - tail, a, "thin")
        d.line(b, b + tail, "thin")
    sign = 1.0 if outside else -1.0
    arrow(d, a, sign * way)
    arrow(d, b, -sign * way)
    return outside


def across(
    d: Drawing, a: ArrayLike, b: ArrayLike, y: float, words: str, mark: str | None = None
) -> None:
    """A level dimension between two points, its line at height ``y``, words above it."""
    p, q = sorted((np.asarray(a, float), np.asarray(b, float)), key=lambda v: float(v[0]))
    gap = d.measure.of
    for point in (p, q):
        d.line(point, [point[0], y + np.sign(y - point[1]) * gap(1.5)], "thin")
    outside = _measure(d, np.array([p[0], y]), np.array([q[0], y]), mark)
    wide = float(q[0] - p[0])
    if not words:
        return
    if outside or d.measure.width(words) > wide - gap(1):
        d.text([q[0] + (tail_mm(d.measure) if outside else 0) + gap(1), y], words)
    else:
        d.text([(p[0] + q[0]) / 2, y - 0.75 * d.measure.letter_mm], words, anchor="middle")


def down(
    d: Drawing, a: ArrayLike, b: ArrayLike, x: float, words: str, mark: str | None = None
) -> None:
    """An upright dimension, its line at ``x``, words turned along it.

    They stand at its left; where they are longer than it, at its right, clear of the lines
    that lead to it.
    """
    p, q = sorted((np.asarray(a, float), np.asarray(b, float)), key=lambda v: float(v[1]))
    for point in (p, q):
        d.line(point, [x + np.sign(x - point[0]) * d.measure.of(1.5), point[1]], "thin")
    _measure(d, np.array([x, p[1]]), np.array([x, q[1]]), mark)
    beside = -1.0 if d.measure.width(words) <= q[1] - p[1] else 1.0
    at = [x + beside * 0.75 * d.measure.letter_mm, (p[1] + q[1]) / 2]
    d.text(at, words, anchor="middle", turned=True)


def sloping(
    d: Drawing,
    a: ArrayLike,
    b: ArrayLike,
    off: ArrayLike,
    mark: str | None = None,
    none: ArrayLike = (1.0, 0.0),
) -> Array:
    """A dimension along a–b, moved by ``off``; returns its middle, where the words go.

    none: its direction where a and b are one point.
    """
    p, q, o = (np.asarray(v, float) for v in (a, b, off))
    far = float(np.hypot(*o))
    if far > 0:
        for point in (p, q):
            d.line(point, point + o * (1 + d.measure.of(1.5) / far), "thin")
    _measure(d, p + o, q + o, mark, none)
    return np.asarray((p + q) / 2 + o)


def arc(
    d: Drawing,
    centre: ArrayLike,
    radius: float,
    start_deg: float,
    stop_deg: float,
    mark: str | None = None,
) -> Array:
    """An angle's arc with heads; angles from x to the right, positive towards the page's top.

    Returns its middle.
    """
    c = np.asarray(centre, float)
    points = c + arc_points(radius, start_deg, stop_deg)
    d.lines(points, "thin", mark=mark)
    if radius * np.radians(abs(stop_deg - start_deg)) > 2.2 * d.measure.of(_HEAD):
        arrow(d, points[0], points[0] - points[2])
        arrow(d, points[-1], points[-1] - points[-3])
    return np.asarray(points[12])


def arc_points(radius: float, start_deg: float, stop_deg: float) -> Array:
    """25 points of an arc about (0, 0), in order; angles as in ``arc``."""
    turns = np.radians(np.linspace(start_deg, stop_deg, 25))
    return np.asarray(radius * np.stack([np.cos(turns), -np.sin(turns)], -1))


def ordinates(
    d: Drawing,
    wanted: Sequence[tuple[float, str]],
    y: float,
    low: float,
    high: float,
    *,
    up: bool = False,
) -> None:
    """Figures under a row of places, or over it, turned to be read from the right, joined to them
    by lines.

    wanted: (x, words), in any order; y: where the lines begin. Figures are spread between
    ``low`` and ``high`` so that none touches another.
    """
    rows, gap = sorted(wanted), d.measure.of
    sign, anchor = (-1.0, "start") if up else (1.0, "end")
    places = spread([x for x, _ in rows], d.measure.line_mm, low, high)
    for (x, words), at in zip(rows, places, strict=True):
        chain = [(x, y), (x, y + sign * gap(3)), (at, y + sign * gap(8)), (at, y + sign * gap(10))]
        d.lines(chain, "thin")
        d.text((at, y + sign * gap(11)), words, anchor=anchor, turned=True)  # type: ignore[arg-type]  # one of the two


@attrs.frozen(eq=False)
class _Wanted:
    target: Array
    lines: tuple[str, ...]
    bold: bool
    rank: int


@attrs.define(eq=False)
class Callouts:
    """Labels in a column at either side, each with a line to what it names."""

    measure: Measure
    _wanted: dict[str, list[_Wanted]] = attrs.field(factory=lambda: {"left": [], "right": []})

    def add(
        self, column: str, target: ArrayLike, words: str, bold: bool = False, rank: int = 0
    ) -> None:
        """column: "left" or "right"; words: lines, broken by hand.

        target: the point named, (2,), or the corners of the line or area named, (n, 2): the
        label then points at the part of it that lies nearest. rank: 0 is written whatever room
        there is; of the others the highest is left out first.
        """
        points = np.asarray(target, float).reshape(-1, 2)
        self._wanted[column].append(_Wanted(points, tuple(words.split("\n")), bold, rank))

    def width(self, column: str) -> float:
        """Room its longest line takes."""
        rows = [(w, label.bold) for label in self._wanted[column] for w in label.lines]
        return max((self.measure.width(w, bold=bold) for w, bold in rows), default=0.0)

    def height(self, column: str) -> float:
        """Room that they take one below the other."""
        return self._need(self._wanted[column])

    def _need(self, labels: Sequence[_Wanted]) -> float:
        gap = self.measure.of(1.5)
        return sum(self.measure.line_mm * len(label.lines) + gap for label in labels)

    def draw(self, d: Drawing, left: float, right: float, top: float, bottom: float) -> None:
        """Columns end at ``left`` and begin at ``right``; where they need more height than there
        is the lesser labels are left out, and then they reach beyond it at both ends."""
        gap, line = self.measure.of, self.measure.line_mm
        for column, x, sign in (("left", left, -1.0), ("right", right, 1.0)):
            labels = self._kept(d, self._wanted[column], bottom - top + line + gap(1.5))
            over = max(0.0, self._need(labels) - line - gap(1.5) - (bottom - top)) / 2
            rows = [(_nearest(label.target, x - sign * gap(6)), label) for label in labels]
            rows.sort(key=lambda row: (row[0][1], row[0][0]))
            steps = [
                line * (len(a[1].lines) + len(b[1].lines)) / 2 + gap(1.5)
                for a, b in itertools.pairwise(rows)
            ]
            heights = spread([at[1] for at, _ in rows], steps, top - over, bottom + over)
            anchor: Anchor = "end" if column == "left" else "start"
            for (at, label), y in zip(rows, heights, strict=True):
                d.lines([(x, y), (x - sign * gap(2), y), at], "thin")
                d.dot(at, gap(0.6))
                first = y - line * (len(label.lines) - 1) / 2
                for i, words in enumerate(label.lines):
                    place = (x + sign * gap(1), first + i * line)
                    d.text(place, words, anchor=anchor, bold=label.bold)

    def _kept(self, d: Drawing, labels: Sequence[_Wanted], room: float) -> list[_Wanted]:
        """What is written of a column."""
        kept = list(labels)
        while self._need(kept) > room:
            least = max(kept, key=lambda label: label.rank)
            if least.rank == 0:
                break
            kept.remove(least)
            d.left_out.append(" ".join(least.lines))
        return kept


def _nearest(target: Array, x: float) -> tuple[float, float]:
    """The point of a target at ``x``, in the middle of its height there; else nearest to it."""
    rows = [(float(u), float(v)) for u, v in target.tolist()]
    crossings = [
        a[1] + (b[1] - a[1]) * (x - a[0]) / (b[0] - a[0])
        for a, b in zip(rows, [*rows[1:], rows[0]], strict=True)
        if (a[0] <= x) != (b[0] <= x)
    ]
    if crossings:
        return x, sum(crossings) / len(crossings)
    off = min(abs(u - x) for u, _ in rows)
    found = [(u, v) for u, v in rows if abs(u - x) < off + 1e-6]
    return sum(u for u, _ in found) / len(found), sum(v for _, v in found) / len(found)
