"""One joint of each shipped type with its settings, for tests to spoil. Each leans both ways."""

from __future__ import annotations

from typing import Any

import pytest

import jointgeo
from jointgeo.proof import dry_fit
from jointgeo.types.angled_box_joint import AngledBoxJoint
from jointgeo.types.angled_tenon import AngledTenon
from jointgeo.types.splayed_bridle import SplayedBridle

__all__ = ["BOX", "BRIDLE", "GOOD", "TENON", "Settings", "faults", "named", "setups", "solved"]

Settings = dict[str, Any]
FIXTURE = jointgeo.load_fixture("porch")

BRIDLE = SplayedBridle(
    leg_width_mm=66,
    leg_thickness_mm=44,
    leg_length_mm=430,
    rail_thickness_mm=30,
    tongue_thickness_mm=22,
    rail_depth_mm=60,
    rail_length_mm=900,
    splay_along_deg=12,
    splay_across_deg=8,
    fit_mm=0.1,
)
TENON = AngledTenon(
    rail_width_mm=70,
    rail_thickness_mm=24,
    rail_length_mm=380,
    width_angle_deg=5,
    thickness_angle_deg=8,
    tenon_length_mm=25,
    tenon_width_mm=40,
    tenon_thickness_mm=9,
    tenon_offset_width_mm=-4,
    tenon_offset_thickness_mm=1,
    mortised_thickness_mm=42,
    mortised_width_mm=42,
    haunch_depth_mm=8,
    fit_mm=0.1,
)
BOX = AngledBoxJoint(
    board_width_mm=150,
    thickness_a_mm=18,
    thickness_b_mm=16,
    length_a_mm=320,
    length_b_mm=320,
    plan_corner_deg=100,
    slope_deg=15,
    finger_count=7,
    fit_mm=0.1,
)
GOOD: dict[str, jointgeo.JointType] = {j.name: j for j in (BRIDLE, TENON, BOX)}
named = pytest.mark.parametrize("joint", GOOD.values(), ids=GOOD)


def solved(joint: jointgeo.JointType, hand: Any = "as_drawn") -> Settings:
    """The joint's settings as plain data, worked out anew each time."""
    return jointgeo.solve(joint, FIXTURE, hand).settings_dict(aids=False)


def faults(settings: Settings) -> dict[str, Any]:
    """What was wrong, by name; the verdict must say so."""
    fit = dry_fit(settings)
    assert fit.verdict == "does not go together"
    return {f.what: f for f in fit.faults}


def setups(settings: Settings) -> list[tuple[int, int]]:
    return [(i, j) for i, p in enumerate(settings["parts"]) for j in range(len(p["setups"]))]
