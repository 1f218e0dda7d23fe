"""Errors set on purpose: what a mis-set angle, depth, travel or kerf does to a square joint.

The tenon of ``handmade``: a shoulder 60 wide and 20 thick, tenon 40 × 10 × 25. Expected
values are right-angled triangles; tolerance 1e-6 mm unless said.
"""

from __future__ import annotations

import math

import attrs
import pytest

import jointgeo
from jointgeo.proof import DryFit, dry_fit

from .handmade import square_tenon
from .samples import TENON, solved

EXACT = 1e-6
#: Faces of the rail as the drawing's notches make them.
FACES = {
    "left edge": "edges, channel 1, high cheek",
    "right edge": "edges, channel 2, low cheek",
    "face cheek": "cheeks, channel 1, high cheek",
    "back cheek": "cheeks, channel 2, low cheek",
    "left shoulder": "edges, channel 1, floor",
    "right shoulder": "edges, channel 2, floor",
    "face shoulder": "cheeks, channel 1, floor",
    "back shoulder": "cheeks, channel 2, floor",
}


def tenon(**errors: float) -> DryFit:
    return dry_fit(square_tenon(), errors)


def gaps(fit: DryFit, *names: str) -> tuple[float, float]:
    """Least and greatest gap over the rail's faces of these names."""
    ends = [f" gap at rail, {FACES[name]}" for name in names]
    found = [f.measured for f in fit.findings if f.what.endswith(tuple(ends))]
    assert len(found) == 2 * len(names)
    return min(f for f in found if f is not None), max(f for f in found if f is not None)


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
    assert gaps(fit, "face cheek") == pytest.approx((0.1, 0.1), abs=EXACT)
    assert fit.overlap_mm3 == pytest.approx(0, abs=EXACT)


def test_travel_too_far_right_shifts_the_tenon() -> None:
    fit = tenon(travel_mm=0.2)
    assert gaps(fit, "left edge") == pytest.approx((0.2, 0.2), abs=EXACT)
    assert gaps(fit, "right edge") == pytest.approx((-0.2, -0.2), abs=EXACT)
    assert fit.gap_mm == pytest.approx(0.2, abs=EXACT)
    assert fit.press_mm == pytest.approx(0.2, abs=EXACT)
    # The second setup counts from the back: to the right is towards the face side.
    assert gaps(fit, "back cheek") == pytest.approx((0.2, 0.2), abs=EXACT)
    assert gaps(fit, "face cheek") == pytest.approx((-0.2, -0.2), abs=EXACT)


def test_too_deep_opens_the_shoulder() -> None:
    fit = tenon(depth_mm=0.3)
    for name in FACES:
        if "shoulder" in name:
            assert gaps(fit, name) == pytest.approx((0.3, 0.3), abs=EXACT)
    assert fit.gap_mm == pytest.approx(0.3, abs=EXACT)
    assert tenon(depth_mm=-0.3).press_mm == pytest.approx(0.3, abs=EXACT)


@pytest.mark.parametrize("off", [0.2, -0.2])
def test_swivel_off_opens_the_shoulder_across_the_width(off: float) -> None:
    """First setup: the shoulders left and right of the tenon, 60 apart at their far edges."""
    least, greatest = gaps(tenon(swivel_deg=off), "left shoulder", "right shoulder")
    assert greatest - least == pytest.approx(60 * math.tan(math.radians(0.2)), abs=1e-4)


@pytest.mark.parametrize("off", [0.2, -0.2])
def test_tilt_off_opens_the_shoulder_across_the_thickness(off: float) -> None:
    """The first setup's shoulders run through the whole thickness of 20. The second setup's are
    turned across the width: on one of the two sides they lie deeper and take a part of that."""
    ends = [gaps(tenon(tilt_deg=off), name) for name in ("left shoulder", "right shoulder")]
    widest = max(greatest - least for least, greatest in ends)
    assert widest == pytest.approx(20 * math.tan(math.radians(0.2)), abs=1e-4)


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
    joint = attrs.evolve(
        TENON,
        tenon_offset_width_mm=0,
        tenon_offset_thickness_mm=0,
        tenon_width_mm=45,
        haunch_depth_mm=0,
        fit_mm=0.0,
    )
    settings = solved(joint)
    setup = settings["parts"][0]["setups"][1]
    assert abs(setup["packing_deg"]) == pytest.approx(0.6991, abs=1e-4)
    setup["packing_deg"] = 0.0
    fit = dry_fit(settings)
    # The cheek is as long along the feed as the tenon is wide, 45 mm.
    for cheek in ("face cheek", "back cheek"):
        least, greatest = gaps(fit, cheek)
        wedge = 45 * math.tan(math.radians(0.6991))
        assert greatest - least == pytest.approx(wedge, abs=0.02), cheek


def test_errors_are_added_to_the_settings_own() -> None:
    joint = jointgeo.joint_type("splayed_bridle").examples()[0]
    settings, by_hand = solved(joint), solved(joint)
    for part in by_hand["parts"]:
        for setup in part["setups"]:
            setup["swivel_deg"] += 0.3
            setup["tilt_deg"] -= 0.2
    fit = dry_fit(settings, {"swivel_deg": 0.3, "tilt_deg": -0.2})
    assert fit.verdict == "does not go together"
    assert fit.to_dict() == dry_fit(by_hand).to_dict()


def test_twice_the_error_opens_twice_the_gap() -> None:
    one, two = (
        gaps(tenon(swivel_deg=off), "left shoulder", "right shoulder") for off in (0.1, 0.2)
    )
    assert two[1] - two[0] == pytest.approx(2 * (one[1] - one[0]), rel=1e-3)
