"""Drop and distance from observed limits: least squares, and plain answers where there is none."""

from __future__ import annotations

import json

import numpy as np
import pytest
from scipy import optimize

from jointgeo.calibration.limits import NUDGE_DEG, LimitFit, fit_limits, limit_angle_deg
from jointgeo.calibration.readings import LimitReadings
from jointgeo.schema.tables import read


def fit(*pairs: tuple[float, float], backing: float = 18.0, u_deg: float = 0.5) -> LimitFit:
    """pairs: (thickness, angle)."""
    limits = [{"thickness_mm": t, "angle_deg": a, "u_deg": u_deg} for t, a in pairs]
    return fit_limits(read(LimitReadings, {"backing_mm": backing, "limit": limits}))


def test_two_common_limits_and_how_little_they_fix() -> None:
    """50 mm at 15° and 12 mm at 23°, 18 mm backing each (common practice, no published source):
    by hand L = (T₁cos15 - T₂cos23)/(sin23 - sin15) = 288.58 mm, G = 140.37 mm, and 1° on the
    23° makes L anything from 259 to 327 mm (to 0.5 mm)."""
    found = fit((50, 15), (12, 23))
    assert found.status == "two_only"
    assert not found.good
    assert found.drop_mm == pytest.approx(288.58, abs=0.01)
    assert found.distance_mm == pytest.approx(140.37, abs=0.01)
    assert found.swing_mm[1] == (pytest.approx(259, abs=0.5), pytest.approx(327, abs=0.5))
    assert NUDGE_DEG == 1.0
    assert "no residual" in found.says
    assert found.residual_deg == pytest.approx([0.0, 0.0], abs=1e-9)


def test_the_closed_form_goes_back_and_forth() -> None:
    """asin(G/√(L²+T²)) - atan2(T, L) solves L·sin τ + T·cos τ = G."""
    depth = np.array([30.0, 68.0, 90.0])
    tau = np.radians(limit_angle_deg(288.58, 140.37, depth))
    left = 288.58 * np.sin(tau) + depth * np.cos(tau)
    assert left == pytest.approx([140.37] * 3, abs=1e-9)
    assert np.isnan(limit_angle_deg(50.0, 300.0, 60.0))


def test_many_limits_against_scipy_and_numpy(rng: np.random.Generator) -> None:
    """Against numpy's lstsq with the weights the fit itself ends with, to 1e-6 mm, and against
    scipy's orthogonal view of it: fitting the limit angles themselves, to 1 mm (another model
    of the noise, the same to first order)."""
    thick = np.array([10.0, 20.0, 35.0, 50.0, 65.0, 80.0])
    true = limit_angle_deg(300.0, 150.0, thick + 18.0)
    seen = true + rng.normal(0, 0.3, 6)
    found = fit(*zip(thick.tolist(), seen.tolist(), strict=True), u_deg=0.3)
    assert found.drop_mm is not None
    assert found.distance_mm is not None
    tau, depth = np.radians(seen), thick + 18.0
    slope = found.drop_mm * np.cos(tau) - depth * np.sin(tau)
    weight = 1 / np.hypot(slope * np.radians(0.3), np.cos(tau) * 0.2)
    a = np.stack([np.sin(tau), -np.ones(6)], -1) * weight[:, None]
    expected, *_ = np.linalg.lstsq(a, -depth * np.cos(tau) * weight, rcond=None)
    assert [found.drop_mm, found.distance_mm] == pytest.approx(expected, abs=1e-6)
    other, _ = optimize.curve_fit(
        lambda t, drop, room: limit_angle_deg(drop, room, t + 18.0), thick, seen, p0=(280.0, 140.0)
    )
    assert found.drop_mm == pytest.approx(other[0], abs=1.0 + 0.2 * (found.drop_u_mm or 0))


def test_stated_uncertainty_covers_about_as_often_as_it_says(rng: np.random.Generator) -> None:
    """300 fixtures, six limits each: L within ± 2·u in 95.45 % less or more four binomial standard
    deviations (√(300·0.9545·0.0455) = 3.6 of 300)."""
    thick = np.array([10.0, 20.0, 35.0, 50.0, 65.0, 80.0])
    inside = 0
    for _ in range(300):
        drop, room = rng.uniform(250, 350), rng.uniform(140, 170)
        seen_thick = thick + rng.normal(0, 0.2, 6)
        seen = limit_angle_deg(drop, room, seen_thick + 18.0) + rng.normal(0, 0.3, 6)
        found = fit(*zip(thick.tolist(), seen.tolist(), strict=True), u_deg=0.3)
        if found.drop_mm is not None and found.drop_u_mm is not None:
            inside += abs(found.drop_mm - drop) <= 2 * found.drop_u_mm
    assert 300 * 0.9545 - 4 * 3.6 <= inside <= 300


def test_three_good_limits_are_fitted_and_give_the_truth_back() -> None:
    thick = (10.0, 40.0, 80.0)
    exact = limit_angle_deg(300.0, 150.0, np.array(thick) + 18.0).tolist()
    found = fit(*zip(thick, exact, strict=True), u_deg=0.2)
    assert found.status == "fitted"
    assert found.drop_mm == pytest.approx(300.0, abs=1e-6)
    assert found.distance_mm == pytest.approx(150.0, abs=1e-6)
    assert fit(*zip(thick, exact, strict=True), u_deg=2.0).status == "loose"


@pytest.mark.parametrize(
    ("pairs", "status", "word"),
    [
        ((), "too_few", "0 limits"),
        (((50, 15),), "too_few", "1 limits"),
        (((50, 15), (50, 15.5)), "too_few", "one thickness"),
        (((50, 15), (40, 15)), "too_few", "one angle"),
        (((12, 15), (50, 23)), "contradictory", "thicker stock must foul at a smaller angle"),
        (((10, 23), (30, 15), (50, 18), (80, 10)), "contradictory", "off the rest"),
    ],
)
def test_too_few_and_contradictory_limits_are_answers(
    pairs: tuple[tuple[float, float], ...], status: str, word: str
) -> None:
    found = fit(*pairs)
    assert found.status == status
    assert word in found.says
    json.dumps(found.to_dict(), allow_nan=False)
