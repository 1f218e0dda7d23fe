"""The joint at one end of a bar: its parameters, its hand, and where it lies in the room.

Knows bars that stand and the contract of joint types. A joint is drawn with the bar's face edge on
one side; at an end that has it on the other the joint is the mirror image of that one, found in the
room's mirror image, so that every sentence about marked sides holds at both ends of a bar. A corner
cuts an end of either bar: it is one joint, of that end which is marked as the first bar drawn.
"""

from __future__ import annotations

from typing import Literal

import attrs

from jointgeo.errors import InputError, shown
from jointgeo.geometry.vectors import Plane
from jointgeo.joints.drawing import Bar, Drawing, Pocket
from jointgeo.joints.joint_type import JointType
from jointgeo.joints.placement import Placement
from jointgeo.joints.stock import Part, parts
from jointgeo.pieces.model import Joined, Piece, PieceJoint
from jointgeo.pieces.room import PlacedBar
from jointgeo.pieces.sides import came, meeting, seen, turned_over
from jointgeo.solution.setup import Hand

__all__ = ["ENDS", "EndName", "PlacedJoint", "decided", "joint_at", "joints_of"]

EndName = Literal["near", "far"]
ENDS: tuple[EndName, EndName] = ("near", "far")


@attrs.frozen
class PlacedJoint:
    """A joint of a piece.

    name: in the piece; bar and end: what is cut for it; mate and side: what it goes into, and the
    marked side there. mate_end: the mate's end that is cut too, at a corner; None elsewhere. joint:
    with its parameters, as drawn; hand: whether it is cut so or as the
    mirror image. drawing: on that hand. placement: the way from the drawing's world to the room.
    """

    name: str
    bar: str
    end: EndName
    mate: str
    side: str
    joint: JointType
    hand: Hand
    drawing: Drawing
    placement: Placement
    mate_end: EndName | None = None

    @property
    def ends(self) -> dict[tuple[str, EndName], Part]:
        """The ends that the joint cuts, as it cuts them."""
        cut = parts(self.drawing)
        out = {(self.bar, self.end): cut[0]}
        if self.mate_end is not None:
            out[self.mate, self.mate_end] = cut[1]
        return out

    @property
    def pockets(self) -> tuple[Pocket, ...]:
        """What is taken from the mate within its length, in the drawing's world."""
        mate = self.drawing.bars[1].name
        return tuple(p for p in self.drawing.pockets if p.bar == mate and p.planed is None)

    @property
    def planed(self) -> tuple[tuple[str, str, Plane], ...]:
        """What is planed off along either bar: its name in the piece, the pocket's name, and the
        plane in the room."""
        bars = {b.name: n for b, n in zip(self.drawing.bars, (self.bar, self.mate), strict=False)}
        out = []
        for p in self.drawing.pockets:
            if p.planed is not None and p.bar in bars:
                normal = self.placement.way(p.planed.normal)
                point = self.placement.place(p.planed.normal * p.planed.at)
                out.append((bars[p.bar], p.name, Plane.through(point, normal)))
        return tuple(out)


def decided(cls: type[JointType]) -> frozenset[str]:
    """The parameters that the bars decide, and nobody may say."""
    bar, mate = cls.examples()[0].drawing.bars[:2]
    return frozenset(cls.measure(bar, mate))


def joint_at(
    piece: Piece, placed: dict[str, PlacedBar], bar: PlacedBar, end: EndName
) -> PlacedJoint | None:
    """The joint at an end that is cut for one; None at a corner whose joint the mate's end has.
    InputError naming bar and end where its bars cannot be joined so."""
    number = ENDS.index(end)
    given = getattr(piece.bar(bar.name), end)
    if not isinstance(given, Joined):
        raise InputError.of(f"{bar.name}.{end}", "is cut to a plane, and has no joint")
    kind = piece.joint(given.joint)
    own, side = bar.ends[number], bar.sides[number]
    mate_end: EndName | None = None
    mirrored = False
    if meeting(kind.type).corner:
        mate_end = _other_end(piece, bar.name, end, given)
        mate = placed[given.mate].ends[ENDS.index(mate_end)]
        met = getattr(piece.bar(given.mate), mate_end)
        (_, role), (_, other) = (
            came(kind.type, b.name, b.x_from, e.first) for b, e in ((own, given), (mate, met))
        )
        if role == other:
            says = f"and {mate.name} have their face edges on unlike sides of the corner"
            raise InputError.of(f"{bar.name}.{end}", says, None, "both marked from one rim")
        if role:
            return None
        mirrored = own.x_from != meeting(kind.type).x_from
    else:
        mate = seen(placed[given.mate].near, side, meeting(kind.type).side)
        mirrored = own.x_from != meeting(kind.type).x_from
    try:
        joint, placement = _between(kind, own, mate, mirrored=mirrored)
    except InputError as error:
        raise error.under(f"{bar.name}, {end} end, {kind.name}") from None
    hand: Hand = "mirrored" if mirrored else "as_drawn"
    drawing = joint.drawing.mirrored if mirrored else joint.drawing
    return PlacedJoint(
        kind.name, bar.name, end, given.mate, side, joint, hand, drawing, placement, mate_end
    )


def joints_of(piece: Piece, placed: dict[str, PlacedBar]) -> tuple[PlacedJoint, ...]:
    """Every joint of a piece, in the order of its bars; errors as of ``joint_at``."""
    found = (
        joint_at(piece, placed, placed[bar.name], end)
        for bar in piece.bars
        for end in ENDS
        if isinstance(getattr(bar, end), Joined)
    )
    return tuple(joint for joint in found if joint is not None)


def _other_end(piece: Piece, bar: str, end: str, given: Joined) -> EndName:
    """The end of the mate that meets this bar; InputError where none does, in the same joint."""
    for name in ENDS:
        met = getattr(piece.bar(given.mate), name)
        if isinstance(met, Joined) and (met.mate, met.joint) == (bar, given.joint):
            return name
    says = f"meets {given.mate} at a corner, and no end of that meets it in the same joint"
    raise InputError.of(
        f"{bar}.{end}", says, shown(given.joint), f"an end of {given.mate} that does"
    )


def _between(
    kind: PieceJoint, bar: Bar, mate: Bar, *, mirrored: bool
) -> tuple[JointType, Placement]:
    """The joint on the side of the mate that is met, from whichever way the mate is marked there:
    of its other mark, opposite to it, the drawing may show either."""
    try:
        return _lying(kind, bar, mate, mirrored=mirrored)
    except InputError as first:
        if meeting(kind.type).corner:
            raise
        try:
            return _lying(kind, bar, turned_over(mate, meeting(kind.type).side), mirrored=mirrored)
        except InputError:
            raise first from None


def _lying(kind: PieceJoint, bar: Bar, mate: Bar, *, mirrored: bool) -> tuple[JointType, Placement]:
    if not mirrored:
        return kind.type.between(bar, mate, **kind.sizes)
    joint, image = kind.type.between(bar.mirrored, mate.mirrored, **kind.sizes)
    x, y, z = image.axes
    return joint, Placement((-x.mirrored, y.mirrored, z.mirrored), image.at.mirrored)
