"""Where the bars of a piece file run: exactly two facts place a middle line.

Knows the file's entries, levels and symmetry; cuts nothing. A fact is an end with a plan place, an
end ``into`` another bar with one place along it, a ``through``, or one lean.
"""

from __future__ import annotations

from collections.abc import Mapping

import attrs

from jointgeo.errors import PieceError, shown
from jointgeo.geometry.vectors import Plane, Vec
from jointgeo.pieces.entries import BarEntry, Spot
from jointgeo.pieces.symmetry import Image

__all__ = ["Line", "Mate", "height", "place_line"]

LEVEL = 1e-9  # part of a direction; a bar that climbs less runs level
NOWHERE = Vec(0.0, 0.0, 0.0)


@attrs.frozen
class Mate:
    """A bar that another is placed by: a point of its middle line, or of the middle of the edge
    that a slot is let down over, and the way it runs."""

    name: str
    point: Vec
    way: Vec


@attrs.frozen
class Line:
    """start, end: points of the middle line, near end first."""

    start: Vec
    end: Vec


def height(level: Plane, x: float, y: float) -> float:
    """Of a level over a point of the plan."""
    n = level.normal
    return (level.at - n.x * x - n.y * y) / n.z


def place_line(
    entry: BarEntry,
    levels: Mapping[str, Plane],
    mates: Mapping[str, Mate],
    far_image: Image | None,
    move: Vec,
) -> Line:
    """The middle line of a bar.

    mates: by the names its ends give, all known. far_image: of which the far end is the near one's
    image. move: what the place is moved by, so that an outside comes to where it is asked for; one
    that is drawn by its foot's outside is moved there only.
    """
    near = _point(entry, "near", entry.near, levels, mates, move)
    if far_image is not None:
        far = None if near is None else far_image.way(near)
    else:
        spot = entry.far or Spot()
        far = _point(entry, "far", spot, levels, mates, move)
    through = None
    if entry.through is not None:
        through = _point(entry, "through", entry.through, levels, mates, move)
        if through is None:
            says = "says no place in the plan"
            raise PieceError.of(_path(entry, "through"), says, None, "right_mm and front_mm, …")
    lean = _lean(entry)
    facts = {"near": near, "far": far, "through": through, "lean": lean}
    found = [name for name, fact in facts.items() if fact is not None]
    if len(found) != 2:
        says = f"{len(found)} facts place it ({', '.join(found) or 'none'})"
        allowed = "exactly two of: near, far, through with a place in the plan, one lean"
        raise PieceError.of(f"bar {entry.name}", says, None, allowed)
    if near is not None and far is not None:
        return Line(near, far)
    point = next(f for f in (near, far, through) if f is not None)
    other = next((f for f in (through, far, near) if f is not None and f is not point), None)
    way = lean if lean is not None else (other or point) - point
    ends = [
        given if given is not None else _along(entry, where, spot, levels, mates, point, way)
        for where, given, spot in (
            ("near", near, entry.near),
            ("far", far, entry.far or Spot()),
        )
    ]
    return Line(ends[0], ends[1])


def _path(entry: BarEntry, key: str) -> str:
    return f"bar {entry.name}.{key}"


def _lean(entry: BarEntry) -> Vec | None:
    if entry.top_goes is not None and entry.foot_goes is not None:
        says = "is given together with top_goes"
        raise PieceError.of(_path(entry, "foot_goes"), says, None, "one of them")
    if entry.top_goes is not None:
        return Vec(*entry.top_goes.sideways, 1.0)
    if entry.foot_goes is not None:
        return Vec(*entry.foot_goes.sideways, -1.0)
    return None


def _point(
    entry: BarEntry,
    where: str,
    spot: Spot,
    levels: Mapping[str, Plane],
    mates: Mapping[str, Mate],
    move: Vec,
) -> Vec | None:
    """The place that a spot says; None where it says none in the plan."""
    if spot.into is not None:
        return _on_mate(entry, where, spot, levels, mates[spot.into], move)
    plan = spot.plan
    if not plan:
        return None
    if len(plan) == 1 or spot.level is None:
        missing = [
            what
            for what, there in (
                ("level", spot.level is not None),
                ("right_mm or left_mm", "x" in plan),
                ("front_mm or back_mm", "y" in plan),
            )
            if not there
        ]
        raise PieceError.of(_path(entry, where), "is no whole place", None, " and ".join(missing))
    moved = move if spot.to is not None else NOWHERE
    x, y = plan["x"] + moved.x, plan["y"] + moved.y
    up = move.z if spot.edge is not None else 0.0
    return Vec(x, y, height(levels[spot.level], x, y) + up)


def _on_mate(
    entry: BarEntry,
    where: str,
    spot: Spot,
    levels: Mapping[str, Plane],
    mate: Mate,
    move: Vec,
) -> Vec | None:
    """Where the bar meets the middle line of its mate; None without one place along it."""
    plan, path = spot.plan, _path(entry, where)
    if not plan and spot.level is None:
        return None
    if len(plan) + (spot.level is not None) > 1:
        says = f"says more than one place along {mate.name}"
        raise PieceError.of(path, says, None, "a level, or one plan distance")
    climbs = abs(mate.way.z) > LEVEL
    if spot.level is not None:
        level = levels[spot.level]
        level = level.moved(move.z * level.normal.z) if spot.edge is not None else level
        if not climbs:
            says = f"{mate.name} runs level"
            raise PieceError.of(
                path, says, shown(spot.level), "how far along it: one of right_mm, …"
            )
        return mate.point + mate.way * level.hit(mate.point, mate.way)
    if climbs:
        raise PieceError.of(path, f"{mate.name} climbs", None, "a level, where this bar meets it")
    ((axis, at),) = plan.items()
    number = "xyz".index(axis)
    runs = mate.way[number]
    if abs(runs) <= LEVEL:
        other = "front_mm or back_mm" if axis == "x" else "right_mm or left_mm"
        says = f"{mate.name} does not run that way"
        raise PieceError.of(path, says, None, other)
    return mate.point + mate.way * ((at - mate.point[number]) / runs)


def _along(
    entry: BarEntry,
    where: str,
    spot: Spot,
    levels: Mapping[str, Plane],
    mates: Mapping[str, Mate],
    point: Vec,
    way: Vec,
) -> Vec:
    """Where a line that other facts place comes to an end's level, or nearest to its mate."""
    if spot.level is not None:
        try:
            return point + way * levels[spot.level].hit(point, way)
        except ZeroDivisionError:
            says = f"never comes to the level {spot.level}"
            raise PieceError.of(_path(entry, where), says, None, "a bar that climbs") from None
    if spot.into is not None:
        mate = mates[spot.into]
        square = way ^ mate.way
        if square.length > LEVEL:
            gap = mate.point - point
            return point + way * ((gap ^ mate.way) @ square / (square @ square))
    says = "nothing says how far the bar runs there"
    raise PieceError.of(_path(entry, where), says, None, "a level, or into")
