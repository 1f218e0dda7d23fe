"""Holding and cutting: statics by hand, which way things turn, and what a file does not state."""

from __future__ import annotations

import math
from typing import Any

import attrs
import numpy as np
import pytest
from scipy.spatial.transform import Rotation

import jointgeo
from jointgeo.checks.context import Context
from jointgeo.checks.cutting import depth_steps
from jointgeo.checks.holding import clamp_need_n
from jointgeo.errors import FixtureError
from jointgeo.fixtures.model import Fixture
from jointgeo.joints.check import questions, unanswered, worst
from jointgeo.joints.fit import tight_fit
from jointgeo.planning.end_plan import plan_end

from .check_cases import hanging, shank_cutter
from .samples import Sample, checks_of, fixture_with, part_at, solved, turn

UNSTATED = {
    f"{path}": None
    for path in (
        *("fence.z_min_mm", "fence.z_max_mm", "clamp.z_mm", "clamp.force_n"),
        *("cutter.0.depth_per_pass_mm", "cutter.0.top_moves", "cutter.0.rpm", "cutter.0.power_w"),
    )
}
ASKED = {
    *("fence_contact", "clamp_contact", "clamp_force", "bending"),
    *("depth_per_pass", "trim_per_pass", "climb_cut", "exit_backing"),
}


def pinned(**tool: Any) -> Fixture:
    """A pin of 6 mm that reaches 60 mm."""
    cutter = shank_cutter(6)["cutter"][0] | tool
    return fixture_with({"cutter": [cutter]})


def test_the_clamp_s_share_by_statics() -> None:
    """h 300, o 93, z 155 mm, F 100 N: F(h + o)/(h - z) = 271, F·o/z = 60, F/2μ = 200 N."""
    plate = {"plate.height_mm": 300, "clamp.z_mm": 155, "practice.clearance_mm": 0}
    part = part_at(length_mm=600, channels=[(-5, 5, 92)])
    fixture = fixture_with(plate)
    plan = plan_end(part, fixture)
    context = Context(fixture, plan, plan.setups[0])
    assert plan.setups[0].chosen.clamped.overhang_mm == pytest.approx(93, abs=1e-9)
    need, how = clamp_need_n(context, 100, pushed_on=False)
    assert need == pytest.approx(271.03, abs=0.01)  # 100·393/145 N
    assert "off" in how
    assert clamp_need_n(context, 100, pushed_on=True)[0] == pytest.approx(200, abs=1e-9)
    # With the clamp 40 mm up pushing counts: 100·93/40 = 232.5 N.
    low = attrs.evolve(context, fixture=fixture_with(plate | {"clamp.z_mm": 40}))
    assert clamp_need_n(low, 100, pushed_on=True)[0] == pytest.approx(232.5, abs=1e-9)


@pytest.mark.parametrize(
    ("wide", "deep", "overhang", "bends"), [(66, 44, 93, 0.0057), (150, 12, 95, 0.1323)]
)
def test_bending_by_hand(wide: float, deep: float, overhang: float, bends: float) -> None:
    """F·o³/(3·E·I) at 100 N and 10 GPa, to 0.0001 mm."""
    fixture = fixture_with({"cutter.0.power_w": 100 * math.pi * 0.3 * 2800 / 60})
    part = part_at(
        width_mm=wide, thickness_mm=deep, channels=[(-5, 5, overhang - 4)], length_mm=600
    )
    assert checks_of(part, fixture)["bending"].value == pytest.approx(bends, abs=1e-4)


@pytest.mark.parametrize(("swivel", "tilt"), [(12.0, 9.0), (-20.0, 4.0), (0.0, 15.0)])
def test_contact_with_a_swivelled_fence(swivel: float, tilt: float) -> None:
    """The fence's ends, turned about the pivot and swung about the hinge, brought back to stock.

    The fence reaches beyond the stock, so that the stock's far end and its place bound contact.
    """
    fixture = fixture_with({"fence.z_min_mm": 70, "fence.z_max_mm": 600})
    part = part_at(swivel, tilt)
    plan = plan_end(part, fixture)
    stand = plan.setups[0].chosen.clamped
    pivot, hinge = np.array([0, 0, 60.0]), np.array([0, 0, 300.0])
    lean = Rotation.from_euler("X", -tilt, degrees=True).as_matrix()
    ends = []
    for z in (70.0, 600.0):
        turned = pivot + turn(swivel, 0) @ (np.array([-20.0, -18.0, z]) - pivot)
        machine = hinge + lean @ (turned - hinge)
        ends.append((turn(swivel, tilt).T @ (machine - np.array(stand.at)))[2])
    low, high = max(ends[0], 0.0), min(ends[1], plan.blank_mm)
    assert ends[0] > 0
    assert ends[1] > plan.blank_mm
    found = checks_of(part, fixture)["fence_contact"].value
    assert found == pytest.approx(high - low, abs=1e-9)


