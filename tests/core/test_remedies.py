"""A remedy's number, put into fixture or joint, makes its check pass; a hair beyond, it fails.

The sample fixture has one beam that stock of 50 mm fouls at 15°, built after what fixtures of
this kind do (common practice, no published source).
"""

from __future__ import annotations

import math
from typing import Any

import attrs
import numpy as np
import pytest

from jointgeo.fixtures.indication import shown
from jointgeo.fixtures.model import Fixture
from jointgeo.geometry.boxes import box, box_gap, turned_box
from jointgeo.joints.check import Check, Remedy
from jointgeo.joints.stock import Part
from jointgeo.planning.clamped_stock import clamp_stock
from jointgeo.planning.end_plan import plan_end

from .check_cases import only
from .samples import BEAM, checks_of, fixture_with, part_at, solved, turn

HAIR = 1e-4  # mm or degree: far below any setting, far above rounding
EXACT = 1e-9

NEAR_BEAM = {**BEAM, "name": "near", "face_distance_mm": 140.0}
SET_BACK_BEAM = {**BEAM, "name": "set-back", "face_distance_mm": 170.0, "fitted": False}
FAR_BEAM = {**BEAM, "name": "lowered", "z_max_mm": -300.0, "fitted": False}
BEAMS = [NEAR_BEAM, SET_BACK_BEAM, FAR_BEAM]


def remedies(check: Check) -> dict[str, Remedy]:
    return {r.do: r for r in check.remedies}


def status(name: str, part: Part, changes: dict[str, Any]) -> str:
    return checks_of(part, fixture_with(changes))[name].status


def fouled(**changes: Any) -> tuple[Part, dict[str, Any], Check]:
    """Stock of 50 mm at 15° of tilt in front of the straight beam."""
    part = part_at(**{"swivel_deg": 6.0, "tilt_deg": 15.0, "thickness_mm": 50.0, **changes})
    setting = {"front_beam": BEAMS}
    check = checks_of(part, fixture_with(setting))["front_beam"]
    assert check.status == "fail"
    return part, setting, check


def beams(**changes: Any) -> list[dict[str, Any]]:
    return [{**NEAR_BEAM, **changes}, SET_BACK_BEAM, FAR_BEAM]


@pytest.mark.parametrize("side", [0, 1, 2, 3])
def test_the_beam_moved_out(side) -> None:
    part, _, check = fouled(side=side)
    by = remedies(check)["move_beam_out"].amounts["by_mm"]
    assert by == pytest.approx(-check.margin, abs=EXACT)
    for more, expected in ((HAIR, "pass"), (-HAIR, "fail")):
        out = beams(face_distance_mm=140 + by + more)
        assert status("front_beam", part, {"front_beam": out}) == expected


def test_another_beam_leaves_the_gap_that_was_promised() -> None:
    part, _, check = fouled()
    offered = {
        r.amounts["beam"]: r.amounts["gap_mm"] for r in check.remedies if r.do == "other_beam"
    }
    assert set(offered) == {"set-back", "lowered"}
    fitted = [{**NEAR_BEAM, "fitted": False}, {**SET_BACK_BEAM, "fitted": True}, FAR_BEAM]
    found = checks_of(part, fixture_with({"front_beam": fitted}))["front_beam"]
    assert found.value == pytest.approx(offered["set-back"], abs=EXACT)
    assert offered["lowered"] is None  # nothing comes down to its height
    low = [{**NEAR_BEAM, "fitted": False}, SET_BACK_BEAM, {**FAR_BEAM, "fitted": True}]
    assert status("front_beam", part, {"front_beam": low}) == "pass"


def test_the_beam_taken_off() -> None:
    part, _, check = fouled()
    assert "stiff" in remedies(check)["take_beam_off"].says
    off = fixture_with({"front_beam": beams(fitted=False)})
    assert "front_beam" not in checks_of(part, off)
    fixed = fixture_with({"front_beam": beams(removable=False)})
    assert "take_beam_off" not in remedies(checks_of(part, fixed)["front_beam"])


