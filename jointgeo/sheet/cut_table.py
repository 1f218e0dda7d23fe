"""The cuts of one clamping as a table with a box to tick for each pass.

Knows setups, words and tables; no drawing. Up to so many rows stand in one table, more in two
halves beside each other, and what is more than a page in rows of three passes that go on over the
pages.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from jointgeo.planning.passes import Cut
from jointgeo.schema.units import fixed
from jointgeo.sheet import words
from jointgeo.sheet.flow import Block, Rows, beside, heading, rows, stacked
from jointgeo.sheet.markup import Markup, joined
from jointgeo.sheet.model import SetupSheet
from jointgeo.sheet.parts import tick

__all__ = ["cut_rows", "cut_table", "few"]

#: Of one table that stands by itself.
MOST_ROWS = 9
_HEAD = ("", "Travel", "Handwheel from zero", "Off by")
_SHORT = ("", "Travel", "Wheel", "Off")
_WIDTHS = (8.0, 22.0, 52.0, 22.0)
_HALF_WIDTHS = (5.5, 13.5, 19.0, 15.0)
_GAP = 3.0
NAME = "Cuts from the left, mm"

_Row = tuple[str, ...]


def cut_table(setup: SetupSheet, wide_mm: float, *, ticks: bool) -> Block:
    """The whole table in one piece. ticks: whether it may be cut, with a box to tick."""
    groups = _groups(setup, ticks=ticks)
    name = heading(NAME, wide_mm)
    if few(setup):
        wide = wide_mm >= sum(_WIDTHS)
        head, widths = (_HEAD, _WIDTHS) if wide else (_SHORT, _HALF_WIDTHS)
        table = rows("", head, _flat(groups), _scaled(widths, wide_mm), numbers=(1, 3))
        return stacked([name, table])
    half = (wide_mm - _GAP) / 2
    columns = [
        (half, [rows("", _SHORT, part, _scaled(_HALF_WIDTHS, half), numbers=(1, 3))])
        for part in _halves(groups)
    ]
    return stacked([name, beside(columns)])


def few(setup: SetupSheet) -> bool:
    """Whether one table holds them."""
    return sum(1 + len(c.passes) for c in setup.setup.cuts) <= MOST_ROWS


def cut_rows(setup: SetupSheet, wide_mm: float, *, ticks: bool) -> Rows:
    """The same as a table that may be divided between pages, three passes in a row."""
    out: list[_Row] = []
    for said, *passes in _groups(setup, ticks=ticks):
        out.append(said)
        for i in range(0, len(passes), 3):
            three = [*passes[i : i + 3], *[("", "", "", "")] * 2][:3]
            out.append(tuple(cell for row in three for cell in row))
    widths = _scaled(_HALF_WIDTHS * 3, wide_mm)
    return rows(NAME, _SHORT * 3, out, widths, numbers=(1, 3, 5, 7, 9, 11))


def _groups(setup: SetupSheet, *, ticks: bool) -> list[list[_Row]]:
    """For each cut what it is, and its passes in cutting order."""
    at = dict(setup.setup.heights.cuts)
    return [
        [(_said(number, cut, at[cut.depth_mm]),), *_passes(cut, ticks=ticks)]
        for number, cut in enumerate(setup.setup.cuts, 1)
    ]


def _said(number: int, cut: Cut, height_mm: float) -> str:
    return (
        f"{number}: {words.mm(cut.left_mm)} to {words.mm(cut.right_mm)}, "
        f"{words.mm(cut.depth_mm)} deep, cutter at {words.mm(height_mm)}"
    )


def _passes(cut: Cut, *, ticks: bool) -> Iterator[_Row]:
    box: str = joined([tick()]) if ticks else Markup("–")
    for step in cut.passes:
        wheel = f"{step.turns} t {step.divisions} d"
        off = fixed(step.rounding_mm, 3, signed=True)
        yield box, words.mm(step.travel_mm), wheel, off


def _flat(groups: Sequence[Sequence[_Row]]) -> list[_Row]:
    return [row for group in groups for row in group]


def _halves(groups: Sequence[Sequence[_Row]]) -> tuple[list[_Row], list[_Row]]:
    """Divided between cuts where that leaves halves nearly alike, else within one, which then says
    that it goes on."""
    total = len(_flat(groups))
    sums = [len(_flat(groups[:i])) for i in range(1, len(groups))]
    even = min(sums, key=lambda n: abs(2 * n - total), default=0)
    if even and abs(2 * even - total) <= 4:
        flat = _flat(groups)
        return flat[:even], flat[even:]
    first: list[_Row] = []
    second: list[_Row] = []
    for said, *passes in groups:
        room = (total + 1) // 2 - len(first) - 1
        if second or room <= 0:
            second += [said, *passes]
            continue
        first += [said, *passes[:room]]
        if len(passes) > room:
            second += [(f"{said[0]}, continued",), *passes[room:]]
    return first, second


def _scaled(widths: Sequence[float], wide_mm: float) -> list[float]:
    return [w * wide_mm / sum(widths) for w in widths]