def test_a_short_piece_does_not_reach_the_fence_s_end() -> None:
    found = checks_of(part_at(length_mm=123), fixture_with())["fence_contact"]
    assert found.value == pytest.approx(100, abs=1e-9)  # 124 mm of blank, 24 of them below


@pytest.mark.parametrize(
    ("feed", "top", "climbing", "pushed_on"),
    [
        ("towards_plate", "towards_plate", False, True),
        ("towards_plate", "away_from_plate", True, False),
        ("away_from_plate", "towards_plate", True, True),
        ("away_from_plate", "away_from_plate", False, False),
    ],
)
def test_which_way_a_disc_cuts_and_pushes(
    feed: str, top: str, climbing: bool, pushed_on: bool
) -> None:
    """The tooth at the top goes with the feed (conventional) or against it (climb).

    It pushes the wood the way it goes. One cut and the trim are made.
    """
    found = checks_of(
        part_at(), fixture_with({"feed.sense": feed, "cutter.0.top_moves": top, "clamp.z_mm": 5})
    )
    assert found["climb_cut"].value == (2 if climbing else 0)
    assert found["climb_cut"].status == ("caution" if climbing else "pass")
    assert ("on to" in found["clamp_force"].because) == pushed_on


@pytest.mark.parametrize(
    ("feed", "turns", "climbing"),
    [
        ("towards_plate", "anticlockwise", False),
        ("towards_plate", "clockwise", True),
        ("away_from_plate", "anticlockwise", True),
        ("away_from_plate", "clockwise", False),
    ],
)
def test_order_of_passes_for_a_shank_cutter(feed: str, turns: str, climbing: bool) -> None:
    """Fresh wood is on the right after the first pass: it moves against the feed in climbing.

    A tooth at the right of a shank cutter that turns anticlockwise goes away from you, so that fed
    away from you it goes with the feed, as a disc's top tooth does in conventional cutting.
    """
    tool = shank_cutter(6)["cutter"][0] | {"turns": turns}
    found = checks_of(part_at(), fixture_with({"cutter": [tool], "feed.sense": feed}))["climb_cut"]
    assert found.status == ("caution" if climbing else "pass")
    assert [r.do for r in found.remedies] == (["right_to_left"] if climbing else [])


def test_a_deep_pin_does_not_pass_silently() -> None:
    """6 mm and 45 mm deep: not stated without a depth per pass; with 3 mm, 15 steps of 3 mm."""
    part = part_at(channels=[(-5, 5, 45)])
    silent = checks_of(part, pinned())
    assert silent["depth_per_pass"].status == "not_stated"
    assert "cutter.depth_per_pass_mm" in silent["depth_per_pass"].because
    stated = checks_of(part, pinned(depth_per_pass_mm=3))["depth_per_pass"]
    assert stated.status == "caution"
    assert stated.remedies[0].amounts == {"steps": 15, "step_mm": pytest.approx(3.0, abs=1e-12)}


def test_steps_of_depth() -> None:
    assert depth_steps(45, None) == (45,)
    assert depth_steps(45, 45) == (45,)
    assert depth_steps(45, 20) == pytest.approx((15, 30, 45), abs=1e-12)
    assert depth_steps(0.3, 0.1) == pytest.approx((0.1, 0.2, 0.3), abs=1e-12)  # rounding is no step


def test_heights_of_each_step() -> None:
    """45 mm by at most 20 in three steps of 15; a trim of 31 mm (60·sin 30° + 1) in two."""
    fixture = fixture_with({"cutter.0.depth_per_pass_mm": 20})
    (setup,) = solved(part_at(30, channels=[(-5, 5, 45)]), fixture).setups
    found = setup.heights
    top = found.trim_mm
    assert found.trim_steps_mm == pytest.approx((top - 15.5, top), abs=1e-9)
    assert found.cuts == ((45.0, pytest.approx(top + 45, abs=1e-9)),)
    assert found.steps_mm == (pytest.approx((top + 15, top + 30, top + 45), abs=1e-9),)
    (whole,) = solved(part_at(), fixture_with({"cutter.0.depth_per_pass_mm": None})).setups
    assert whole.heights.trim_steps_mm == (whole.heights.trim_mm,)
    assert whole.heights.steps_mm == ((whole.heights.trim_mm + 20,),)


