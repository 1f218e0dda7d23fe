"""A whole piece on one fixture: every joint, every end's setting, members and cut list.

Knows pieces, joint types by their contract, and solved ends; writes no text (``report`` does).

    >>> from jointgeo.fixtures.file import load_fixture
    >>> from jointgeo.pieces.registry import piece_type
    >>> bench = piece_type("splayed_bench").examples()[0]
    >>> answer = solve_piece(bench.piece(), load_fixture("porch"))
    >>> [(m.count, m.name) for m in answer.members]
    [(2, 'rail'), (4, 'leg'), (2, 'end stretcher'), (1, 'long stretcher')]
"""

from __future__ import annotations

from collections import Counter
from functools import cached_property
from typing import TYPE_CHECKING, Any, Literal

import attrs

from jointgeo.errors import InputError, shown
from jointgeo.fixtures.model import Fixture
from jointgeo.joints.check import Check, Verdict, unanswered, worst
from jointgeo.joints.stock import LayoutBox, Part
from jointgeo.pieces import serialise
from jointgeo.pieces.alike import Shape, shape
from jointgeo.pieces.checks import piece_checks
from jointgeo.pieces.cutlist import Member, Total, member_name, totals
from jointgeo.pieces.ends import end_parts
from jointgeo.pieces.joining import ENDS, EndName, PlacedJoint, joints_of
from jointgeo.pieces.marking import Likeness, likenesses, marked_alike
from jointgeo.pieces.marks import layout
from jointgeo.pieces.model import Piece, Plain
from jointgeo.pieces.outlines import outlines
from jointgeo.pieces.rimchecks import rim_checks
from jointgeo.pieces.rims import Planed, planed
from jointgeo.pieces.room import PlacedBar, placed_bars
from jointgeo.pieces.sides import meeting
from jointgeo.pieces.solvedbar import SolvedBar
from jointgeo.planning.end_plan import end_allowance
from jointgeo.solution.end import EndSolution, Use, solve_end
from jointgeo.solution.grouping import by_operation
from jointgeo.solution.setup import Hand

if TYPE_CHECKING:  # they load numpy
    from jointgeo.pieces.assembly.answer import Assembly
    from jointgeo.pieces.closing.answer import Closing

__all__ = ["PARTS", "Marks", "PieceAnswer", "solve_piece", "solved_alone"]

Marks = Literal["alike", "as_drawn"]
PARTS = ("closing", "assembly")
MARKS: tuple[Marks, ...] = ("alike", "as_drawn")
EVEN_MM = 0.01
PLACES = 6  # mm or degree; joints that differ by less are one kind


