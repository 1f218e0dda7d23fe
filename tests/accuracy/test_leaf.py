"""Aids of a leaf that stands beside its axis: check values, both fence sides, both signs."""

from __future__ import annotations

import attrs
import numpy as np
import pytest

from jointgeo.fixtures.model import Fixture
from jointgeo.setting_aids.aid import Aid
from jointgeo.setting_aids.aids import axis_aids, setting_aids
from jointgeo.setting_aids.anglelengths import (
    gap_angle_deg,
    gap_mm,
    gap_slopes,
    pin_angle_deg,
    pin_mm,
    pin_slopes,
)
from jointgeo.setting_aids.made import u_parts_deg
from jointgeo.uncertainty.budget import setup_budget

HALF = 5.1e-5  # mm; half of the last digit of the values below


def swivel(fixture: Fixture, wanted_deg: float) -> dict[str, Aid]:
    return {a.aid: a for a in axis_aids(fixture, "swivel", wanted_deg, 0.1)}


def tilt(fixture: Fixture, wanted_deg: float, swivel_deg: float = 0.0) -> dict[str, Aid]:
    return {a.aid: a for a in axis_aids(fixture, "tilt", wanted_deg, 0.1, swivel_deg)}


def right_handed(fixture: Fixture) -> Fixture:
    """The same with its fence on the right, 60 mm beside the pivot."""
    return attrs.evolve(fixture, fence=attrs.evolve(fixture.fence, side="right", x_mm=60.0))


@pytest.mark.parametrize(
    ("swivel_deg", "offset", "pin", "mark"),
    # e = -60, d = 300, x = tan(swivel / 2): offset tan(swivel)·(d + e·x); pin 2·x·(d + e·x), as it
    # would be along the working face; mark 2·√(d² + e²)·sin(swivel / 2). All to 0.0001 mm.
    [
        (-24.0, -139.2468, 132.9556, 127.2175),
        (-15.0, -82.5013, 81.0714, 79.8667),
        (-3.0, -15.8047, 15.7938, 16.0172),
        (3.0, 15.6400, 15.6293, 16.0172),
        (15.0, 78.2682, 76.9116, 79.8667),
        (24.0, 127.8904, 122.1123, 127.2175),
    ],
)
def test_lengths_of_a_fence_60_mm_beside_its_pivot(
    porch: Fixture, swivel_deg: float, offset: float, pin: float, mark: float
) -> None:
    found = swivel(porch, swivel_deg)
    assert found["rule_offset"].numbers["exact_mm"] == pytest.approx(abs(offset), abs=HALF)
    assert found["mark_to_mark"].numbers["exact_mm"] == pytest.approx(mark, abs=HALF)
    c = -60.0 * np.sign(swivel_deg)
    assert pin_mm(300.0, c, abs(swivel_deg)) == pytest.approx(pin, abs=HALF)
    # Mirrored, the fence on the right has the same at the opposite angle.
    other = swivel(right_handed(porch), -swivel_deg)
    assert other["rule_offset"].numbers["exact_mm"] == pytest.approx(abs(offset), abs=HALF)
    side = "right" if swivel_deg > 0 else "left"
    assert f"to the {side} of its zero line" in found["rule_offset"].says


def test_what_it_costs_to_take_the_face_for_passing_through_the_pivot(porch: Fixture) -> None:
    """133.5686 mm = 300·tan 24° sets 24.979° and not 24° (to 0.001°); the aid says 127.9 mm."""
    assert gap_angle_deg(300.0, -60.0, 133.5686) == pytest.approx(24.979, abs=0.001)
    aid = swivel(porch, 24.0)["rule_offset"]
    assert aid.numbers["offset_mm"] == pytest.approx(127.9, abs=1e-9)
    # Rounded by 0.0096 mm where the offset grows by some 325 mm a radian: 0.0017°.
    assert aid.error_deg == pytest.approx(0.0017, abs=0.0002)


@pytest.mark.parametrize("swivel_deg", [-24.0, 24.0])
def test_the_difference_of_two_offsets_needs_no_pivot(porch: Fixture, swivel_deg: float) -> None:
    """(300 - 100)·tan 24° = 89.0457 mm, wherever the fence stands; the two offsets of either
    fence have it."""
    beside = attrs.evolve(porch, fence=attrs.evolve(porch.fence, x_mm=-111.0))
    for fixture in (porch, beside):
        found = swivel(fixture, swivel_deg)["two_offsets"].numbers
        assert found["exact_mm"] == pytest.approx(89.0457, abs=HALF)
        c = np.sign(swivel_deg) * fixture.fence.x_mm
        far, near = (gap_mm(d, c, 24.0) for d in (300.0, 100.0))
        assert far - near == pytest.approx(89.0457, abs=HALF)


