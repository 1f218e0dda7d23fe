"""A butt cut beyond the swivel's end comes back to it.

The end is the fixture file's own literal, 25°; by hand a shoulder that is off square in its width
alone takes that angle of swivel and no tilt.
"""

from __future__ import annotations

import attrs
import pytest

import jointgeo
from jointgeo.solution.alternatives import alternatives

PORCH = jointgeo.load_fixture("porch")
BUTT = jointgeo.joint_type("angled_butt").examples()[0]


@pytest.mark.parametrize("angle", [26.0, -26.0])
def test_an_angle_beyond_an_axis_comes_back_to_its_end_on_its_own_side(angle: float) -> None:
    joint = attrs.evolve(BUTT, width_angle_deg=angle, thickness_angle_deg=0.0)
    assert jointgeo.solve(joint, PORCH).status == "fail"
    (only,) = alternatives(joint, PORCH)
    assert (only.name, only.given) == ("width_angle_deg", angle)
    # A tenth of a degree is what is set out to.
    assert only.value == pytest.approx(25.0 if angle > 0 else -25.0, abs=0.1 + 1e-9)
    assert abs(only.value) <= 25.0
