"""Whether what a type wants cut lies in the wood it says there is.

Knows the contract's values and the plain geometry of a blank. Taken from ``parts()`` and
not from settings: the solver drops a channel that meets no wood, and so would hide it.
"""

from __future__ import annotations

import numpy as np

from jointgeo.conformance.report import Notes
from jointgeo.conformance.subject import Subject
from jointgeo.fixtures.model import Fixture
from jointgeo.geometry.rotations import Array
from jointgeo.joints.contract import Notch, Part
from jointgeo.planning.blank import corner_points, edge_heights, extent_across, section_corners
from jointgeo.planning.setups import plan_end

__all__ = ["notches_in_stock"]

#: A channel may end where the wood does: beside a piece as wide as the stock nothing is cut.
CLEAR_MM = 1e-6


def notches_in_stock(subject: Subject, notes: Notes) -> None:
    """every channel meets wood, the trim lies inside the blank, and no cut is as deep as it"""
    channels = 0
    for joint in subject.cases:
        for fixture in subject.fixtures:
            for drawn in joint.parts():
                for part in (drawn, drawn.mirrored()):
                    channels += _look(part, fixture, notes)
    notes.did(f"{channels} channels in {len(subject.cases)} joints, both hands, two fixtures")


def _look(part: Part, fixture: Fixture, notes: Notes) -> int:
    """The number of channels looked at. Both notches and z = 0 are the blank's here."""
    if not part.notches:
        return 0
    plan = plan_end(part, fixture)
    corners = section_corners(part.width_mm, part.thickness_mm)
    up = np.array([0.0, 0.0, plan.allowance_mm])
    for number, notch in enumerate(part.notches, 1):
        moved = Notch(notch.frame, notch.origin_mm + up, notch.channels)
        where = f"part {part.name}, notch {number}"
        trim = edge_heights(moved.frame, moved.origin_mm, 0.0, corners)
        if trim.min() <= 0 or trim.max() >= plan.blank_mm:
            notes.fault(
                f"{where}: the trim plane meets the long edges at {trim.round(3).tolist()} mm, "
                f"outside the blank of {plan.blank_mm:.3f} mm"
            )
        end = corner_points(moved, 0.0, plan.corners)
        for channel in notch.channels:
            low, high = extent_across(moved, end, 0.0, channel.depth_mm)
            if min(high, channel.high_mm) - max(low, channel.low_mm) < -CLEAR_MM:
                notes.fault(
                    f"{where}: the channel from {channel.low_mm:.6g} to {channel.high_mm:.6g} mm "
                    f"meets no wood, which lies from {low:.3f} to {high:.3f} mm"
                )
            floor: Array = edge_heights(moved.frame, moved.origin_mm, channel.depth_mm, corners)
            if floor.max() >= plan.blank_mm:
                notes.fault(
                    f"{where}: a depth of {channel.depth_mm:.3f} mm reaches past the far end of "
                    f"the blank of {plan.blank_mm:.3f} mm"
                )
    return sum(len(n.channels) for n in part.notches)
