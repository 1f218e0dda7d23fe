"""Feasibility checks made from the error budget of one setup, and from what test cuts tell.

Knows budgets, agreements and checks; no joint type.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from math import isfinite, sqrt

import attrs

from jointgeo.fixtures.indication import agreements
from jointgeo.fixtures.model import Fixture
from jointgeo.joints.check import Check, Remedy, at_most
from jointgeo.schema.units import fixed
from jointgeo.uncertainty.budget import Budget, Outcome
from jointgeo.uncertainty.closing import AXES, Closing

__all__ = ["accuracy_checks", "chance_words", "closing_words", "contradictions", "known_checks"]

#: Chance below which a joint is not spoken of as one that may close; our choice.
HARDLY = 0.01

#: What test cuts tell of: the check's name, and its unit with what the value is multiplied by.
_KNOWN = {
    "swivel": ("swivel_scale_known", "deg", 1.0),
    "tilt": ("tilt_scale_known", "deg", 1.0),
    "lead": ("lead_known", "%", 100.0),
    "kerf": ("kerf_known", "mm", 1.0),
}


def accuracy_checks(budget: Budget, *, meets: bool = True) -> Iterator[Check]:
    """Feasibility checks of one setup: joint_closes, cheek_fit, depth (caution, never fail).
    meets: whether another bar comes to this end; where none does, no joint has to close."""
    if meets:
        yield _joint_closes(budget)
    for name in ("cheek_fit", "depth"):
        outcome = budget[name] if name in budget.names else None
        if outcome is None or outcome.limit is None:
            continue
        because = (
            f"the error all uncertainties together may give the {name.removeprefix('cheek_')}, at "
            f"k = 2; {_largest(outcome)}"
        )
        check = at_most(
            name, outcome.expanded, outcome.limit, outcome.unit, because, short="caution"
        )
        # What is left of a sum of squares, whatever k is.
        left = sqrt(max(0.0, 1 - outcome.largest[1])) * outcome.expanded
        yield _with_remedies(check, _largest_first(outcome, left))


def known_checks(fixture: Fixture, cutter: str) -> Iterator[Check]:
    """swivel_scale_known, tilt_scale_known, lead_known and kerf_known, of what was tested: fail
    while test cuts contradict each other or the file, since no figure made of them can be set."""
    for what, held in agreements(fixture, cutter).items():
        name, unit, times = _KNOWN[what]
        yield at_most(name, times * held.off, times * held.allowed, unit, held.says)


def contradictions(checks: Iterable[Check]) -> tuple[str, ...]:
    """Why nothing may be cut yet, once each: what fails of ``known_checks``."""
    names = {name for name, *_ in _KNOWN.values()}
    found = (c.because for c in checks if c.name in names and c.status == "fail")
    return tuple(dict.fromkeys(found))


def chance_words(closing: Closing) -> str:
    """``the chance that it closes is 99.1 %``."""
    percent = 100 * closing.chance
    if percent > 99.9:
        return "the chance that it closes is more than 99.9 %"
    if percent < 0.1:
        return "the chance that it closes is less than 0.1 %"
    return f"the chance that it closes is {fixed(percent, 1)} %"


def closing_words(closing: Closing) -> str:
    """``the gap at 95 % is 0.11 mm of 0.15 mm; the chance that it closes is 99.3 %``."""
    of = f"{closing.gap_95_mm:.2f} mm of {closing.limit_mm:g} mm"
    return f"the gap at 95 % is {of}; {chance_words(closing)}"


def _joint_closes(budget: Budget) -> Check:
    closing, outcome = budget.closing, budget["shoulder_gap"]
    hardly = "will hardly close: " if closing.chance < HARDLY else ""
    because = (
        f"{hardly}the gap that all uncertainties together keep within with a probability of 95 %; "
        f"{chance_words(closing)}; {_largest(outcome)}"
    )
    gap = closing.gap_95_mm
    check = at_most("joint_closes", gap, closing.limit_mm, "mm", because, short="caution")
    if check.status == "pass":
        return check
    left = closing.without(outcome.largest[0]).gap_95_mm
    return _with_remedies(check, *_set_closer(closing), _largest_first(outcome, left))


def _set_closer(closing: Closing) -> Iterator[Remedy]:
    needed = {axis: closing.needed_deg[axis] for axis in AXES}
    acting = {axis: value for axis, value in needed.items() if isfinite(value)}
    says = " and ".join(f"the {axis} to ±{value:.3f}°" for axis, value in acting.items())
    together = "while both hold" if len(acting) > 1 else "while that holds"
    yield Remedy(
        "set_closer",
        f"set {says}: {together}, they open no more than {closing.limit_mm:g} mm",
        {f"{axis}_within_deg": value for axis, value in acting.items()},
    )


def _largest_first(outcome: Outcome, left: float) -> Remedy:
    name, _ = outcome.largest
    return Remedy(
        "reduce_largest_share",
        f"work on {_words(name)} first: without it {left:.3f} {outcome.unit} would be left",
        {"contributor": name, f"left_{outcome.unit}": left},
    )


def _with_remedies(check: Check, *remedies: Remedy) -> Check:
    return check if check.status == "pass" else attrs.evolve(check, remedies=remedies)


def _largest(outcome: Outcome) -> str:
    name, share = outcome.largest
    return f"the largest share, {100 * share:.0f} %, is {_words(name)}"


def _words(contributor: str) -> str:
    return "the " + contributor.replace("_", " ")
