"""A part at full size on as many sheets of paper as it takes, to be joined by crosses.

Knows the part's picture and markup. A sheet is a window on one picture in millimetres, so that
nothing is drawn twice and sheets cannot differ.
Neighbours overlap, and the crosses in the overlap carry their
coordinates; a bar of 100 mm on every sheet shows whether the printer kept to size.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil

import attrs

from jointgeo.fixture_parts.drawing import draw, printed
from jointgeo.fixture_parts.model import FixturePart
from jointgeo.sheet.markup import Markup, element, number
from jointgeo.sheet.svg import FONT, Drawing

__all__ = ["BAR_MM", "MOST_SHEETS", "Tile", "tiles"]

#: A window goes on A4 and on Letter, with the bar and a line of words below it.
WIDE_MM, HIGH_MM, OVERLAP_MM = 180.0, 205.0, 10.0
BAR_MM = 100.0
BORDER_MM, WORDS_MM = 6.0, 45.0
#: More sheets than this are no template; the DXF is for a plotter.
MOST_SHEETS = 24


@attrs.frozen
class Tile:
    """number: of how many; svg: the sheet, bar included."""

    number: int
    count: int
    svg: Markup


def tiles(part: FixturePart) -> tuple[Tile, ...]:
    """The sheets of one part, left to right and from the top; empty ones are left out. None at all
    where there would be more than ``MOST_SHEETS``."""
    chains = printed(part)
    us, vs = ([p[i] for chain in chains for p in chain] for i in (0, 1))
    left, top = min(us) - BORDER_MM, max(vs) + BORDER_MM
    step_u, step_v = WIDE_MM - OVERLAP_MM, HIGH_MM - OVERLAP_MM
    columns = max(1, ceil((max(us) + WORDS_MM - left - OVERLAP_MM) / step_u))
    rows = max(1, ceil((top - min(vs) + BORDER_MM - OVERLAP_MM) / step_v))
    if columns * rows > MOST_SHEETS:
        return ()
    picture = draw(part, 1.0, names=False)
    _crosses(picture, left, top, columns, rows)
    corners = [(left + i * step_u, top - k * step_v) for k in range(rows) for i in range(columns)]
    used = [c for c in corners if _holds(chains, c)]
    return tuple(
        Tile(i, len(used), _sheet(part, picture, corner, i, len(used)))
        for i, corner in enumerate(used, 1)
    )


def _holds(chains: list[list[tuple[float, float]]], corner: tuple[float, float]) -> bool:
    """Whether anything that is marked out crosses a window."""
    left, top = corner
    for chain in chains:
        for (a, b), (c, d) in zip(chain, [*chain[1:], chain[-1]], strict=True):
            steps = max(1, ceil(max(abs(c - a), abs(d - b)) / 2.0))
            for i in range(steps + 1):
                u, v = a + (c - a) * i / steps, b + (d - b) * i / steps
                if left <= u <= left + WIDE_MM and top - HIGH_MM <= v <= top:
                    return True
    return False


def _crosses(d: Drawing, left: float, top: float, columns: int, rows: int) -> None:
    step_u, step_v = WIDE_MM - OVERLAP_MM, HIGH_MM - OVERLAP_MM
    for i in range(columns + 1):
        for k in range(rows + 1):
            u = left + i * step_u + OVERLAP_MM / 2
            v = top - k * step_v - OVERLAP_MM / 2
            d.line((u - 4, -v), (u + 4, -v), "thin", mark="join")
            d.line((u, -v - 4), (u, -v + 4), "thin", mark="join")


def _sheet(
    part: FixturePart, picture: Drawing, corner: tuple[float, float], which: int, count: int
) -> Markup:
    left, top = corner
    window = element(
        "svg",
        *picture.parts,
        x=left,
        y=-top,
        width=WIDE_MM,
        height=HIGH_MM,
        viewBox=" ".join(number(v) for v in (left, -top, WIDE_MM, HIGH_MM)),
    )
    frame = element(
        "rect",
        x=left,
        y=-top,
        width=WIDE_MM,
        height=HIGH_MM,
        fill="none",
        stroke="black",
        stroke_width=0.15,
        stroke_dasharray="2 2",
    )
    y = -top + HIGH_MM
    return element(
        "svg",
        element("title", f"{part.title}, sheet {which} of {count}"),
        element("rect", x=left, y=-top, width=WIDE_MM, height=HIGH_MM + 20, fill="white"),
        element(
            "g",
            window,
            frame,
            *_bar(left, y, f"{part.title}: sheet {which} of {count}"),
            font_family=FONT,
            font_size=picture.measure.letter_mm,
            fill="black",
        ),
        xmlns="http://www.w3.org/2000/svg",
        width=f"{number(WIDE_MM)}mm",
        height=f"{number(HIGH_MM + 20)}mm",
        viewBox=" ".join(number(v) for v in (left, -top, WIDE_MM, HIGH_MM + 20)),
        role="img",
    )


def _bar(left: float, y: float, words: str) -> Iterator[Markup]:
    def line(a: float, b: float, c: float, d: float) -> Markup:
        return element(
            "line", x1=a, y1=b, x2=c, y2=d, stroke="black", stroke_width=0.4, class_="check-bar"
        )

    start = left + 2
    yield line(start, y + 5, start + BAR_MM, y + 5)
    for x in (start, start + BAR_MM):
        yield line(x, y + 3, x, y + 7)
    yield element("text", "this bar is 100 mm", x=start + BAR_MM + 3, y=y + 6.7)
    yield element("text", words, x=start, y=y + 15)
