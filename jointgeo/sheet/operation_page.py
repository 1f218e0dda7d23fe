"""One clamping on its page: what to set, how to clamp, what to cut, what to measure.

Knows sheets, drawings and the flow of a page; no joint type. One page holds all of it where it can;
both views give up height first, and then what comes last goes on to a second page.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import partial

from jointgeo.joints.check import Check, unanswered, worst, worst_failing
from jointgeo.sheet import words
from jointgeo.sheet.canvas import Room
from jointgeo.sheet.clamping_words import axis_block, facts, marks_table, measures, measures_table
from jointgeo.sheet.cut_end import cut_end
from jointgeo.sheet.cut_table import cut_rows, cut_table, few
from jointgeo.sheet.facing import facing
from jointgeo.sheet.findings import least_room, named
from jointgeo.sheet.flow import Block, Item, Rows, beside, boxed, paged, paragraph, title
from jointgeo.sheet.lettering import FINE
from jointgeo.sheet.markup import Markup, element, joined
from jointgeo.sheet.model import EndSheet, SetupSheet
from jointgeo.sheet.parts import Book, status
from jointgeo.sheet.side_view import from_the_side
from jointgeo.sheet.style import LINE_MM, TEXT_WIDE_MM, sizes

__all__ = ["operation_pages"]

#: Height of both views: the least that can be read, what is left to them where it costs no second
#: page, and the most. Of the picture of the end, the least and the most.
VIEWS_MM, END_MM = (54.0, 68.0, 88.0), (68.0, 98.0)
_GAP = 3.0
_END_WIDE = 62.0
_TABLE_WIDE = TEXT_WIDE_MM - _END_WIDE - _GAP
#: Of a table of cuts with another beside it.
_NARROW = 53.0
_FACING_WIDE = 102.0
_HALF = (TEXT_WIDE_MM - _GAP) / 2


def operation_pages(
    book: Book, title_of_job: str, end: EndSheet, paper: str | None
) -> Iterator[Markup]:
    """Everything that is done to one kind of end, a page for each clamping."""
    for setup in end.setups:
        yield from _setup(book, title_of_job, end, setup, paper)


def _setup(
    book: Book, job: str, end: EndSheet, setup: SetupSheet, paper: str | None
) -> Iterator[Markup]:
    many, high = len(end.setups) > 1, sizes(paper).high_mm
    name = f"operation-{end.number}" + (f"-clamping-{setup.number}" if many else "")
    said = f"Operation {end.number}" + (f", clamping {setup.number}" if many else "")
    checks = [*end.checks_of(setup.number), *end.checks_of(None)]
    badge = status("fail" if end.stops else worst(checks), unanswered(checks))

    def top(again: bool) -> Block:
        more = ", continued" if again else ""
        return title(f"{said}: {end.part}{more}", badge, None if again else name)

    start: list[Item] = [paragraph(_who(job, end)), _cautions(setup)]
    start += [_stop(end)] if end.stops else []
    start += [_axes(setup, stopped=bool(end.stops)), facts(setup)]
    foot: list[Item] = [paragraph(text) for text in (_foot(checks),) if text]
    fixed = top(False).high_mm + sum(i.high_mm for i in [*start, *foot])
    least, _, most = VIEWS_MM
    bottom, rest = _bottom(book, name, end, setup, high - fixed)
    room = high - fixed - sum(i.high_mm for i in bottom)
    views = _views(book, name, setup, min(max(room, least), most))
    yield from paged([*start, views, *bottom, *foot, *rest], top, high)


def _who(job: str, end: EndSheet) -> str:
    part = end.solution.part
    mm = part.width_mm, part.thickness_mm, end.solution.blank_mm
    blank = " × ".join(words.mm(size) for size in mm)
    uses = words.listed([words.use(u) for u in end.solution.uses])
    return (
        f"{job}. For {uses}. Blank {blank} mm: finished {words.mm(part.length_mm)} mm and what "
        "both ends need."
    )


def _cautions(setup: SetupSheet) -> Block:
    """What holds for every machine in one line, and what this clamping does to hands."""
    more = " Hands clear. One pass with the cutter stopped. Test piece first."
    more += "".join(f" {c[:1].upper()}{c[1:]}." for c in setup.setup.cautions)
    text = joined([element("strong", "Power off to set."), more])
    return boxed(lambda wide: [paragraph(text, wide)], "box heavy")


def _stop(end: EndSheet) -> Block:
    """Above all that could be set."""
    worst_check = worst_failing(end.solution.checks) or worst_failing(end.stops)
    assert worst_check is not None  # noqa: S101  # there are stops
    short = words.short_by(worst_check)
    says = (
        f"DO NOT CUT: this is not feasible as it is; {words.check_name(worst_check.name)} is short "
        f"by {short}. What to change stands on the first page. Nothing here is to be set."
    )
    text = element("strong", says)
    return boxed(lambda wide: [paragraph(joined([text]), wide)], "box heavy")


def _axes(setup: SetupSheet, *, stopped: bool) -> Block:
    swivel, tilt = setup.setup.axes
    left, right = (axis_block(setup.setup, a, _HALF, stopped=stopped) for a in (swivel, tilt))
    return beside([(_HALF, [left]), (_HALF, [right])])


def _views(book: Book, name: str, setup: SetupSheet, high_mm: float) -> Block:
    high = high_mm - LINE_MM - 1.0
    side = TEXT_WIDE_MM - _FACING_WIDE - _GAP
    front = facing(setup.scene, setup.nearest_edge, Room(_FACING_WIDE, high, FINE))
    side_drawing = from_the_side(setup.scene, Room(side, high, FINE))
    return beside(
        [
            (_FACING_WIDE, [book.figure(f"{name}-facing", front)]),
            (side, [book.figure(f"{name}-side", side_drawing)]),
        ]
    )


#: Makes a table for a width.
_Table = Callable[[float], Rows]


def _bottom(
    book: Book, name: str, end: EndSheet, setup: SetupSheet, room: float
) -> tuple[list[Item], list[Item]]:
    """What stands below both views in ``room``, theirs with it, and what goes on to the next
    page."""
    least, enough, _ = VIEWS_MM
    tables: list[_Table] = []
    if setup.number == 1 and end.solution.marks:
        tables.append(partial(marks_table, end))
    if wanted := measures(end, setup):
        tables.append(partial(measures_table, wanted))
    if not setup.plan.cuts:
        return [_pair(tables, _HALF)] if tables else [], []
    ticks = not end.stops
    cuts = cut_table(setup, _TABLE_WIDE, ticks=ticks)
    shapes: list[tuple[list[Item], list[Item]]] = [
        ([cuts, *(t(_TABLE_WIDE) for t in tables)], []),
        ([cuts, *(t(_TABLE_WIDE) for t in tables[:1])], [t(TEXT_WIDE_MM) for t in tables[1:]]),
        ([cuts], [_pair(tables, 66.5)] if tables else []),
    ]
    if len(tables) == 2 and few(setup):
        narrow = cut_table(setup, _NARROW, ticks=ticks)
        other = _TABLE_WIDE - _NARROW - _GAP
        first = beside([(_NARROW, [narrow]), (other, [tables[0](other)])])
        shapes.append(([first, tables[1](_TABLE_WIDE)], []))
    picture = partial(_picture, book, name, setup)
    left, below = min(shapes, key=_least)
    if _least((left, below)) <= room - least:
        high = sum(i.high_mm for i in left)
        return [beside([(_TABLE_WIDE, left), (_END_WIDE, [picture(high)])]), *below], []
    rest: list[Item] = [t(TEXT_WIDE_MM) for t in tables]
    if max(cuts.high_mm, END_MM[0]) <= room - enough:
        return [beside([(_TABLE_WIDE, [cuts]), (_END_WIDE, [picture(cuts.high_mm)])])], rest
    return [], [picture(END_MM[1]), cut_rows(setup, TEXT_WIDE_MM, ticks=ticks), *rest]


def _least(shape: tuple[list[Item], list[Item]]) -> float:
    left, below = (sum(i.high_mm for i in items) for items in shape)
    return max(left, END_MM[0]) + below


def _picture(book: Book, name: str, setup: SetupSheet, high_mm: float) -> Block:
    most = min(max(high_mm, END_MM[0]), END_MM[1]) - LINE_MM - 1.0
    drawing = cut_end(setup.scene, setup.nearest_edge, Room(_END_WIDE, most, FINE))
    return book.figure(f"{name}-end", drawing)


def _pair(tables: Sequence[_Table], left_mm: float) -> Block:
    """One or two tables beside each other."""
    wide = (left_mm, TEXT_WIDE_MM - left_mm - _GAP) if len(tables) == 2 else (_HALF,)
    return beside([(w, [table(w)]) for w, table in zip(wide, tables, strict=True)])


def _foot(checks: Sequence[Check]) -> str:
    found = named(checks)
    more = f" First page: {found}." if found else ""
    return f"{least_room(checks)}{more}".strip()
