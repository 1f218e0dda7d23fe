"""The test pieces of a fixture: what they name, and that their slots are what they say."""

from __future__ import annotations

import json

import attrs
import numpy as np
import pytest

from jointgeo.calibration.trialpieces import trial_pieces
from jointgeo.fixtures.corrections import Correction, KerfCorrection
from jointgeo.fixtures.model import Fixture

DISC = "slotting disc 6"


def test_each_kind_of_reading_has_its_piece(porch: Fixture) -> None:
    pieces = trial_pieces(porch)
    tables = {p.enter.split(",")[0] for p in pieces}
    assert tables == {"turned_over", "angle", "groove", "spacing", "coupon"}
    json.dumps([p.to_dict() for p in pieces], allow_nan=False)
    for p in pieces:
        assert p.cuts
        assert p.measure
        assert p.expected
        assert min(p.section_mm) > 0


def test_a_coupon_steps_by_five_hundredths(porch: Fixture) -> None:
    """Nine slots, 0.05 mm apart, wood between them; what each pass leaves is the slot: from the
    first pass's left side (position less kerf) to the last one's position. Divisions of
    0.05 mm hit every one of these exactly."""
    coupon = next(p for p in trial_pieces(porch) if p.name == f"coupon of fits, {DISC}")
    widths = [c["slot_mm"] for c in coupon.cuts]
    assert np.diff(widths) == pytest.approx([0.05] * 8, abs=1e-9)
    # A tongue half a step below the middle slot enters that and the four wider ones.
    assert coupon.expected["entered"] == 5
    assert coupon.enter == f"coupon, widest_mm = {widths[-1]:.2f}"
    for c in coupon.cuts:
        travel = [p["travel_mm"] for p in c["passes"]]
        assert travel[-1] - (travel[0] - 6.0) == pytest.approx(c["slot_mm"], abs=1e-9)
        on_wheel = [4.0 * (p["turns"] + p["divisions"] / 80) for p in c["passes"]]
        assert on_wheel == pytest.approx(travel, abs=1e-9)
    for one, other in zip(coupon.cuts, coupon.cuts[1:], strict=False):
        assert other["left_mm"] - one["right_mm"] == pytest.approx(6.0, abs=1e-9)


def test_pieces_have_the_corrections_in_them(porch: Fixture) -> None:
    calibrated = Correction(
        swivel_zero_deg=0.1,
        tilt_zero_deg=0.2,
        lead_fraction=0.001,
        kerf=(KerfCorrection(cutter=DISC, kerf_mm=0.05, kerf_u_mm=0.01),),
    )
    pieces = {p.name: p for p in trial_pieces(attrs.evolve(porch, correction=calibrated))}
    square = pieces["square across"].cuts[0]
    assert square["scale_swivel_deg"] == pytest.approx(0.1)
    assert square["scale_tilt_deg"] == pytest.approx(0.2)
    assert pieces["tilt half way"].cuts[0]["scale_tilt_deg"] == pytest.approx(12.2)
    assert pieces[f"groove of {DISC}"].expected["width_mm"] == pytest.approx(6.05)
    grooves = pieces["two grooves"]
    turns = grooves.cuts[1]["turns"]
    assert grooves.expected["measured_mm"] == pytest.approx(turns * 4.0 * 1.001)
    assert f"travel_mm = {turns * 4:g}" in grooves.enter


def test_a_small_clamp_limits_the_piece_cut_through(porch: Fixture) -> None:
    """110 mm of opening less 18 mm of backing: 92 mm from plate to you."""
    pieces = {p.name: p for p in trial_pieces(porch, across_mm=150.0)}
    assert pieces["square through"].section_mm[0] == pytest.approx(92.0)
    assert pieces["square across"].section_mm[0] == pytest.approx(150.0)
