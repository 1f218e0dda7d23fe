"""The sheet of a whole piece: put together, cut list and operations, members, glue-up.

Knows sheets of pieces and the flow of a page; no joint type. The operations' own pages and the
layouts are those of any sheet.
"""

from __future__ import annotations

from collections.abc import Iterator

from jointgeo.errors import MissingExtraError
from jointgeo.joints.check import Check
from jointgeo.joints.sides import edge_names, in_words
from jointgeo.pieces.assembly.words import assembly_lines
from jointgeo.pieces.closing.words import closing_lines
from jointgeo.pieces.cutlist import Member
from jointgeo.planning.end_plan import LINE_WORDS
from jointgeo.schema.units import fixed
from jointgeo.sheet import words
from jointgeo.sheet.canvas import Room
from jointgeo.sheet.diagonals import diagonals
from jointgeo.sheet.findings import finding_blocks
from jointgeo.sheet.flow import (
    Block,
    Item,
    Rows,
    beside,
    bullets,
    heading,
    paged,
    paragraph,
    rows,
    stacked,
    title,
)
from jointgeo.sheet.lettering import FINE
from jointgeo.sheet.markup import Markup, element, joined
from jointgeo.sheet.member_drawing import member_drawing
from jointgeo.sheet.member_marks import mark_words, planed_words, tenth
from jointgeo.sheet.overview import (
    FIRST,
    cautions,
    fixture_line,
    of_operations,
    stop_blocks,
    work_table,
)
from jointgeo.sheet.parts import Book, status, tick
from jointgeo.sheet.piece_model import ENDS, MemberSheet, PieceSheet
from jointgeo.sheet.piece_views import put_together, three_views
from jointgeo.sheet.style import TEXT_WIDE_MM, sizes

__all__ = ["glue_pages", "member_pages", "piece_overview"]

_GAP = 3.0
_TOGETHER_WIDE = 116.0
#: Height of the picture of the whole piece, and of its three views, the least and the most.
_TOGETHER_HIGH, _VIEWS_HIGH = 78.0, (70.0, 125.0)
#: Height of a member's views where two members go on a page, and where too much is struck on one.
_MEMBER_HIGH = 66.0, 150.0
_LIST = (38.0, 14.0, 20.0, 18.0, 18.0, 46.0, 36.0)
_SHAPES = {
    "straight": "straight: both ends are square",
    "parallelogram": "a parallelogram: its long edges are alike, its ends slant the same way",
    "trapezoid": "a trapezoid: its long edges differ",
}


# Put together, cut list and operations ------------------------------------------------------------


def piece_overview(book: Book, sheet: PieceSheet, paper: str | None) -> Iterator[Markup]:
    """The piece and what a tape must show; what was found; the cut list, and the operations with
    all ends that are cut at each."""
    high, badge = sizes(paper).high_mm, status(sheet.status, sheet.not_stated)

    def top(again: bool) -> Block:
        return title(sheet.title + (", continued" if again else ""), badge)

    start: list[Item] = [cautions(), paragraph(fixture_line(sheet)), *stop_blocks(sheet)]
    together = put_together(sheet, Room(_TOGETHER_WIDE, _TOGETHER_HIGH, FINE))
    wide = TEXT_WIDE_MM - _TOGETHER_WIDE - _GAP
    left = [book.figure("together", together)]
    start.append(beside([(_TOGETHER_WIDE, left), (wide, [_tape(sheet, wide)])]))
    used = top(False).high_mm + sum(i.high_mm for i in start)
    most = min(max(high - used - 6.0, _VIEWS_HIGH[0]), _VIEWS_HIGH[1])
    views = three_views(sheet, Room(TEXT_WIDE_MM, most, FINE))
    start += [book.figure("three-views", views), *finding_blocks(_found(sheet))]
    start += [_cut_list(sheet), *_totals(sheet), work_table(sheet), bullets(_after(sheet))]
    yield from paged(start, top, high)


def _found(sheet: PieceSheet) -> Iterator[tuple[str, Check]]:
    yield from of_operations(sheet)
    for check in sheet.solved.answer.checks:
        yield check.part or "", check


