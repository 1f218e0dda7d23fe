"""Which side of a mate a bar comes to, and the mate looked at from there.

Knows bars and drawings; no joint type by name. A joint type draws its mate with one marked side
where the bar's length datum lies: the side that a shoulder bears on, or the edge that a slot is let
down over. Which that is, and whether it looks into the bar's wood or against it, is read off the
type's own drawing, so that a joint type declares nothing for it. In a piece it may be any of the
mate's four sides; ``seen`` is the same wood marked so that it is the drawn one.
"""

from __future__ import annotations

from functools import lru_cache

import attrs

from jointgeo.errors import InputError
from jointgeo.geometry.vectors import Vec
from jointgeo.joints.drawing import Bar
from jointgeo.joints.joint_type import JointType
from jointgeo.joints.sides import in_words

__all__ = ["SIDES", "Meeting", "meeting", "met_side", "seen", "side_towards", "turned_over"]

SIDES = ("face_side", "back", "face_edge", "back_edge")
ON_MM = 1e-6
ARRIS = 1e-6  # of a cosine; a splay of 0.0001° tells two sides apart


@attrs.frozen
class Meeting:
    """side: of the mate as drawn; into: 1 where it looks into the bar's wood, -1 against it.
    handed: whether the drawn bar's face edge must lie on a certain side."""

    side: str
    into: float
    handed: bool


@lru_cache(maxsize=64)
def meeting(cls: type[JointType]) -> Meeting:
    """How a joint type's bar comes to its mate; InputError where no side of the mate holds the
    bar's length datum."""
    bar, mate = cls.examples()[0].drawing.bars[:2]
    held = [s for s in SIDES if abs(mate.side(s).out(bar.middle)) <= ON_MM]
    if not held or bar.handed:
        says = "joins boards at a corner, and not a bar to the side of another"
        raise InputError.of("joint.type", says, cls.name, "a joint of a bar's end into a side")
    side = max(held, key=lambda s: abs(mate.side(s).normal @ bar.grain))
    into = 1.0 if mate.side(side).normal @ bar.grain > 0 else -1.0
    return Meeting(side, into, bar.handed)


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
