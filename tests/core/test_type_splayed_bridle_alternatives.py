"""A leg that fouls the front beam clears it by a smaller splay or thinner stock.

The beam check's own remedies, worked out another way, name the same: 41.0 mm from plate to you, and
a tilt of 19.31°, which this joint's splay along the rail is.
"""

from __future__ import annotations

import attrs
import pytest

import jointgeo
from jointgeo.solution.alternatives import alternatives

PORCH = jointgeo.load_fixture("porch")
LEG = jointgeo.joint_type("splayed_bridle").examples()[0]


def test_a_beam_is_cleared_by_a_smaller_angle_or_thinner_stock() -> None:
    found = {a.name: a.value for a in alternatives(attrs.evolve(LEG, splay_along_deg=20), PORCH)}
    assert found["splay_along_deg"] == pytest.approx(19.3, abs=1e-9)  # rounded towards more room
    assert found["leg_thickness_mm"] == pytest.approx(41.0, abs=1e-9)


def test_no_more_than_are_asked_for() -> None:
    joint = attrs.evolve(LEG, splay_along_deg=20)
    every = alternatives(joint, PORCH)
    assert len(every) == 2
    assert alternatives(joint, PORCH, most=1) == every[:1]
