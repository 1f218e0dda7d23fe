"""The unrolled layout at full size, on sheets that go into a printer.

Knows developments and drawings; no joint type. One millimetre of the drawing is one
millimetre of paper; a bar of 100 mm on each sheet shows whether the printer kept to it.
Sheets divide at the long edges where they can, since the paper is folded there anyway.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence

import numpy as np

from jointgeo.joints.sides import in_words
from jointgeo.sheet import words
from jointgeo.sheet.canvas import Canvas
from jointgeo.sheet.develop import Development, Panel
from jointgeo.sheet.dimension import Callouts
from jointgeo.sheet.plane import spread
from jointgeo.sheet.svg import STYLES, Drawing, text_width

__all__ = ["HOW", "MOST_SHEETS", "layout_sheets", "layout_whole", "sheet_count"]

#: Of the unrolled sides, so that bar and words beside them still go on A4 and Letter.
SHEET_WIDE, SHEET_HIGH = 150.0, 195.0
BAR_MM = 100.0
#: An end that takes more paper than this is not one to wrap by hand.
MOST_SHEETS = 16
HOW = (
    "Print at 100 %, without fitting to the page, and measure the bar before you trust a sheet. "
    "Join the sheets of one end at their long edges, fold there, and wrap the paper round the "
    "stock, printed side out, with the heavy line on its square end. Hatched wood is waste."
)


def layout_whole(found: Development, name: str) -> Drawing:
    """All four sides on one sheet, however large; for a plotter or a copy shop."""
    return _sheet(found, name, (0.0, found.width), (0.0, found.height), "")


def layout_sheets(found: Development, name: str) -> Iterator[Drawing]:
    """The same on as many sheets as it takes; ``name`` says what is laid out."""
    columns, rows = _grid(found)
    count = len(columns) * len(rows)
    for i, row in enumerate(rows):
        for k, column in enumerate(columns):
            which = f", sheet {i * len(columns) + k + 1} of {count}" if count > 1 else ""
            yield _sheet(found, name, column, row, which)


def sheet_count(found: Development) -> int:
    """How many sheets it takes."""
    columns, rows = _grid(found)
    return len(columns) * len(rows)


def _grid(found: Development) -> tuple[list[tuple[float, float]], list[tuple[float, float]]]:
    marks = [*(p.u for p in found.panels), found.width]
    return list(_divided(marks, SHEET_WIDE)), list(_divided([0.0, found.height], SHEET_HIGH))


def _divided(marks: list[float], most: float) -> Iterator[tuple[float, float]]:
    """Stretches no longer than ``most``, ending at marks where they can."""
    at, end = marks[0], marks[-1]
    while at < end - 1e-9:
        reach = [m for m in marks if at + 1e-9 < m <= at + most + 1e-9]
        stop = reach[-1] if reach else at + most
        yield at, stop
        at = stop


def _sheet(
    found: Development,
    name: str,
    column: tuple[float, float],
    row: tuple[float, float],
    which: str,
) -> Drawing:
    (left, right), (low, high) = column, row
    sides = [p for p in found.panels if p.u < right - 1e-9 and p.u + p.width > left + 1e-9]
    names = words.listed([in_words(p.side) for p in sides])
    d = Drawing(
        f"{name}: layout at full size{which}",
        f"The sides unrolled: {names}; {right - left:.1f} × {high - low:.1f} mm of "
        f"{found.width:.1f} × {found.height:.1f} mm. {HOW}",
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
    labels = Callouts()
    doubled = [line.name for line in found.lines]
    for line in found.lines:
        style = "outline" if line.name == "trim" else "centre"
        for a, b in itertools.pairwise(line.points):
            canvas.segment(a, b, style, mark=line.name)
        more = f"\n{words.mm(line.depth_mm)}" if doubled.count(line.name) > 1 else ""
        shown = canvas.at(line.points)
        if np.any((line.points[:, 1] >= low) & (line.points[:, 1] <= high)):
            labels.add("right", shown, line.name + more)
    for u in (left, right):
        if all(abs(u - p.u) > 1e-9 for p in found.panels) and abs(u - found.width) > 1e-9:
            canvas.segment([u, low], [u, high], "phantom")
    labels.draw(d, canvas.left, canvas.right + 2, canvas.top + 3, canvas.bottom - 3)
    _side_names(d, canvas, sides)
    if low == 0:
        middle = [(canvas.left + canvas.right) / 2, canvas.bottom + 4.5]
        d.text(middle, "square end of the blank", anchor="middle")
    _bar(d, canvas.left, canvas.bottom + 12)
    return d


def _side_names(d: Drawing, canvas: Canvas, sides: Sequence[Panel]) -> None:
    """Over each panel its name, spread where panels are narrower than their names."""
    left, right = canvas.left, canvas.right
    middles = [(max(p.u, left) + min(p.u + p.width, right)) / 2 for p in sides]
    names = [in_words(p.side) for p in sides]
    steps = [(text_width(a) + text_width(b)) / 2 + 3 for a, b in itertools.pairwise(names)]
    y = canvas.top - 8
    for x, middle, name in zip(
        spread(middles, steps, left - 10, right + 25), middles, names, strict=True
    ):
        d.line([x, y + 3], [middle, canvas.top], "hatch")
        d.text([x, y], name, anchor="middle")


def _bar(d: Drawing, x: float, y: float) -> None:
    """100 mm with a stroke every 10 mm; the outer sides of the end strokes are 100 mm apart."""
    d.line([x, y], [x + BAR_MM, y], "outline", mark="check-bar")
    half = STYLES["thin"][0] / 2
    for k in range(11):
        at = x + float(np.clip(10.0 * k, half, BAR_MM - half))
        d.line([at, y], [at, y + (3.0 if k % 5 == 0 else 2.0)], "thin")
    d.text([x + BAR_MM / 2, y + 7.0], "this bar: 100 mm", anchor="middle")
