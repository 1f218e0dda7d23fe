"""What goes on one page of paper: pieces of the page with their heights, put together until full.

Knows markup, the style's measures and how wide words are; no sheet, no drawing. A browser breaks
lines as it finds words, and so does ``lettering.wrapped`` with the widest of the faces that the
page asks for: a piece is never higher on paper than it is here, and a page that is full here is
not over-full there. What does not go on a page goes on in the next, which says "continued".
"""

from __future__ import annotations

import html
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import TypeAlias

import attrs

from jointgeo.sheet.lettering import wrapped
from jointgeo.sheet.markup import Markup, element, joined
from jointgeo.sheet.style import LETTER_MM, LINE_MM, TEXT_WIDE_MM

__all__ = [
    "Block",
    "Item",
    "Rows",
    "beside",
    "boxed",
    "bullets",
    "heading",
    "paged",
    "paragraph",
    "rows",
    "stacked",
    "title",
]

GAP_MM = 1.0
#: A table of so few rows is not divided.
WHOLE = 8
_HEAD_MM, _H2_LETTER = 6.4, 10.5 / 9 * LETTER_MM
_PAD, _EDGE, _CELL = (1.6, 0.6), 0.4, (1.0, 0.25)
_CELL_EDGE, _BULLET = 0.2, 5.0


@attrs.frozen
class Block:
    """A piece of the page that is not divided, and how high it is at most, mm. leads: it stands on
    one page with what follows it, as a heading does."""

    made: Markup
    high_mm: float
    leads: bool = False


@attrs.frozen
class Rows:
    """A table that may be divided between its rows. name: its heading, "" for none; head: its row
    of headings; each row with its height."""

    name: str
    head: Block
    body: tuple[Block, ...]
    columns: Markup

    @property
    def high_mm(self) -> float:
        named = _HEAD_MM if self.name else 0.0
        return named + self.head.high_mm + sum(r.high_mm for r in self.body) + GAP_MM + _CELL_EDGE

    @property
    def made(self) -> Markup:
        body = element("tbody", *(r.made for r in self.body))
        head = element("thead", self.head.made) if self.head.made else Markup()
        made = element("table", self.columns, head, body)
        return joined([element("h2", self.name), made]) if self.name else made

    def divided(self, room_mm: float) -> tuple[Rows | None, Rows]:
        """What goes into that room, and the rest; nothing goes where not even one row would."""
        first = 0
        while first < len(self.body) and self._of(first + 1).high_mm <= room_mm:
            first += 1
        if first == 0:
            return None, self
        name = self.name.removesuffix(CONTINUED)
        rest = attrs.evolve(self, name=name + CONTINUED if name else "", body=self.body[first:])
        return self._of(first), rest

    @property
    def least_mm(self) -> float:
        """What of it must go on a page for anything of it to."""
        return (self._of(1) if len(self.body) > WHOLE else self).high_mm

    def _of(self, count: int) -> Rows:
        return attrs.evolve(self, body=self.body[:count])


Item: TypeAlias = Block | Rows
CONTINUED = ", continued"


#: What is set bold, at every second place of the parts.
_STRONG = re.compile(r"<strong>(.*?)</strong>")


def _lines(text: str, room_mm: float, *, bold: bool = False) -> int:
    if not isinstance(text, Markup):
        return wrapped([(text, bold)], room_mm, LETTER_MM)
    parts = enumerate(_STRONG.split(text))
    runs = [(html.unescape(re.sub(r"<[^>]*>", "", p)), bold or i % 2 == 1) for i, p in parts]
    return wrapped(runs, room_mm, LETTER_MM)


def paragraph(text: str, wide_mm: float = TEXT_WIDE_MM) -> Block:
    """A paragraph across that width."""
    return Block(element("p", text), _lines(text, wide_mm) * LINE_MM + GAP_MM)


def heading(text: str, wide_mm: float = TEXT_WIDE_MM) -> Block:
    """A heading within a page."""
    count = wrapped([(text, True)], wide_mm, _H2_LETTER)
    return Block(element("h2", text), _HEAD_MM + 4.4 * (count - 1), leads=True)


def title(text: str, badge: Markup, id_: str | None = None) -> Block:
    """The head of a page with its verdict beside it."""
    # The badge takes up to a third of the line.
    count = wrapped([(text, True)], TEXT_WIDE_MM * 0.66, 14 / 9 * LETTER_MM)
    made = element("div", element("h1", text, id=id_), badge, class_="top")
    return Block(made, 6.0 * count + 2.0)


def bullets(found: Iterable[str], wide_mm: float = TEXT_WIDE_MM, kind: str = "ul") -> Block:
    """A list; of height 0 where there is nothing."""
    texts = list(found)
    if not texts:
        return Block(Markup(), 0.0)
    count = sum(_lines(text, wide_mm - _BULLET) for text in texts)
    made = element(kind, *(element("li", text) for text in texts))
    return Block(made, count * LINE_MM + GAP_MM)


