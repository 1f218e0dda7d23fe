"""One joint of each shipped type, solved, for tests to spoil. Each leans both ways."""

from __future__ import annotations

from typing import Any

import pytest

import jointgeo
from jointgeo.proof import dry_fit

FIXTURE = jointgeo.load_fixture("porch")
Settings = dict[str, Any]

BRIDLE = jointgeo.joint_type("splayed_bridle")(
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
TENON = jointgeo.joint_type("angled_tenon")(
    rail_width_mm=70,
    rail_thickness_mm=24,
    rail_length_mm=380,
    width_angle_deg=5,
    thickness_angle_deg=8,
    tenon_length_mm=25,
    tenon_width_mm=45,
    tenon_thickness_mm=9,
    mortised_thickness_mm=42,
    mortised_width_mm=42,
    fit_mm=0.1,
)
BOX = jointgeo.joint_type("angled_box_joint")(
    board_width_mm=150,
    thickness_a_mm=18,
    thickness_b_mm=14,
    length_a_mm=320,
    length_b_mm=320,
    plan_corner_deg=75,
    slope_deg=15,
    finger_count=7,
    fit_mm=0.1,
)
JOINTS = {j.name: j for j in (BRIDLE, TENON, BOX)}
named = pytest.mark.parametrize("joint", JOINTS.values(), ids=JOINTS)


def solved(joint: jointgeo.JointType) -> Settings:
    return jointgeo.solve_settings(joint, FIXTURE).to_dict()


def faults(settings: Settings) -> dict[str, Any]:
    """What was wrong, by name; the verdict must say so."""
    fit = dry_fit(settings)
    assert fit.verdict == "does not fit"
    return {f.what: f for f in fit.faults}


def setups(settings: Settings) -> list[tuple[int, int]]:
    return [(i, j) for i, p in enumerate(settings["parts"]) for j in range(len(p["setups"]))]