@pytest.mark.parametrize("side", [0, 1, 2, 3])
@pytest.mark.parametrize("swivel", [0.0, 6.0, -20.0])
def test_the_greatest_thickness(side, swivel) -> None:
    """From plate to you: the width of the stock where it lies on an edge."""
    sizes = {"width_mm": 50.0, "thickness_mm": 60.0}
    _, setting, check = fouled(side=side, swivel_deg=swivel, **(sizes if side % 2 else {}))
    thin = remedies(check)["thinner_stock"].amounts["thickness_mm"]
    assert 0 < thin < 50
    for more, expected in ((0.0, "pass"), (HAIR, "fail")):
        size = {"width_mm" if side % 2 else "thickness_mm": thin + more}
        rest = {"thickness_mm": 60.0} if side % 2 else {}
        other = part_at(swivel, 15.0, side=side, **size, **rest)
        assert status("front_beam", other, setting) == expected


@pytest.mark.parametrize("swivel", [0.0, 6.0, -20.0])
@pytest.mark.parametrize("side", [0, 2])
def test_the_greatest_angle(swivel, side) -> None:
    _, setting, check = fouled(swivel_deg=swivel, side=side)
    flat = remedies(check)["lessen_angle"].amounts["tilt_deg"]
    assert 0 < flat < 15
    for more, expected in ((0.0, "pass"), (HAIR, "fail")):
        other = part_at(swivel, flat + more, side=side, thickness_mm=50.0)
        assert status("front_beam", other, setting) == expected


def test_the_greatest_angle_the_other_way() -> None:
    """A plate that tilts away swings the far end of long stock towards a beam above the hinge.

    The promise reckons with the blank as long as it is cut for the steeper angle, 12 mm more
    than the lesser one needs: it is safe, and within half a degree of the limit.
    """
    both = {"tilt.min_deg": -60, "tilt.max_deg": 0}
    high = {**BEAM, "face_distance_mm": 120.0, "z_min_mm": 450.0, "z_max_mm": 900.0}
    setting = {**both, "front_beam": [high]}
    part = part_at(0, -30.0, thickness_mm=40.0, length_mm=700)
    check = checks_of(part, fixture_with(setting))["front_beam"]
    assert check.status == "fail"
    flat = remedies(check)["lessen_angle"].amounts["tilt_deg"]
    assert -30 < flat < 0
    for more, expected in ((0.0, "pass"), (-0.5, "fail")):
        other = part_at(0, flat + more, thickness_mm=40.0, length_mm=700)
        assert status("front_beam", other, setting) == expected


def test_a_thinner_backing() -> None:
    part, setting, check = fouled(thickness_mm=38.0)
    thin = remedies(check)["thinner_backing"].amounts["backing_mm"]
    assert 0 < thin < 18
    for more, expected in ((0.0, "pass"), (HAIR, "fail")):
        assert (
            status("front_beam", part, {**setting, "backing.thickness_mm": thin + more}) == expected
        )


def test_no_stock_and_no_angle_is_promised_where_a_clamp_is_what_fouls() -> None:
    """A clamp bar 100 mm out swings into the beam, whatever the stock before it."""
    bar = {"name": "bar", "fixed_to": "tilt", "x_min_mm": -50, "x_max_mm": 50}
    bar |= {"y_min_mm": -110, "y_max_mm": -100, "z_min_mm": 0, "z_max_mm": 20}
    setting = {"front_beam": [{**NEAR_BEAM, "removable": False}], "body": [bar]}
    part = part_at(0, 15.0, thickness_mm=10.0)
    check = checks_of(part, fixture_with(setting))["front_beam"]
    assert check.status == "fail"
    offered = remedies(check)
    if "thinner_stock" in offered:
        thin = offered["thinner_stock"].amounts["thickness_mm"]
        assert status("front_beam", part_at(0, 15.0, thickness_mm=thin), setting) == "pass"
    if "thinner_backing" in offered:
        thin = offered["thinner_backing"].amounts["backing_mm"]
        assert status("front_beam", part, {**setting, "backing.thickness_mm": thin}) == "pass"
    flat = offered["lessen_angle"].amounts["tilt_deg"]
    for more, expected in ((0.0, "pass"), (HAIR, "fail")):
        other = part_at(0, flat + more, thickness_mm=10.0)
        assert status("front_beam", other, setting) == expected