def stacked(blocks: Iterable[Item]) -> Block:
    """Blocks as one."""
    found = list(blocks)
    return Block(joined(b.made for b in found), sum(b.high_mm for b in found))


def boxed(
    build: Callable[[float], Sequence[Block]], kind: str, wide_mm: float = TEXT_WIDE_MM
) -> Block:
    """Blocks in a frame; ``build`` makes them for the width that is left. kind: its class."""
    inside = build(wide_mm - 2 * (_PAD[0] + 2 * _EDGE))
    # Within a frame blocks follow on without the gap that each brings.
    high = sum(b.high_mm - GAP_MM for b in inside) + 2 * (_PAD[1] + 2 * _EDGE) + GAP_MM
    return Block(element("div", *(b.made for b in inside), class_=kind), high)


def beside(blocks: Sequence[tuple[float, Sequence[Item]]]) -> Block:
    """Columns: for each its width (mm) and what stands in it."""
    columns = [
        element("div", *(b.made for b in found), style=f"width: {wide:g}mm")
        for wide, found in blocks
    ]
    high = max(sum(b.high_mm for b in found) for _, found in blocks)
    return Block(element("div", *columns, class_="row"), high)


def rows(
    name: str,
    head: Sequence[str],
    found: Iterable[Sequence[str]],
    widths: Sequence[float],
    *,
    numbers: Sequence[int] = (),
    first_is_head: bool = False,
    least_mm: float = 0.0,
) -> Rows:
    """A table. widths: of its columns, mm; a row of one cell goes across all of them. numbers:
    columns that are set to the right. least_mm: height of a row with room to write in."""
    total = sum(widths)
    columns = Markup("".join(f'<col style="width: {100 * wide / total:.2f}%">' for wide in widths))
    top = [element("th", text, scope="col") for text in head]
    high = _row_mm(head, widths, bold=True) if head else 0.0
    body = []
    for row in found:
        if len(row) == 1:
            cells = [element("th", row[0], colspan=str(len(widths)), scope="rowgroup")]
            body.append(Block(element("tr", *cells), _row_mm(row, [total], bold=True)))
            continue
        cells = [
            element("th", text, scope="row")
            if first_is_head and i == 0
            else element("td", text, class_="number" if i in numbers else None)
            for i, text in enumerate(row)
        ]
        style = f"height: {least_mm:g}mm" if least_mm else None
        tall = max(least_mm, _row_mm(row, widths, first_bold=first_is_head))
        body.append(Block(element("tr", *cells, style=style), tall))
    top_row = Block(element("tr", *top), high) if head else Block(Markup(), 0.0)
    return Rows(name, top_row, tuple(body), element("colgroup", columns))


def _row_mm(
    row: Sequence[str], widths: Sequence[float], *, bold: bool = False, first_bold: bool = False
) -> float:
    room = 2 * _CELL[0] + _CELL_EDGE
    counts = [
        _lines(text, wide - room, bold=bold or (first_bold and i == 0))
        for i, (text, wide) in enumerate(zip(row, widths, strict=True))
    ]
    return max(counts) * LINE_MM + 2 * _CELL[1] + _CELL_EDGE


def paged(items: Iterable[Item], top: Callable[[bool], Block], high_mm: float) -> Iterator[Markup]:
    """Pages; ``top`` makes the head of the first one and, given True, of one that continues."""
    waiting = [item for item in items if item.high_mm > 0]
    again = False
    while waiting or not again:
        head = top(again)
        made: list[Item] = [head]
        room = high_mm - head.high_mm
        fresh = True  # nothing but headings stands on the page yet
        while waiting:
            item = waiting[0]
            leads = isinstance(item, Block) and item.leads
            if item.high_mm <= room and (fresh or not leads or _together(waiting) <= room):
                made.append(waiting.pop(0))
                room -= item.high_mm
                fresh = fresh and leads
                continue
            if isinstance(item, Rows) and (len(item.body) > WHOLE or fresh):
                first, rest = item.divided(room)
                if first is not None:
                    made.append(first)
                    waiting[0] = rest
                    break
            if fresh:  # higher than a page: it runs on where the browser breaks it
                made.append(waiting.pop(0))
            break
        again = True
        yield element("section", *(m.made for m in made))


def _together(waiting: Sequence[Item]) -> float:
    """Height of the headings that come first and of the least of what follows them."""
    high = 0.0
    for item in waiting:
        if isinstance(item, Rows):
            return high + item.least_mm
        high += item.high_mm
        if not item.leads:
            break
    return high
