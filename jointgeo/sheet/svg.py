"""One drawing on paper: lines, areas and text in millimetres, as SVG.

Knows ``markup``, ``lettering`` and ``plane``; no joint, no machine. Coordinates are millimetres on
the printed page, x to the right, y down; builders scale. The picture's size follows from what
is drawn, text included, so that nothing can be cut off. What is drawn is kept as numbers and
written once, when the picture is asked for: a builder tries several scales.

Lines differ by width and dashes, never by colour: a black and white print loses nothing.
A drawing has one ``measure`` for what its scale leaves alone: letters, lines of words, gaps, heads
and strokes. Text stands on a white ground, so that no line or hatching runs through it.
"""

from __future__ import annotations

import html
from collections.abc import Iterable, Sequence
from functools import lru_cache
from math import inf
from typing import Literal, TypeAlias

import attrs
import numpy as np
from numpy.typing import ArrayLike

from jointgeo.sheet.lettering import READ, Measure
from jointgeo.sheet.markup import Markup, element, number
from jointgeo.sheet.plane import Array, Place, Point, hatching, pair

__all__ = ["FONT", "STYLES", "Box", "Drawing"]

Anchor = Literal["start", "middle", "end"]
#: left, top, right, bottom on the page.
Box: TypeAlias = tuple[float, float, float, float]

FONT = "'DejaVu Sans', Arial, Helvetica, sans-serif"

#: name: (width in mm, dashes in mm), for letters of 4.9 mm.
STYLES: dict[str, tuple[float, tuple[float, ...]]] = {
    "none": (0.0, ()),
    "outline": (0.5, ()),
    "heavy": (0.9, ()),
    "thin": (0.25, ()),
    "hatch": (0.15, ()),
    "hidden": (0.3, (2.5, 1.2)),
    "centre": (0.25, (7, 1.4, 1.4, 1.4)),
    "phantom": (0.4, (8, 1.3, 1.3, 1.3, 1.3, 1.3)),
}
#: A thinner line does not come out of every printer (our choice).
THINNEST_MM = 0.12


@attrs.frozen
class _Chain:
    points: Sequence[Point]
    style: str
    closed: bool
    fill: str
    mark: str | None


@attrs.frozen
class _Circle:
    centre: Point
    radius: float
    style: str
    fill: str
    mark: str | None


@attrs.frozen
class _Strokes:
    """Fine lines, as one path."""

    ends: Sequence[tuple[Point, Point]]


@attrs.frozen
class _Text:
    words: str
    at: Point
    box: Box
    anchor: Anchor
    turned: bool
    bold: bool
    mark: str | None


@attrs.frozen
class _Moved:
    other: Drawing
    by: Point


_Part: TypeAlias = _Chain | _Circle | _Strokes | _Text | _Moved


def _points(points: Iterable[Place] | Array) -> list[Point]:
    if isinstance(points, np.ndarray):
        return [(x, y) for x, y in points.tolist()]
    return [pair(p) for p in points]


