"""Lengths of a piece file under names that somebody else knows: heights, and what a tape must show.

Knows units and errors; places nothing.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from jointgeo.errors import PieceError, Problem, one_line, shown
from jointgeo.schema.units import INCH_FORMS, MM_PER_INCH, read_inches

__all__ = ["named_lengths"]

MOST_MM = 10_000.0


def named_lengths(
    stem: str, in_mm: Mapping[str, Any], in_inches: Mapping[str, Any]
) -> dict[str, float]:
    """The lengths of the tables ``<stem>_mm`` and ``<stem>_in``, mm; text is a length in inches in
    either. PieceError with every value that is none, and every name that stands in both."""
    out: dict[str, float] = {}
    problems: list[Problem] = []
    for unit, table in (("mm", in_mm), ("in", in_inches)):
        for name, value in table.items():
            field = f"{stem}_{unit}.{one_line(str(name))}"
            at = _length(value, unit)
            if name in out:
                says = f"is given twice, in {stem}_mm and in {stem}_in"
                problems.append(Problem(field, says, shown(value), "one of the two"))
            elif at is None or not 0.0 <= at <= MOST_MM:
                limit = f"0 to {MOST_MM:g} mm; in inches {INCH_FORMS}"
                if unit == "in":
                    limit = f"0 to {MOST_MM / MM_PER_INCH:.1f} in: {INCH_FORMS}"
                problems.append(Problem(field, "is no length", shown(value), limit, unit))
            else:
                out[name] = at
    if problems:
        raise PieceError(*problems)
    return out


def _length(value: object, unit: str) -> float | None:
    """In mm; None for what is none."""
    try:
        if unit == "mm" and isinstance(value, int | float) and not isinstance(value, bool):
            return float(value)
        return read_inches(value)
    except (ValueError, OverflowError):
        return None
