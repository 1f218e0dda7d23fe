"""How often two normal errors stay within a bound, against the integral done otherwise."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm

from jointgeo.uncertainty.coverage import bound, chance, root


def by_quadrature(g: float, s1: float, s2: float, r: float) -> float:
    """∫ φ(x)·[Φ((g/s₂ - r·x)/q) - Φ((-g/s₂ - r·x)/q)] dx over |x| ≤ g/s₁, q = √(1 - r²)."""
    q, steps = math.sqrt(1 - r * r), [g / s2 / r] if r else []

    def density(x: float) -> float:
        high, low = norm.cdf((g / s2 - r * x) / q), norm.cdf((-g / s2 - r * x) / q)
        return float(norm.pdf(x) * (high - low))

    inside = [x * sign for x in steps for sign in (-1, 1) if abs(x) < g / s1]
    return float(quad(density, -g / s1, g / s1, epsabs=1e-12, limit=500, points=inside or None)[0])


def test_the_chance_is_that_of_the_double_integral(rng: np.random.Generator) -> None:
    """Any sizes and correlations, to 1 - 1e-5: 1e-6 from a bound of one standard deviation on, 1e-7
    from two."""
    for least, tolerance in ((1.0, 1e-6), (2.0, 1e-7)):
        for _ in range(60):
            s2, g = rng.uniform(0.02, 1), rng.uniform(least, 5)
            r = float(rng.choice([-1, 1])) * (1 - 10 ** rng.uniform(-5, 0))
            expected = by_quadrature(g, 1.0, s2, r)
            assert chance(g, 1.0, s2, r) == pytest.approx(expected, abs=tolerance)
            assert chance(g, s2, 1.0, r) == pytest.approx(expected, abs=tolerance)
            assert chance(3 * g, 3.0, 3 * s2, r) == pytest.approx(expected, abs=tolerance)


@pytest.mark.parametrize(
    ("ratio", "at_two", "factor"),
    # Two axes, D = ± a·x + b·y, ratio b·u_y / a·u_x: r = (1 - ratio²)/(1 + ratio²). For one axis
    # 2·Φ(2) - 1 = 95.450 %, for two alike its square, 91.107 %; the rest is the double integral,
    # to half of the last digit.
    [
        (0.0, 0.95450, 1.960),
        (0.25, 0.9342, 2.118),
        (0.5, 0.9200, 2.199),
        (1.0, 0.91107, 2.2365),
    ],
)
def test_factors_of_two_axes(ratio: float, at_two: float, factor: float) -> None:
    r = (1 - ratio**2) / (1 + ratio**2)
    assert chance(2.0, 1.0, 1.0, r) == pytest.approx(at_two, abs=5e-5)
    assert bound(0.95, 1.0, 1.0, r) == pytest.approx(factor, abs=5e-4)


@pytest.mark.parametrize("r", [1.0, -1.0])
def test_two_errors_that_are_one(r: float) -> None:
    """1.959964, the normal's table value for 95 %; the lesser of two adds nothing."""
    for small in (1.0, 0.5, 1e-3):
        assert bound(0.95, 1.0, small, r) == pytest.approx(1.959964, abs=1e-6)
        assert chance(1.959964, small, 1.0, r) == pytest.approx(0.95, abs=1e-7)


def test_an_error_that_is_nothing() -> None:
    assert bound(0.95, 0.0, 2.0, 0.0) == pytest.approx(2 * 1.959964, abs=2e-6)
    assert chance(2 * 1.959964, 2.0, 0.0, 0.0) == pytest.approx(0.95, abs=1e-7)
    assert (chance(0.1, 0.0, 0.0, 0.0), bound(0.95, 0.0, 0.0, 0.0)) == (1.0, 0.0)


def test_the_bound_is_the_inverse_of_the_chance(rng: np.random.Generator) -> None:
    for _ in range(100):
        s2, r, p = rng.uniform(0, 1), rng.uniform(-1, 1), rng.uniform(0.8, 0.999)
        assert chance(bound(p, 1.0, s2, r), 1.0, s2, r) == pytest.approx(p, abs=1e-11)


def test_a_root_is_found_and_an_end_is_given_where_there_is_none() -> None:
    """x³ = 2: 1.259921049895, to 1e-12."""
    assert root(lambda x: x**3 - 2, 0.0, 50.0) == pytest.approx(1.259921049895, abs=1e-12)
    assert root(lambda x: x + 1, 0.0, 50.0) == 0.0
    assert root(lambda x: x - 51, 0.0, 50.0) == 50.0
