"""Every check on every type: the list, and the loop that runs it.

Knows the checks; each is a function of a subject and notes, named like the check, its
docstring one line that says what holds. An author can be let off a check, for a reason
that the report prints, and cannot leave one out.
"""

from __future__ import annotations

import traceback
from collections.abc import Callable, Mapping
from pathlib import Path

import numpy as np

from jointgeo.conformance.conduct import pace, quiet, remembers_nothing
from jointgeo.conformance.declared import declaration, fields, schema
from jointgeo.conformance.dimensioned import dimensions
from jointgeo.conformance.ends import range_ends
from jointgeo.conformance.given import bad_input, inches, json_round_trip, whole_range
from jointgeo.conformance.limits import margins
from jointgeo.conformance.marked import marks
from jointgeo.conformance.meaning import between, claims
from jointgeo.conformance.mirror import mirrored
from jointgeo.conformance.proven import laws
from jointgeo.conformance.report import Finding, Notes, Report
from jointgeo.conformance.solved import examples, nothing_mutated, plain_output, same_output
from jointgeo.conformance.subject import Subject
from jointgeo.conformance.wood import notches_in_stock
from jointgeo.errors import InputError, JointgeoError, Problem, shown
from jointgeo.joints.joint_type import JointType

__all__ = ["CHECKS", "check_joint_type", "checked_exemptions", "report_on", "run_check"]

Run = Callable[[Subject, Notes], None]

_RUNS: tuple[Run, ...] = (
    declaration,
    fields,
    schema,
    examples,
    json_round_trip,
    inches,
    bad_input,
    whole_range,
    range_ends,
    same_output,
    remembers_nothing,
    nothing_mutated,
    quiet,
    pace,
    plain_output,
    claims,
    between,
    notches_in_stock,
    marks,
    mirrored,
    margins,
    dimensions,
    laws,
)
#: Name → what holds, of every check.
CHECKS: dict[str, str] = {run.__name__: run.__doc__ or "" for run in _RUNS}
_BY_NAME: dict[str, Run] = {run.__name__: run for run in _RUNS}


def check_joint_type(cls: type[JointType], *, exempt: Mapping[str, str] | None = None) -> Report:
    """Run every check on ``cls``.

    exempt: {check: reason} of what the type is let off; the checks run all the same, and
    one that passes is a failure, since its exemption is no longer needed.
    Raises InputError for an exemption from an unknown check or without a reason.
    """
    return report_on(Subject(cls), exempt or {})


def report_on(subject: Subject, exempt: Mapping[str, str]) -> Report:
    """``check_joint_type`` on a bench that is set up already."""
    reasons = checked_exemptions(exempt)
    findings = tuple(run_check(name, subject, reasons.get(name, "")) for name in CHECKS)
    return Report(subject.name, findings)


def checked_exemptions(exempt: Mapping[str, str]) -> dict[str, str]:
    """``exempt`` with its reasons stripped; InputError naming every entry at fault."""
    problems = []
    for name, reason in exempt.items():
        if name not in CHECKS:
            allowed = "one of " + ", ".join(CHECKS)
            problems.append(Problem(f"exempt.{name}", "is no check", shown(name), allowed))
        elif not isinstance(reason, str) or not reason.strip():
            problems.append(
                Problem(f"exempt.{name}", "needs a reason", shown(reason), "a sentence")
            )
    if problems:
        raise InputError(*problems)
    return {name: reason.strip() for name, reason in exempt.items()}


def run_check(name: str, subject: Subject, reason: str = "") -> Finding:
    """One check; what it or the type under it raises is a fault and stops no other check."""
    notes = Notes()
    try:
        # A warning of numpy's is a NaN on its way into somebody's settings.
        with np.errstate(divide="raise", invalid="raise", over="raise"):
            _BY_NAME[name](subject, notes)
    except JointgeoError as error:
        _told(str(error), name, subject, notes)
    except Exception as error:  # a plug-in's class may raise anything at all
        _told(f"{type(error).__name__}: {error} ({_place(error)})", name, subject, notes)
    return Finding.of(name, CHECKS[name], notes, reason)


def _told(text: str, check: str, subject: Subject, notes: Notes) -> None:
    """Tell what ended a check, once: what ends the next ones as well is told under the first."""
    first = subject.told.setdefault(text, check)
    if first == check:
        notes.fault(text)
    else:
        notes.told_under = first


def _place(error: Exception) -> str:
    """Where it was raised."""
    last = traceback.extract_tb(error.__traceback__)[-1]
    return f"{Path(last.filename).name}, line {last.lineno}, in {last.name}"
