"""What a parameter means, said in marked sides: the places it lies between, the way it turns.

Knows drawings and parameter fields; no joint type. A joint type declares on each field what it
measures; from that come the dimensions on the picture of the joint, and a check that holds every
parameter against the drawing with neither ``draw`` nor ``measure`` to vouch for it: a sign misread
in both of those alike is seen only here.

    leg_width_mm: float = mm("Width of the leg", 1, 500, Length("leg.face_edge", "leg.back_edge"))
    lean_deg: float = deg("Lean along the rail", -60, 60,
                          Turn("rail.back_edge", "leg.grain", seen="rail.face_side",
                               towards="leg.back"))

Places. ``bar.side`` with a marked side (a plane, and as a direction its outside normal);
``bar.near`` and ``bar.far``, its square ends; ``bar.side.floor``, the deepest floor cut into that
side, or the side itself; ``bar/notch.end``, ``.floor``, ``.floor2`` …, ``.cheek1``, ``.cheek2`` …;
``bar/pocket.x1``, ``.x2``, ``.y1`` … the walls of a pocket where its box's axis begins and ends;
``bar/pocket.y`` the axis itself, through the pocket's middle;
``bar.grain``, ``bar.centre`` its centre line. ``Middle`` is half way between two places, ``Meet``
where a line meets a plane, ``Cross`` the direction square to two others, which for two planes is
the line they cross in.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import copysign
from typing import Any, TypeAlias

import attrs

from jointgeo.errors import PluginError
from jointgeo.geometry.vectors import Plane, Vec, turned_deg
from jointgeo.joints.drawing import Bar, Block, Drawing
from jointgeo.schema import fields

__all__ = [
    "Cross",
    "Dimension",
    "Length",
    "Meet",
    "Middle",
    "Place",
    "Turn",
    "Way",
    "bar_name",
    "deg",
    "dimensions",
    "line_of",
    "mm",
    "plane_at",
    "point_of",
    "thickness_of",
    "used_planes",
    "value",
    "way_of",
    "width_of",
]

KEY = "jointgeo.dimension"
SIDES = ("face_side", "back", "face_edge", "back_edge")


@attrs.frozen
class Middle:
    """Half way between two parallel places."""

    a: str
    b: str


@attrs.frozen
class Meet:
    """The point where a line meets a plane."""

    line: str
    plane: str


@attrs.frozen
class Cross:
    """The direction square to two others, the way that the angle's other direction looks."""

    a: str
    b: str


Place: TypeAlias = str | Middle | Meet
Way: TypeAlias = str | Cross


@attrs.frozen
class Length:
    """The distance from ``a`` to ``b``.

    along: a line that it is measured along, where the two are not parallel: ``bar.centre``, or
    a pair of sides for the edge they meet in. towards: the direction in which it is positive;
    without one it has no sign. minus: a distance that is taken off. times: how many of that
    distance the parameter stands for. optional: whether 0 leaves it to another parameter, so that
    the drawing does not show it then.
    """

    a: Place
    b: Place
    along: str | tuple[str, str] = ""
    towards: str = ""
    minus: tuple[Place, Place] | None = None
    times: float = 1.0
    optional: bool = False


@attrs.frozen
class Turn:
    """The angle from one direction to another as ``seen`` along a third.

    towards: the way in which it is positive.
    """

    start: Way
    end: Way
    seen: Way
    towards: Way


Dimension: TypeAlias = Length | Turn


def width_of(bar: str) -> Length:
    return Length(f"{bar}.face_edge", f"{bar}.back_edge")


def thickness_of(bar: str) -> Length:
    return Length(f"{bar}.face_side", f"{bar}.back")


def mm(
    help: str,
    low: float,
    high: float | None = 10_000.0,
    shows: Length | None = None,
    *,
    default: Any = attrs.NOTHING,
) -> Any:
    """A length in millimetres from ``low`` to ``high``; the field's name must end in ``_mm``."""
    return _showing(fields.length(help, low=low, high=high, default=default), shows)


def deg(
    help: str, low: float, high: float, shows: Turn | None = None, *, default: Any = attrs.NOTHING
) -> Any:
    """An angle in degrees from ``low`` to ``high``; the field's name must end in ``_deg``."""
    return _showing(fields.angle(help, low=low, high=high, default=default), shows)


def _showing(field: Any, shows: Dimension | None) -> Any:
    if shows is not None:
        field.metadata[KEY] = shows
    return field


def dimensions(cls: type) -> Mapping[str, Dimension]:
    """What each parameter of a joint type declares that it measures, by name."""
    return {f.name: f.metadata[KEY] for f in attrs.fields(cls) if KEY in f.metadata}


def value(dimension: Dimension, drawing: Drawing) -> float:
    """What a dimension measures on a drawing, mm or degrees; PluginError where it cannot."""
    try:
        if isinstance(dimension, Turn):
            return _turn(dimension, drawing)
        taken = _distance(drawing, dimension, *dimension.minus) if dimension.minus else 0.0
        return dimension.times * (_distance(drawing, dimension, dimension.a, dimension.b) - taken)
    except (KeyError, IndexError, ValueError, ZeroDivisionError) as error:
        raise PluginError(f"{dimension} cannot be measured on the drawing: {error!r}") from None


def used_planes(dimension: Dimension, drawing: Drawing) -> list[tuple[str, Plane]]:
    """The planes of wood that a dimension is taken from, each with its bar's name."""
    if isinstance(dimension, Turn):
        texts = [w for w in (dimension.start, dimension.end) if isinstance(w, str)]
        texts += [
            t for w in (dimension.start, dimension.end) if isinstance(w, Cross) for t in (w.a, w.b)
        ]
    else:
        places = [dimension.a, dimension.b, *(dimension.minus or ())]
        texts = [p for p in places if isinstance(p, str)]
        texts += [t for p in places if isinstance(p, Middle) for t in (p.a, p.b)]
        texts += [p.plane for p in places if isinstance(p, Meet)]
    return [
        (bar_name(t), _plane(drawing, t))
        for t in texts
        if not t.endswith((".grain", ".centre", ".near"))
    ]


