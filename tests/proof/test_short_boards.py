"""Corners of boards that are shorter than their ends lean: rims are planed out to the tips."""

from __future__ import annotations

from math import cos, radians, sin

import pytest

from jointgeo.proof import dry_fit
from jointgeo.types.angled_box_joint import AngledBoxJoint

from .samples import solved

EXACT = 1e-6  # mm: rounding of the kernel over 300 mm


@pytest.mark.parametrize("length", [40, 70])
@pytest.mark.parametrize(("plan", "slope"), [(60, 30), (45, 30), (60, 40)])
def test_no_tip_stands_above_its_rim(plan: float, slope: float, length: float) -> None:
    """A board of 15 mm that leans out by s has the arris of its back 15·sin s above that of its
    outside; level rims go through the back's below and through the outside's above."""
    joint = AngledBoxJoint(
        board_width_mm=200,
        thickness_a_mm=15,
        thickness_b_mm=15,
        length_a_mm=length,
        length_b_mm=length,
        plan_corner_deg=plan,
        slope_deg=slope,
        finger_count=5,
    )
    fit = dry_fit(solved(joint))
    assert fit.faults == ()
    heights = 15 * sin(radians(slope)), 200 * cos(radians(slope))
    for part in fit.assembly:
        assert part.mesh.extents_mm[:, 2] == pytest.approx(heights, abs=EXACT)
