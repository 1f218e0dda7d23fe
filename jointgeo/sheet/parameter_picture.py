"""What each parameter of a joint means, drawn on the joint: dimension lines and angle arcs.

    >>> import jointgeo
    >>> from jointgeo.sheet.parameter_picture import parameter_picture
    >>> picture = parameter_picture(jointgeo.joint_type("splayed_bridle").examples()[0])
    >>> picture.startswith("<svg"), "splay along" in picture, "12.00°" in picture
    (True, True, True)

Knows joint types' declared dimensions and nothing of any type: a plug-in's parameters are drawn
from what it declares alone. Several views stand on one picture, each dimension once.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

import attrs
import numpy as np

from jointgeo.errors import PluginError
from jointgeo.joints import drawing as joints
from jointgeo.joints.dimension_lines import Drawn, drawn
from jointgeo.joints.dimensions import Dimension, Length, dimensions, value
from jointgeo.joints.joint_type import JointType
from jointgeo.sheet.canvas import SCALES, Room, fitted
from jointgeo.sheet.edge_drawing import shown
from jointgeo.sheet.markup import Markup
from jointgeo.sheet.parameter_drawing import Label, view_drawing
from jointgeo.sheet.parameter_views import ParameterView, views
from jointgeo.sheet.svg import Drawing
from jointgeo.sheet.wood import Shape
from jointgeo.sheet.words import broken
from jointgeo.sheet.words import mm as plain
from jointgeo.solution.setup import Hand

__all__ = ["parameter_drawings", "parameter_picture"]

FULL = Room(178.0, 225.0)
#: Of a view, the joint itself, for letters of 4.9 mm.
WOOD_WIDE, WOOD_HIGH = 84.0, 72.0
APART = 6.0
NAME_LETTERS = 15  # of a parameter's name in one line
HOW = (
    "Angles are seen along the line of sight of their view, and + shows the way in which a number "
    "is positive. Long parts are shown short; edges behind wood are dashed."
)


def parameter_picture(
    joint: JointType, hand: Hand = "as_drawn", name: str = "parameters"
) -> Markup:
    """One SVG with every parameter that is a length or an angle; ``name`` makes its ids unique.

    PluginError where none is declared, or one cannot be measured on the drawing.
    """
    found = list(
        _stacked(joint, _view_drawings(joint, hand, FULL), attrs.evolve(FULL, high_mm=math.inf))
    )
    if not found:
        raise PluginError(f"{joint.name} declares no dimension to draw")
    return found[0].svg(name)


def parameter_drawings(
    joint: JointType, hand: Hand = "as_drawn", room: Room = FULL, shape: Shape | None = None
) -> tuple[Drawing, ...]:
    """The same as drawings that each go into ``room``; none where none is declared. shape: the
    joint's, where it is known already."""
    return tuple(_stacked(joint, _view_drawings(joint, hand, room, shape), room))


def _view_drawings(
    joint: JointType, hand: Hand, room: Room, shape: Shape | None = None
) -> list[Drawing]:
    whole = joint.drawing.mirrored if hand == "mirrored" else joint.drawing
    shape = shape or Shape.of(whole)
    lines: dict[str, Drawn] = {}
    labels: dict[str, Label] = {}
    for name, dimension in _declared(joint, whole):
        lines[name] = drawn(dimension, shape.drawing)
        labels[name] = _label(name, dimension, getattr(joint, name), whole)
    return [_fitted(view, shape, labels, room) for view in views(shape.drawing, lines)]


def _declared(joint: JointType, drawing: joints.Drawing) -> Iterator[tuple[str, Dimension]]:
    """What the type declares, but for what this joint leaves open and does not show."""
    for name, dimension in dimensions(type(joint)).items():
        try:
            value(dimension, drawing)
        except PluginError:
            if _open(dimension, getattr(joint, name)):
                continue
            raise
        yield name, dimension


def _open(dimension: Dimension, asked: float | None) -> bool:
    """Whether the number is left to another parameter."""
    return asked is None or (isinstance(dimension, Length) and dimension.optional and asked == 0)


def _label(name: str, dimension: Dimension, asked: float | None, drawing: joints.Drawing) -> Label:
    words, found = name.rpartition("_")[0].replace("_", " "), value(dimension, drawing)
    named = broken(words, NAME_LETTERS).split("\n")
    unit = " mm" if isinstance(dimension, Length) else "°"
    if _open(dimension, asked):
        return Label((*named, f"not given; {plain(found)}{unit}"))
    if not isinstance(dimension, Length):
        return Label((*named, f"{plain(found)}°"))
    figures = f"{plain(found)} mm"
    if dimension.times != 1.0:
        return Label((*named, figures, f"= {dimension.times:g} × {plain(found / dimension.times)}"))
    if dimension.minus is None:
        return Label((*named, figures))
    less = value(
        attrs.evolve(dimension, a=dimension.minus[0], b=dimension.minus[1], minus=None), drawing
    )
    return Label(
        (*named, figures, f"= {plain(found + less)} − {plain(less)}"),
        f"{words}:\nless {plain(less)}",
    )


def _fitted(
    view: ParameterView,
    shape: Shape,
    labels: Mapping[str, Label],
    room: Room,
) -> Drawing:
    bars, most = shown(shape.woods, view.view, shape.edges), room.measure.of
    size = np.ptp(np.concatenate([e.ends for bar in bars for e in bar.edges]), axis=0)
    wood = most(WOOD_WIDE), most(WOOD_HIGH)
    small = [v for v in SCALES if size[0] * v <= wood[0] and size[1] * v <= wood[1]]
    return fitted(
        lambda scale: view_drawing(view, bars, labels, scale, room.measure),
        room,
        (float(size[0]), float(size[1])),
        small or SCALES[-1:],
    )


def _stacked(joint: JointType, found: Sequence[Drawing], room: Room) -> Iterator[Drawing]:
    """Views in rows, on as many drawings as it takes."""
    rows, most_high = _rows(found, room), room.high_mm
    pages: list[list[list[Drawing]]] = []
    high = math.inf
    for row in rows:
        tall = max(d.size_mm[1] for d in row) + APART
        if high + tall > most_high + APART or not pages:
            pages.append([])
            high = 0.0
        pages[-1].append(row)
        high += tall
    for number, page in enumerate(pages, 1):
        which = f", {number} of {len(pages)}" if len(pages) > 1 else ""
        title = f"{joint.name.replace('_', ' ')}: what the numbers mean{which}"
        yield _page(page, Drawing(title, HOW, room.measure), room.wide_mm)


def _rows(found: Sequence[Drawing], room: Room) -> list[list[Drawing]]:
    out: list[list[Drawing]] = []
    left = 0.0
    for d in found:
        if not out or left < d.size_mm[0] + APART:
            out.append([])
            left = room.wide_mm
        out[-1].append(d)
        left -= d.size_mm[0] + APART
    return out


def _page(rows: Sequence[Sequence[Drawing]], page: Drawing, wide: float) -> Drawing:
    down = 0.0
    for row in rows:
        across = (wide - sum(d.size_mm[0] + APART for d in row) + APART) / 2
        for d in row:
            page.add(d, [across - d.box[0], down - d.box[1]])
            across += d.size_mm[0] + APART
        down += max(d.size_mm[1] for d in row) + APART
    return page