def _tape(sheet: PieceSheet, wide: float) -> Rows:
    """Of the whole piece; what a tape shows on its members stands in the cut list."""
    members = tuple(f"{m.name}, " for m in sheet.solved.answer.members)
    found = [
        (joined([tick()]), name, words.mm(value))
        for name, value in sheet.solved.tape.items()
        if not name.startswith(members)
    ]
    head = ("", "What a tape must show", "mm")
    return rows("When it is together", head, found, (6.0, wide - 26.0, 20.0), numbers=(2,))


def _cut_list(sheet: PieceSheet) -> Rows:
    found = [_row(sheet, member) for member in sheet.solved.answer.members]
    sizes = "Width", "Thickness", "Blank", "Finished"
    head = ("Pieces, mm", *sizes, "Shape, long edges", "Operations")
    name = "Cut list; blanks are square and have what both ends need"
    return rows(name, head, found, _LIST, numbers=(1, 2, 3, 4))


def _row(sheet: PieceSheet, member: Member) -> tuple[str, ...]:
    hands = f", {member.mirrored} mirrored" if member.mirrored else ""
    edges = sorted({words.mm(e) for e in member.long_edges_mm}, key=float)
    return (
        f"{member.count} × {member.name}{hands}",
        words.mm(member.width_mm),
        words.mm(member.thickness_mm),
        words.mm(member.blank_mm),
        words.mm(member.length_mm),
        f"{member.shape}, {' and '.join(edges)}",
        _operations_of(sheet, member),
    )


def _operations_of(sheet: PieceSheet, member: Member) -> str:
    """Where its ends are cut."""
    out: dict[str, list[str]] = {}
    for end in sheet.ends:
        for use in end.solution.uses:
            if use.member == member.name:
                numbers = out.setdefault(use.end, [])
                if str(end.number) not in numbers:
                    numbers.append(str(end.number))
    if not out:
        return "square, sawn only"
    return "; ".join(f"{name} end: {words.listed(n)}" for name, n in out.items())


def _totals(sheet: PieceSheet) -> Iterator[Block]:
    told = [
        f"{words.mm(t.width_mm)} × {words.mm(t.thickness_mm)}: {t.pieces} pieces, "
        f"{fixed(t.length_mm / 1000, 2)} m, {fixed(t.litres, 2)} litres"
        for t in sheet.solved.answer.totals
    ]
    yield paragraph(f"Wood in all, blanks end to end and no more: {'; '.join(told)}.")


def _after(sheet: PieceSheet) -> Iterator[str]:
    yield FIRST
    yield (
        "Strike every mark on the blanks before an end is cut: the square near end is what they "
        "are measured from, and it is gone afterwards. The members' pages say where."
    )
    if any(b.marks for b in sheet.solved.answer.bars):
        yield "Then cut mortises and housings, and put everything together dry (last pages)."


# Members ---------------------------------------------------------------------------------------


def member_pages(book: Book, sheet: PieceSheet, paper: str | None) -> Iterator[Markup]:
    """Each different member on half a page, or on more where more is struck on it."""

    def top(again: bool) -> Block:
        more = ", continued" if again else ""
        return title(f"{sheet.title}: members{more}", status(sheet.status, 0))

    blocks = [_member(book, sheet, i, m) for i, m in enumerate(sheet.members, 1)]
    yield from paged(blocks, top, sizes(paper).high_mm)


def _member(book: Book, sheet: PieceSheet, number: int, member: MemberSheet) -> Block:
    own = member.member
    sizes_mm = own.width_mm, own.thickness_mm, own.blank_mm
    blank = " × ".join(words.mm(v) for v in sizes_mm)
    says = (
        f"Blank {blank} mm, square at both ends. Finished {words.mm(own.length_mm)} mm on its "
        f"middle line, {_SHAPES.get(own.shape, own.shape)}."
    )
    half, more = (Room(TEXT_WIDE_MM, high, FINE) for high in _MEMBER_HIGH)
    drawing = member_drawing(sheet, member, half)
    if drawing.crowded:
        drawing = member_drawing(sheet, member, more)
    marks = list(mark_words(member))
    parts: list[Item] = [
        heading(f"{member.count} × {member.name}"),
        paragraph(says),
        book.figure(f"member-{number}", drawing),
        *(_ends(sheet, member)),
    ]
    if marks:
        parts += [paragraph(_FROM), bullets(marks)]
    return stacked([*parts, bullets(planed_words(member))])


