"""The joint put together, and drawn apart the way it slides, in an axonometric view.

Knows drawings of joints, their solids and hidden lines; no joint type. Long bars are shortened
near the joint first.

The first bar that is cut on end stands upright, its end at the top and its face side towards the
viewer: a joint type's own world may lie anyhow.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, radians, sin

import numpy as np

from jointgeo.geometry.vectors import Vec
from jointgeo.joints import drawing as joints
from jointgeo.sheet.canvas import Room, fitted, scale_words
from jointgeo.sheet.dimension import Callouts
from jointgeo.sheet.edge_drawing import Shown, draw_edges, named_at, shown
from jointgeo.sheet.gluing import way_out
from jointgeo.sheet.model import JointSheet
from jointgeo.sheet.outline import View
from jointgeo.sheet.plane import Array
from jointgeo.sheet.svg import Drawing
from jointgeo.sheet.wood import Line, Wood
from jointgeo.sheet.words import listed

__all__ = ["joint_pictures"]

FULL = Room(176.0, 120.0)
_FROM_LEFT_DEG, _FROM_ABOVE_DEG = 35.0, 25.0


def joint_pictures(joint: JointSheet, room: Room = FULL) -> tuple[Drawing, Drawing]:
    """Assembled and apart."""
    shape = joint.shape
    drawing, together, sharp = shape.drawing, shape.woods, shape.edges
    moves = _apart(drawing, together)
    names = listed([wood.name for wood in together])
    apart = [wood.moved(by) for wood, by in zip(together, moves, strict=True)]
    drawn_out = [[(a + by, b + by) for a, b in own] for own, by in zip(sharp, moves, strict=True)]
    return (
        _picture(
            drawing, together, sharp, (f"{joint.name}: put together", f"{names} in place"), room
        ),
        _picture(
            drawing,
            apart,
            drawn_out,
            (f"{joint.name}: apart", f"{names} drawn out of each other the way they slide"),
            room,
        ),
    )


def _picture(
    drawing: joints.Drawing,
    woods: Sequence[Wood],
    sharp: Sequence[Sequence[Line]],
    words: tuple[str, str],
    room: Room,
) -> Drawing:
    title, says = words
    says = f"{says}. Edges behind wood are dashed, and long parts are shown short."
    found = shown(woods, _view(drawing), sharp)
    flat = np.concatenate([edge.ends for bar in found for edge in bar.edges])
    low, high = flat.min(axis=0), flat.max(axis=0)
    return fitted(
        lambda scale: _drawn(
            Drawing(f"{title}, {scale_words(scale)}", says, room.measure),
            found,
            scale,
            (low * scale, high * scale),
        ),
        room,
        (float(high[0] - low[0]), float(high[1] - low[1])),
    )


def _view(drawing: joints.Drawing) -> View:
    """Face side and face edge of the first bar cut on end towards the viewer."""
    cut = {notch.bar for notch in drawing.notches}
    bar = next((b for b in drawing.bars if b.name in cut), drawing.bars[0])
    turn, rise = radians(_FROM_LEFT_DEG), radians(_FROM_ABOVE_DEG)
    level = bar.face * cos(turn) + bar.edge * sin(turn)
    return View.along(level * cos(rise) - bar.grain * sin(rise), -bar.grain)


def _apart(drawing: joints.Drawing, woods: Sequence[Wood]) -> list[Vec]:
    """How each bar is drawn out: those that slide as far as the joint is deep and half again."""
    moving = [wood.name for wood in woods if wood.name in drawing.slides]
    if len(moving) == len(woods):
        moving.pop()  # each can move out of the others; one of them stays
    still = Vec(0.0, 0.0, 0.0)
    return [_out(drawing, w.bar) if w.name in moving else still for w in woods]


def _out(drawing: joints.Drawing, bar: joints.Bar) -> Vec:
    way = way_out(drawing, bar.name)
    depths = [c.depth for n in drawing.notches if n.bar == bar.name for c in n.channels]
    far = 1.5 * max(depths, default=0.0) + 0.3 * max(bar.width, bar.thickness)
    return Vec(0.0, 0.0, 0.0) if way is None else way * far


def _drawn(d: Drawing, found: list[Shown], scale: float, reach: tuple[Array, Array]) -> Drawing:
    """reach: opposite corners of all edges at that scale, the second to the right and above."""
    labels, gap = Callouts(d.measure), d.measure.of
    page = np.array([scale, -scale])
    (left, low), (right, high) = reach[0].tolist(), reach[1].tolist()
    middle = (left + right) / 2
    draw_edges(d, found, scale)
    for bar in found:
        at = named_at(bar, scale, middle)
        labels.add("left" if at[0] < middle else "right", at, bar.name, bold=True)
        for name, point in bar.sides:
            at = point * page
            labels.add("left" if at[0] < middle else "right", at, name)
    labels.draw(d, left - gap(4), right + gap(4), -high, -low)
    return d
