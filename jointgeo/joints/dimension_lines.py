"""Where a dimension lies on a drawing: the two points of a length, the two arms of an angle.

Knows drawings and what a dimension measures; draws nothing. Points are in the drawing's world, mm,
on or in the wood that the dimension speaks of, so that a picture can show it there.
"""

from __future__ import annotations

from typing import TypeAlias

import attrs

from jointgeo.errors import PluginError
from jointgeo.geometry.vectors import Vec
from jointgeo.joints.dimensions import (
    Cross,
    Dimension,
    Length,
    Meet,
    Middle,
    Place,
    Turn,
    Way,
    bar_name,
    line_of,
    plane_at,
    point_of,
    way_of,
)
from jointgeo.joints.drawing import Bar, Drawing, Notch

__all__ = ["Arc", "Drawn", "Line", "drawn"]

SHOWN_AT = 0.85  # of a bar's length from its datum: past the joint, where its sides are whole


@attrs.frozen
class Line:
    """A length: between two points, and the one that is taken off it, if any.

    way: unit vector from start to end, or the way in which it is positive where ``signed``.
    """

    start: Vec
    end: Vec
    way: Vec
    signed: bool
    minus: tuple[Vec, Vec] | None = None


@attrs.frozen
class Arc:
    """An angle at a point, from ``start`` to ``end``, unit vectors square to ``seen``.

    towards: the way that ``start`` turns where it is positive, square to both.
    """

    at: Vec
    start: Vec
    end: Vec
    seen: Vec
    towards: Vec


Drawn: TypeAlias = Line | Arc


def drawn(dimension: Dimension, drawing: Drawing) -> Drawn:
    """A dimension's points; PluginError where the drawing does not show it."""
    try:
        if isinstance(dimension, Turn):
            return _arc(dimension, drawing)
        return _line(dimension, drawing)
    except (KeyError, IndexError, ValueError, ZeroDivisionError) as error:
        raise PluginError(f"{dimension} cannot be shown on the drawing: {error!r}") from None


def _line(dimension: Length, drawing: Drawing) -> Line:
    start, end = _ends(drawing, dimension, dimension.a, dimension.b)
    minus = _ends(drawing, dimension, *dimension.minus) if dimension.minus else None
    way = plane_at(drawing, dimension.b).normal
    if dimension.along:
        way = line_of(drawing, dimension.along)[1]
    if dimension.towards:
        towards = way_of(drawing, dimension.towards, None)
        return Line(start, end, -way if way @ towards < 0 else way, True, minus)
    return Line(start, end, -way if way @ (end - start) < 0 else way, False, minus)


def _ends(drawing: Drawing, dimension: Length, a: Place, b: Place) -> tuple[Vec, Vec]:
    if dimension.along:
        point, way = line_of(drawing, dimension.along)
        start, end = (point + way * plane_at(drawing, p).hit(point, way) for p in (a, b))
        return start, end
    start = point_of(drawing, a) if isinstance(a, Meet) else _beside(drawing, a, b)
    plane = plane_at(drawing, b)
    return start, start - plane.normal * plane.out(start)


def _beside(drawing: Drawing, a: Place, b: Place) -> Vec:
    """A point of the first plane, near the cut that either speaks of, else far from the joint."""
    paths = [path for place in (a, b) for path in _paths(place)]
    path = next((p for p in paths if "/" in p or p.endswith(".floor")), paths[0])
    plane, point = plane_at(drawing, a), _shown_at(drawing, path)
    return point - plane.normal * plane.out(point)


def _paths(place: Place) -> tuple[str, ...]:
    if isinstance(place, Middle):
        return place.a, place.b
    return (place.plane,) if isinstance(place, Meet) else (place,)


def _shown_at(drawing: Drawing, path: str) -> Vec:
    """A point of the wood that a path speaks of."""
    bar, cut = drawing.bar(bar_name(path)), path.split(".")[0].partition("/")[2]
    for notch in drawing.notches:
        if (notch.bar, notch.name) == (bar.name, cut):
            return _in_notch(bar, notch)
    for pocket in drawing.pockets:
        of_side = path.endswith(".floor") and pocket.side == path.split(".")[1]
        if pocket.bar == bar.name and (pocket.name == cut or (not cut and of_side)):
            return _on(bar, pocket.block.middle)
    return bar.middle + bar.grain * (SHOWN_AT * bar.length)


def _in_notch(bar: Bar, notch: Notch) -> Vec:
    """On the centre line, half way down the first channel."""
    middle = notch.end.moved(-notch.channels[0].depth / 2)
    return bar.middle + bar.grain * middle.hit(bar.middle, bar.grain)


def _on(bar: Bar, point: Vec) -> Vec:
    """The point, brought to where the bar is: a groove's middle may lie beyond it."""
    along = (point - bar.middle) @ bar.grain
    kept = along if 0 <= along <= bar.length else SHOWN_AT * bar.length
    return point + bar.grain * (kept - along)


def _arc(dimension: Turn, drawing: Drawing) -> Arc:
    seen = way_of(drawing, dimension.seen, None)
    start = way_of(drawing, dimension.start, dimension.end).across(seen).unit
    end = way_of(drawing, dimension.end, dimension.start).across(seen).unit
    towards = way_of(drawing, dimension.towards, None).across(seen).across(start).unit
    return Arc(_corner(drawing, dimension), start, end, seen, towards)


def _corner(drawing: Drawing, dimension: Turn) -> Vec:
    """Where the arms meet: on the line that two planes cross in, else the middle of a bar's end."""
    for way in (dimension.end, dimension.start):
        if isinstance(way, Cross) and not _grain(way.a) and not _grain(way.b):
            return _on_both(drawing, way)
    first = dimension.end if isinstance(dimension.end, str) else dimension.start
    path = first if isinstance(first, str) else first.a
    return drawing.bar(bar_name(path)).middle


def _grain(way: Way) -> bool:
    return isinstance(way, str) and way.endswith(".grain")


def _on_both(drawing: Drawing, cross: Cross) -> Vec:
    """The point of the planes' common line that is nearest to the first bar's middle."""
    a, b = plane_at(drawing, cross.a), plane_at(drawing, cross.b)
    middle = drawing.bar(bar_name(cross.a)).middle
    on_a = middle - a.normal * a.out(middle)
    within = b.normal.across(a.normal)  # the way in the first plane that leads to the second
    return on_a - within * (b.out(on_a) / (within @ b.normal))
