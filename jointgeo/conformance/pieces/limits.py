"""A piece type at the limits of its fields: refused by an InputError, or drawn and solved.

Knows fields and the solver of pieces; judges no geometry.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from jointgeo.conformance.pieces.subject import PieceSubject
from jointgeo.conformance.report import Notes
from jointgeo.errors import InputError, shown
from jointgeo.pieces.solve import solve_piece
from jointgeo.schema.fields import FieldInfo

__all__ = ["limits"]

#: What lies nearer to an open end than a millionth of the range is below any rule.
OPEN = 1e-6


def limits(subject: PieceSubject, notes: Notes) -> None:
    """at either limit of every field a piece is refused by an InputError, or drawn and solved"""
    refused = solved = 0
    known = {i.name for i in subject.fields}
    for info in subject.fields:
        for value in _ends(info):
            where = f"{info.name} = {shown(value)}"
            try:
                one = subject.cls.from_dict(subject.parameters[0] | {info.name: value})
            except InputError as error:
                refused += 1
                unknown = {p.field for p in error.problems} - known
                if unknown:
                    notes.fault(f"{where}: the error names {sorted(unknown)}, no parameter")
                continue
            try:
                one.measured()
                answer = solve_piece(one.piece(), subject.fixture, "as_drawn")
                for check in answer.checks:
                    float(check.value or 0.0)
                solved += 1
            except InputError:
                refused += 1
            except Exception as error:  # a third party's class may raise anything at all
                notes.fault(
                    f"{where}: {type(error).__name__}: {shown(str(error), 160)}; narrow the "
                    "field's range, or refuse it in __attrs_post_init__ with InputError.of"
                )
    notes.did(f"{solved} pieces; {refused} refused by InputError")


def _ends(info: FieldInfo) -> Iterator[Any]:
    if info.kind == "flag":
        yield from (False, True)
    elif info.kind == "choice":
        yield from info.choices
    elif info.kind in ("number", "integer") and info.low is not None and info.high is not None:
        if info.kind == "integer":
            yield from (int(info.low), int(info.high))
        else:
            yield info.low + OPEN * (info.high - info.low) if info.above else info.low
            yield info.high
