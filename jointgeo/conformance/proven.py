"""Cut, assembled, measured: the joint as its settings make it.

Knows the settings JSON and the dry fit, which shares no code with the solver. The fit reads the
drawing from the settings and holds every law of a joint against what is cut: parts are what was
drawn, fill no place twice, leave none open, bear on each other, and come apart.
"""

from __future__ import annotations

from typing import Any

from jointgeo.conformance.report import Notes
from jointgeo.conformance.subject import Subject
from jointgeo.proof import dry_fit
from jointgeo.schema.fields import plain
from jointgeo.solution.setup import HANDS
from jointgeo.solution.solution import solve

__all__ = ["laws"]


def laws(subject: Subject, notes: Notes) -> None:
    """what is called feasible goes together, bears, leaves nothing open, and comes apart"""
    held = 0
    far = [(subject.cls(**values), subject.wide) for values in subject.far]
    for joint, fixture in (*subject.benches, *far):
        for hand in HANDS:
            fit = dry_fit(solve(joint, fixture, hand).settings_dict(aids=False))
            held += len(fit.findings)
            if fit.verdict != "goes together":
                said = "; ".join(_said(f) for f in fit.faults[:2])
                notes.fault(f"{hand}: {fit.verdict}: {said} ({plain(joint)})")
    draws = subject.draws
    kept = len(draws.parameters)
    notes.did(
        f"{len(subject.examples)} examples and {kept} random joints near them (of "
        f"{draws.tries} drawn), {len(far)} far from them, both hands: {held} findings"
    )
    if kept < subject.wanted:
        notes.fault(
            f"only {kept} of {draws.tries} joints drawn near the examples are taken and "
            f"feasible; {subject.wanted} are wanted. At last: {draws.last}"
        )


def _said(finding: Any) -> str:
    measured = "nothing" if finding.measured is None else f"{finding.measured:.4g}"
    return f"{finding.what}: {measured} {finding.unit}, expected {finding.expected:.4g}"
