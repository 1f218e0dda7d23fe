"""Wedge and counter-wedge: their size by trigonometry, and which end is thick by rotation matrices.

The words of a remedy are turned into the rotation that such a wedge gives, and that has to
be the rotation the joint asks for. Sides are marked sides; outward normals are in stock
coordinates.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from jointgeo.joints.check import Remedy
from jointgeo.planning.end_plan import plan_end

from .samples import checks_of, fixture_with, part_at, solved, turn

EXACT = 1e-9
THIN = 3.0  # thin end of a wedge, the practice's default


def outward(side: str, x_from: str) -> np.ndarray:
    at_zero = -1.0 if side == x_from else 1.0
    normals = {"face_side": [0, -1.0, 0], "back": [0, 1.0, 0]}
    return np.array(normals.get(side, [at_zero, 0, 0]))


def wedge_for(check: str, part: Any, fixture: Any) -> Remedy:
    (found,) = [r for r in checks_of(part, fixture)[check].remedies if r.do == "wedge_pair"]
    return found


def heights(remedy: Remedy) -> tuple[float, float]:
    """What the wedge lifts the stock's cut end and its far end, a length apart."""
    thick, thin = remedy.amounts["thick_mm"], remedy.amounts["thin_mm"]
    at_cut = remedy.amounts["thick_end_at"] == "cut end"
    assert at_cut or remedy.amounts["thick_end_at"] == "far end"
    return (thick, thin) if at_cut else (thin, thick)


# tilt asked for, the plate's range, the angle left over.
TILTS = [(14.0, (0, 10), 4.0), (-6.0, (-2, 1), 4.0)]


@pytest.mark.parametrize(("tilt", "limits", "excess"), TILTS)
@pytest.mark.parametrize("side", [0, 1, 2, 3])
@pytest.mark.parametrize("x_from", ["face_edge", "back_edge"])
def test_a_wedge_behind_the_stock_gives_the_tilt_that_is_wanting(
    tilt, limits, excess, side, x_from
) -> None:
    """400 mm long: 3 + 400·tan 4° = 30.971 mm at the thick end."""
    fixture = fixture_with({"tilt.min_deg": limits[0], "tilt.max_deg": limits[1]})
    part = part_at(0, tilt, side=side, x_from=x_from)
    remedy = wedge_for("tilt_range", part, fixture)
    assert remedy.amounts["wedge_deg"] == pytest.approx(excess, abs=EXACT)
    assert remedy.amounts["length_mm"] == 400
    assert remedy.amounts["thin_mm"] == THIN
    assert remedy.amounts["thick_mm"] == pytest.approx(30.971, abs=0.0005)
    # Lifted off the plate, towards you, the grain runs from (-cut, 0) to (-far, length).
    at_cut, at_far = heights(remedy)
    along = math.degrees(math.atan2(at_cut - at_far, remedy.amounts["length_mm"]))
    set_at = limits[1] if tilt > 0 else limits[0]
    chosen = plan_end(part, fixture).setups[0].chosen
    wanted = turn(0, chosen.tilt_deg, 0, chosen.side)
    np.testing.assert_allclose(
        turn(0, set_at) @ turn(0, along, 0, chosen.side), wanted, rtol=0, atol=1e-12
    )
    # The side it lies on is the one on the plate, and the counter-wedge's looks to you.
    assert (wanted @ outward(remedy.amounts["side"], x_from))[1] > 0.9
    assert (wanted @ outward(remedy.amounts["counter_wedge_side"], x_from))[1] < -0.9


@pytest.mark.parametrize("swivel", [0.0, 14.5, -20.0])
@pytest.mark.parametrize("side", [0, 2])
def test_a_wedge_behind_swivelled_stock_stands_upright_on_the_plate(swivel, side) -> None:
    """Laid along swivelled stock it would turn the stock about its own length as well.

    Upright on the plate it gives tilt alone; but the fence stands square to the plate and not
    to the wedge, so it is set to the swivel the remedy names. Stock lies with its back in the
    wedge's face and its edge along the fence: the line in which the two planes meet.
    """
    fixture = fixture_with({"tilt.max_deg": 10})
    part = part_at(swivel, 14.0, side=side)
    remedy = wedge_for("tilt_range", part, fixture)
    if swivel:
        assert "upright" in remedy.says
    fence = remedy.amounts.get("swivel_deg", swivel)
    at_cut, at_far = heights(remedy)
    along = math.degrees(math.atan2(at_cut - at_far, remedy.amounts["length_mm"]))
    back = turn(0, 10) @ turn(0, along) @ [0.0, 1.0, 0.0]
    edge = turn(0, 10) @ turn(fence, 0) @ [1.0, 0.0, 0.0]
    grain = np.cross(edge, back) / np.linalg.norm(np.cross(edge, back))
    made = np.stack([np.cross(back, grain), back, grain], axis=1) @ turn(0, 0, 0, side)
    np.testing.assert_allclose(made, turn(swivel, 14.0, 0, side), rtol=0, atol=1e-9)