@attrs.define(eq=False)
class Drawing:
    """What is drawn so far. title: a few words; description: the picture in words. crowded: that
    its words would not go on the page with it at any scale. left_out: names of things that stand
    in the picture and were not written for want of room."""

    title: str
    description: str
    measure: Measure = READ
    crowded: bool = False
    left_out: list[str] = attrs.field(factory=list)
    texts: list[tuple[str, Box]] = attrs.field(factory=list, repr=False)
    _parts: list[_Part] = attrs.field(factory=list, repr=False)
    #: Of what is drawn: the box of what was asked for before, and points drawn since then, by how
    #: far about them it reaches.
    _known: Box = attrs.field(default=(inf, inf, -inf, -inf), repr=False)
    _met: dict[float, list[Point]] = attrs.field(factory=dict, repr=False)

    def _meet(self, points: Iterable[Point], pad: float = 0.0) -> None:
        self._met.setdefault(pad, []).extend(points)

    @property
    def box(self) -> Box:
        """Everything drawn, with a margin of 1 mm."""
        left, top, right, bottom = self._known
        for pad, points in self._met.items():
            xs, ys = zip(*points, strict=True)
            left, right = min(left, min(xs) - pad), max(right, max(xs) + pad)
            top, bottom = min(top, min(ys) - pad), max(bottom, max(ys) + pad)
        self._met.clear()
        self._known = left, top, right, bottom
        return left - 1, top - 1, right + 1, bottom + 1

    @property
    def size_mm(self) -> tuple[float, float]:
        x0, y0, x1, y1 = self.box
        return x1 - x0, y1 - y0

    def stroke_mm(self, style: str) -> float:
        """How wide a line of that style is here."""
        return _stroke_mm(self.measure, style)

    def line(self, a: Place, b: Place, style: str = "thin", mark: str | None = None) -> None:
        self.lines((a, b), style, mark=mark)

    def lines(
        self,
        points: Sequence[Place] | Array,
        style: str = "outline",
        *,
        closed: bool = False,
        fill: str = "none",
        mark: str | None = None,
    ) -> None:
        """A chain of lines; ``fill`` white hides what was drawn before; ``mark`` is its class."""
        found = _points(points)
        if len(found) < 2:
            return
        self._meet(found, self.stroke_mm(style) / 2)
        self._parts.append(_Chain(found, style, closed, fill, mark))

    def circle(
        self,
        centre: Place,
        radius: float,
        style: str = "thin",
        *,
        fill: str = "none",
        mark: str | None = None,
    ) -> None:
        c = pair(centre)
        self._meet([c], radius + self.stroke_mm(style) / 2)
        self._parts.append(_Circle(c, radius, style, fill, mark))

    def dot(self, centre: Place, radius: float = 0.8, mark: str | None = None) -> None:
        self.circle(centre, radius, "thin", fill="black", mark=mark)

    def hatch(self, polygon: ArrayLike, spacing: float = 2.0, angle_deg: float = -45.0) -> None:
        """Fine parallel lines over a convex area."""
        found = hatching(polygon, spacing, angle_deg)
        if found:
            self._parts.append(_Strokes(found))

    def text(
        self,
        at: Place,
        words: str,
        *,
        anchor: Anchor = "start",
        turned: bool = False,
        bold: bool = False,
        mark: str | None = None,
    ) -> None:
        """Words whose middle line runs through ``at``; ``turned`` reads from the right."""
        box = self.text_box(at, words, anchor=anchor, turned=turned, bold=bold)
        self.texts.append((words, box))
        self._meet([box[:2], box[2:]])
        self._parts.append(_Text(words, pair(at), box, anchor, turned, bold, mark))

    def add(self, other: Drawing, by: Place) -> None:
        """Everything of another drawing of the same measure, moved by (right, down)."""
        x, y = pair(by)
        self._parts.append(_Moved(other, (x, y)))
        left, top, right, bottom = other.box
        self._meet([(left + x + 1, top + y + 1), (right + x - 1, bottom + y - 1)])
        self.texts += [(w, (a + x, b + y, c + x, e + y)) for w, (a, b, c, e) in other.texts]
        self.left_out += other.left_out
        self.crowded = self.crowded or other.crowded

    def text_box(
        self,
        at: Place,
        words: str,
        *,
        anchor: Anchor = "start",
        turned: bool = False,
        bold: bool = False,
    ) -> Box:
        """Where such a text would stand."""
        x, y = pair(at)
        wide, half = self.measure.width(words, bold=bold), 0.6 * self.measure.letter_mm
        before = {"start": 0.0, "middle": wide / 2, "end": wide}[anchor]
        if turned:
            return (x - half, y + before - wide, x + half, y + before)
        return (x - before, y - half, x - before + wide, y + half)

    @property
    def _told(self) -> str:
        if not self.left_out:
            return self.description
        return f"{self.description} Not named for want of room: {', '.join(self.left_out)}."

    def svg(self, name: str) -> Markup:
        """The element; ``name`` makes its ids unique on a page."""
        x0, y0, _, _ = self.box
        wide, high = self.size_mm
        return element(
            "svg",
            element("title", self.title, id=f"{name}-title"),
            element("desc", self._told, id=f"{name}-desc"),
            # Paper, for a viewer whose own ground is dark.
            element("rect", x=x0, y=y0, width=wide, height=high, fill="white"),
            element(
                "g",
                *self.parts,
                font_family=FONT,
                font_size=self.measure.letter_mm,
                fill="black",
                stroke_linecap="butt",
            ),
            xmlns="http://www.w3.org/2000/svg",
            width=f"{number(wide)}mm",
            height=f"{number(high)}mm",
            viewBox=" ".join(number(v) for v in (x0, y0, wide, high)),
            role="img",
            aria_labelledby=f"{name}-title {name}-desc",
        )

    @property
    def parts(self) -> list[Markup]:
        """All that is drawn, as elements."""
        return [made for part in self._parts for made in self._one(part)]

    def _one(self, part: _Part) -> list[Markup]:
        if isinstance(part, _Chain):
            name = "polygon" if part.closed else "polyline"
            text = " ".join(f"{number(x)},{number(y)}" for x, y in part.points)
            look = _stroke(self.measure, part.style)
            return [
                Markup(
                    f'<{name} points="{text}" fill="{part.fill}"{_mark(part.mark)}{look} '
                    f'stroke-linejoin="round"></{name}>'
                )
            ]
        if isinstance(part, _Circle):
            (x, y), r, look = part.centre, part.radius, _stroke(self.measure, part.style)
            return [
                Markup(
                    f'<circle cx="{number(x)}" cy="{number(y)}" r="{number(r)}" '
                    f'fill="{part.fill}"{_mark(part.mark)}{look}></circle>'
                )
            ]
        if isinstance(part, _Strokes):
            path = "".join(
                f"M{number(a[0])},{number(a[1])}L{number(b[0])},{number(b[1])}"
                for a, b in part.ends
            )
            return [Markup(f'<path d="{path}" fill="none"{_stroke(self.measure, "hatch")}></path>')]
        if isinstance(part, _Moved):
            move = f"translate({number(part.by[0])} {number(part.by[1])})"
            return [element("g", *part.other.parts, transform=move)]
        return self._words(part)

    def _words(self, part: _Text) -> list[Markup]:
        (x, y), box, letter = part.at, part.box, self.measure.letter_mm
        drop = 0.36 * letter  # from the middle of the capitals down to the foot of the line
        clear = 0.12 * letter  # the letters themselves are lower than their line
        inset = (clear, 0.0) if part.turned else (0.0, clear)
        ground = element(
            "rect",
            x=box[0] + inset[0],
            y=box[1] + inset[1],
            width=box[2] - box[0] - 2 * inset[0],
            height=box[3] - box[1] - 2 * inset[1],
            fill="white",
        )
        turn = f"rotate(-90 {number(x + drop)} {number(y)})" if part.turned else None
        words = element(
            "text",
            part.words,
            x=x + drop if part.turned else x,
            y=y if part.turned else y + drop,
            transform=turn,
            text_anchor=None if part.anchor == "start" else part.anchor,
            font_weight="bold" if part.bold else None,
            class_=part.mark,
        )
        return [ground, words]


@lru_cache(maxsize=64)
def _stroke(measure: Measure, style: str) -> str:
    width = f' stroke="black" stroke-width="{number(_stroke_mm(measure, style))}"'
    dashes = " ".join(number(measure.of(v)) for v in STYLES[style][1])
    return f'{width} stroke-dasharray="{dashes}"' if dashes else width


def _stroke_mm(measure: Measure, style: str) -> float:
    width = STYLES[style][0]
    return max(measure.of(width), THINNEST_MM) if width else 0.0


def _mark(mark: str | None) -> str:
    return f' class="{html.escape(mark)}"' if mark else ""