def test_uncertainty_of_one_offset_and_of_two(porch: Fixture) -> None:
    """At 1°, where the distances do not act yet: atan(0.15/300) = 0.0286° for one reading, and
    √2·0.15/200 = 0.0608° for two; 1 % for the rest."""
    found = swivel(porch, 1.0)
    for name, own in (("rule_offset", 0.0286), ("two_offsets", 0.0608)):
        u = np.sqrt(found[name].u_deg ** 2 - porch.uncertainty.swivel_zero_deg**2)
        assert u == pytest.approx(own, rel=0.01), name


def test_what_an_unsure_distance_to_the_pivot_costs() -> None:
    """The face 0.2 mm further off than thought, at 15°, 300 mm up and -60 mm beside: of that
    tan 15°·tan 7.5° = 0.0353 is 0.0071 mm, and 304.9 mm are a radian: 0.0013°, to half a digit."""
    _, _, beside = u_parts_deg(gap_slopes(300.0, -60.0, 15.0), 0.15, 0.2)
    assert beside == pytest.approx(0.0013, abs=0.00005)


def test_a_batten_lies_where_the_fence_has_moved_away(porch: Fixture) -> None:
    """Anticlockwise a left-hand fence opens on the stock's side; clockwise behind it, which needs
    its width: 40 mm puts the back 100 mm beside the pivot, 2·tan 12°·(300 - 100·tan 12°)."""
    assert "working face" in swivel(porch, -24.0)["pin"].says
    assert not {"pin", "inch_pin", "gauge_blocks"} & set(swivel(porch, 24.0))
    wide = attrs.evolve(porch, fence=attrs.evolve(porch.fence, width_mm=40.0))
    behind = swivel(wide, 24.0)
    assert "back" in behind["pin"].says
    assert behind["pin"].numbers["exact_mm"] == pytest.approx(118.4979, abs=HALF)
    assert swivel(wide, -24.0)["pin"].numbers["exact_mm"] == pytest.approx(132.9556, abs=HALF)
    mirrored = swivel(right_handed(wide), -24.0)
    assert mirrored["pin"].numbers["exact_mm"] == pytest.approx(118.4979, abs=HALF)
    assert "working face" in swivel(right_handed(porch), 24.0)["pin"].says
    blocks = behind["gauge_blocks"].numbers["height_mm"]
    # tan 24°·(300 - 100·tan 12°) = 124.1053 mm, to the micrometre of a stack's step, or 0.5 mm
    # where the set cannot make it.
    assert blocks == pytest.approx(124.1053, abs=0.5)


@pytest.mark.parametrize(
    ("tilt_deg", "pin", "gap"),
    # d = 230, f = 12, x = tan(tilt / 2): pin 2·x·(d - f·x); gap tan(tilt)·(d - f·x); to 0.0001 mm.
    [
        (5.0, 20.0383, 20.0766),
        (12.0, 48.0828, 48.6199),
        (18.0, 72.2548, 74.1140),
        (24.0, 96.6917, 101.2670),
    ],
)
def test_tilt_pins_of_a_stop_that_bears_behind_the_hinge(
    porch: Fixture, tilt_deg: float, pin: float, gap: float
) -> None:
    found = tilt(porch, tilt_deg)
    assert found["pin"].numbers["exact_mm"] == pytest.approx(pin, abs=HALF)
    assert found["pin"].numbers["contact"] == "round"
    blocks = found["gauge_blocks"].numbers
    assert blocks["height_mm"] - blocks["height_error_mm"] == pytest.approx(gap, abs=HALF)
    assert blocks["contact"] == "flat"


def test_no_spacer_while_the_stop_is_not_measured(porch: Fixture) -> None:
    unknown = attrs.evolve(porch, aids=attrs.evolve(porch.aids, stop_offset_mm=None))
    assert set(tilt(unknown, 12.0)) == {"scale", "sine_bar", "wedge"}


def test_a_plate_that_tilts_away_leaves_no_room_at_its_stop(porch: Fixture) -> None:
    both = attrs.evolve(porch, tilt=attrs.evolve(porch.tilt, min_deg=-24.0))
    assert set(tilt(both, -12.0)) == {"scale", "sine_bar", "wedge"}