@attrs.frozen(eq=False, slots=False)
class PieceAnswer:
    """piece: as marked. joints: every one, where it stands. bars: in the piece's order. likes: what
    is like what."""

    piece: Piece
    fixture: Fixture
    joints: tuple[PlacedJoint, ...]
    bars: tuple[SolvedBar, ...]
    likes: tuple[Likeness, ...]

    @cached_property
    def solved_ends(self) -> dict[tuple[str, EndName], EndSolution]:
        """Every end of every bar, those that are left square among them."""
        out: dict[tuple[str, EndName], EndSolution] = {}
        names = {b: m.name for m in self.members for b in m.bars}
        hands = {like.bar: like for like in self.likes}
        for bar in self.bars:
            like = hands[bar.name]
            hand: Hand = "mirrored" if like.has_hand and like.hand < 0 else "as_drawn"
            for i, end in enumerate(ENDS):
                use = Use(names[bar.name], end, hand, 1)
                other = bar.allowances_mm[1 - i]
                out[bar.name, end] = solve_end(bar.parts[i], self.fixture, (use,), other)
        return out

    @cached_property
    def settings(self) -> tuple[EndSolution, ...]:
        """Each operation once, in the order to cut them, with the pieces it is for."""
        cut = [e for e in self.solved_ends.values() if e.plan.setups]
        return tuple(attrs.evolve(e, uses=_counted(e.uses)) for e in by_operation(cut))

    @cached_property
    def members(self) -> tuple[Member, ...]:
        """The cut list."""
        classes: dict[str, list[Likeness]] = {}
        for like in self.likes:
            classes.setdefault(like.first, []).append(like)
        bars = {b.name: b for b in self.bars}
        found = [
            _member(bars[first], likes, self._length_on(first)) for first, likes in classes.items()
        ]
        names = [m.name for m in found]
        # Bars of one name that are not alike are told apart by the first of each.
        return tuple(
            attrs.evolve(m, name=m.bars[0]) if names.count(m.name) > 1 else m for m in found
        )

    def _length_on(self, bar: str) -> str:
        """The line of a bar's section that its joints measure its length on, in words."""
        for joint in self.joints:
            if joint.mate_end is not None and bar in (joint.bar, joint.mate):
                return meeting(type(joint.joint), int(bar == joint.mate)).line
        return "middle line"

    @property
    def totals(self) -> tuple[Total, ...]:
        """Wood by section."""
        return totals(self.members)

    @cached_property
    def checks(self) -> tuple[Check, ...]:
        """Of the joints, once for each kind, and of the piece; the part is the joint's name in
        the piece, or the bar's."""
        kinds: dict[str, tuple[Check, ...]] = {}
        for joint in self.joints:
            found = {
                name: round(v, PLACES) + 0.0 if isinstance(v, float) else v
                for name, v in joint.joint.to_dict().items()
            }
            checks = tuple(attrs.evolve(c, part=joint.name) for c in joint.joint.checks())
            kinds.setdefault(f"{joint.name} {sorted(found.items())}", checks)
        own = tuple(c for checks in kinds.values() for c in checks)
        placed = {b.name: b.placed for b in self.bars}
        rims = rim_checks(placed, self.joints, self.planed)
        return (*own, *rims, *piece_checks(self.piece, self.bars_and_layouts, self.joints))

    @cached_property
    def closing(self) -> Closing:
        """Whether the piece closes, worked out when asked; it loads numpy."""
        from jointgeo.pieces.closing.of_piece import closing_of

        return closing_of(self.joints, self.bars, self.solved_ends, self.fixture)

    @cached_property
    def assembly(self) -> Assembly:
        """How the piece is put together, worked out when asked; MissingExtraError without the extra
        ``assembly`` as soon as its steps are asked for."""
        from jointgeo.pieces.assembly.answer import Assembly, joining

        joints = []
        for joint in self.joints:
            bar, mate = joint.drawing.bars[:2]
            names = {bar.name: joint.bar, mate.name: joint.mate}
            joints.append(joining(joint.name, joint.drawing, joint.placement, names))
        return Assembly(tuple(joints), tuple(b.name for b in self.bars))

    @property
    def bars_and_layouts(self) -> tuple[tuple[PlacedBar, Part], ...]:
        """Every bar with its near end, on which mortises and housings are laid out."""
        return tuple((b.placed, attrs.evolve(b.parts[0], layout=_within(b))) for b in self.bars)

    @property
    def planed(self) -> dict[str, tuple[Planed, ...]]:
        """The edges that are planed after assembly, of boards that meet at corners, by name."""
        corners = {n for j in self.joints if j.mate_end is not None for n in (j.bar, j.mate)}
        return {b.name: b.planed for b in self.bars if b.name in corners or b.planed}

    @property
    def every_check(self) -> tuple[Check, ...]:
        """Of joints, the piece and ends."""
        return (*self.checks, *(c for e in self.settings for c in e.checks))

    @property
    def status(self) -> Verdict:
        """The worst of all checks, of ends, joints and the piece."""
        return worst(self.every_check)

    @property
    def not_stated(self) -> int:
        """How many questions the fixture file does not answer."""
        return unanswered(self.every_check)

    @property
    def feasible(self) -> bool:
        return self.status != "fail"

    def bars_dict(self) -> dict[str, Any]:
        """Bars and joints as plain data, which is all that a dry fit needs."""
        return serialise.bars_form(self.bars, self.joints, self.solved_ends)

    def to_dict(self, *also: str) -> dict[str, Any]:
        """The whole answer as plain numbers, text, lists and tables.

        also: of ``PARTS``, what costs more than all the rest and is left out unless it is named.
        """
        for part in also:
            if part not in PARTS:
                raise InputError.of(
                    "also", "is no part of an answer", shown(part), " or ".join(PARTS)
                )
        return {
            "title": self.piece.title,
            "fixture": self.fixture.name,
            **self.bars_dict(),
            **serialise.cut_list_form(self.members, self.totals),
            **serialise.settings_form(self.settings, self.every_check),
            **{part: getattr(self, part).to_dict() for part in also},
        }


