"""Errors set on purpose: what a mis-set angle, depth, travel or kerf does to a square joint.

The tenon of ``handmade``: a shoulder 60 wide and 20 thick, tenon 40 × 10 × 25. Expected
values are right-angled triangles; tolerance 1e-6 mm unless said.
"""

from __future__ import annotations

import math

import pytest

import jointgeo
from jointgeo.proof import DryFit, dry_fit

from .handmade import contact, face, square_tenon

EXACT = 1e-6


def tenon(**errors: float) -> DryFit:
    """The square tenon with contacts stated on both edges and both cheeks."""
    settings = square_tenon()
    walls = [
        ("left edge", (10, 10, -12), (-1, 0, 0)),
        ("right edge", (50, 10, -12), (1, 0, 0)),
        ("back cheek", (30, 15, -12), (0, 1, 0)),
    ]
    for name, point, normal in walls:
        back = tuple(-n for n in normal)
        stated = contact(face("rail", name, point, normal), face("post", name, point, back))
        settings["expect"].append(stated)
    return dry_fit(settings, errors)


def gaps(fit: DryFit, name: str) -> tuple[float, float]:
    """Least and greatest gap of the contact of the rail's face of that name."""
    found = [f.measured for f in fit.findings if f" gap, rail, {name} to post" in f.what]
    assert len(found) == 2
    low, high = found
    assert low is not None
    assert high is not None
    return low, high


def test_nothing_mis_set() -> None:
    assert tenon().faults == ()


def test_kerf_too_wide_narrows_the_tenon_on_the_right_of_each_setup() -> None:
    """A cutter 0.1 mm wider takes it on its left: off the wood right of nothing, so the cut
    on the right grows into the tenon's right-hand side, the one on the left into the air."""
    fit = tenon(kerf_mm=0.1)
    assert gaps(fit, "left edge") == pytest.approx((0, 0), abs=EXACT)
    assert gaps(fit, "right edge") == pytest.approx((0.1, 0.1), abs=EXACT)
    # Second setup: the back is on the left, so the face-side cheek is on the right.
    assert gaps(fit, "back cheek") == pytest.approx((0, 0), abs=EXACT)
    assert gaps(fit, "cheek") == pytest.approx((0.1, 0.1), abs=EXACT)
    assert fit.overlap_mm3 == pytest.approx(0, abs=EXACT)


def test_travel_too_far_right_shifts_the_tenon() -> None:
    fit = tenon(travel_mm=0.2)
    assert gaps(fit, "left edge") == pytest.approx((0.2, 0.2), abs=EXACT)
    assert gaps(fit, "right edge") == pytest.approx((-0.2, -0.2), abs=EXACT)
    assert fit.gap_mm == pytest.approx(0.2, abs=EXACT)
    assert fit.press_mm == pytest.approx(0.2, abs=EXACT)
    # The second setup counts from the back: to the right is towards the face side.
    assert gaps(fit, "back cheek") == pytest.approx((0.2, 0.2), abs=EXACT)
    assert gaps(fit, "cheek") == pytest.approx((-0.2, -0.2), abs=EXACT)


def test_too_deep_opens_the_shoulder() -> None:
    fit = tenon(depth_mm=0.3)
    assert gaps(fit, "shoulder") == pytest.approx((0.3, 0.3), abs=EXACT)
    assert fit.gap_mm == pytest.approx(0.3, abs=EXACT)
    assert tenon(depth_mm=-0.3).press_mm == pytest.approx(0.3, abs=EXACT)


@pytest.mark.parametrize("off", [0.2, -0.2])
def test_swivel_off_opens_the_shoulder_across_the_width(off: float) -> None:
    """First setup: the shoulders left and right of the tenon, 60 apart at their far edges."""
    least, greatest = gaps(tenon(swivel_deg=off), "shoulder")
    assert greatest - least == pytest.approx(60 * math.tan(math.radians(0.2)), abs=1e-4)


@pytest.mark.parametrize("off", [0.2, -0.2])
def test_tilt_off_opens_the_shoulder_across_the_thickness(off: float) -> None:
    least, greatest = gaps(tenon(tilt_deg=off), "shoulder")
    assert greatest - least == pytest.approx(20 * math.tan(math.radians(0.2)), abs=1e-4)


def test_packing_off_wedges_the_cheek_along_the_feed() -> None:
    """A turn about the grain: over the tenon's edge, 10 mm along the feed. The second setup
    turns the cheeks likewise, about their touch-off corner at the right-hand edge; at the
    left-hand one, 40 mm away, tenon and mortise share so much less."""
    slope = math.tan(math.radians(1.0))
    fit = tenon(packing_deg=1.0)
    for edge, shared in (("right edge", 10), ("left edge", 10 - 40 * slope)):
        least, greatest = gaps(fit, edge)
        assert greatest - least == pytest.approx(shared * slope, abs=2e-4), edge


def test_the_gap_of_a_packing_left_out() -> None:
    """Ignoring the packing of a two-way tenon costs feed · tan|packing|: 0.85 mm over 70 mm at
    0.699°, worked out in the theory of operation and measured here on the cut cheek's plane."""
    joint = jointgeo.joint_type("angled_tenon")(
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
    )
    settings = jointgeo.solve_settings(joint, jointgeo.load_fixture("porch")).to_dict()
    setup = settings["parts"][0]["setups"][1]
    assert setup["packing_deg"] == pytest.approx(-0.6991, abs=1e-4)
    setup["packing_deg"] = 0.0
    fit = dry_fit(settings)
    cheeks = [f.measured for f in fit.findings if " gap, rail, tenon cheek" in f.what]
    assert len(cheeks) == 4
    spread = [high - low for low, high in (cheeks[:2], cheeks[2:])]
    # The cheek is as long along the feed as the tenon is wide, 45 mm.
    assert spread == pytest.approx([45 * math.tan(math.radians(0.6991))] * 2, abs=0.02)


def test_errors_are_added_to_the_settings_own() -> None:
    joint = jointgeo.joint_type("splayed_bridle").examples()[0]
    settings = jointgeo.solve_settings(joint, jointgeo.load_fixture("porch")).to_dict()
    by_hand = jointgeo.solve_settings(joint, jointgeo.load_fixture("porch")).to_dict()
    for part in by_hand["parts"]:
        for setup in part["setups"]:
            setup["swivel_deg"] += 0.3
            setup["tilt_deg"] -= 0.2
    fit = dry_fit(settings, {"swivel_deg": 0.3, "tilt_deg": -0.2})
    assert fit.verdict == "does not fit"
    assert fit.to_dict() == dry_fit(by_hand).to_dict()


def test_twice_the_error_opens_twice_the_gap() -> None:
    one, two = (gaps(tenon(swivel_deg=off), "shoulder") for off in (0.1, 0.2))
    assert two[1] - two[0] == pytest.approx(2 * (one[1] - one[0]), rel=1e-3)
