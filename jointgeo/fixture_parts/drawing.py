"""A part as a picture to scale: with its names, or at full size with its places.

Knows parts and the sheet's drawing primitives; no fixture. The view is the part's own, u to the
right and v up; ``seen_from`` says whose.
"""

from __future__ import annotations

from collections.abc import Iterable
from math import ceil, hypot

import numpy as np

from jointgeo.fixture_parts.model import FixturePart, Hole, Path
from jointgeo.geometry.flat import Point
from jointgeo.geometry.swept import Bow, Stroke
from jointgeo.sheet.dimension import Callouts, sloping
from jointgeo.sheet.svg import Drawing
from jointgeo.sheet.words import broken

__all__ = ["PIN_MM", "STYLE", "draw", "points_of", "printed", "size_mm"]

#: Line type of each layer.
STYLE = {
    "outline": "outline",
    "slot": "heavy",
    "cut away": "hidden",
    "hole": "outline",
    "trammel centre": "outline",
    "ghost": "phantom",
    "measure": "thin",
}
#: A trammel's centre is drawn as a hole of this size; drill it to the pin.
PIN_MM = 4.0
STEP_MM = 1.0
CROSS_MM = 3.0
#: Where a place's words stand beside it at full size: clear of a slot and its wall.
ASIDE_MM, BELOW_MM = 16.0, 34.0
#: Layers whose shapes are named by a note, or by their places.
NAMELESS = ("measure", "slot")


def points_of(pieces: Iterable[Stroke | Bow]) -> list[Point]:
    """A chain as points no further apart than a millimetre along arcs."""
    out: list[Point] = []
    for piece in pieces:
        if not out:
            out.append(piece.start)
        if isinstance(piece, Bow):
            turn = piece.end_rad - piece.start_rad
            count = max(4, ceil(abs(turn) * piece.radius / STEP_MM))
            out += [piece.at(piece.start_rad + turn * i / count) for i in range(1, count + 1)]
        else:
            out.append(piece.end)
    return out


def printed(part: FixturePart) -> list[list[Point]]:
    """Points of everything that is marked out, chain by chain; no ghost."""
    out = []
    for shape in part.shapes:
        if shape.layer == "ghost":
            continue
        if isinstance(shape, Path):
            out.append(points_of(shape.pieces))
        else:
            (u, v), r = shape.centre, max(shape.diameter_mm, PIN_MM) / 2
            out.append([(u - r, v - r), (u + r, v + r)])
    return out


def size_mm(part: FixturePart) -> tuple[float, float]:
    """Width and height of all that is marked out."""
    points = [p for chain in printed(part) for p in chain]
    us, vs = [p[0] for p in points], [p[1] for p in points]
    return max(us) - min(us), max(vs) - min(vs)


def draw(part: FixturePart, scale: float, *, names: bool = True) -> Drawing:
    """The part at ``scale``, paper over wood. names: labels in columns at either side; else places
    are labelled where they are, with their coordinates."""
    d = Drawing(part.title, f"{part.title}, seen {part.seen_from}.")
    labels = Callouts(d.measure)
    told: set[str] = set()

    def at(point: Point) -> Point:
        return point[0] * scale, -point[1] * scale

    middle = _middle(part)
    for shape in sorted(part.shapes, key=lambda s: s.layer != "ghost"):
        style = STYLE[shape.layer]
        if isinstance(shape, Path):
            points = [at(p) for p in points_of(shape.pieces)]
            d.lines(points, style, mark=shape.layer.replace(" ", "-"))
            target: list[Point] = points
        else:
            _hole(d, shape, at(shape.centre), scale, style)
            target = [at(shape.centre)]
            if not names and shape.layer in ("measure", "trammel centre"):
                (u, v), (x, y) = shape.centre, at(shape.centre)
                d.line((x, y), (x + ASIDE_MM, y + BELOW_MM), "thin")
                words = (shape.name, f"{part.axes[0]} {u:.2f}", f"{part.axes[1]} {v:.2f}")
                for row, text in enumerate(words):
                    d.text((x + ASIDE_MM, y + BELOW_MM + row * d.measure.line_mm), text)
        if names and shape.name and shape.name not in told and shape.layer not in NAMELESS:
            told.add(shape.name)
            side = "right" if np.mean([p[0] for p in target]) > at(middle)[0] else "left"
            labels.add(side, target, broken(shape.name))
    for note in part.notes:
        if names:
            side = "right" if note.at[0] > middle[0] else "left"
            labels.add(side, [at(note.at)], broken(note.words))
        else:
            d.text((at(note.at)[0], at(note.at)[1] - 14), note.words, anchor="middle")
    for span in part.spans:
        a, b = np.array(at(span.start)), np.array(at(span.end))
        left = np.array([b[1] - a[1], a[0] - b[0]])
        place = sloping(d, a, b, left / max(hypot(*left), 1e-9) * span.aside_mm)
        if span.aside_mm == 0:  # a radius: its words nearer the centre, where less is in the way
            place = a + 0.3 * (b - a)
        d.text(place, span.words, anchor="middle", bold=True)
    if names:
        low, top, high, bottom = d.box
        labels.draw(d, low - 8, high + 8, top, bottom)
    return d


def _hole(d: Drawing, hole: Hole, at: Point, scale: float, style: str) -> None:
    x, y = at
    radius = (hole.diameter_mm or (PIN_MM if hole.layer == "trammel centre" else 0.0)) / 2
    if radius:
        d.circle(at, radius * scale, style, mark=hole.layer.replace(" ", "-"))
    if hole.layer != "ghost":
        d.line((x - CROSS_MM, y), (x + CROSS_MM, y), "thin")
        d.line((x, y - CROSS_MM), (x, y + CROSS_MM), "thin")


def _middle(part: FixturePart) -> Point:
    points = [p for chain in printed(part) for p in chain]
    us, vs = [p[0] for p in points], [p[1] for p in points]
    return (min(us) + max(us)) / 2, (min(vs) + max(vs)) / 2