def solve_piece(piece: Piece, fixture: Fixture, marks: Marks = "alike") -> PieceAnswer:
    """The answer for a piece on a fixture.

    marks: "alike" gives every member of a class the marks of its first, so that alike ends share
    settings; "as_drawn" leaves face sides where the bars say. InputError naming bar and end where
    the drawing cannot be.
    """
    if marks not in MARKS:
        raise InputError.of("marks", "is not a choice", shown(marks), '"alike" or "as_drawn"')
    drawn = _solved(piece, fixture)
    if marks == "as_drawn":
        return drawn
    placed = {b.name: b.placed for b in drawn.bars}
    return _solved(marked_alike(piece, placed, drawn.likes), fixture)


def solved_alone(piece: Piece, fixture: Fixture) -> PieceAnswer:
    """The answer for a piece marked as it stands, its bars not held against each other: ``joints``,
    ``bars`` and ``checks`` in a third of the time, no members and no settings. InputError as of
    ``solve_piece``."""
    return PieceAnswer(piece, fixture, *_bars(piece, fixture)[:2], ())


def _solved(piece: Piece, fixture: Fixture) -> PieceAnswer:
    joints, bars, shapes = _bars(piece, fixture)
    return PieceAnswer(piece, fixture, joints, bars, likenesses(shapes))


def _bars(
    piece: Piece, fixture: Fixture
) -> tuple[tuple[PlacedJoint, ...], tuple[SolvedBar, ...], dict[str, Shape]]:
    placed = placed_bars(piece)
    joints = joints_of(piece, placed)
    edges = planed(placed, joints)
    given = {b.name: b for b in piece.bars}
    bars, shapes = [], {}
    for bar in placed.values():
        boxes, marks = layout(bar, joints)
        met = outlines(piece, placed, joints, bar.name)
        rims = edges.get(bar.name, ())
        plain = isinstance(given[bar.name].near, Plain), isinstance(given[bar.name].far, Plain)
        near, far = end_parts(bar, joints, (*boxes, *(r.box for r in rims)), plain)
        more = end_allowance(near, fixture), end_allowance(far, fixture)
        shapes[bar.name] = shape(near, far, (box for box, _ in met))
        if met:
            every = (*marks, *(mark for _, mark in met))
            marks = tuple(sorted(every, key=lambda m: m.points[0].datum_mm))
        bars.append(SolvedBar(bar, (near, far), marks, more, rims))
    return joints, tuple(bars), shapes


def _within(bar: SolvedBar) -> tuple[LayoutBox, ...]:
    """Its mortises and housings, without what is planed off along it."""
    boxes = bar.parts[0].layout
    return boxes[: len(boxes) - len(bar.planed)]


def _counted(uses: tuple[Use, ...]) -> tuple[Use, ...]:
    """Uses that differ in their number only, as one."""
    found = Counter(attrs.evolve(u, count=1) for u in uses)
    return tuple(attrs.evolve(use, count=count) for use, count in found.items())


def _member(bar: SolvedBar, likes: list[Likeness], length_on: str) -> Member:
    names = tuple(like.bar for like in likes)
    mirrored = sum(like.hand < 0 for like in likes) if likes[0].has_hand else 0
    near = bar.placed.near
    edges = bar.placed.long_edges
    return Member(
        member_name(names),
        names,
        len(names),
        mirrored,
        near.width,
        near.thickness,
        near.length,
        bar.blank_mm,
        edges,
        _form(bar.placed, edges),
        length_on,
    )


def _form(placed: PlacedBar, edges: tuple[float, ...]) -> str:
    """What its sides look like: their long edges differ, or only begin elsewhere."""
    if max(edges) - min(edges) > EVEN_MM:
        return "trapezoid"
    begins = [a @ placed.near.grain for a in placed.near.arrises(placed.planes[0])]
    return "parallelogram" if max(begins) - min(begins) > EVEN_MM else "straight"
