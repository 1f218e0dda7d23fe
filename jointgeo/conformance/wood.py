"""Whether what a type wants cut lies in the wood it says there is.

Knows drawings, stock and the plain geometry of a blank. Taken from the drawing and not from
settings: the solver drops a channel that meets no wood, and so would hide it.
"""

from __future__ import annotations

import attrs

from jointgeo.conformance.report import Notes
from jointgeo.conformance.subject import Subject
from jointgeo.fixtures.model import Fixture
from jointgeo.geometry.vectors import Z
from jointgeo.joints.stock import Part, StockNotch, parts
from jointgeo.planning.blank import corner_points, extent_across, heights
from jointgeo.planning.end_plan import EndPlan, plan_end

__all__ = ["notches_in_stock"]

#: A channel may end where the wood does: beside a piece as wide as the stock nothing is cut.
CLEAR_MM = 1e-6


def notches_in_stock(subject: Subject, notes: Notes) -> None:
    """every channel meets wood, the trim lies inside the blank, and no cut is as deep as it"""
    channels = 0
    for joint in subject.cases:
        for fixture in subject.fixtures:
            for drawing in (joint.drawing, joint.drawing.mirrored):
                channels += sum(_look(part, fixture, notes) for part in parts(drawing))
    notes.did(f"{channels} channels in {len(subject.cases)} joints, both hands, two fixtures")


def _look(part: Part, fixture: Fixture, notes: Notes) -> int:
    """The number of channels looked at. Both notches and z = 0 are the blank's here."""
    if not part.notches:
        return 0
    plan = plan_end(part, fixture)
    for number, notch in enumerate(part.notches, 1):
        moved = attrs.evolve(notch, at=notch.at + Z * plan.allowance_mm)
        for fault in _faults(moved, plan):
            notes.fault(f"part {part.name}, notch {number}: {fault}")
    return sum(len(n.channels) for n in part.notches)


def _faults(notch: StockNotch, plan: EndPlan) -> list[str]:
    found = []
    trim = heights(notch.rows[2], notch.at, 0.0, plan.corners)
    if min(trim) <= 0 or max(trim) >= plan.blank_mm:
        at = ", ".join(f"{z:.3f}" for z in trim)
        found.append(
            f"the trim plane meets the long edges at {at} mm, outside the blank of "
            f"{plan.blank_mm:.3f} mm"
        )
    end = corner_points(notch, 0.0, plan.corners)
    for channel in notch.channels:
        low, high = extent_across(notch, end, 0.0, channel.depth)
        if min(high, channel.high) - max(low, channel.low) < -CLEAR_MM:
            found.append(
                f"the channel from {channel.low:.6g} to {channel.high:.6g} mm meets no wood, "
                f"which lies from {low:.3f} to {high:.3f} mm, from the middle of the end"
            )
        floor = heights(notch.rows[2], notch.at, channel.depth, plan.corners)
        if max(floor) >= plan.blank_mm:
            found.append(
                f"a depth of {channel.depth:.3f} mm reaches past the far end of the blank of "
                f"{plan.blank_mm:.3f} mm"
            )
    return found
