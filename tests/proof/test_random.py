"""Random joints of the shipped types, solved, cut and put together: the laws hold of all.

Limits are the laws' own, 0.05 mm³ and 0.001 mm. What is measured beside them says how far off they
are: volumes of WORST_MM3 and less, gaps 1e-8 mm and less.
"""

from __future__ import annotations

import time
from typing import Any

import attrs
import numpy as np
import pytest

import jointgeo
from jointgeo.proof import DryFit, dry_fit

from .random_joints import DRAWS, interference, joints
from .samples import BOX
from .samples import solved as settings_of

NUMBER = 120  # of each type; every other one mirrored
WORST_MM3 = 0.01  # of any volume that should be none; the limit is 0.05
FITTED = [n for n in DRAWS if n != "angled_butt"]  # an end that is only trimmed has no fit
WORST_MM = 1e-6  # of any gap; the limit is 0.001


def solved(joint: jointgeo.JointType, index: int) -> dict[str, Any]:
    return settings_of(joint, ("as_drawn", "mirrored")[index % 2])


def assert_fits(fit: DryFit, joint: jointgeo.JointType) -> None:
    assert fit.faults == (), joint
    assert fit.gap_mm <= WORST_MM, joint
    assert fit.press_mm <= WORST_MM, joint
    none = [f for f in fit.findings if f.unit == "mm3" and "in its way" not in f.what]
    assert max(f.measured or 0.0 for f in none) <= WORST_MM3, joint


@pytest.mark.parametrize("name", DRAWS)
def test_the_laws_hold_of_random_joints(name: str) -> None:
    for index, joint in enumerate(joints(name, NUMBER, seed=7)):
        assert_fits(dry_fit(solved(joint, index)), joint)


@pytest.mark.parametrize("name", FITTED)
def test_the_laws_hold_of_random_joints_with_interference(name: str) -> None:
    """The planned overlap is there, lies where it is planned, and nothing else overlaps."""
    for index, joint in enumerate(joints(name, NUMBER // 3, seed=8, fit=interference)):
        fit = dry_fit(solved(joint, index))
        assert_fits(fit, joint)
        assert fit.interference_mm3 > 1e-6 * fit.joint_mm3, joint


def test_the_draws_reach_the_whole_range() -> None:
    """Both signs and steep angles of every kind, thick and thin, many passes: or the random
    test says less than it seems to."""
    lists: dict[str, list[Any]] = {n: joints(n, NUMBER, seed=7) for n in DRAWS}
    spans = [
        ("splayed_bridle", "splay_along_deg", -50, 50),
        ("splayed_bridle", "splay_across_deg", -50, 50),
        ("angled_tenon", "width_angle_deg", -50, 50),
        ("angled_tenon", "thickness_angle_deg", -50, 50),
        ("angled_butt", "width_angle_deg", -50, 50),
        ("angled_butt", "thickness_angle_deg", -50, 50),
        ("angled_butt", "post_turn_deg", -80, 80),
        ("angled_box_joint", "slope_deg", -60, 60),
        ("angled_box_joint", "plan_corner_deg", 30, 160),
    ]
    for name, field, low, high in spans:
        values = np.array([getattr(j, field) for j in lists[name]])
        assert values.min() < low, field
        assert values.max() > high, field
    lists = {n: lists[n] for n in FITTED}
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


def test_all_laws_take_no_longer_than_fingers_grow() -> None:
    """About linear in the number of fingers: eight times as many, at most sixteen times as long.

    Measured: seven times. Least of five rounds each, since other work slows either.
    """

    def least(fingers: int) -> float:
        joint = attrs.evolve(BOX, board_width_mm=1200, finger_count=fingers)
        settings, rounds = settings_of(joint), []
        for _ in range(5):
            start = time.process_time()
            assert dry_fit(settings).faults == ()
            rounds.append(time.process_time() - start)
        return min(rounds)

    assert least(80) < 16 * least(10)
