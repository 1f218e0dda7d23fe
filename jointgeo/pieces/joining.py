"""The joint at one end of a bar: its parameters, its hand, and where it lies in the room.

Knows bars that stand and the contract of joint types. A joint is drawn with the bar's face edge on
one side; at an end that has it on the other the joint is the mirror image of that one, found in the
room's mirror image, so that every sentence about marked sides holds at both ends of a bar.
"""

from __future__ import annotations

from typing import Literal

import attrs

from jointgeo.errors import InputError
from jointgeo.joints.drawing import Bar, Drawing, Pocket
from jointgeo.joints.joint_type import JointType
from jointgeo.joints.standing import Standing
from jointgeo.joints.stock import Part, parts
from jointgeo.pieces.model import Joined, Piece, PieceJoint
from jointgeo.pieces.room import Stands
from jointgeo.pieces.sides import meeting, seen, turned_over
from jointgeo.solution.setup import Hand

__all__ = ["EndName", "StandingJoint", "decided", "joint_at"]

EndName = Literal["near", "far"]


@attrs.frozen
class StandingJoint:
    """A joint of a piece.

    name: in the piece; bar and end: what is cut for it; mate and side: what it goes into, and the
    marked side there. joint: with its parameters, as drawn; hand: whether it is cut so or as the
    mirror image. drawing: on that hand. standing: the way from the drawing's world to the room.
    """

    name: str
    bar: str
    end: EndName
    mate: str
    side: str
    joint: JointType
    hand: Hand
    drawing: Drawing
    standing: Standing

    @property
    def part(self) -> Part:
        """The bar's end as the joint cuts it."""
        return parts(self.drawing)[0]

    @property
    def pockets(self) -> tuple[Pocket, ...]:
        """What is taken from the mate, in the drawing's world."""
        return tuple(p for p in self.drawing.pockets if p.bar == self.drawing.bars[1].name)


def decided(cls: type[JointType]) -> frozenset[str]:
    """The parameters that the bars decide, and nobody may say."""
    bar, mate = cls.examples()[0].drawing.bars[:2]
    return frozenset(cls.measure(bar, mate))


def joint_at(piece: Piece, stands: dict[str, Stands], bar: Stands, end: EndName) -> StandingJoint:
    """The joint at an end that is cut for one. InputError naming bar and end where its bars cannot
    be joined so."""
    number = 0 if end == "near" else 1
    given = getattr(piece.bar(bar.name), end)
    if not isinstance(given, Joined):
        raise InputError.of(f"{bar.name}.{end}", "is cut to a plane, and has no joint")
    kind = piece.joint(given.joint)
    own, side = bar.ends[number], bar.sides[number]
    mate = seen(stands[given.mate].near, side, meeting(kind.type).side)
    drawn = kind.type.examples()[0].drawing.bars[0].x_from
    mirrored = own.x_from != drawn
    try:
        joint, standing = _between(kind, own, mate, mirrored=mirrored)
    except InputError as error:
        raise error.under(f"{bar.name}, {end} end, {kind.name}") from None
    hand: Hand = "mirrored" if mirrored else "as_drawn"
    drawing = joint.drawing.mirrored if mirrored else joint.drawing
    return StandingJoint(kind.name, bar.name, end, given.mate, side, joint, hand, drawing, standing)


def _between(
    kind: PieceJoint, bar: Bar, mate: Bar, *, mirrored: bool
) -> tuple[JointType, Standing]:
    """The joint on the side of the mate that is met, from whichever way the mate is marked there:
    of its other mark, opposite to it, the drawing may show either."""
    try:
        return _lying(kind, bar, mate, mirrored=mirrored)
    except InputError as first:
        try:
            return _lying(kind, bar, turned_over(mate, meeting(kind.type).side), mirrored=mirrored)
        except InputError:
            raise first from None


def _lying(kind: PieceJoint, bar: Bar, mate: Bar, *, mirrored: bool) -> tuple[JointType, Standing]:
    if not mirrored:
        return kind.type.between(bar, mate, **kind.sizes)
    joint, image = kind.type.between(bar.mirrored, mate.mirrored, **kind.sizes)
    x, y, z = image.axes
    return joint, Standing((-x.mirrored, y.mirrored, z.mirrored), image.at.mirrored)
