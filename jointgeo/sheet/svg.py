"""One drawing on paper: lines, areas and text in millimetres, as SVG.

Knows ``markup`` and ``plane``; no joint, no machine. Coordinates are millimetres on the
printed page, x to the right, y down; builders scale. The picture's size follows from what
is drawn, text included, so that nothing can be cut off.

Lines differ by width and dashes, never by colour: a black and white print loses nothing.
Letters are set so that capitals stand 3.5 mm high on paper, a size of the ISO 3098 series
(from memory) that is read at arm's length. How wide a text will be is estimated from the
widest of the usual sans-serif faces; narrower ones only leave more room. Text stands
on a white ground, so that no line or hatching runs through it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import attrs
import numpy as np
from numpy.typing import ArrayLike

from jointgeo.sheet.markup import Markup, element, number
from jointgeo.sheet.plane import Array, hatching

__all__ = ["FONT", "LETTER_MM", "LINE_MM", "STYLES", "Box", "Drawing", "text_width"]

Anchor = Literal["start", "middle", "end"]
#: left, top, right, bottom on the page.
Box = tuple[float, float, float, float]

#: Capitals are 0.73 of the size in the faces named below: 4.9 mm gives 3.5 mm and more.
LETTER_MM = 4.9
LINE_MM = 6.0
FONT = "'DejaVu Sans', Arial, Helvetica, sans-serif"

#: name: (width in mm, dashes).
STYLES: dict[str, tuple[float, str | None]] = {
    "none": (0.0, None),
    "outline": (0.5, None),
    "heavy": (0.9, None),
    "thin": (0.25, None),
    "hatch": (0.15, None),
    "hidden": (0.3, "2.5 1.2"),
    "centre": (0.25, "7 1.4 1.4 1.4"),
    "phantom": (0.4, "8 1.3 1.3 1.3 1.3 1.3"),
}

_WIDTHS = (
    (0.34, " ijlI.,:;'|!′"),
    (0.42, "frt()[]-/"),
    (0.51, '°"'),
    (0.98, "mwMW—"),
    (0.84, "+−=×±→←□"),
)


def text_width(text: str, *, bold: bool = False) -> float:
    """Width in mm, rather too much than too little."""
    known = {c: w for w, letters in _WIDTHS for c in letters}
    return (
        LETTER_MM
        * (1.12 if bold else 1.0)
        * sum(known.get(c, 0.74 if c.isupper() else 0.64) for c in text)
    )


@attrs.define(eq=False)
class Drawing:
    """What is drawn so far. title: a few words; description: the picture in words."""

    title: str
    description: str
    parts: list[Markup] = attrs.field(factory=list, repr=False)
    texts: list[tuple[str, Box]] = attrs.field(factory=list, repr=False)
    _low: Array = attrs.field(factory=lambda: np.full(2, np.inf), repr=False)
    _high: Array = attrs.field(factory=lambda: np.full(2, -np.inf), repr=False)

    def _meet(self, points: ArrayLike, pad: float = 0.0) -> None:
        p = np.asarray(points, float).reshape(-1, 2)
        self._low = np.minimum(self._low, p.min(axis=0) - pad)
        self._high = np.maximum(self._high, p.max(axis=0) + pad)

    @property
    def box(self) -> Box:
        """Everything drawn, with a margin of 1 mm."""
        return (
            float(self._low[0]) - 1,
            float(self._low[1]) - 1,
            float(self._high[0]) + 1,
            float(self._high[1]) + 1,
        )

    @property
    def size_mm(self) -> tuple[float, float]:
        x0, y0, x1, y1 = self.box
        return x1 - x0, y1 - y0

    def line(
        self, a: ArrayLike, b: ArrayLike, style: str = "thin", mark: str | None = None
    ) -> None:
        self.lines([np.asarray(a, float), np.asarray(b, float)], style, mark=mark)

    def lines(
        self,
        points: Sequence[ArrayLike] | Array,
        style: str = "outline",
        *,
        closed: bool = False,
        fill: str = "none",
        mark: str | None = None,
    ) -> None:
        """A chain of lines; ``fill`` white hides what was drawn before; ``mark`` is its class."""
        p = np.asarray(points, float)
        if len(p) < 2:
            return
        self._meet(p, STYLES[style][0] / 2)
        text = " ".join(f"{number(x)},{number(y)}" for x, y in p)
        name = "polygon" if closed else "polyline"
        self.parts.append(
            element(
                name, points=text, fill=fill, class_=mark, **_stroke(style), stroke_linejoin="round"
            )
        )

    def circle(
        self,
        centre: ArrayLike,
        radius: float,
        style: str = "thin",
        *,
        fill: str = "none",
        mark: str | None = None,
    ) -> None:
        c = np.asarray(centre, float)
        self._meet([c - radius, c + radius], STYLES[style][0] / 2)
        self.parts.append(
            element("circle", cx=c[0], cy=c[1], r=radius, fill=fill, class_=mark, **_stroke(style))
        )

    def dot(self, centre: ArrayLike, radius: float = 0.8, mark: str | None = None) -> None:
        self.circle(centre, radius, "thin", fill="black", mark=mark)

    def hatch(self, polygon: ArrayLike, spacing: float = 2.0, angle_deg: float = -45.0) -> None:
        """Fine parallel lines over a convex area."""
        found = hatching(polygon, spacing, angle_deg)
        if found:
            path = "".join(
                f"M{number(a[0])},{number(a[1])}L{number(b[0])},{number(b[1])}" for a, b in found
            )
            self.parts.append(element("path", d=path, fill="none", **_stroke("hatch")))

    def text(
        self,
        at: ArrayLike,
        words: str,
        *,
        anchor: Anchor = "start",
        turned: bool = False,
        bold: bool = False,
        mark: str | None = None,
    ) -> None:
        """Words whose middle line runs through ``at``; ``turned`` reads from the right."""
        x, y = (float(v) for v in np.asarray(at, float))
        drop = 0.36 * LETTER_MM  # from the middle of the capitals down to the foot of the line
        self.texts.append(
            (words, self.text_box(at, words, anchor=anchor, turned=turned, bold=bold))
        )
        box = self.texts[-1][1]
        self._meet([box[:2], box[2:]])
        clear = 0.12 * LETTER_MM  # the letters themselves are lower than their line
        inset = (clear, 0.0) if turned else (0.0, clear)
        self.parts.append(
            element(
                "rect",
                x=box[0] + inset[0],
                y=box[1] + inset[1],
                width=box[2] - box[0] - 2 * inset[0],
                height=box[3] - box[1] - 2 * inset[1],
                fill="white",
            )
        )
        self.parts.append(
            element(
                "text",
                words,
                x=x + drop if turned else x,
                y=y if turned else y + drop,
                transform=f"rotate(-90 {number(x + drop)} {number(y)})" if turned else None,
                text_anchor=None if anchor == "start" else anchor,
                font_weight="bold" if bold else None,
                class_=mark,
            )
        )

    def add(self, other: Drawing, by: ArrayLike) -> None:
        """Everything of another drawing, moved by (right, down)."""
        x, y = (float(v) for v in np.asarray(by, float))
        move = f"translate({number(x)} {number(y)})"
        self.parts.append(element("g", *other.parts, transform=move))
        left, top, right, bottom = other.box
        self._meet([[left + x + 1, top + y + 1], [right + x - 1, bottom + y - 1]])
        self.texts += [(w, (a + x, b + y, c + x, e + y)) for w, (a, b, c, e) in other.texts]

    @staticmethod
    def text_box(
        at: ArrayLike,
        words: str,
        *,
        anchor: Anchor = "start",
        turned: bool = False,
        bold: bool = False,
    ) -> Box:
        """Where such a text would stand."""
        x, y = (float(v) for v in np.asarray(at, float))
        wide, half = text_width(words, bold=bold), 0.6 * LETTER_MM
        before = {"start": 0.0, "middle": wide / 2, "end": wide}[anchor]
        if turned:
            return (x - half, y + before - wide, x + half, y + before)
        return (x - before, y - half, x - before + wide, y + half)

    def svg(self, name: str) -> Markup:
        """The element; ``name`` makes its ids unique on a page."""
        x0, y0, _, _ = self.box
        wide, high = self.size_mm
        return element(
            "svg",
            element("title", self.title, id=f"{name}-title"),
            element("desc", self.description, id=f"{name}-desc"),
            # Paper, for a viewer whose own ground is dark.
            element("rect", x=x0, y=y0, width=wide, height=high, fill="white"),
            element(
                "g",
                *self.parts,
                font_family=FONT,
                font_size=LETTER_MM,
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


def _stroke(style: str) -> dict[str, str | float | None]:
    width, dashes = STYLES[style]
    return {"stroke": "black", "stroke_width": width, "stroke_dasharray": dashes}
