"""Cut, assembled, measured: the joint as its settings make it, and whether a slip would show.

Knows the settings JSON and the dry fit, which shares no code with the solver.

Two checks, because a proof can fail in two ways. ``dry_fit``: the parts do not go
together. ``expectations``: they would be said to go together whatever was cut, because
too little is expected of them, or because a gap is declared to be meant.
"""

from __future__ import annotations

from typing import Any

from jointgeo.conformance.report import Notes
from jointgeo.conformance.subject import Subject
from jointgeo.errors import InputError
from jointgeo.joints.joint_type import JointType
from jointgeo.proof import dry_fit as put_together
from jointgeo.schema.fields import plain
from jointgeo.solution.settings import HANDS, solve_settings

__all__ = ["dry_fit", "expectations"]

#: Half a degree, or 0.3 mm: twice the widest glue line over any stock worth a joint.
SLIPS = {"swivel_deg": 0.5, "tilt_deg": 0.5, "depth_mm": 0.3, "travel_mm": 0.3}
GAP_MM = 1e-3  # a hundredth of what a shop can set; the proof's own limit
OVERLAP_FRACTION = 1e-6


def dry_fit(subject: Subject, notes: Notes) -> None:
    """examples and random joints go together: no overlap beyond the fit and no gap beyond it"""
    widest = fraction = 0.0
    for joint, fixture in subject.benches:
        for hand in HANDS:
            fit = put_together(solve_settings(joint, fixture, hand).to_dict())
            widest = max(widest, fit.gap_mm)
            fraction = max(fraction, fit.overlap_fraction)
            whole = fit.gap_mm <= GAP_MM and fit.overlap_fraction <= OVERLAP_FRACTION
            if fit.verdict != "fits" or not whole:
                said = "; ".join(_said(f) for f in fit.faults[:2])
                notes.fault(f"{hand}: {fit.verdict}: {said} ({plain(joint)})")
    draws = subject.draws
    kept = len(draws.parameters)
    notes.did(
        f"{len(subject.examples)} examples and {kept} random joints near them (of "
        f"{draws.tries} drawn), both hands: widest gap {widest:.1e} mm beyond the fit, overlap "
        f"{fraction:.1e} of the joint"
    )
    if kept < subject.wanted:
        notes.fault(
            f"only {kept} of {draws.tries} joints drawn near the examples are taken and "
            f"feasible; {subject.wanted} are wanted. At last: {draws.last}"
        )


def _said(finding: Any) -> str:
    measured = "nothing" if finding.measured is None else f"{finding.measured:.4g}"
    return f"{finding.what}: {measured} {finding.unit}, expected {finding.expected:.4g}"


def expectations(subject: Subject, notes: Notes) -> None:
    """a slip of a setting shows in the dry fit, and no stated gap is wider than the fit"""
    shown = 0
    for joint in subject.examples:
        settings = solve_settings(joint, subject.wide).to_dict()
        for name, size in SLIPS.items():
            for slip in (size, -size):
                shown += 1
                if put_together(settings, {name: slip}).verdict == "fits":
                    notes.fault(f"{name} off by {slip:+g} and the joint is still said to fit")
    for joint in subject.cases:
        fit = abs(float(getattr(joint, "fit_mm", 0.0)))
        for pair in _contacts(joint, subject):
            if abs(pair["gap_mm"]) > fit + GAP_MM:
                a, b = (face["name"] for face in pair["contact"])
                notes.fault(
                    f"{a} to {b}: a gap of {pair['gap_mm']:.4f} mm is stated, and fit_mm gives "
                    f"{fit:.4f} mm"
                )
    if "fit_mm" in {i.name for i in subject.fields}:
        _fit_at_work(subject, notes)
    notes.did(f"{shown} slips in {len(subject.examples)} examples; gaps of all joints")


def _contacts(joint: JointType, subject: Subject) -> list[dict[str, Any]]:
    expect = solve_settings(joint, subject.wide).to_dict()["expect"]
    return [e for e in expect if "contact" in e]


def _fit_at_work(subject: Subject, notes: Notes) -> None:
    """Looser by 0.2 mm: some stated gap must grow, and none by more than that."""
    for joint in subject.examples:
        fit: float = getattr(joint, "fit_mm")  # noqa: B009 - not every joint type has it
        try:
            looser = subject.cls(**(plain(joint) | {"fit_mm": fit + 0.2}))
        except InputError:
            continue
        gaps = [[c["gap_mm"] for c in _contacts(j, subject)] for j in (joint, looser)]
        grown = max(b - a for a, b in zip(*gaps, strict=True)) if gaps[0] else 0.0
        if not 1e-9 < grown <= 0.2 + 1e-9:
            notes.fault(f"fit_mm looser by 0.2 mm opens the widest stated gap by {grown:.4f} mm")
