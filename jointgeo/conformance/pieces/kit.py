"""Every check on every piece type: the list, the loop that runs it, and its pytest twin.

Knows the checks; each is a function of a subject and notes, named like the check, its docstring one
line that says what holds. pytest is imported only when it is asked for.
"""

from __future__ import annotations

import traceback
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import attrs

from jointgeo.conformance.declared import fields, schema
from jointgeo.conformance.given import bad_input, inches, json_round_trip
from jointgeo.conformance.pieces.assembled import examples, goes_together, measured, stands
from jointgeo.conformance.pieces.drawn import bars, declaration, nothing_changed, twins
from jointgeo.conformance.pieces.limits import limits
from jointgeo.conformance.pieces.subject import PieceSubject
from jointgeo.conformance.report import Finding, Notes, Report
from jointgeo.errors import InputError, JointgeoError, MissingExtraError, Problem, shown
from jointgeo.pieces.piece_type import PieceType

if TYPE_CHECKING:
    import pytest

__all__ = ["PIECE_CHECKS", "PieceCase", "check_piece_type", "every_piece_check", "run_piece_check"]

_RUNS: tuple[Callable[[PieceSubject, Notes], None], ...] = (
    declaration,
    fields,
    schema,
    examples,
    json_round_trip,
    inches,
    bad_input,
    limits,
    nothing_changed,
    bars,
    twins,
    goes_together,
    stands,
    measured,
)
#: Name → what holds, of every check.
PIECE_CHECKS: dict[str, str] = {run.__name__: run.__doc__ or "" for run in _RUNS}
_BY_NAME = {run.__name__: run for run in _RUNS}


def check_piece_type(cls: type[PieceType], *, exempt: Mapping[str, str] | None = None) -> Report:
    """Run every check on ``cls``; ``exempt`` as for ``check_joint_type``."""
    reasons, subject = _reasons(exempt or {}), PieceSubject(cls)
    found = (run_piece_check(name, subject, reasons.get(name, "")) for name in PIECE_CHECKS)
    return Report(subject.name, tuple(found))


def _reasons(exempt: Mapping[str, str]) -> dict[str, str]:
    problems = []
    for name, reason in exempt.items():
        if name not in PIECE_CHECKS:
            allowed = "one of " + ", ".join(PIECE_CHECKS)
            problems.append(Problem(f"exempt.{name}", "is no check", shown(name), allowed))
        elif not isinstance(reason, str) or not reason.strip():
            says = "needs a reason"
            problems.append(Problem(f"exempt.{name}", says, shown(reason), "a sentence"))
    if problems:
        raise InputError(*problems)
    return {name: reason.strip() for name, reason in exempt.items()}


def run_piece_check(name: str, subject: PieceSubject, reason: str = "") -> Finding:
    """One check; what it or the type under it raises is a fault and stops no other check."""
    notes = Notes()
    try:
        _BY_NAME[name](subject, notes)
    except JointgeoError as error:
        notes.fault(str(error))
    except Exception as error:  # a third party's class may raise anything at all
        last = traceback.extract_tb(error.__traceback__)[-1]
        where = f"{Path(last.filename).name}, line {last.lineno}, in {last.name}"
        notes.fault(f"{type(error).__name__}: {error} ({where})")
    return Finding.of(name, PIECE_CHECKS[name], notes, reason)


# As pytest tests ------------------------------------------------------------------------


@attrs.frozen
class PieceCase:
    """One check of one type; call it to run it. AssertionError with the finding if it fails."""

    check: str
    subject: PieceSubject = attrs.field(repr=False)
    reason: str = ""

    def __call__(self) -> None:
        finding = run_piece_check(self.check, self.subject, self.reason)
        if finding.outcome == "exempted":
            _pytest().xfail(str(finding))
        if finding.outcome == "failed":
            raise AssertionError(str(finding))


def every_piece_check(
    *classes: type[PieceType], exempt: Mapping[str, Mapping[str, str]] | None = None
) -> pytest.MarkDecorator:
    """Decorates a test that takes ``case`` and calls it: every check of every class.

    exempt: {piece type: {check: reason}}; such a check still runs, as an expected failure.
    """
    if not classes:
        raise InputError(Problem("classes", "is empty", None, "at least one piece type"))
    subjects = [PieceSubject(cls) for cls in classes]
    names = [s.name for s in subjects]
    if unknown := [name for name in exempt or {} if name not in names]:
        allowed = "one of " + ", ".join(names)
        raise InputError(*(Problem("exempt", "is not tested", shown(n), allowed) for n in unknown))
    reasons = {name: _reasons(given) for name, given in (exempt or {}).items()}
    param = _pytest().param
    cases = [
        param(PieceCase(check, s, reasons.get(s.name, {}).get(check, "")), id=f"{s.name}-{check}")
        for s in subjects
        for check in PIECE_CHECKS
    ]
    mark: pytest.MarkDecorator = _pytest().mark.parametrize("case", cases)
    return mark


def _pytest() -> Any:
    try:
        import pytest
    except ImportError as error:
        raise MissingExtraError(
            "the kit's tests need pytest: pip install pytest; check_piece_type does without"
        ) from error
    return pytest
