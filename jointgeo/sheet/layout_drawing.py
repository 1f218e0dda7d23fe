"""The unrolled layout at full size, on pages that go into a printer.

Knows developments and drawings; no joint type. One millimetre of the drawing is one
millimetre of paper; a bar of 100 mm on each page shows whether the printer kept to it. An end is
unrolled in one piece where the paper is wide enough, and else divided at its long edges, since the
paper is folded there anyway; several stand on one page, one above the other.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence

import attrs
import numpy as np

from jointgeo.joints.sides import in_words
from jointgeo.planning.end_plan import LINE_WORDS
from jointgeo.sheet import words
from jointgeo.sheet.canvas import Canvas, Room
from jointgeo.sheet.develop import Development, Panel
from jointgeo.sheet.dimension import Callouts
from jointgeo.sheet.lettering import FINE, Measure
from jointgeo.sheet.svg import Drawing

__all__ = ["HOW", "MOST_PIECES", "layout_pages", "layout_whole", "piece_count"]

BAR_MM = 100.0
#: An end that takes more paper than this is not one to wrap by hand.
MOST_PIECES = 16
#: On paper: round the unrolled sides, for the names of lines and of the end; between two pieces;
#: and for the bar.
_NAMES_WIDE, _NAMES_HIGH, _BETWEEN, _BAR_HIGH = 20.0, 7.0, 4.0, 11.0
HOW = (
    "Print at 100 %, without fitting to the page, and measure the bar before you trust a page. "
    "Fold at the dashed lines and wrap the paper round the stock, printed side out, with the heavy "
    "line on its square end; join what is in several pieces at its long edges. Hatched wood is "
    "waste."
)


def layout_whole(found: Development, name: str, measure: Measure = FINE) -> Drawing:
    """All four sides in one piece, however large, with a bar; for a plotter or a copy shop."""
    d = _piece(found, name, (0.0, found.width), (0.0, found.height), measure)
    _bar(d, d.box[0] + 1, d.box[3] + 4)
    return d


def layout_pages(items: Sequence[tuple[str, Development]], room: Room) -> list[Drawing]:
    """Every end unrolled, on as few pages of ``room`` as they take in their order; with each goes
    the name that says what is laid out."""
    high = room.high_mm - _BAR_HIGH
    shelves = [
        piece
        for name, found in items
        if piece_count(found, room) <= MOST_PIECES
        for piece in _pieces(found, name, attrs.evolve(room, high_mm=high))
    ]
    pages: list[list[Drawing]] = []
    for piece in shelves:
        tall = piece.size_mm[1] + _BETWEEN
        page = next((p for p in pages if _tall(p) + tall <= high + _BETWEEN), None)
        if page is None:
            pages.append([piece])
        else:
            page.append(piece)
    return [_page(page, i, len(pages), room.measure) for i, page in enumerate(pages, 1)]


def _tall(page: Sequence[Drawing]) -> float:
    return sum(d.size_mm[1] + _BETWEEN for d in page)


def _page(pieces: Sequence[Drawing], number: int, count: int, measure: Measure) -> Drawing:
    d = Drawing(
        f"Layout at full size, {number} of {count}",
        f"{' '.join(p.description for p in pieces)} {HOW}",
        measure,
    )
    down = 0.0
    for piece in pieces:
        d.add(piece, [-piece.box[0], down - piece.box[1]])
        down += piece.size_mm[1] + _BETWEEN
    _bar(d, 1.0, down)
    return d


def piece_count(found: Development, room: Room) -> int:
    """How many pieces it takes on pages of that room."""
    columns, rows = _grid(found, room)
    return len(columns) * len(rows)


def _pieces(found: Development, name: str, room: Room) -> Iterator[Drawing]:
    columns, rows = _grid(found, room)
    count = len(columns) * len(rows)
    for (i, row), (k, column) in itertools.product(enumerate(rows), enumerate(columns)):
        which = f", piece {i * len(columns) + k + 1} of {count}" if count > 1 else ""
        yield _piece(found, name + which, column, row, room.measure)


def _grid(
    found: Development, room: Room
) -> tuple[list[tuple[float, float]], list[tuple[float, float]]]:
    marks = [*(p.u for p in found.panels), found.width]
    wide, high = room.wide_mm - _NAMES_WIDE, room.high_mm - _BAR_HIGH - _NAMES_HIGH
    return list(_divided(marks, wide)), list(_divided([0.0, found.height], high))


def _divided(marks: list[float], most: float) -> Iterator[tuple[float, float]]:
    """Stretches no longer than ``most``, ending at marks where they can."""
    at, end = marks[0], marks[-1]
    while at < end - 1e-9:
        reach = [m for m in marks if at + 1e-9 < m <= at + most + 1e-9]
        stop = reach[-1] if reach else at + most
        yield at, stop
        at = stop


def _piece(
    found: Development,
    name: str,
    column: tuple[float, float],
    row: tuple[float, float],
    measure: Measure,
) -> Drawing:
    (left, right), (low, high) = column, row
    sides = [p for p in found.panels if p.u < right - 1e-9 and p.u + p.width > left + 1e-9]
    names = words.listed([in_words(p.side) for p in sides])
    d = Drawing(
        f"{name}: layout at full size",
        f"{name}: the sides unrolled, {names}; {right - left:.1f} × {high - low:.1f} mm of "
        f"{found.width:.1f} × {found.height:.1f} mm.",
        measure,
    )
    canvas = Canvas(d, 1.0, [left, low], [right, high])
    for polygon in found.trimmed:
        canvas.area(polygon, "none", hatch=4.0)
    for polygon in found.waste:
        canvas.area(polygon, "thin", hatch=2.0, mark="waste", breaks=False)
    for panel in sides:
        for u in (panel.u, panel.u + panel.width):
            canvas.segment([u, 0.0], [u, found.height], "hidden", mark="fold")
    canvas.segment([0.0, 0.0], [found.width, 0.0], "heavy", mark="square-end")
    labels, gap = Callouts(measure), measure.of
    doubled = [line.name for line in found.lines]
    for line in found.lines:
        style = "outline" if line.name == "trim" else "centre"
        for a, b in itertools.pairwise(line.points):
            canvas.segment(a, b, style, mark=line.name)
        more = f"\n{words.mm(line.depth_mm)}" if doubled.count(line.name) > 1 else ""
        shown = canvas.at(line.points)
        if np.any((line.points[:, 1] >= low) & (line.points[:, 1] <= high)):
            labels.add("right", shown, LINE_WORDS[line.name][1] + more)
    for u in (left, right):
        if all(abs(u - p.u) > 1e-9 for p in found.panels) and abs(u - found.width) > 1e-9:
            canvas.segment([u, low], [u, high], "phantom")
    labels.draw(d, canvas.left, canvas.right + gap(2), canvas.top + gap(3), canvas.bottom - gap(3))
    _side_names(d, canvas, sides)
    below = f"{name}: square end of the blank" if low == 0 else name
    d.text([(canvas.left + canvas.right) / 2, canvas.bottom + gap(5)], below, anchor="middle")
    return d


def _side_names(d: Drawing, canvas: Canvas, sides: Sequence[Panel]) -> None:
    """In each panel its name, at the top, where it is clear of every line; along a narrow one."""
    for panel in sides:
        low, high = max(panel.u, canvas.left), min(panel.u + panel.width, canvas.right)
        name, gap = in_words(panel.side), d.measure.of
        if d.measure.width(name) + gap(2) <= high - low:
            d.text([(low + high) / 2, canvas.top + gap(5)], name, anchor="middle")
        else:
            d.text([(low + high) / 2, canvas.top + gap(1)], name, anchor="end", turned=True)


def _bar(d: Drawing, x: float, y: float) -> None:
    """100 mm with a stroke every 10 mm; the outer sides of the end strokes are 100 mm apart."""
    d.line([x, y], [x + BAR_MM, y], "outline", mark="check-bar")
    half = d.stroke_mm("thin") / 2
    for k in range(11):
        at = x + float(np.clip(10.0 * k, half, BAR_MM - half))
        d.line([at, y], [at, y + (3.0 if k % 5 == 0 else 2.0)], "thin")
    d.text([x + BAR_MM + 3.0, y + 1.5], "this bar: 100 mm")
