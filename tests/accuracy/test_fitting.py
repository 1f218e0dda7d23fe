"""Weighted least squares against scipy and closed forms, and its guards one by one."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import optimize, stats

from jointgeo.calibration.fitting import Observation, chi_square_99, solve


def reading(name: str, value: float, u: float = 0.01, **terms: float) -> Observation:
    return Observation(name, value, u, terms or {"x": 1.0})


def test_a_weighted_mean_and_its_uncertainty() -> None:
    """Weights 1/u²: (1/1 + 4/4) / (1 + 1/4) = 1.6, u = √(1/1.25)."""
    fit = solve([reading("a", 1.0, 1.0), reading("b", 4.0, 2.0)], ("x",))
    assert fit.value["x"] == pytest.approx(1.6, abs=1e-12)
    assert fit.u["x"] == pytest.approx(np.sqrt(0.8), abs=1e-12)


def test_two_unknowns_against_scipy(rng: np.random.Generator) -> None:
    """Kerf and lead from coupons: slope and value against scipy's curve_fit, to 1e-7 relative
    (curve_fit works with differences)."""
    span = np.array([1.0, 4.0, 9.0, 20.0, 33.0])
    u = np.array([0.01, 0.02, 0.01, 0.03, 0.02])
    y = 0.03 + 0.0007 * span + rng.normal(0, u)
    seen = [
        Observation(f"c{i}", float(y[i]), float(u[i]), {"kerf": 1.0, "lead": float(span[i])})
        for i in range(5)
    ]
    fit = solve(seen, ("kerf", "lead"))
    expected, covariance = optimize.curve_fit(
        lambda x, a, b: a + b * x, span, y, sigma=u, absolute_sigma=True
    )
    assert [fit.value["kerf"], fit.value["lead"]] == pytest.approx(expected, rel=1e-6)
    assert [fit.u["kerf"], fit.u["lead"]] == pytest.approx(np.sqrt(np.diag(covariance)), rel=1e-6)


def test_readings_of_one_setting_share_its_error() -> None:
    """Three places of one cut: √(shared² + own²/3), and not a third of both."""
    seen = [Observation(f"p{i}", 0.1, 0.01, {"x": 1.0}, "cut", 0.03) for i in range(3)]
    fit = solve(seen, ("x",))
    assert fit.u["x"] == pytest.approx(np.sqrt(0.03**2 + 0.01**2 / 3), abs=1e-12)
    assert fit.readings["x"] == 1


def test_a_prior_counts_like_one_more_reading() -> None:
    fit = solve([reading("a", 0.02, 0.02)], ("x",), {"x": (0.0, 0.02)})
    assert fit.value["x"] == pytest.approx(0.01, abs=1e-12)
    assert fit.u["x"] == pytest.approx(0.02 / np.sqrt(2), abs=1e-12)


def test_what_nothing_tells_of_is_named() -> None:
    seen = [Observation("both", 1.0, 0.1, {"x": 1.0, "y": 1.0}), reading("z", 2.0, z=1.0)]
    fit = solve(seen, ("x", "y", "z", "w"))
    assert fit.undetermined == ("x", "y", "w")
    assert fit.value == {"z": pytest.approx(2.0)}
    assert solve([], ("x",)).undetermined == ("x",)


def test_an_outlier_is_named_and_left_out() -> None:
    seen = [reading(n, v) for n, v in (("a", 0.0), ("b", 0.01), ("bad", 0.5), ("c", -0.01))]
    fit = solve(seen, ("x",))
    assert [o.name for o in fit.outliers] == ["bad"]
    assert fit.outliers[0].residual == pytest.approx(0.5, abs=1e-9)
    assert fit.value["x"] == pytest.approx(0.0, abs=1e-12)


def test_of_two_that_disagree_neither_is_called_wrong() -> None:
    fit = solve([reading("a", 0.0), reading("b", 0.5)], ("x",))
    assert fit.outliers == ()
    assert fit.contradicting == ("a", "b")
    assert fit.value["x"] == pytest.approx(0.25, abs=1e-12)
    # √(chi² / 1): each is 25 of its standard deviations from the middle.
    assert fit.widened["x"] == pytest.approx(np.sqrt(2) * 25, rel=1e-9)


def test_a_prior_that_agreeing_readings_contradict_is_set_aside() -> None:
    seen = [reading("a", 0.50), reading("b", 0.51)]
    fit = solve(seen, ("x",), {"x": (0.0, 0.05)})
    assert fit.prior_aside == ("x",)
    assert fit.outliers == ()
    assert fit.value["x"] == pytest.approx(0.505, abs=1e-12)
    # One reading alone cannot set it aside: it is at odds, and kept.
    lone = solve(seen[:1], ("x",), {"x": (0.0, 0.05)})
    assert lone.prior_aside == ()
    assert lone.contradicting == ("a",)


def test_scatter_beyond_its_uncertainties_widens_the_result() -> None:
    values = [-0.03, 0.03, -0.025, 0.025, 0.03, -0.03]
    seen = [reading(f"r{i}", v) for i, v in enumerate(values)]
    calm = [reading("s", 1.0, y=1.0), reading("t", 1.001, y=1.0)]
    fit = solve([*seen, *calm], ("x", "y"))
    birge = np.sqrt(np.sum(np.square(np.array(values) / 0.01)) / 5)
    assert fit.widened == {"x": pytest.approx(birge, rel=1e-9)}
    assert fit.u["y"] == pytest.approx(0.01 / np.sqrt(2), rel=1e-9)
    assert fit.u["x"] == pytest.approx(0.01 / np.sqrt(6) * birge, rel=1e-9)


@pytest.mark.parametrize("freedom", [1, 2, 3, 5, 10, 40])
def test_chi_square_point_against_scipy(freedom: int) -> None:
    assert chi_square_99(freedom) == pytest.approx(stats.chi2.ppf(0.99, freedom), rel=0.01)