@pytest.mark.parametrize("fence", ["left", "right"])
@pytest.mark.parametrize("swivel", [14.0, -14.0])
@pytest.mark.parametrize("side", [0, 1, 2, 3])
@pytest.mark.parametrize("x_from", ["face_edge", "back_edge"])
def test_a_wedge_at_the_fence_gives_the_swivel_that_is_wanting(fence, swivel, side, x_from) -> None:
    fixture = fixture_with(
        {"swivel.min_deg": -10, "swivel.max_deg": 10, "fence.side": fence, "plate.height_mm": 150}
    )
    part = part_at(swivel, 5, side=side, x_from=x_from)
    remedy = wedge_for("swivel_range", part, fixture)
    assert remedy.amounts["wedge_deg"] == pytest.approx(4.0, abs=EXACT)
    assert remedy.amounts["length_mm"] == 150
    # 3 + 150·tan 4° = 13.489 mm.
    assert remedy.amounts["thick_mm"] == pytest.approx(13.489, abs=0.0005)
    # Off a left-hand fence the stock goes to the right, and the other way round.
    at_cut, at_far = heights(remedy)
    right = (at_far - at_cut) * (1 if fence == "left" else -1)
    along = math.degrees(math.atan2(right, remedy.amounts["length_mm"]))
    set_at = math.copysign(10, swivel)
    wanted = turn(swivel, 5, 0, side)
    made = turn(0, 5) @ turn(set_at, 0) @ turn(along, 0, 0, side)
    np.testing.assert_allclose(made, wanted, rtol=0, atol=1e-12)
    to_fence = -1 if fence == "left" else 1
    assert (wanted @ outward(remedy.amounts["side"], x_from))[0] * to_fence > 0.9
    assert (wanted @ outward(remedy.amounts["counter_wedge_side"], x_from))[0] * to_fence < -0.9


@pytest.mark.parametrize("packing", [3.0, -3.0])
@pytest.mark.parametrize("side", [0, 1, 2, 3])
@pytest.mark.parametrize("x_from", ["face_edge", "back_edge"])
def test_packing_is_thick_along_the_edge_that_comes_towards_you(packing, side, x_from) -> None:
    """Settings and feasibility alike: 60 mm·tan 3° = 3.144 mm of rise, 30 mm on an edge."""
    fixture = fixture_with()
    part = part_at(0, 5, packing, side, x_from=x_from)
    amounts = wedge_for("packing", part, fixture).amounts
    wide, deep = (30, 60) if side % 2 else (60, 30)
    rise = wide * math.tan(math.radians(3))
    assert amounts["length_mm"] == wide
    assert amounts["thick_mm"] == pytest.approx(THIN + rise, abs=EXACT)
    error = deep * math.tan(math.radians(3))
    assert amounts["error_if_ignored_mm"] == pytest.approx(error, abs=EXACT)
    rotation = turn(0, 5, packing, side)
    assert (rotation @ outward(amounts["thick_end_at"], x_from))[1] < 0
    assert (rotation @ outward(amounts["side"], x_from))[1] > 0.9
    assert (rotation @ outward(amounts["counter_wedge_side"], x_from))[1] < -0.9
    told = solved(part, fixture).setups[0].packing
    assert told is not None
    assert told.thick_end == amounts["thick_end_at"]
    for key in ("length_mm", "thin_mm", "thick_mm", "error_if_ignored_mm"):
        assert getattr(told, key) == pytest.approx(amounts[key], abs=EXACT)


def test_what_the_clamp_must_take_with_a_pair_of_wedges() -> None:
    """Backing, then stock turned by 4° between wedge and counter-wedge of the same size.

    Their outer faces are parallel: thin and thick end together, 3 + 30.971, and through the
    turned stock 30 / cos 4° = 30.073; with 18 mm of backing 82.044 mm.
    """
    part, limits = part_at(0, 14.0), {"tilt.max_deg": 10}
    fixture = fixture_with({**limits, "clamp.opening_mm": 82.045})
    opening = wedge_for("tilt_range", part, fixture).amounts["opening_mm"]
    assert opening == pytest.approx(82.044, abs=0.0005)
    fixture = fixture_with({**limits, "clamp.opening_mm": 82.043})
    assert offered("tilt_range", part, fixture) == ["lessen_angle", "other_fixture"]


