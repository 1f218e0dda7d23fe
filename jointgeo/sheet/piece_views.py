"""A whole piece put together, and in three views with what a tape lies along.

Knows pieces as solids and drawings on paper; no joint type. Room: facing the piece X is to the
right, Y away from you, Z up.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, radians, sin

import attrs
import numpy as np

from jointgeo.geometry.vectors import Vec
from jointgeo.sheet.canvas import Room, fitted, scale_words
from jointgeo.sheet.dimension import Callouts, across, down
from jointgeo.sheet.edge_drawing import Shown, draw_edges, named_at, shown
from jointgeo.sheet.lettering import Measure
from jointgeo.sheet.outline import View
from jointgeo.sheet.piece_model import PieceSheet
from jointgeo.sheet.plane import Array
from jointgeo.sheet.svg import Drawing
from jointgeo.sheet.words import mm

__all__ = ["put_together", "three_views"]

_FROM_LEFT_DEG, _FROM_ABOVE_DEG = 28.0, 22.0
_UP, _BACK = Vec(0.0, 0.0, 1.0), Vec(0.0, 1.0, 0.0)
FRONT = View.along(-_BACK, _UP)
RIGHT = View.along(Vec(1.0, 0.0, 0.0), _UP)
ABOVE = View.along(_UP, _BACK)
#: Of a tape's measures, those that lie along a view: (name, view, level).
FEET, OVER = "feet", "over all"
WIDE, DEEP, HIGH = "left to right", "front to back", "height"
APART = 10.0
SAME_MM = 0.005


def put_together(sheet: PieceSheet, room: Room) -> Drawing:
    """From the front, a little from the left and above; one bar of each member is named."""
    turn, rise = radians(_FROM_LEFT_DEG), radians(_FROM_ABOVE_DEG)
    level = Vec(-sin(turn), -cos(turn), 0.0)
    bars = _shown(sheet, View.along(level * cos(rise) + _UP * sin(rise), _UP))
    low, high = _reach(bars)
    return fitted(
        lambda scale: _named(sheet, bars, scale, room.measure),
        room,
        (float(high[0] - low[0]), float(high[1] - low[1])),
    )


def _shown(sheet: PieceSheet, view: View) -> list[Shown]:
    woods = list(sheet.woods.values())
    return shown(woods, view, [sheet.sharp[w.name] for w in woods])


def _reach(bars: Sequence[Shown]) -> tuple[Array, Array]:
    """Opposite corners at full size, v up."""
    flat = np.concatenate([edge.ends for bar in bars for edge in bar.edges])
    return flat.min(axis=0), flat.max(axis=0)


def _named(sheet: PieceSheet, bars: Sequence[Shown], scale: float, measure: Measure) -> Drawing:
    names = ", ".join(m.name for m in sheet.solved.answer.members)
    d = Drawing(
        f"Put together, {scale_words(scale)}",
        f"{sheet.title} from the front, a little from the left and above: {names}.",
        measure,
    )
    draw_edges(d, bars, scale, behind=False)
    (left, low), (right, high) = (p.tolist() for p in _reach(bars))
    labels, gap, middle = Callouts(measure), measure.of, (left + right) / 2 * scale
    for member in sheet.solved.answer.members:
        own = [b for b in bars if b.name in member.bars and any(e.seen for e in b.edges)]
        if own:
            at = max((named_at(b, scale, middle) for b in own), key=lambda p: abs(p[0] - middle))
            labels.add("left" if at[0] < middle else "right", at, member.name)
    labels.draw(d, left * scale - gap(3), right * scale + gap(3), -high * scale, -low * scale)
    return d


@attrs.frozen(eq=False)
class _Side:
    """A view, its words, and the measures along it: for each its words and where it begins and
    ends, v up; level ones below, upright ones at the left."""

    says: str
    bars: list[Shown]
    level: list[tuple[str, float, float]]
    upright: list[tuple[str, float, float]]

    @property
    def size(self) -> tuple[float, float]:
        low, high = _reach(self.bars)
        return float(high[0] - low[0]), float(high[1] - low[1])


def three_views(sheet: PieceSheet, room: Room) -> Drawing:
    """From the front, beside it from the right, below it from above, to one scale."""
    front, right, above = _sides(sheet)
    model = front.size[0] + right.size[0], front.size[1] + above.size[1]
    return fitted(
        lambda scale: _stood(sheet, (front, right, above), scale, room.measure), room, model
    )


def _sides(sheet: PieceSheet) -> tuple[_Side, _Side, _Side]:
    placed = [b.placed for b in sheet.solved.answer.bars]
    corners = [p for s in placed for plane in s.planes for p in s.near.arrises(plane)]
    feet = [p for p in corners if abs(p.z) < SAME_MM]
    wide = _along(feet, corners, 0, sheet)
    deep = _along(feet, corners, 1, sheet)
    high = [(mm(sheet.solved.tape[HIGH]), 0.0, max(p.z for p in corners))]
    return (
        _Side("from the front", _shown(sheet, FRONT), wide, high),
        _Side("from the right", _shown(sheet, RIGHT), deep, []),
        _Side("from above", _shown(sheet, ABOVE), [], []),
    )


def _along(
    feet: Sequence[Vec], corners: Sequence[Vec], axis: int, sheet: PieceSheet
) -> list[tuple[str, float, float]]:
    """What a tape shows along X (0) or Y (1): over the feet, and over all where that is more."""
    tape, way = sheet.solved.tape, (WIDE, DEEP)[axis]
    out: list[tuple[str, float, float]] = []
    for what, points in ((FEET, feet), (OVER, corners)):
        value = tape.get(f"{what}, {way}")
        if value is not None and not any(text.endswith(mm(value)) for text, _, _ in out):
            ends = [p[axis] for p in points]
            out.append((f"{what} {mm(value)}", min(ends), max(ends)))
    return out


def _stood(
    sheet: PieceSheet, sides: tuple[_Side, _Side, _Side], scale: float, measure: Measure
) -> Drawing:
    front, right, above = (_one(side, scale, measure) for side in sides)
    told = "; ".join(f"{name} {mm(v)}" for name, v in sheet.solved.tape.items())
    d = Drawing(
        f"Three views, {scale_words(scale)}",
        f"{sheet.title} from the front, from the right and from above. A tape shows: {told}.",
        measure,
    )
    gap = measure.of(APART)
    # Both upper views stand on one floor, at height 0 of theirs.
    d.add(front, [0.0, 0.0])
    beside = front.box[2] + gap - right.box[0]
    d.add(right, [beside, 0.0])
    lower = max(front.box[3], right.box[3]) + gap / 2
    d.add(above, [0.0, lower - above.box[1]])
    return d


def _one(side: _Side, scale: float, measure: Measure) -> Drawing:
    d, gap = Drawing(side.says, side.says, measure), measure.of
    draw_edges(d, side.bars, scale, behind=False)
    (left, low), (right, _) = (p.tolist() for p in _reach(side.bars))
    y = -low * scale
    for words, start, end in side.level:
        y += gap(9)
        across(d, [start * scale, -low * scale], [end * scale, -low * scale], y, words, mark="tape")
    x = left * scale
    for words, start, end in side.upright:
        x -= gap(9)
        foot, top = [left * scale, -start * scale], [left * scale, -end * scale]
        down(d, foot, top, x, words, mark="tape")
    d.text([(left + right) / 2 * scale, y + gap(7)], side.says, anchor="middle", bold=True)
    return d
