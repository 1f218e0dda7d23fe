"""A plane view to scale, clipped to a window.

Knows drawings and plane geometry; no joint, no machine. Model coordinates are (u, v),
millimetres, v up; ``scale`` is paper over model. What runs out of the window is cut off
there with a break line, so that nobody takes the window's edge for an end of the wood.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import hypot

import attrs
import numpy as np
from numpy.typing import ArrayLike

from jointgeo.sheet.lettering import READ, Measure
from jointgeo.sheet.plane import Array, Place, Point, inside_box, pair, segment_in_box
from jointgeo.sheet.svg import Drawing

__all__ = ["SCALES", "Canvas", "Room", "fitted", "scale_words"]

#: Paper over model; the usual reductions with some between, so that pictures fill the page.
_REDUCED = (1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 15, 20, 30, 50, 100)
SCALES = (2.0, 1.0, *(1 / v for v in _REDUCED))


@attrs.frozen
class Room:
    """What a drawing may take of a page, and the measure it is lettered in."""

    wide_mm: float
    high_mm: float
    measure: Measure = READ


def scale_words(scale: float) -> str:
    """``1:2.5`` or ``2:1``."""
    return f"{scale:g}:1" if scale > 1 else f"1:{1 / scale:g}"


def fitted(
    build: Callable[[float], Drawing],
    room: Room,
    model_mm: tuple[float, float],
    scales: Sequence[float] = SCALES,
) -> Drawing:
    """The drawing at the largest scale whose picture goes into ``room``.

    model_mm: width and height of what grows with the scale; the rest of a picture, its words, stays
    as it is, so that one picture tells which scale will do. scales: falling. Where words alone are
    higher than the room a smaller scale helps nobody: the thing itself then takes up to a third
    of the height, and the drawing says that it is ``crowded``.
    """
    page = room.wide_mm, room.high_mm

    def holds(scale: float, rest: tuple[float, float]) -> bool:
        sizes = zip(model_mm, rest, page, strict=True)
        return all(size * scale + more <= most + 1e-6 for size, more, most in sizes)

    first = next((i for i, s in enumerate(scales) if holds(s, (0.0, 0.0))), len(scales) - 1)
    # Words take some room, so where the thing alone fills it the next scale is the likelier one.
    roomy = all(m * scales[first] < 0.6 * most for m, most in zip(model_mm, page, strict=True))
    tried = first if roomy else min(first + 1, len(scales) - 1)
    drawing = build(scales[tried])
    rest = _rest(drawing, model_mm, scales[tried])
    guess = next((i for i, s in enumerate(scales) if holds(s, rest)), None)
    index = len(scales) - 1 if guess is None else guess
    while True:
        if index != tried:
            drawing, tried = build(scales[index]), index
        if all(size <= most for size, most in zip(drawing.size_mm, page, strict=True)):
            return drawing
        if index == len(scales) - 1:
            break
        index += 1
    some = rest[0], page[1] * 2 / 3
    least = next((i for i, s in enumerate(scales) if holds(s, some)), len(scales) - 1)
    if least != tried:
        drawing = build(scales[least])
    drawing.crowded = True
    return drawing


def _rest(drawing: Drawing, model_mm: tuple[float, float], scale: float) -> tuple[float, float]:
    wide, high = drawing.size_mm
    return wide - model_mm[0] * scale, high - model_mm[1] * scale


@attrs.frozen(eq=False)
class Canvas:
    """low, high: opposite corners of the window, in model millimetres."""

    drawing: Drawing
    scale: float
    low: Point = attrs.field(converter=pair)
    high: Point = attrs.field(converter=pair)

    def at(self, point: ArrayLike) -> Array:
        """Model points (..., 2) on the page."""
        return np.asarray(point, float) * [self.scale, -self.scale]

    def _on_page(self, point: Point) -> Point:
        return point[0] * self.scale, -point[1] * self.scale

    @property
    def left(self) -> float:
        return self.low[0] * self.scale

    @property
    def right(self) -> float:
        return self.high[0] * self.scale

    @property
    def top(self) -> float:
        return -self.high[1] * self.scale

    @property
    def bottom(self) -> float:
        return -self.low[1] * self.scale

    def clip(self, polygon: ArrayLike) -> Array:
        """The part of a convex polygon that lies in the window."""
        return inside_box(polygon, self.low, self.high)

    def holds(self, point: Place) -> bool:
        ways = zip(self.low, pair(point), self.high, strict=True)
        return all(least - 1e-6 <= at <= most + 1e-6 for least, at, most in ways)

    def area(
        self,
        polygon: ArrayLike,
        style: str = "outline",
        *,
        fill: str = "none",
        hatch: float | None = None,
        mark: str | None = None,
        breaks: bool = True,
    ) -> None:
        """A convex polygon; ``hatch`` is the spacing of its hatching on paper.

        breaks: whether a break line stands where the window cuts it off.
        """
        p: list[Point] = self.clip(polygon).tolist()
        if len(p) < 3:
            return
        page = [self._on_page(point) for point in p]
        if fill != "none":
            self.drawing.lines(page, "none", closed=True, fill=fill)
        if hatch is not None:
            self.drawing.hatch(page, hatch)
        if style == "none":
            return
        chain: list[Point] = []
        cut = [self._on_border(a, b) for a, b in zip(p, [*p[1:], p[0]], strict=True)]
        if not any(cut):
            self.drawing.lines(page, style, closed=True, mark=mark)
            return
        start = cut.index(True) + 1
        for k in range(len(p)):
            i = (start + k) % len(p)
            j = (i + 1) % len(p)
            if cut[i]:
                self.drawing.lines(chain, style, mark=mark)
                if breaks:
                    self._break(page[i], page[j])
                chain = []
            else:
                chain = chain or [page[i]]
                chain.append(page[j])

    def _on_border(self, a: Point, b: Point) -> bool:
        return any(
            abs(a[k] - edge[k]) < 1e-6 and abs(b[k] - edge[k]) < 1e-6
            for edge in (self.low, self.high)
            for k in (0, 1)
        )

    def _break(self, a: Point, b: Point) -> None:
        """A thin line with a kink in its middle."""
        (ax, ay), (bx, by), gap = a, b, self.drawing.measure.of
        long = hypot(bx - ax, by - ay)
        if long < gap(5):
            self.drawing.line(a, b, "thin")
            return
        u, v = (bx - ax) / long, (by - ay) / long
        kink = [(-1.2, 0.0), (-0.4, 1.6), (0.4, -1.6), (1.2, 0.0)]  # along it, and to its side
        x, y = (ax + bx) / 2, (ay + by) / 2
        places = [(x + gap(p) * u - gap(q) * v, y + gap(p) * v + gap(q) * u) for p, q in kink]
        self.drawing.lines([a, *places, b], "thin")

    def segment(self, a: Place, b: Place, style: str, mark: str | None = None) -> None:
        """A line between model points, as far as the window shows it."""
        found = segment_in_box(a, b, self.low, self.high)
        if found is not None:
            start, stop = found
            self.drawing.line(self._on_page(start), self._on_page(stop), style, mark)