def test_a_wedge_at_the_fence_needs_no_clamp() -> None:
    fixture = fixture_with({"swivel.max_deg": 10, "clamp.opening_mm": 48})
    assert wedge_for("swivel_range", part_at(14, 5), fixture).amounts["wedge_deg"] == (
        pytest.approx(4.0, abs=EXACT)
    )


def offered(check: str, part: Any, fixture: Any) -> list[str]:
    return [r.do for r in checks_of(part, fixture)[check].remedies]


@pytest.mark.parametrize("axis", ["swivel", "tilt"])
@pytest.mark.parametrize(
    ("excess", "do"),
    # Over 400 mm: 0.5 mm is 0.0716°; four wedges of 32 mm, thin ends of 3 mm, rise 116 mm, which
    # is 16.17°; 0.005° is half of the last digit of a scale.
    [
        (1e-6, "leave_at_stop"),
        (0.004999, "leave_at_stop"),
        (0.0073, "paper"),
        (0.0715, "paper"),
        (0.0717, "wedge_pair"),
        (16.16, "wedge_pair"),
        (16.18, None),
        (44.0, None),
    ],
)
def test_what_takes_up_what_is_wanting(axis, excess, do) -> None:
    fixture = fixture_with({f"{axis}.max_deg": 10})
    # With much tilt the other clamping, tilted the other way, is the one further out of range.
    part = part_at(*((10 + excess, 60) if axis == "swivel" else (5, 10 + excess)))
    expected = {
        "leave_at_stop": ["leave_at_stop", "lessen_angle"],
        "paper": ["leave_at_stop", "paper", "lessen_angle"],
        None: ["lessen_angle", "other_fixture"],
    }.get(do, ["lessen_angle", do, "other_fixture"])
    assert offered(f"{axis}_range", part, fixture) == expected


def test_no_wedge_of_45_degrees_however_short_the_stock() -> None:
    """60 mm of plate: 116 mm of rise would be 62.65°."""
    fixture = fixture_with({"tilt.max_deg": 1, "plate.height_mm": 60})
    for tilt, wedge in ((45.9, True), (46.1, False)):
        assert ("wedge_pair" in offered("tilt_range", part_at(0, tilt), fixture)) is wedge


def test_no_eleven_wedges_for_88_degrees() -> None:
    fixture = fixture_with({"tilt.max_deg": 0.1, "plate.height_mm": 60})
    assert offered("tilt_range", part_at(0, 86.0), fixture) == ["lessen_angle", "other_fixture"]


@pytest.mark.parametrize(
    ("axis", "size", "gap"),
    # 0.004° over 60 mm across the plate and 30 mm from plate to you.
    [("swivel", 60.0, 0.0041888), ("tilt", 30.0, 0.0020944)],
)
def test_an_axis_left_at_its_stop(axis, size, gap) -> None:
    fixture = fixture_with({f"{axis}.max_deg": 10, f"{axis}.scale_zero_deg": 90})
    part = part_at(*((10.004, 5) if axis == "swivel" else (5, 10.004)))
    left = checks_of(part, fixture)[f"{axis}_range"].remedies[0]
    assert left.do == "leave_at_stop"
    assert left.says == (
        f"leave the {axis} at its stop, 100° on its scale: that is 0.004° off, "
        f"{gap:.3f} mm over the part's {size:.1f} mm"
    )
    assert left.amounts["scale_deg"] == 100
    assert left.amounts["left_deg"] == pytest.approx(0.004, abs=EXACT)
    assert left.amounts["left_mm"] == pytest.approx(gap, abs=1e-7)
    assert left.amounts["over_mm"] == size


def test_short_stock_is_left_where_not_one_slip_comes_near() -> None:
    """60 mm · tan 0.045° = 0.0471 mm, less than half a slip; tan 0.055° of it is more."""
    limits = {"tilt.max_deg": 10, "plate.height_mm": 60}
    for excess, paper in ((0.045, False), (0.055, True)):
        found = offered("tilt_range", part_at(0, 10 + excess), fixture_with(limits))
        assert found[0] == "leave_at_stop"
        assert ("paper" in found) is paper


