"""The first page: what was found, the cut list, what is done in which order, how it goes together.

Knows sheets, findings and the flow of a page; no joint type.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Protocol

from jointgeo.checks.accuracy import contradictions
from jointgeo.errors import JointgeoError
from jointgeo.fixtures.file import fixture_words
from jointgeo.fixtures.model import Fixture
from jointgeo.jobs.report import CAUTIONS
from jointgeo.joints.check import Check, Verdict
from jointgeo.joints.sides import in_words
from jointgeo.schema.units import fixed
from jointgeo.sheet import words
from jointgeo.sheet.canvas import Room
from jointgeo.sheet.cut_list import pieces
from jointgeo.sheet.findings import finding_blocks
from jointgeo.sheet.flow import (
    Block,
    Item,
    Rows,
    beside,
    boxed,
    bullets,
    heading,
    paged,
    paragraph,
    rows,
    stacked,
    title,
)
from jointgeo.sheet.gluing import grain_angle_deg
from jointgeo.sheet.joint_drawing import joint_pictures
from jointgeo.sheet.lettering import FINE
from jointgeo.sheet.markup import Markup, element, joined
from jointgeo.sheet.model import EndSheet, JointSheet, SetupSheet, Sheet
from jointgeo.sheet.order import Operations, Step, passes_words, steps
from jointgeo.sheet.parts import Book, status, tick
from jointgeo.sheet.style import TEXT_WIDE_MM, sizes
from jointgeo.solution.axis import AxisSetting

__all__ = [
    "FIRST",
    "cautions",
    "fixture_line",
    "of_operations",
    "overview_pages",
    "stop_blocks",
    "work_table",
]

FIRST = (
    "First saw the blanks and mark face side and face edge on every piece, the face edge of a "
    "mirrored one to the other hand: every side is named by them."
)
#: Height of the pictures of joints: the least that can be read, and the most.
PICTURES_MM = 40.0, 70.0
_GAP = 3.0
_LIST = (54.0, 15.0, 20.0, 20.0, 81.0)
_WORK = (6.0, 21.0, 74.0, 20.0, 23.0, 22.0, 12.0, 12.0)


def overview_pages(book: Book, sheet: Sheet, paper: str | None) -> Iterator[Markup]:
    """One page where it holds all of it."""
    high = sizes(paper).high_mm
    badge = status(sheet.status, sheet.not_stated)

    def top(again: bool) -> Block:
        return title(sheet.title + (", continued" if again else ""), badge)

    start: list[Item] = [cautions(), paragraph(fixture_line(sheet)), *stop_blocks(sheet)]
    start += finding_blocks(_found(sheet))
    start += [_cut_list(sheet), work_table(sheet), bullets(_after(sheet))]
    end = [bullets(_notes(sheet))]
    used = top(False).high_mm + sum(i.high_mm for i in [*start, *end])
    pictures = _pictures(book, sheet, high - used)
    yield from paged([*start, *pictures, *end], top, high)


def cautions() -> Block:
    """What holds before anything else."""
    first = joined([element("strong", "Before anything else. "), " ".join(CAUTIONS)])
    return boxed(lambda wide: [paragraph(first, wide)], "box heavy")


class Judged(Operations, Protocol):
    """A sheet of whatever kind, with its verdict."""

    @property
    def fixture(self) -> Fixture: ...
    @property
    def fixture_source(self) -> str: ...
    @property
    def fixture_edition(self) -> str: ...
    @property
    def checks(self) -> tuple[Check, ...]: ...
    @property
    def status(self) -> Verdict: ...


def fixture_line(sheet: Judged) -> str:
    """What it is cut on."""
    fixture = fixture_words(sheet.fixture, sheet.fixture_source)
    edition = f", edition {sheet.fixture_edition}" if sheet.fixture_edition else ""
    return f"On {fixture} ({sheet.fixture.title}{edition})."


def stop_blocks(sheet: Judged) -> Iterator[Block]:
    """Above everything, where something is not feasible or is not known."""
    says = [f"DO NOT CUT YET: {because}." for because in contradictions(sheet.checks)]
    if sheet.status == "fail":
        says.append("DO NOT CUT YET: something is not feasible. Change what fails first.")
    for text in says:
        strong = joined([element("strong", text)])
        yield boxed(lambda wide, strong=strong: [paragraph(strong, wide)], "box heavy")  # type: ignore[misc]  # a bound default


def _found(sheet: Sheet) -> Iterator[tuple[str, Check]]:
    yield from of_operations(sheet)
    for joint in sheet.joints:
        for check in joint.checks:
            yield (joint.name if len(sheet.joints) > 1 else ""), check


def of_operations(sheet: Operations) -> Iterator[tuple[str, Check]]:
    """The checks of every operation, with its number."""
    for end in sheet.ends:
        for check in end.checks:
            which = f" in clamping {check.setup}" if len(end.setups) > 1 and check.setup else ""
            yield f"operation {end.number}{which}", check


def _cut_list(sheet: Sheet) -> Rows:
    found = [(p.name, p.width, p.thickness, p.length, p.cut) for p in pieces(sheet)]
    head = ("Pieces, mm", "Width", "Thickness", "Blank", "What is cut in it")
    name = "Cut list; blanks are as long as before either end is trimmed"
    return rows(name, head, found, _LIST, numbers=(1, 2, 3))


# What is done ---------------------------------------------------------------------------------


def work_table(sheet: Operations) -> Rows:
    """Every operation in the order of work; an axis that stays where it is says so."""
    head = ("", "Operation, clamping", "For", "On plate", "Swivel", "Tilt", "Trim", "Cut")
    found = [row for step in steps(sheet) for row in _step(step)]
    name = "Operations in order of work, with passes: at each a test piece first, then the pieces"
    return rows(name, head, found, _WORK)


def _step(step: Step) -> Iterator[tuple[str, ...]]:
    for i, (end, setup) in enumerate(step.work):
        swivel, tilt = setup.setup.axes
        turned = (step.new_swivel and i == 0, step.new_tilt and i == 0)
        axes = [
            _axis(axis, new, stopped=bool(end.stops))
            for axis, new in zip((swivel, tilt), turned, strict=True)
        ]
        uses = words.listed([words.use(u) for u in end.solution.uses])
        side = in_words(setup.setup.against_plate)
        box = Markup("–") if end.stops else joined([tick()])
        yield box, _which(end, setup), uses, side, *axes, passes_words(setup), _passes(setup)


def _which(end: EndSheet, setup: SetupSheet) -> str:
    return f"{end.number}" + (f", {setup.number}" if len(end.setups) > 1 else "")


def _axis(axis: AxisSetting, new: bool, *, stopped: bool) -> str:
    if stopped or axis.doubted:
        return "do not set"
    if axis.wedge:
        return "by wedges"
    if not new:
        return "leave"
    figure = f"{fixed(axis.figure_deg, 3)}°"
    scale = "scale " if axis.differs else ""
    return joined([element("strong", f"{scale}{figure}")])


def _passes(setup: SetupSheet) -> str:
    count = sum(len(c.passes) for c in setup.setup.cuts)
    return str(count) if count else "none"


def _after(sheet: Sheet) -> Iterator[str]:
    yield FIRST
    laid_out = any(j.solution.drawing.pockets for j in sheet.joints)
    first = "Then lay out and cut what is not cut on end, and put" if laid_out else "Then put"
    yield f"{first} everything together dry before there is glue on anything."
    for joint in sheet.joints:
        yield from _glue(joint)
    awkward: dict[str, list[str]] = {}
    for meeting in (m for m in sheet.meetings if m.awkward):
        awkward.setdefault(f"{meeting.apart_deg:.2f}°", []).append(meeting.member)
    for apart, members in awkward.items():
        warning = element("strong", f"WARNING: {words.listed(members)}:")
        whose = "its" if len(members) == 1 else "of each the"
        says = (
            f" {whose} two ends slide along lines {apart} apart. It cannot be pushed between two "
            "neighbours that are held, nor they onto it while they are held to each other. In an "
            "open frame one end goes home after the other. In a closed one several joints may have "
            "to be closed together, which one member does not show: find the order dry, before "
            "there is glue on anything."
        )
        yield joined([warning, says])


def _glue(joint: JointSheet) -> Iterator[str]:
    """Which part moves, and at what angle to its own length."""
    drawing = joint.solution.drawing
    still = [bar.name for bar in drawing.bars if bar.name not in drawing.slides]
    for name in (bar.name for bar in drawing.bars if bar.name in drawing.slides):
        lean = grain_angle_deg(drawing, name)
        if lean is None:
            continue
        how = "straight along its length" if lean < 0.005 else f"at {lean:.2f}° to its own length"
        onto = f" onto {words.listed(still)}" if still else ""
        yield f"{joint.name}: {name} goes{onto} {how}; start it straight and keep it so."


# How it goes together -------------------------------------------------------------------------


def _pictures(book: Book, sheet: Sheet, room_mm: float) -> list[Item]:
    """One joint put together and apart; of several each apart, in rows of two."""
    if not sheet.joints:
        return []
    half = (TEXT_WIDE_MM - _GAP) / 2
    lines = (len(sheet.joints) + 1) // 2
    says = [heading("Put together"), *(paragraph(_fit(j)) for j in sheet.joints)]
    used = sum(s.high_mm for s in says) + lines * 5.2
    each = min(max((room_mm - used) / lines, PICTURES_MM[0]), PICTURES_MM[1])
    room = Room(half, each, FINE)
    figures: list[Block] = []
    for number, joint in enumerate(sheet.joints, 1):
        together, apart = joint_pictures(joint, room)
        shown = (
            {"together": together, "apart": apart} if len(sheet.joints) == 1 else {"apart": apart}
        )
        figures += [book.figure(f"joint-{number}-{what}", d) for what, d in shown.items()]
    pairs = [figures[i : i + 2] for i in range(0, len(figures), 2)]
    picture_rows = [beside([(half, [f]) for f in pair]) for pair in pairs]
    return [stacked([*says, picture_rows[0]]), *picture_rows[1:]]


def _fit(joint: JointSheet) -> str:
    """What the dry fit says, or why there is none (what to install, if that is it)."""
    try:
        fit = joint.fit
    except JointgeoError as error:
        return f"{joint.name}: not put together in the computer: {error}."
    return (
        f"{joint.name}: cut in the computer, it {fit.verdict}; gap beyond the clearance "
        f"{fit.gap_mm:.3f} mm, overlap {fit.overlap_mm3:.1f} mm³."
    )


def _notes(sheet: Sheet) -> Iterator[str]:
    several = len(sheet.joints) > 1
    for joint in sheet.joints:
        for note in joint.solution.notes:
            yield f"{joint.name}: {note}." if several else f"{note[:1].upper()}{note[1:]}."
