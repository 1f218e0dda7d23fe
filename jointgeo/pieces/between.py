"""Rails that run from one bar of a piece to another: where they meet, and how they stand.

Knows bars as they are given and the contract of joint types; no piece type. For authors of piece
types: with it a rail is "between these two, at this height", and nothing of it is reckoned twice.
"""

from __future__ import annotations

from typing import Literal, TypeAlias

from jointgeo.geometry.vectors import Plane, Vec, Z
from jointgeo.joints.drawing import Bar
from jointgeo.pieces.model import Joined, PieceJoint, Plain, RoomBar
from jointgeo.pieces.sides import met_side

__all__ = [
    "FLOOR",
    "Aim",
    "Corner",
    "corners",
    "crossing",
    "flat",
    "half_height",
    "leg",
    "rail_between",
]

#: The plane of a foot that stands on the floor; its normal looks out of the wood.
FLOOR = Plane(-Z, 0.0)

#: Where a rail runs to: the middle lines of its two bars, or the middles of the sides it comes to,
#: so that the mortises are in the middle of those sides.
Aim = Literal["middles", "sides"]

Corner: TypeAlias = tuple[str, float, float]


def corners() -> tuple[Corner, ...]:
    """The four corners of a piece, seen from the front: name, and the signs of X and Y there."""
    sides, rows = (("left", -1.0), ("right", 1.0)), (("front", -1.0), ("back", 1.0))
    return tuple((f"{row} {side}", x, y) for side, x in sides for row, y in rows)


def flat(height: float) -> Plane:
    """The level plane so high above the floor, mm; its normal looks up."""
    return Plane(Z, height)


def crossing(bar: RoomBar, level: Plane) -> Vec:
    """Where a bar's middle line comes to a plane; ZeroDivisionError where it never does."""
    return bar.start + bar.grain * level.hit(bar.start, bar.grain)


def half_height(bar: RoomBar) -> float:
    """How far the highest corner of a level bar's section stands above its middle line, mm: a rail
    that leans stands higher than half its width would say, or lower."""
    own = _bar(bar)
    return (bar.thickness * abs(own.face.z) + bar.width * abs(own.edge.z)) / 2


def rail_between(
    name: str,
    size: tuple[float, float],
    joint: PieceJoint,
    ends: tuple[RoomBar, RoomBar],
    level: Plane,
    faces: Vec,
    *,
    leaning: bool = False,
    aim: Aim = "middles",
    top: bool = False,
) -> RoomBar:
    """A rail from one bar to another, jointed into both alike.

    size: width and thickness, mm. level: the plane in which its middle line meets both bars; with
    ``top`` a level one that its highest corner comes up to. faces: roughly which way its face side
    looks; it is plumb, or ``leaning`` lies in the plane of the rail and the first bar.
    """
    made = _rail(name, size, joint, ends, level, faces, leaning, aim)
    if not top:
        return made
    # Between straight bars a rail keeps its direction whatever its height, so once is enough.
    lower = level.moved(-half_height(made))
    return _rail(name, size, joint, ends, lower, faces, leaning, aim)


def _rail(
    name: str,
    size: tuple[float, float],
    joint: PieceJoint,
    ends: tuple[RoomBar, RoomBar],
    level: Plane,
    faces: Vec,
    leaning: bool,
    aim: Aim,
) -> RoomBar:
    near, far = (crossing(b, level) for b in ends)
    if aim == "sides":
        way = (far - near).unit
        near, far = (
            _on_side(name, joint, bar, level, grain)
            for bar, grain in zip(ends, (way, -way), strict=True)
        )
    grain = (far - near).unit
    normal = (ends[0].grain if leaning else Z) ^ grain
    looks = normal if normal @ faces > 0 else -normal
    into = [Joined(joint.name, bar.name) for bar in ends]
    return RoomBar(name, *size, near, far, into[0], into[1], looks)


def _on_side(name: str, joint: PieceJoint, bar: RoomBar, level: Plane, grain: Vec) -> Vec:
    """Where the middle of the side that a rail comes to crosses the level."""
    own = _bar(bar)
    side = own.side(met_side(joint.type, name, grain, own))
    start = bar.start - side.normal * side.out(bar.start)
    return start + bar.grain * level.hit(start, bar.grain)


def _bar(bar: RoomBar) -> Bar:
    """Its section as it stands; it is as long as its given run."""
    if bar.faces is None:
        raise ValueError(f"how {bar.name} stands about its own length is not said")
    size = bar.width, bar.thickness, (bar.end - bar.start).length
    return Bar.leaning(bar.name, size, bar.grain, bar.faces, bar.start)


def leg(name: str, size: tuple[float, float], top: Vec, foot: Vec, faces: Vec) -> RoomBar:
    """A leg whose top and foot are cut level: at the height of ``top`` and at the floor."""
    return RoomBar(name, *size, top, foot, Plain(flat(top.z)), Plain(FLOOR), faces)