def test_a_scale_that_ends_before_its_zero() -> None:
    """A stop that stands at 0.02° of true tilt: upright stock lacks 0.02°, which is one slip."""
    fixture = fixture_with({"correction.tilt_zero_deg": -0.02})
    leave, paper, lessen = checks_of(part_at(0, 0), fixture)["tilt_range"].remedies
    assert leave.says == (
        "leave the tilt at its stop, 0° on its scale: that is 0.020° off, "
        "0.010 mm over the part's 30.0 mm"
    )
    assert (paper.amounts["slips"], paper.amounts["thick_end_at"]) == (1, "far end")
    assert lessen.says == "an angle that asks for a tilt of 0.02° or more"
    assert lessen.amounts["tilt_deg"] == pytest.approx(0.02, abs=EXACT)
    assert checks_of(part_at(0, 0.02), fixture)["tilt_range"].status == "pass"


def test_what_is_less_than_the_last_digit_is_not_printed_as_none() -> None:
    part = part_at(0, 10 + 1e-6)
    left = checks_of(part, fixture_with({"tilt.max_deg": 10}))["tilt_range"].remedies[0]
    assert "less than 0.001° off, less than 0.001 mm over" in left.says


@pytest.mark.parametrize(("tilt", "thick_at"), [(10.02, "cut end"), (-10.02, "far end")])
def test_paper_for_what_no_wedge_is_planed_to(tilt, thick_at) -> None:
    """400 mm · tan 0.02° = 0.1396 mm, one slip; it lacks 0.0396 mm of 400, 0.00297 mm of 30."""
    limits = {"tilt.max_deg": 10} if tilt > 0 else {"tilt.min_deg": -10, "tilt.max_deg": 1}
    (paper,) = [
        r
        for r in checks_of(part_at(0, tilt), fixture_with(limits))["tilt_range"].remedies
        if r.do == "paper"
    ]
    bears = "far end" if thick_at == "cut end" else "cut end"
    assert paper.says == (
        f"one slip of paper 0.1 mm thick on the back at the {thick_at}, 400.0 mm from where the "
        f"stock bears at the {bears}; that leaves 0.003 mm"
    )
    assert (paper.amounts["slips"], paper.amounts["slip_mm"]) == (1, 0.1)
    assert paper.amounts["thick_end_at"] == thick_at
    assert paper.amounts["distance_mm"] == 400
    assert paper.amounts["left_mm"] == pytest.approx(0.00297, abs=5e-6)


@pytest.mark.parametrize(
    ("kappa", "do", "number", "left"),
    # 60 mm across, 30 mm of feed. Rises of 0.0314, 0.1047, 0.4712 and 0.5027 mm; half of what no
    # slip makes up is left over the feed.
    [
        (0.03, "leave_it", 0, 0.01571),
        (0.1, "paper", 1, 0.00236),
        (-0.1, "paper", 1, 0.00236),
        (0.45, "paper", 5, 0.01438),
        (0.48, "wedge_pair", None, 0.0),
    ],
)
def test_packing_that_no_wedge_is_planed_for(kappa, do, number, left) -> None:
    """Checks and settings say the same."""
    part, fixture = part_at(0, 5, kappa), fixture_with()
    (remedy,) = checks_of(part, fixture)["packing"].remedies
    told = solved(part, fixture).setups[0].packing
    assert told is not None
    assert (remedy.do, told.slips) == (do, number)
    assert told.left_mm == pytest.approx(left, abs=5e-6)
    assert remedy.says.startswith(told.paper)
    assert remedy.amounts["error_if_ignored_mm"] == told.error_if_ignored_mm
    if do == "paper":
        assert remedy.amounts["slips"] == number
        assert remedy.amounts["left_mm"] == told.left_mm
        assert f"leaves {left:.3f} mm over the feed of 30.0 mm" in remedy.says
        edge = "face edge" if kappa > 0 else "back edge"
        assert f"along the {edge} on the back" in remedy.says
    if do == "leave_it":
        assert remedy.says == "leave it: the cut is then 0.016 mm off over the feed of 30.0 mm"


def test_packing_of_next_to_nothing_is_left() -> None:
    check = checks_of(part_at(0, 5, 1e-6), fixture_with())["packing"]
    assert check.because == "swivel and tilt alone leave less than 0.001 mm of error over the feed"
    (remedy,) = check.remedies
    assert remedy.do == "leave_it"
    assert (
        remedy.says == "leave it: the cut is then less than 0.001 mm off over the feed of 30.0 mm"
    )
