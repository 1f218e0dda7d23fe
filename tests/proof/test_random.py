"""Random joints of the shipped types, solved, cut and put together: all of them must fit.

Limits: overlap and open space 1e-6 of the joint's volume, gaps 1e-3 mm. Measured: 1e-14
of the volume and 1e-10 mm, so either limit is far above the kernel's rounding, and a
mistake of a hundredth of a degree over 50 mm (9e-3 mm) is far above the limits.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

import jointgeo
from jointgeo.proof import DryFit, dry_fit

from .random_joints import DRAWS, interference, joints

FIXTURE = jointgeo.load_fixture("porch")
NUMBER = 240  # of each type; every other one mirrored
SHARE = 1e-6
GAP_MM = 1e-3


def solved(joint: jointgeo.JointType, index: int) -> dict[str, Any]:
    hand: Any = ("as_drawn", "mirrored")[index % 2]
    return jointgeo.solve_settings(joint, FIXTURE, hand).to_dict()


def assert_fits(fit: DryFit, joint: jointgeo.JointType) -> None:
    assert fit.faults == (), joint
    assert fit.overlap_fraction <= SHARE, joint
    assert fit.gap_mm <= GAP_MM, joint
    assert fit.press_mm <= GAP_MM, joint
    assert sum(p.open_mm3 for p in fit.pairs) <= SHARE * fit.joint_mm3, joint


@pytest.mark.parametrize("name", DRAWS)
def test_random_joints_fit(name: str) -> None:
    for index, joint in enumerate(joints(name, NUMBER, seed=7)):
        assert_fits(dry_fit(solved(joint, index)), joint)


@pytest.mark.parametrize("name", DRAWS)
def test_random_joints_fit_with_interference(name: str) -> None:
    """The planned overlap is there, lies where it is planned, and nothing else overlaps."""
    for index, joint in enumerate(joints(name, NUMBER // 6, seed=8, fit=interference)):
        fit = dry_fit(solved(joint, index))
        assert_fits(fit, joint)
        assert fit.interference_mm3 > SHARE * fit.joint_mm3, joint


def test_the_draws_reach_the_whole_range() -> None:
    """Both signs and steep angles of every kind, thick and thin, many passes: or the random
    test says less than it seems to."""
    lists: dict[str, list[Any]] = {n: joints(n, NUMBER, seed=7) for n in DRAWS}
    spans = [
        ("splayed_bridle", "splay_along_deg", -50, 50),
        ("splayed_bridle", "splay_across_deg", -50, 50),
        ("angled_tenon", "width_angle_deg", -50, 50),
        ("angled_tenon", "thickness_angle_deg", -50, 50),
        ("angled_box_joint", "slope_deg", -60, 60),
        ("angled_box_joint", "plan_corner_deg", 30, 160),
    ]
    for name, field, low, high in spans:
        values = np.array([getattr(j, field) for j in lists[name]])
        assert values.min() < low, field
        assert values.max() > high, field
    for name, drawn in lists.items():
        fits = np.array([j.fit_mm for j in drawn])
        assert 0.15 < np.mean(fits == 0) < 0.6, name
    boxes = lists["angled_box_joint"]
    assert max(abs(j.thickness_a_mm - j.thickness_b_mm) for j in boxes) > 30
    assert {j.first_finger for j in boxes} == {"a", "b"}
    tenons = lists["angled_tenon"]
    assert {j.parallel_to for j in tenons} == {"face_side", "face_edge"}
    assert sum(j.haunch_depth_mm > 0 for j in tenons) > NUMBER / 4
    for name, drawn in lists.items():
        cuts = [
            cut
            for index, joint in enumerate(drawn[:40])
            for part in solved(joint, index)["parts"]
            for setup in part["setups"]
            for cut in setup["cuts"]
        ]
        assert max(len(cut["passes"]) for cut in cuts) >= 5, name


def test_a_shoulder_narrower_than_the_cutter_leaves_the_tenon_whole() -> None:
    """Three shoulders of 2 mm and one of 20 under a cutter of 3.2 or 6 mm: whichever stands
    on the right, the one pass there must run out of the wood and not into the tenon."""
    for offset_width, offset_thickness in ((9, 0), (-9, 0), (0, 0)):
        joint = jointgeo.joint_type("angled_tenon")(
            rail_width_mm=62,
            rail_thickness_mm=24,
            rail_length_mm=300,
            tenon_length_mm=20,
            tenon_width_mm=40,
            tenon_thickness_mm=20,
            tenon_offset_width_mm=offset_width,
            tenon_offset_thickness_mm=offset_thickness,
            mortised_thickness_mm=40,
            mortised_width_mm=60,
        )
        for index in (0, 1):
            fit = dry_fit(solved(joint, index))
            assert_fits(fit, joint)
            # 24·62·(300 + 20) less the shoulders' 24·62 - 20·40 over a length of 20.
            assert fit.parts["rail"].volume_mm3 == pytest.approx(462_400, abs=1e-3)


def test_an_infeasible_joint_is_fitted_all_the_same() -> None:
    """Six sloping sides lie beyond the fixture's tilt; cut on a wider one they would fit."""
    joint = jointgeo.joint_type("angled_box_joint")(
        board_width_mm=160,
        thickness_a_mm=18,
        thickness_b_mm=18,
        length_a_mm=260,
        length_b_mm=260,
        plan_corner_deg=120,
        slope_deg=20,
        finger_count=5,
    )
    assert not jointgeo.check_feasibility(joint, FIXTURE).feasible
    assert_fits(dry_fit(solved(joint, 0)), joint)
