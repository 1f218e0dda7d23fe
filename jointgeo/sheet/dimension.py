"""Dimensions and labels: what makes a drawing one to cut from.

Knows drawings and plane geometry; no joint, no machine. Page millimetres throughout; the
number written is the caller's, so a dimension never depends on the scale it is drawn at.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import attrs
import numpy as np
from numpy.typing import ArrayLike

from jointgeo.sheet.plane import Array, spread
from jointgeo.sheet.svg import LETTER_MM, LINE_MM, Anchor, Drawing, text_width

__all__ = [
    "OUTSIDE_MM",
    "TAIL_MM",
    "Callouts",
    "across",
    "arc",
    "arc_points",
    "arrow",
    "down",
    "ordinates",
    "sloping",
]

_HEAD, _HALF = 2.6, 0.6  # arrow head: length and half width
OUTSIDE_MM, TAIL_MM = 3 * _HEAD, 2 * _HEAD  # heads stand outside a shorter line, on such tails


def arrow(d: Drawing, tip: ArrayLike, towards: ArrayLike) -> None:
    """A filled head at ``tip``, pointing along ``towards``."""
    t, way = np.asarray(tip, float), np.asarray(towards, float)
    way = way / np.hypot(*way)
    side = np.array([-way[1], way[0]])
    back = t - _HEAD * way
    d.lines([t, back + _HALF * side, back - _HALF * side], "hatch", closed=True, fill="black")


def _measure(
    d: Drawing, a: Array, b: Array, mark: str | None, none: ArrayLike = (1.0, 0.0)
) -> bool:
    """The dimension line with its heads; True where they had to stand outside.

    none: the line's direction where it has no length.
    """
    long = float(np.hypot(*(b - a)))
    way = (b - a) / long if long > 1e-9 else np.asarray(none, float)
    outside = long < OUTSIDE_MM
    tail = 2 * _HEAD * way if outside else np.zeros(2)
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
    for point in (p, q):
        d.line(point, [point[0], y + np.sign(y - point[1]) * 1.5], "thin")
    outside = _measure(d, np.array([p[0], y]), np.array([q[0], y]), mark)
    wide = float(q[0] - p[0])
    if not words:
        return
    if outside or text_width(words) > wide - 1:
        d.text([q[0] + (2 * _HEAD if outside else 0) + 1, y], words)
    else:
        d.text([(p[0] + q[0]) / 2, y - 0.75 * LETTER_MM], words, anchor="middle")


def down(
    d: Drawing, a: ArrayLike, b: ArrayLike, x: float, words: str, mark: str | None = None
) -> None:
    """An upright dimension, its line at ``x``, words turned along it.

    They stand at its left; where they are longer than it, at its right, clear of the lines
    that lead to it.
    """
    p, q = sorted((np.asarray(a, float), np.asarray(b, float)), key=lambda v: float(v[1]))
    for point in (p, q):
        d.line(point, [x + np.sign(x - point[0]) * 1.5, point[1]], "thin")
    _measure(d, np.array([x, p[1]]), np.array([x, q[1]]), mark)
    beside = -1.0 if text_width(words) <= q[1] - p[1] else 1.0
    at = [x + beside * 0.75 * LETTER_MM, (p[1] + q[1]) / 2]
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
            d.line(point, point + o * (1 + 1.5 / far), "thin")
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
    if radius * np.radians(abs(stop_deg - start_deg)) > 2.2 * _HEAD:
        arrow(d, points[0], points[0] - points[2])
        arrow(d, points[-1], points[-1] - points[-3])
    return np.asarray(points[12])


def arc_points(radius: float, start_deg: float, stop_deg: float) -> Array:
    """25 points of an arc about (0, 0), in order; angles as in ``arc``."""
    turns = np.radians(np.linspace(start_deg, stop_deg, 25))
    return np.asarray(radius * np.stack([np.cos(turns), -np.sin(turns)], -1))


def ordinates(
    d: Drawing, wanted: Sequence[tuple[float, str]], y: float, low: float, high: float
) -> None:
    """Figures under a row of places, turned to be read from the right, joined to them by lines.

    wanted: (x, words), in any order; y: where the lines begin. Figures are spread between
    ``low`` and ``high`` so that none touches another.
    """
    rows = sorted(wanted)
    places = spread([x for x, _ in rows], LINE_MM, low, high)
    for (x, words), at in zip(rows, places, strict=True):
        d.lines([[x, y], [x, y + 3], [at, y + 8], [at, y + 10]], "thin")
        d.text([at, y + 11], words, anchor="end", turned=True)


@attrs.define(eq=False)
class Callouts:
    """Labels in a column at either side, each with a line to what it names."""

    _wanted: list[tuple[str, Array, list[str], bool]] = attrs.field(factory=list)

    def add(self, column: str, target: ArrayLike, words: str, bold: bool = False) -> None:
        """column: "left" or "right"; words: lines, broken by hand.

        target: the point named, (2,), or the corners of the line or area named, (n, 2): the
        label then points at the part of it that lies nearest.
        """
        points = np.asarray(target, float).reshape(-1, 2)
        self._wanted.append((column, points, words.split("\n"), bold))

    def width(self, column: str) -> float:
        """Room its longest line takes."""
        rows = [(w, bold) for c, _, lines, bold in self._wanted if c == column for w in lines]
        return max((text_width(w, bold=bold) for w, bold in rows), default=0.0)

    def height(self, column: str) -> float:
        """Room that they take one below the other."""
        return sum(LINE_MM * len(lines) + 1.5 for c, _, lines, _ in self._wanted if c == column)

    def draw(self, d: Drawing, left: float, right: float, top: float, bottom: float) -> None:
        """Columns end at ``left`` and begin at ``right``."""
        for column, x, sign in (("left", left, -1.0), ("right", right, 1.0)):
            rows = [
                (_nearest(target, x - sign * 6), lines, bold)
                for c, target, lines, bold in self._wanted
                if c == column
            ]
            rows.sort(key=lambda row: (row[0][1], row[0][0]))
            steps = [
                LINE_MM * (len(a[1]) + len(b[1])) / 2 + 1.5 for a, b in itertools.pairwise(rows)
            ]
            heights = spread([float(at[1]) for at, _, _ in rows], steps, top, bottom)
            anchor: Anchor = "end" if column == "left" else "start"
            for (at, lines, bold), y in zip(rows, heights, strict=True):
                d.lines([[x, y], [x - sign * 2, y], at], "thin")
                d.dot(at, 0.6)
                first = y - LINE_MM * (len(lines) - 1) / 2
                for i, words in enumerate(lines):
                    place = [x + sign * 1, first + i * LINE_MM]
                    d.text(place, words, anchor=anchor, bold=bold)


def _nearest(target: Array, x: float) -> Array:
    """The point of a target at ``x``, in the middle of its height there; else nearest to it."""
    crossings = []
    for a, b in zip(target, np.roll(target, -1, axis=0), strict=True):
        if (a[0] <= x) != (b[0] <= x):
            crossings.append(a + (b - a) * (x - a[0]) / (b[0] - a[0]))
    if crossings:
        return np.asarray(np.mean(crossings, axis=0))
    off = np.abs(target[:, 0] - x)
    return np.asarray(target[off < off.min() + 1e-6].mean(axis=0))