@pytest.mark.parametrize("packing", [0.0, 5.0])
def test_stock_thin_enough_for_the_clamp(packing) -> None:
    setting = {"clamp.opening_mm": 40.0 + (11.2 if packing else 0.0)}
    check = checks_of(part_at(0, 5, packing), fixture_with(setting))["clamp_opening"]
    thin = remedies(check)["thinner_stock"].amounts["thickness_mm"]
    assert 0 < thin < 30
    for more, expected in ((-EXACT, "pass"), (HAIR, "fail")):
        part = part_at(0, 5, packing, thickness_mm=thin + more)
        assert status("clamp_opening", part, setting) == expected


@pytest.mark.parametrize("swivel", [0.0, 20.0, -35.0])
@pytest.mark.parametrize("limit", ["traverse.max_mm", "traverse.min_mm"])
def test_the_fence_moved(swivel, limit) -> None:
    """Exactly as far as is needed: no less does it, and no more was promised."""
    part, way = part_at(swivel, 5), 1 if limit == "traverse.min_mm" else -1
    # With one end of the travel far closer than the other, the check's value is that end's.
    close = {"traverse.min_mm": -9000, "traverse.max_mm": 9000} | {limit: -900 * way}
    reach = checks_of(part, fixture_with(close))["traverse_travel"].value
    setting = {limit: reach + 15 * way}
    check = checks_of(part, fixture_with(setting))["traverse_travel"]
    assert check.margin == pytest.approx(-15, abs=EXACT)
    by = remedies(check)["move_fence"].amounts["fence_by_mm"]
    assert np.sign(by) == way
    for more, expected in ((HAIR * way, "pass"), (-HAIR * way, "fail")):
        moved = {**setting, "fence.x_mm": -20 + by + more}
        assert status("traverse_travel", part, moved) == expected


def test_no_fence_is_moved_where_the_travel_is_too_short() -> None:
    setting = {"traverse.min_mm": 0, "traverse.max_mm": 50}
    check = checks_of(part_at(), fixture_with(setting))["traverse_travel"]
    assert check.status == "fail"
    assert check.remedies == ()


@pytest.mark.parametrize(("tilt", "low"), [(0.0, -8.0), (20.0, -45.0)])
def test_more_overhang_clears_the_clamp(tilt, low) -> None:
    """A bar on the plate that hangs too low, right over the cutter's whole travel."""
    bar = {"name": "bar", "fixed_to": "tilt", "x_min_mm": -90, "x_max_mm": 90}
    bar |= {"y_min_mm": -100, "y_max_mm": -90, "z_min_mm": low, "z_max_mm": 20}
    fixture = fixture_with({"body": [bar]})
    part = part_at(0, tilt)
    check = checks_of(part, fixture)["cutter_clearance"]
    assert check.status == "fail"
    by = remedies(check)["more_overhang"].amounts["overhang_by_mm"]
    for more, ok in ((HAIR, True), (-HAIR, False)):
        gap = gap_below_bar(part, fixture, bar, by + more)
        assert (gap >= fixture.practice.clearance_mm) == ok


def gap_below_bar(part: Part, fixture: Fixture, bar: dict[str, Any], by_mm: float) -> float:
    """Cutter to bar if the stock hangs that much further down; the bar turned by scipy."""
    plan = plan_end(part, fixture)
    (setup,) = plan.setups
    tilt = setup.chosen.tilt_deg
    overhang = setup.chosen.clamped.overhang_mm + by_mm
    lower = clamp_stock(fixture, 60, 30, plan.blank_mm, 0, tilt, overhang_mm=overhang)
    top = lower.lowest_mm + setup.trim_mm + setup.depth_mm
    cutter = box((-50, -5000, top - 300), (50, 5000, top))
    hinge = np.array([0.0, 0.0, 300.0])
    upright = box(*(tuple(bar[f"{a}_{end}_mm"] for a in "xyz") for end in ("min", "max")))
    turned = turn(0, tilt)
    centre = turned @ (np.array(upright.centre) - hinge) + hinge
    x, y, z = map(tuple, turned.T.tolist())
    return box_gap(cutter, turned_box(tuple(centre.tolist()), (x, y, z), upright.half))