_FROM = (
    "Strike before trimming, all figures in mm along the corner edges from the square near end of "
    "the blank:"
)


def _ends(sheet: PieceSheet, member: MemberSheet) -> Iterator[Rows]:
    """Where the lines of both ends cross the four corner edges, each from its own square end, and
    what then lies between them."""
    bar = member.bar
    solved = [sheet.solved.answer.solved_ends[bar.name, end] for end in ENDS]
    names = edge_names(bar.placed.near.x_from)
    columns = [
        (f"{end}: {LINE_WORDS[line.line][1]}", line.at_mm)
        for end, found in zip(ENDS, solved, strict=True)
        for line in (found.marks if found.setups else ())
    ]
    if not columns:
        return
    edges = zip(names, bar.placed.long_edges, strict=True)
    found = [
        (in_words(name), *(tenth(at[name]) for _, at in columns), tenth(long))
        for name, long in edges
    ]
    head = ("Corner edge", *(name for name, _ in columns), "between ends")
    each = (TEXT_WIDE_MM - 42.0) / (len(head) - 1)
    widths = (42.0, *[each] * (len(head) - 1))
    name = "Lines round the ends, mm from the square end of the blank there"
    yield rows(name, head, found, widths, numbers=range(1, len(head)))


# Together ----------------------------------------------------------------------------------------


def glue_pages(sheet: PieceSheet, paper: str | None) -> Iterator[Markup]:
    """Dry run and glue-up."""

    def top(again: bool) -> Block:
        more = ", continued" if again else ""
        return title(f"{sheet.title}: dry run and glue-up{more}", status(sheet.status, 0))

    items: list[Item] = [
        heading("How it is put together, as you stand before it"),
        *_order(sheet),
        heading("Does it close? (95 %)"),
        bullets(closing_lines(sheet.solved.answer.closing, lambda v: f"{words.mm(v)} mm")),
        heading("Dry run"),
        bullets(
            [
                "Put everything together without glue, in the order and with the clamps that you "
                "will glue with. Mark which end goes where.",
                "Measure below while it is clamped. A joint that only closes under force is not to "
                "be glued so.",
            ]
        ),
        _checks(sheet),
        heading("Glue-up"),
        bullets(
            [
                "Glue only what you have put together dry within the open time of your glue; else "
                "in two stages.",
                "Clamp along the ways above, in line with the shoulder that it closes, pads cut to "
                "the slope of the side under them: a clamp that stands askew pulls the frame out "
                "of square.",
                "Measure the diagonals before the glue grabs. Where one is longer, move the clamps "
                "so that they pull along it.",
            ]
        ),
    ]
    yield from paged(items, top, sizes(paper).high_mm)


def _order(sheet: PieceSheet) -> Iterator[Block]:
    """The steps, those of the numbered lines that follow on set under them; what to install where
    nothing was worked out."""
    try:
        told = list(assembly_lines(sheet.solved.answer.assembly))
    except MissingExtraError as error:
        yield paragraph(f"Not worked out: {error}. Find the order dry, and write it down here.")
        return
    for line in told:
        if line.startswith(" "):
            yield _indented(f"{line.strip()[:1].upper()}{line.strip()[1:]}.")
        else:
            strong = element("strong", line) if line[:1].isdigit() else line
            yield paragraph(joined([strong]))


def _indented(text: str) -> Block:
    block = paragraph(text, TEXT_WIDE_MM - 5.0)
    return Block(element("div", block.made, class_="under"), block.high_mm)


def _checks(sheet: PieceSheet) -> Rows:
    """Tape and diagonals, with room to write what is found."""
    members = tuple(f"{m.name}, " for m in sheet.solved.answer.members)
    found = [
        (name, words.mm(value), "", "")
        for name, value in sheet.solved.tape.items()
        if not name.startswith(members)
    ]
    found += [(d.says, words.mm(d.mm), "", "") for d in diagonals(sheet)]
    head = ("Measure, mm", "Wanted", "Dry", "Glued")
    return rows("", head, found, (110.0, 26.0, 27.0, 27.0), numbers=(1,), least_mm=5.4)