@pytest.mark.parametrize(
    ("fit_mm", "status"),
    [(-1, "caution"), (-0.481, "caution"), (-0.48, "pass"), (0, "pass"), (1, "pass")],
)
def test_interference_that_crushes_a_tenon_of_24_mm(fit_mm: float, status: str) -> None:
    """2 % of 24 mm are 0.48 mm (our choice, no published source)."""
    check = tight_fit(fit_mm, 24)
    assert check.status == status
    assert check.limit == pytest.approx(0.48, abs=1e-12)


@pytest.mark.parametrize("path", sorted(UNSTATED))
def test_an_absent_key_is_a_question_and_never_a_pass(path: str) -> None:
    found = checks_of(part_at(), fixture_with({path: None}))
    key = path.replace(".0.", ".")
    asking = [c for c in found.values() if c.status == "not_stated"]
    assert asking
    for check in asking:
        assert key in check.because
        assert key in check.remedies[0].amounts["keys"]
        assert check.margin == 0.0


def test_what_is_not_stated_stands_beside_the_verdict() -> None:
    found = tuple(checks_of(part_at(), fixture_with(UNSTATED)).values())
    assert {c.name for c in found if c.status == "not_stated"} == ASKED
    assert unanswered(found + found) == len(ASKED)  # in two setups it is still one question
    assert worst(found) == "pass"
    assert questions(0) == ""
    assert questions(1) == "; 1 question the fixture file does not answer"
    assert questions(8) == "; 8 questions the fixture file does not answer"


def test_a_whole_fixture_leaves_no_question_open() -> None:
    """The one that ships states all; less of it is still an answer, and counts what is missing."""
    porch = jointgeo.load_fixture("porch")
    dumb = attrs.evolve(porch, clamp=attrs.evolve(porch.clamp, z_mm=None, force_n=None))
    whole = jointgeo.solve(Sample(), porch).feasibility_dict()
    assert (whole["feasible"], whole["not_stated"]) == (True, 0)
    less = jointgeo.solve(Sample(), dumb).feasibility_dict()
    assert (less["feasible"], less["not_stated"]) == (True, 2)
    assert less["status"] == whole["status"]


def test_a_clamp_above_the_stock_holds_nothing() -> None:
    """124 mm of blank, 24 of them below the plate: 100 mm lie on it, 50 short of the clamp."""
    found = checks_of(part_at(length_mm=123), fixture_with({"clamp.z_mm": 150}))
    check = found["clamp_contact"]
    assert (check.status, check.value) == ("fail", pytest.approx(100, abs=1e-9))
    assert "clamp_force" not in found
    assert {r.do: r.amounts for r in check.remedies} == {
        "longer_stock": {"length_by_mm": pytest.approx(50, abs=1e-9)},
        "lower_clamp": {"z_mm": pytest.approx(100, abs=1e-9)},
    }
    longer = checks_of(part_at(length_mm=123 + 50), fixture_with({"clamp.z_mm": 150}))
    assert longer["clamp_contact"].status == "pass"


def test_one_clamp_of_two_that_meets_the_stock_is_a_caution() -> None:
    fixture = fixture_with({"clamp.z_mm": 90, "clamp.second_z_mm": 150})
    found = checks_of(part_at(length_mm=123), fixture)
    assert (found["clamp_contact"].status, found["clamp_force"].status) == ("caution", "pass")


def test_no_stock_is_long_enough_for_a_clamp_above_the_plate() -> None:
    found = checks_of(part_at(), fixture_with({"plate.height_mm": 200, "clamp.z_mm": 250}))
    assert found["clamp_contact"].status == "fail"
    assert [r.do for r in found["clamp_contact"].remedies] == ["lower_clamp"]


def test_two_clamps_share_the_friction() -> None:
    """25.01 N at the rim, friction 0.25 on both sides of two clamps: 25.01 N each."""
    found = checks_of(hanging(400), fixture_with({"clamp.z_mm": 200, "clamp.second_z_mm": 250}))
    assert found["clamp_force"].limit == pytest.approx(25.01, abs=0.01)


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"cutter.0.turns": "clockwise"}, "cutter[0].turns"),
        (
            {"cutter": [shank_cutter(6)["cutter"][0] | {"top_moves": "towards_plate"}]},
            "cutter[0].top_moves",
        ),
        ({"fence.z_max_mm": -1}, "fence.z_min_mm"),
        ({"clamp.z_mm": None, "clamp.second_z_mm": 200}, "clamp.second_z_mm"),
        ({"clamp.second_z_mm": 100}, "clamp.z_mm"),
        ({"cutter.0.rpm": 0}, "cutter[0].rpm"),
    ],
)
def test_keys_that_contradict_each_other(changes: dict[str, Any], field: str) -> None:
    with pytest.raises(FixtureError) as caught:
        fixture_with(changes)
    assert [p.field for p in caught.value.problems] == [field]
