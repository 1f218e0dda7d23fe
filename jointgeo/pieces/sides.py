"""Which side of a mate a bar comes to, and the mate looked at from there.

Knows bars and drawings; no joint type by name. A joint type draws its mate with one marked side
where the bar's length datum lies: the side that a shoulder bears on, or the edge that a slot is let
down over. Which that is, and whether it looks into the bar's wood or against it, is read off the
type's own drawing, so that a joint type declares nothing for it. In a piece it may be any of the
mate's four sides; ``seen`` is the same wood marked so that it is the drawn one.

A **corner** joint cuts an end of either bar: each ends at a marked side of the other, and its datum
may lie in one of its long edges. Which edge that is, is read off the drawing too.
"""

from __future__ import annotations

from functools import lru_cache

import attrs

from jointgeo.errors import InputError
from jointgeo.geometry.vectors import Vec
from jointgeo.joints.drawing import Bar, XFrom
from jointgeo.joints.joint_type import JointType
from jointgeo.joints.sides import in_words

__all__ = [
    "SIDES",
    "Meeting",
    "came",
    "meeting",
    "met_side",
    "seen",
    "side_towards",
    "turned_over",
]

SIDES = ("face_side", "back", "face_edge", "back_edge")
#: Where in a section a datum may lie: the middle, then the corners, then the sides' middles.
CORNERS = ((0, 0), (1, 1), (1, -1), (-1, 1), (-1, -1), (1, 0), (-1, 0), (0, 1), (0, -1))
ON_MM = 1e-6
ARRIS = 1e-6  # of a cosine; a splay of 0.0001° tells two sides apart


@attrs.frozen
class Meeting:
    """side: of the mate as drawn; into: 1 where it looks into the bar's wood, -1 against it.
    corner: whether the mate's end is cut too. x_from: where x is 0 at the drawn bar's end. datum:
    where in its section the length is measured from, in halves of its thickness towards the face
    side and of its width towards the face edge: 0, 0 is the middle."""

    side: str
    into: float
    corner: bool
    x_from: XFrom
    datum: tuple[float, float]

    @property
    def line(self) -> str:
        """The line along the bar through that place, in words."""
        face = {1: "face side", -1: "back"}.get(int(self.datum[0]))
        edge = {1: "face edge", -1: "back edge"}.get(int(self.datum[1]))
        both = [side for side in (face, edge) if side]
        if len(both) == 2:
            return f"arris of {both[0]} and {both[1]}, before it is planed"
        return f"middle of the {both[0]}" if both else "middle line"

    def at(self, bar: Bar) -> Vec:
        """The point of the bar's length datum that lies on its mate."""
        face, edge = self.datum
        return (
            bar.middle + bar.face * (face * bar.thickness / 2) + bar.edge * (edge * bar.width / 2)
        )


@lru_cache(maxsize=64)
def meeting(cls: type[JointType], number: int = 0) -> Meeting:
    """How a joint type's bar comes to its mate; number: 1 for how the mate of a corner comes to the
    bar. InputError where no side of the mate holds the bar's length datum."""
    drawing = cls.examples()[0].drawing
    bars = drawing.bars[:2]
    bar, mate = bars[number], bars[1 - number]
    corner = any(n.bar == bars[1].name for n in drawing.notches)
    if number and not corner:
        raise InputError.of("joint.type", "leaves its mate's end alone", cls.name, "a corner joint")
    for face, edge in CORNERS if corner else CORNERS[:1]:
        found = Meeting("", 0.0, corner, bar.x_from, (face, edge))
        held = [s for s in SIDES if abs(mate.side(s).out(found.at(bar))) <= ON_MM]
        if held:
            side = max(held, key=lambda s: abs(mate.side(s).normal @ bar.grain))
            into = 1.0 if mate.side(side).normal @ bar.grain > 0 else -1.0
            return attrs.evolve(found, side=side, into=into)
    says = "is drawn with its length datum on no side of its mate"
    raise InputError.of("joint.type", says, cls.name, "a joint of a bar's end and a side")


def came(cls: type[JointType], bar: str, x_from: XFrom, first: bool | None) -> tuple[Meeting, int]:
    """How an end that has its face edge so comes to its mate, and which of the drawn bars it is:
    at a corner as ``first`` says, or the one that is marked like it."""
    comes = meeting(cls)
    if first is not None:
        return (comes, 0) if first else (meeting(cls, 1), 1)
    if not comes.corner or x_from == comes.x_from:
        return comes, 0
    other = meeting(cls, 1)
    if x_from != other.x_from:
        says = "has its face edge on the other side than this joint can have"
        raise InputError.of(bar, says, x_from, other.x_from)
    return other, 1


def met_side(cls: type[JointType] | None, bar: str, grain: Vec, mate: Bar) -> str:
    """The marked side of ``mate`` that a bar comes to; grain: from that end into its wood; cls:
    None for an end that is cut plain against it.

    InputError where two sides are equally near: an arris looks at the bar.
    """
    into = 1.0 if cls is None else meeting(cls).into
    near = sorted(SIDES, key=lambda s: -into * (mate.side(s).normal @ grain))
    first, second = (into * (mate.side(s).normal @ grain) for s in near[:2])
    if first - second <= ARRIS:
        names = " and ".join(in_words(s) for s in sorted(near[:2]))
        raise InputError.of(
            bar,
            f"meets an arris of {mate.name}: {names} look at it alike",
            None,
            f"{mate.name} turned on its length (by 45° for sides square to this bar), or the side "
            "that is meant",
        )
    return near[0]


def side_towards(bar: Bar, way: Vec) -> str:
    """The marked side that looks most along ``way``."""
    return max(SIDES, key=lambda s: bar.side(s).normal @ way)


def seen(mate: Bar, side: str, drawn: str) -> Bar:
    """The same wood, marked so that the side ``side`` bears the mark ``drawn``."""
    n = mate.side(side).normal
    on_face = side in ("face_side", "back")
    through, other = (mate.thickness, mate.width) if on_face else (mate.width, mate.thickness)
    if drawn in ("face_side", "back"):
        face = n if drawn == "face_side" else -n
        return attrs.evolve(mate, thickness=through, width=other, face=face, edge=face ^ mate.grain)
    edge = n if drawn == "face_edge" else -n
    return attrs.evolve(mate, width=through, thickness=other, edge=edge, face=mate.grain ^ edge)


def turned_over(mate: Bar, drawn: str) -> Bar:
    """The same wood, its mark other than ``drawn`` on the opposite side."""
    if drawn in ("face_side", "back"):
        return attrs.evolve(mate, edge=-mate.edge)
    return attrs.evolve(mate, face=-mate.face)
