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
from jointgeo.sheet.canvas import fitted, scale_words
from jointgeo.sheet.dimension import Callouts
from jointgeo.sheet.edge_drawing import Shown, draw_edges, named_at, shown
from jointgeo.sheet.gluing import way_out
from jointgeo.sheet.model import JointSheet
from jointgeo.sheet.outline import View
from jointgeo.sheet.svg import Drawing
from jointgeo.sheet.wood import Wood, bodies, shortened
from jointgeo.sheet.words import listed

__all__ = ["joint_pictures"]

PAGE_WIDE, PAGE_HIGH = 176.0, 120.0
_FROM_LEFT_DEG, _FROM_ABOVE_DEG = 35.0, 25.0


def joint_pictures(joint: JointSheet) -> tuple[Drawing, Drawing]:
    """Assembled and apart."""
    drawing = shortened(joint.solution.drawing)
    view, together = _view(drawing), bodies(drawing)
    names = listed([wood.name for wood in together])
    scenes = (
        (together, "put together", "in place"),
        (_apart(drawing, together), "apart", "drawn out of each other the way they slide"),
    )
    first, second = (
        _picture(view, woods, f"{joint.name}: {what}", f"{names} {where}")
        for woods, what, where in scenes
    )
    return first, second


def _picture(view: View, woods: Sequence[Wood], title: str, says: str) -> Drawing:
    says = f"{says}. Edges behind wood are dashed, and long parts are shown short."
    found = shown(woods, view)
    return fitted(
        lambda scale: _drawn(found, scale, f"{title}, {scale_words(scale)}", says),
        PAGE_WIDE,
        PAGE_HIGH,
    )


def _view(drawing: joints.Drawing) -> View:
    """Face side and face edge of the first bar cut on end towards the viewer."""
    cut = {notch.bar for notch in drawing.notches}
    bar = next((b for b in drawing.bars if b.name in cut), drawing.bars[0])
    turn, rise = radians(_FROM_LEFT_DEG), radians(_FROM_ABOVE_DEG)
    level = bar.face * cos(turn) + bar.edge * sin(turn)
    return View.along(level * cos(rise) - bar.grain * sin(rise), -bar.grain)


def _apart(drawing: joints.Drawing, woods: Sequence[Wood]) -> list[Wood]:
    """Every bar that slides, drawn out by as far as the joint is deep and half again."""
    moving = [wood.name for wood in woods if wood.name in drawing.slides]
    if len(moving) == len(woods):
        moving.pop()  # each can move out of the others; one of them stays
    return [w.moved(_out(drawing, w.bar)) if w.name in moving else w for w in woods]


def _out(drawing: joints.Drawing, bar: joints.Bar) -> Vec:
    way = way_out(drawing, bar.name)
    depths = [c.depth for n in drawing.notches if n.bar == bar.name for c in n.channels]
    far = 1.5 * max(depths, default=0.0) + 0.3 * max(bar.width, bar.thickness)
    return Vec(0.0, 0.0, 0.0) if way is None else way * far


def _drawn(found: list[Shown], scale: float, title: str, says: str) -> Drawing:
    d, labels = Drawing(title, says), Callouts()
    page = np.array([scale, -scale])
    flat = np.concatenate([edge.ends for bar in found for edge in bar.edges]) * page
    left, right = float(flat[:, 0].min()), float(flat[:, 0].max())
    middle = (left + right) / 2
    draw_edges(d, found, scale)
    for bar in found:
        at = named_at(bar, scale, middle)
        labels.add("left" if at[0] < middle else "right", at, bar.name, bold=True)
        for name, point in bar.sides:
            at = point * page
            labels.add("left" if at[0] < middle else "right", at, name)
    labels.draw(d, left - 4, right + 4, float(flat[:, 1].min()), float(flat[:, 1].max()))
    return d