def test_a_body_moved_away() -> None:
    """A ceiling 30 mm too low over upright stock: a blank of 501 mm that hangs 24 mm down."""
    ceiling = {"name": "ceiling", "fixed_to": "base", "x_min_mm": -999, "x_max_mm": 999}
    ceiling |= {"y_min_mm": -999, "y_max_mm": 999, "z_min_mm": 447.0, "z_max_mm": 999}
    part = part_at(length_mm=500)
    check = checks_of(part, fixture_with({"body": [ceiling]}))["bodies"]
    by = remedies(check)["move_body"].amounts["by_mm"]
    assert by == pytest.approx(30.0, abs=EXACT)
    for more, expected in ((HAIR, "pass"), (-HAIR, "fail")):
        higher = {**ceiling, "z_min_mm": 447.0 + by + more}
        assert status("bodies", part, {"body": [higher]}) == expected


def test_cutters_that_would_do() -> None:
    short = checks_of(part_at(30), fixture_with({"cutter.0.reach_mm": 25}))["cutter_reach"]
    reach = remedies(short)["longer_cutter"].amounts["reach_mm"]
    assert reach == pytest.approx(31.0, abs=EXACT)  # 60·sin 30° and 1 mm of trim
    assert status("cutter_reach", part_at(30), {"cutter.0.reach_mm": reach + HAIR}) == "pass"
    assert status("cutter_reach", part_at(30), {"cutter.0.reach_mm": reach - HAIR}) == "fail"
    wide = checks_of(part_at(), fixture_with({"cutter.0.kerf_mm": 12}))["socket_width"]
    kerf = remedies(wide)["narrower_cutter"].amounts["kerf_mm"]
    assert status("socket_width", part_at(), {"cutter.0.kerf_mm": kerf}) == "pass"
    assert status("socket_width", part_at(), {"cutter.0.kerf_mm": kerf + HAIR}) == "fail"


def test_how_closely_both_axes_must_be_set() -> None:
    """A glue line of 0.03 mm over 60 mm (swivel) and 30 mm (tilt), which add up when both are off:
    radians(t_swivel)·60 + radians(t_tilt)·30 = 0.03, as hard on one as on the other by their
    uncertainty, √(0.03² + 0.02²) for either and 0.03 mm of play at 230 mm for the tilt."""
    check = checks_of(part_at(), fixture_with({"practice": {"glue_line_mm": 0.03}}))["joint_closes"]
    amounts = remedies(check)["set_closer"].amounts
    swivel, tilt = amounts["swivel_within_deg"], amounts["tilt_within_deg"]
    assert math.radians(swivel) * 60 + math.radians(tilt) * 30 == pytest.approx(0.03, abs=EXACT)
    own = math.hypot(0.03, 0.02)
    play = math.degrees(math.atan(0.03 / 230))
    assert tilt / swivel == pytest.approx(math.hypot(own, play) / own, abs=1e-6)
    # What both at their limits open at once is a glue line that such a fixture would just have.
    for more, expected in ((HAIR, "pass"), (-HAIR, "caution")):
        for axis, size, within in (("swivel", 60.0, swivel), ("tilt", 30.0, tilt)):
            gap = math.radians(within) * size
            setting = only(f"{axis}_deg", within / 1.959964, gap * (1 + more))
            assert status("joint_closes", part_at(), setting) == expected


def test_an_angle_within_the_axis() -> None:
    for axis, angles in (("swivel", (14.0, 5.0)), ("tilt", (5.0, 14.0))):
        setting = {f"{axis}.max_deg": 10.0}
        check = checks_of(part_at(*angles), fixture_with(setting))[f"{axis}_range"]
        most = remedies(check)["lessen_angle"].amounts[f"{axis}_deg"]
        assert most == 10.0
        for more, expected in ((0.0, "pass"), (HAIR, "fail")):
            less = (most + more, 5.0) if axis == "swivel" else (5.0, most + more)
            assert status(f"{axis}_range", part_at(*less), setting) == expected


@pytest.mark.parametrize(("by", "most"), [(0.5, 9.5), (-0.5, 10.0)])
@pytest.mark.parametrize("axis", ["swivel", "tilt"])
def test_an_angle_within_the_axis_and_its_scale(axis, by, most) -> None:
    """Its scale set 0.5° further than wanted ends at 9.5°; set 0.5° less, the axis at 10°."""
    setting = {f"{axis}.max_deg": 10.0, f"correction.{axis}_zero_deg": by}
    asked = (14.0, 5.0) if axis == "swivel" else (5.0, 14.0)
    check = checks_of(part_at(*asked), fixture_with(setting))[f"{axis}_range"]
    offered = remedies(check)
    assert offered["lessen_angle"].amounts[f"{axis}_deg"] == pytest.approx(most, abs=EXACT)
    assert offered["wedge_pair"].amounts["wedge_deg"] == pytest.approx(14 - most, abs=EXACT)
    assert offered["other_fixture"].amounts[f"{axis}_deg"] == pytest.approx(14.0, abs=EXACT)
    hair = "caution" if by > 0 else "fail"  # a scale a hair short leaves the axis at its end
    for more, expected in ((0.0, "pass"), (HAIR, hair)):
        less = (most + more, 5.0) if axis == "swivel" else (5.0, most + more)
        assert status(f"{axis}_range", part_at(*less), setting) == expected


