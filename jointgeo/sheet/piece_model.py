"""What the sheet of a whole piece is about: its settings, its bars as solids, what a tape shows.

Knows solved pieces; makes no page and no drawing, and plans nothing again.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property

import attrs

from jointgeo.fixtures.model import Fixture
from jointgeo.geometry.vectors import Plane, Vec
from jointgeo.joints.check import Check, Verdict
from jointgeo.pieces.answerfile import AnsweredPiece
from jointgeo.pieces.cutlist import Member
from jointgeo.pieces.joining import EndName, PlacedJoint
from jointgeo.pieces.solvedbar import SolvedBar
from jointgeo.sheet.model import EndSheet, failing
from jointgeo.sheet.wood import SIDES, Convex, Line, Wood, bodies, edges
from jointgeo.sheet.words import listed

__all__ = ["MemberSheet", "PieceSheet", "sheet_of_piece"]

ENDS: tuple[EndName, EndName] = ("near", "far")


@attrs.frozen(eq=False)
class MemberSheet:
    """A member of the cut list as it is marked out: the one, or its mirror image."""

    member: Member
    bar: SolvedBar
    mirrored: bool
    count: int

    @property
    def name(self) -> str:
        return f"{self.member.name}, mirrored" if self.mirrored else self.member.name


@attrs.frozen(eq=False, slots=False)
class PieceSheet:
    """ends: each operation once, in the order to cut them. fixture_edition: of the fixture's file;
    "" where not told."""

    solved: AnsweredPiece
    ends: tuple[EndSheet, ...]
    fixture_edition: str = ""

    @property
    def title(self) -> str:
        return self.solved.title

    @property
    def fixture(self) -> Fixture:
        return self.solved.answer.fixture

    @property
    def fixture_source(self) -> str:
        return self.solved.file.fixture_source

    @property
    def checks(self) -> tuple[Check, ...]:
        """Of joints, the piece and ends."""
        return self.solved.answer.every_check

    @property
    def status(self) -> Verdict:
        return self.solved.status

    @property
    def not_stated(self) -> int:
        """How many questions the fixture file does not answer."""
        return self.solved.not_stated

    @cached_property
    def woods(self) -> dict[str, Wood]:
        """Every bar as it is cut, where it stands in the room, by its name."""
        joints = self.solved.answer.joints
        return {bar.name: _wood(bar, joints) for bar in self.solved.answer.bars}

    @cached_property
    def sharp(self) -> dict[str, list[Line]]:
        """The edges of each."""
        return {name: edges(wood) for name, wood in self.woods.items()}

    @cached_property
    def members(self) -> tuple[MemberSheet, ...]:
        """Each different member, and after it its mirror image where that is another piece."""
        answer = self.solved.answer
        bars = {b.name: b for b in answer.bars}
        hands = {like.bar: like.hand for like in answer.likes}
        out = []
        for member in answer.members:
            mine = [b for b in member.bars if not member.mirrored or hands[b] > 0]
            rest = [b for b in member.bars if b not in mine]
            for names, mirrored in ((mine, False), (rest, True)):
                if names:
                    out.append(MemberSheet(member, bars[names[0]], mirrored, len(names)))
        return tuple(out)


def sheet_of_piece(solved: AnsweredPiece) -> PieceSheet:
    """The sheet of a solved piece. A bar is no use without the others, so while anything of the
    piece fails none of its operations is to be cut."""
    stops = failing(solved.checks)
    ends = tuple(
        EndSheet(i, e, e.checks, stops, listed(list(dict.fromkeys(u.member for u in e.uses))))
        for i, e in enumerate(solved.answer.settings, 1)
    )
    return PieceSheet(solved, ends)


def _wood(bar: SolvedBar, joints: tuple[PlacedJoint, ...]) -> Wood:
    """What is left of a bar by its own ends and what its mates take of it."""
    near = bar.placed.near
    own = {j.end: j for j in joints if j.bar == bar.name}
    body: list[Plane] = [*(near.side(s) for s in SIDES), *(edge.plane for edge in bar.planed)]
    cuts: list[Convex] = []
    for end, plane in zip(ENDS, bar.placed.planes, strict=True):
        joint = own.get(end)
        if joint is None:
            body.append(plane)
            continue
        drawn = next(w for w in bodies(joint.drawing) if w.name == joint.drawing.bars[0].name)
        ends = {n.end for n in joint.drawing.notches if n.bar == drawn.name}
        body += [_placed(joint, p) for p in ends]
        cuts += [tuple(_placed(joint, p) for p in cut) for cut in drawn.cuts]
    cuts += list(_taken(bar.name, joints))
    return Wood(near, tuple(body), tuple(cuts))


def _taken(name: str, joints: tuple[PlacedJoint, ...]) -> Iterator[Convex]:
    """Mortises and housings that other bars' joints cut into it."""
    for joint in joints:
        if joint.mate == name:
            mate = joint.drawing.bars[1].name
            drawn = next(w for w in bodies(joint.drawing) if w.name == mate)
            for cut in drawn.cuts:
                yield tuple(_placed(joint, p) for p in cut)


def _placed(joint: PlacedJoint, plane: Plane) -> Plane:
    """A plane of the joint's world in the room."""
    normal: Vec = joint.placement.way(plane.normal)
    return Plane(normal, plane.at + normal @ joint.placement.at)
