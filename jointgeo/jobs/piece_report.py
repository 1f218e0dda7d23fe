"""A solved piece as plain text, to read at the bench.

Knows piece answers and the words of ``report``; computes nothing but rounding.
"""

from __future__ import annotations

from collections.abc import Iterator

from jointgeo.checks.accuracy import contradictions
from jointgeo.errors import MissingExtraError
from jointgeo.fixtures.file import fixture_words
from jointgeo.jobs.report import (
    READING,
    Writer,
    check_lines,
    end_lines,
    failing,
    warning,
)
from jointgeo.joints.check import VERDICT_WORDS, questions
from jointgeo.joints.sides import in_words, opposite
from jointgeo.pieces.answerfile import AnsweredPiece
from jointgeo.pieces.cutlist import Member
from jointgeo.pieces.marks import Mark
from jointgeo.pieces.solve import PieceAnswer
from jointgeo.pieces.solvedbar import SolvedBar

__all__ = ["piece_text"]

STRAIGHT_MM = 0.005  # two gauges that differ by less are one line


def piece_text(
    solved: AnsweredPiece, *, inches: bool = False, checks: bool = False, reading: bool = True
) -> str:
    """What a tape shows, the cut list, whether it closes and how it is put together, each setting
    once, the marks of each member, and the checks of joints and piece.

    checks: the names of those that passed, too. reading: how to read the settings, which a run over
    several says once.
    """
    write, answer = Writer(inches, checks), solved.answer
    title = solved.file.title
    lines = [title, "=" * len(title)]
    fixture, source = answer.fixture, solved.file.fixture_source
    lines.append(f"fixture: {fixture_words(fixture, source)}, {fixture.title}")
    lines.append(f"verdict: {VERDICT_WORDS[answer.status]}{questions(answer.not_stated)}")
    lines += [f"DO NOT CUT YET: {because}" for because in contradictions(answer.every_check)]
    lines += ["", "What a tape shows"]
    lines += [f"  {what}: {write.mm(value)}" for what, value in solved.tape.items()]
    lines += ["", "Cut list"]
    for member in answer.members:
        lines += _member(write, member)
    for total in answer.totals:
        lines.append(
            f"  in all {write.mm(total.width_mm)} × {write.mm(total.thickness_mm)}: "
            f"{total.pieces} pieces, {write.mm(total.length_mm)}, {total.litres:.2f} litres"
        )
    lines += ["", *closing_and_assembly(write, answer)]
    if answer.settings and reading:
        lines += ["", *READING]
    for number, end in enumerate(answer.settings, 1):
        # A bar is no use without the others: what fails of the piece stands above each that fails
        # nothing of its own.
        fails = failing(answer.every_check)
        what = "this operation" if failing(end.checks) else "this piece"
        lines += ["", *warning(write, what, end, fails), *end_lines(write, number, end)]
    bars = {b.name: b for b in answer.bars}
    likes = {like.bar: like for like in answer.likes}
    for member in answer.members:
        shown = [member.bars[0]]
        shown += [b for b in member.bars if member.mirrored and likes[b].hand < 0][:1]
        for name in shown:
            if bars[name].marks:
                lines += ["", *_marks(write, member, bars[name], mirrored=likes[name].hand < 0)]
            if bars[name].planed:
                lines += ["", *_planed(write, member, bars[name])]
    for part in dict.fromkeys(c.part for c in answer.checks):
        of_part = tuple(c for c in answer.checks if c.part == part)
        lines += ["", f"Checks of {part}", *check_lines(write, of_part)]
    return "\n".join(lines)


def closing_and_assembly(write: Writer, answer: PieceAnswer) -> Iterator[str]:
    """Both for the bench; of what is not installed, how to get it."""
    from jointgeo.pieces.assembly.words import assembly_lines  # both load numpy
    from jointgeo.pieces.closing.words import closing_lines

    yield "Does it close? (95 %)"
    yield from (f"  {line}" for line in closing_lines(answer.closing, write.mm))
    yield ""
    try:
        told = list(assembly_lines(answer.assembly))
    except MissingExtraError as error:
        yield f"How it is put together: {error}"
        return
    yield "How it is put together (as you stand before it; directions, for each 1 mm of travel)"
    yield from (f"  {line}" for line in told)


def _member(write: Writer, member: Member) -> Iterator[str]:
    hands = f", {member.mirrored} of them mirrored" if member.mirrored else ""
    yield f"  {member.count} × {member.name}{hands}, {member.shape}"
    edges = ", ".join(write.mm(e) for e in sorted(member.long_edges_mm))
    yield (
        f"    blank {write.mm(member.width_mm)} × {write.mm(member.thickness_mm)} × "
        f"{write.mm(member.blank_mm)}; finished {write.mm(member.length_mm)} on the "
        f"{member.length_on}, long edges {edges}"
    )


def _marks(write: Writer, member: Member, bar: SolvedBar, *, mirrored: bool) -> Iterator[str]:
    which = ", mirrored" if mirrored else ""
    yield (
        f"Mark out {member.name}{which}, from the near end's square blank "
        f"({write.mm(bar.allowances_mm[0])} of it are trimmed away on the middle line)"
    )
    for mark in bar.marks:
        yield f"  {_mark(write, bar, mark)}"


def _planed(write: Writer, member: Member, bar: SolvedBar) -> Iterator[str]:
    yield (
        f"Plane after assembly: {member.name}; by hand, the box clamped, from the corners inwards, "
        "since the fingers' end grain splits off where a plane leaves it"
    )
    for edge in bar.planed:
        yield (
            f"  {edge.what}, the {in_words(edge.side)}: to {abs(edge.bevel_deg):g}° off square; "
            f"{write.mm(edge.face_mm)} off on the face side, {write.mm(edge.back_mm)} on the back"
        )


def _mark(write: Writer, bar: SolvedBar, mark: Mark) -> str:
    first, last = mark.points
    at = (write.mm(p.datum_mm + bar.allowances_mm[0]) for p in (first, last))
    side, beside = in_words(mark.side), in_words(mark.gauged_from)
    there, until = at
    along = f"at {there}" if there == until else f"{there} to {until}"
    _, width, depth = mark.size_mm
    size = f"{write.mm(width)} wide, " + (f"{write.mm(depth)} deep" if depth else "nothing cut")
    if mark.through:
        both = f"mark it on the {side} and on the {in_words(opposite(mark.side))}"
        size = f"{write.mm(width)} wide, right through: {both}"
        if mark.proud_mm > STRAIGHT_MM:
            size += f"; what goes through stands {write.mm(mark.proud_mm)} proud there"
    if max(abs(first.gauge_mm), abs(last.gauge_mm)) <= STRAIGHT_MM:
        where = f"{along} along the arris with the {beside}"
    elif abs(first.gauge_mm - last.gauge_mm) <= STRAIGHT_MM:
        where = f"{along}, its middle line {write.mm(first.gauge_mm)} from the {beside}"
    else:
        gauges = f"{write.mm(first.gauge_mm)} and {write.mm(last.gauge_mm)}"
        where = f"{along}, its middle line {gauges} from the {beside} at its two ends"
    return f"{mark.what} for {mark.joint}, on the {side}: {where}; {size}"