def test_what_the_scale_must_show_is_said_where_it_is_the_worse() -> None:
    """12° that the scale must show as 12.5°: beyond 12.2°, and inside it without a correction."""
    part, setting = part_at(5.0, 12.0), {"tilt.max_deg": 12.2}
    plain = checks_of(part, fixture_with(setting))["tilt_range"]
    assert (plain.status, plain.because) == ("pass", "the tilt goes from 0° to 12.2°")
    setting |= {"correction.tilt_zero_deg": 0.5}
    check = checks_of(part, fixture_with(setting))["tilt_range"]
    assert (check.value, check.limit) == pytest.approx((12.5, 12.2), abs=EXACT)
    assert check.because == (
        "the tilt goes from 0° to 12.2° on its scale, which with its correction must show "
        "12.500° for 12.000°"
    )
    axes = solved(part, fixture_with(setting)).setups[0].axes
    assert [a.axis for a in axes if a.beyond] == ["tilt"]


@pytest.mark.parametrize(("limit", "status"), [(12.22, "caution"), (12.2, "fail")])
def test_what_a_scale_cannot_show_is_judged_by_the_gap_it_leaves(limit: float, status: str) -> None:
    """12.5° wanted of the scale: 30·tan 0.28° = 0.147 mm of the 0.15 mm glue line, and for 0.30°
    0.157 mm."""
    setting = {"tilt.max_deg": limit, "correction.tilt_zero_deg": 0.5}
    assert checks_of(part_at(5.0, 12.0), fixture_with(setting))["tilt_range"].status == status


def test_a_scale_numbered_from_90_is_not_beyond_its_range() -> None:
    """An axis's range is an angle's, however its scale is numbered."""
    numbered = {"tilt.scale_sense": "against_axis", "tilt.scale_zero_deg": 90.0}
    setup = solved(part_at(5.0, 12.0), fixture_with(numbered)).setups[0]
    assert setup.scale_tilt_deg == pytest.approx(78.0, abs=EXACT)
    assert not any(a.beyond for a in setup.axes)


def test_test_cuts_count_as_a_correction_does() -> None:
    """Ten cuts at 12° that all came out 0.5° short: the scale must show about 12.5°."""
    cuts = [
        {"id": f"cut {n}", "axis": "tilt", "scale_deg": 12.0, "off_deg": -0.5, "u_deg": 0.01}
        for n in range(10)
    ]
    fixture = fixture_with({"tilt.max_deg": 12.2, "test_cut": cuts})
    check = checks_of(part_at(5.0, 12.0), fixture)["tilt_range"]
    assert check.status == "fail"
    assert check.value == pytest.approx(12.5, abs=0.05)  # what the file knew before pulls a little
    most = remedies(check)["lessen_angle"].amounts["tilt_deg"]
    # The scale's figure is found in four rounds, each two digits better.
    assert shown(fixture, "tilt", most).scale_deg == pytest.approx(12.2, abs=1e-6)


def test_backing_up_the_exit() -> None:
    check = checks_of(part_at(), fixture_with({"backing.thickness_mm": 1}))["exit_backing"]
    remedy = remedies(check)["back_up_exit"]
    assert remedy.amounts["side"] == "back"
    thick = remedy.amounts["backing_mm"]
    assert status("exit_backing", part_at(), {"backing.thickness_mm": thick}) == "pass"


def test_a_remedy_is_plain_data() -> None:
    _, _, check = fouled()
    for remedy in check.remedies:
        data = remedy.as_dict()
        assert data["do"].isidentifier()
        assert data["says"]
        assert set(data) == {"do", "says", *remedy.amounts}
    assert attrs.asdict(check)["name"] == "front_beam"