def bar_name(path: str) -> str:
    """The bar that a path speaks of."""
    return path.split(".")[0].split("/")[0]


def _turn(dimension: Turn, drawing: Drawing) -> float:
    seen = way_of(drawing, dimension.seen, None)
    start = way_of(drawing, dimension.start, dimension.end)
    end = way_of(drawing, dimension.end, dimension.start)
    return turned_deg(start, end, seen, way_of(drawing, dimension.towards, None))


def way_of(drawing: Drawing, way: Way, like: Way | None) -> Vec:
    """A direction, unit vector; of a ``Cross`` the sense that agrees with ``like``."""
    if isinstance(way, str):
        bar = drawing.bar(bar_name(way))
        if way.endswith(".grain"):
            return bar.grain
        return _plane(drawing, way).normal
    found = (way_of(drawing, way.a, None) ^ way_of(drawing, way.b, None)).unit
    if isinstance(like, str) and found @ way_of(drawing, like, None) < 0:
        return -found
    return found


def _distance(drawing: Drawing, dimension: Length, a: Place, b: Place) -> float:
    if dimension.along:
        point, way = line_of(drawing, dimension.along)
        start, end = (plane_at(drawing, p).hit(point, way) for p in (a, b))
        return abs(end - start)
    if isinstance(a, Meet):
        point = point_of(drawing, a)
        plane = plane_at(drawing, b)
        # The plane lies against its normal from a point outside it.
        return copysign(1.0, plane.normal @ way_of(drawing, dimension.towards, None)) * -plane.out(
            point
        )
    first, last = plane_at(drawing, a), plane_at(drawing, b)
    if abs(abs(first.normal @ last.normal) - 1.0) > 1e-9:
        raise ValueError(f"{a} and {b} are not parallel")
    gap = last.at * (first.normal @ last.normal) - first.at
    if not dimension.towards:
        return abs(gap)
    return gap * (1.0 if first.normal @ way_of(drawing, dimension.towards, None) > 0 else -1.0)


def line_of(drawing: Drawing, along: str | tuple[str, str]) -> tuple[Vec, Vec]:
    """A point of a line and its unit direction."""
    if isinstance(along, str):
        owner, _, axis = along.partition(".")
        bar, pocket = drawing.bar(bar_name(along)), owner.partition("/")[2]
        if not pocket:
            return bar.middle, bar.grain
        block = next(p.block for p in drawing.pockets if (p.bar, p.name) == (bar.name, pocket))
        return block.middle, block.axes["xyz".index(axis)]
    bar = drawing.bar(bar_name(along[0]))
    planes = [_plane(drawing, side) for side in along]
    corner = bar.middle
    for plane in planes:
        corner = corner - plane.normal * plane.out(corner)
    return corner, bar.grain


def point_of(drawing: Drawing, meet: Meet) -> Vec:
    """Where a line meets a plane."""
    point, way = line_of(drawing, meet.line)
    return point + way * _plane(drawing, meet.plane).hit(point, way)


def plane_at(drawing: Drawing, place: Place) -> Plane:
    """The plane of a place; ValueError for a point, which has none."""
    if isinstance(place, Middle):
        a, b = _plane(drawing, place.a), _plane(drawing, place.b)
        return Plane(a.normal, (a.at + b.at * (a.normal @ b.normal)) / 2)
    if isinstance(place, Meet):
        raise ValueError("a point is no plane")  # noqa: TRY004 - a wrong place, not a wrong type
    return _plane(drawing, place)


def _plane(drawing: Drawing, path: str) -> Plane:
    """The plane of a path; KeyError or IndexError where there is none."""
    owner, *steps = path.split(".")
    name, _, cut = owner.partition("/")
    bar = drawing.bar(name)
    if cut:
        return _cut_plane(drawing, name, cut, steps[0])
    if steps[0] in ("near", "far"):
        return bar.near if steps[0] == "near" else bar.far
    return _floor(drawing, bar, steps[0]) if len(steps) > 1 else bar.side(steps[0])


def _floor(drawing: Drawing, bar: Bar, side: str) -> Plane:
    face = bar.side(side)
    depths = [
        face.at - min(_reach(p.block, face.normal))
        for p in drawing.pockets
        if p.bar == bar.name and p.side == side
    ]
    return face.moved(-max(depths, default=0.0))


def _reach(block: Block, way: Vec) -> tuple[float, float]:
    half = sum(
        abs(axis @ way) * size / 2 for axis, size in zip(block.axes, block.size, strict=True)
    )
    return block.middle @ way - half, block.middle @ way + half


def _cut_plane(drawing: Drawing, bar: str, cut: str, what: str) -> Plane:
    for notch in drawing.notches:
        if (notch.bar, notch.name) == (bar, cut):
            if what == "end":
                return notch.end
            number = int(what.lstrip("florchek") or 1) - 1
            if what.startswith("floor"):
                return notch.end.moved(-notch.channels[number].depth)
            return notch.cheeks[number]
    block = next((p.block for p in drawing.pockets if (p.bar, p.name) == (bar, cut)), None)
    if block is None:
        raise KeyError(f"{bar}/{cut}")
    axis = "xyz".index(what[0])
    normal, half = block.axes[axis], block.size[axis] / 2
    # Out of the wood, so into the pocket.
    low, high = Plane(normal, block.middle @ normal - half), block.middle @ -normal - half
    return low if what[1:] == "1" else Plane(-normal, high)