@pytest.mark.parametrize(
    ("swivel_deg", "tilt_deg", "fence_deg"),
    # The fence is set to atan(tan(swivel) / cos(tilt)).
    [(7.827, 12.0, 7.9996), (-15.0, 20.0, -15.9153), (20.0, 30.0, 22.7959)],
)
def test_the_fence_that_goes_with_a_tilt_wedge(
    porch: Fixture, swivel_deg: float, tilt_deg: float, fence_deg: float
) -> None:
    """From planes: the stock's length lies in the wedge's face, turned by w about X, and in the
    fence's plane, turned by s about Y. Seen square to the wedge's face it is swivelled as wanted.
    The wedge is rounded to 0.1 mm, some 0.04° in all, which moves the fence by less than 0.01°."""
    found = tilt(porch, tilt_deg, swivel_deg)["wedge"]
    assert found.numbers["fence_scale_deg"] == pytest.approx(fence_deg, abs=0.01)
    s, w = np.radians(found.numbers["fence_scale_deg"]), np.radians(found.angle_deg)
    fence = np.array([np.cos(s), 0.0, -np.sin(s)])
    back = np.array([0.0, np.cos(w), np.sin(w)])
    length = np.cross(fence, back)
    upright = np.array([0.0, -np.sin(w), np.cos(w)])
    swivelled = np.degrees(np.arctan(length[0] / (length @ upright)))
    assert swivelled == pytest.approx(swivel_deg, abs=1e-9)  # exact geometry, rounding only
    assert f"{found.numbers['fence_scale_deg']:.2f}° on its scale" in found.says


def test_a_wedge_whose_fence_is_out_of_range_is_not_offered(porch: Fixture) -> None:
    """atan(tan 24° / cos 24°) = 25.98°, beyond the fence's 25°."""
    assert "wedge" not in tilt(porch, 24.0, 24.0)
    assert "wedge" in tilt(porch, 24.0, 20.0)


def test_aids_of_a_setup_know_its_swivel(setup: object, porch: Fixture) -> None:
    chosen = setup.chosen  # type: ignore[attr-defined]  # a SetupPlan
    wide = attrs.evolve(porch, clamp=attrs.evolve(porch.clamp, opening_mm=900.0))
    closing = setup_budget(setup, wide).closing  # type: ignore[arg-type]  # the same
    aids = setting_aids(setup, wide, closing)  # type: ignore[arg-type]  # the same
    wedges = [a for a in aids if a.axis == "tilt" and a.aid == "wedge"]
    assert wedges or abs(chosen.tilt_deg) < 0.1
    for aid in wedges:
        if abs(chosen.swivel_deg) > 1e-6:
            found = np.tan(np.radians(aid.numbers["fence_scale_deg"]))
            exact = np.tan(np.radians(chosen.swivel_deg)) / np.cos(np.radians(aid.angle_deg))
            assert found == pytest.approx(exact, abs=1e-12)


def test_lengths_and_slopes_of_any_leaf(rng: np.random.Generator) -> None:
    """Angles come back to 1e-9°; slopes are those of central differences over 1e-4 (mm, degrees),
    whose own error is below 1e-6 of a slope, or rounding of 1e-13 / 1e-4."""
    for _ in range(200):
        d, c, a = rng.uniform([50, -80, 0.5], [500, 80, 40])
        for size, back, slopes in (
            (gap_mm, gap_angle_deg, gap_slopes),
            (pin_mm, pin_angle_deg, pin_slopes),
        ):
            assert back(d, c, size(d, c, a)) == pytest.approx(a, abs=1e-9)
            h = 1e-4
            by_angle = (size(d, c, a + h) - size(d, c, a - h)) / np.radians(2 * h)
            by_d = (size(d + h, c, a) - size(d - h, c, a)) / (2 * h)
            by_c = (size(d, c + h, a) - size(d, c - h, a)) / (2 * h)
            assert slopes(d, c, a) == pytest.approx((by_angle, by_d, by_c), rel=1e-6, abs=1e-8)


def test_what_no_leaf_can_open_is_nan() -> None:
    """Beside the axis by 80 mm on the far side, the gap at 50 mm stops growing at 41°."""
    assert np.isnan(gap_angle_deg(50.0, -80.0, 40.0))
    assert np.isnan(pin_angle_deg(50.0, -80.0, 40.0))
