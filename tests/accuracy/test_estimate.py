"""One error from settings that were measured: worked by hand, against scipy, and its rules."""

from __future__ import annotations

import math
from typing import Any

import attrs
import numpy as np
import pytest
from scipy import stats

from jointgeo.fixtures.estimate import Estimate, chi_square_point, estimate, student_t
from jointgeo.fixtures.leastsquares import Prior, Row

HALF = 0.03 / math.sqrt(2.0)  # of d = 0.03°: offset and unevenness share it


def tilt(setting_u: float = 0.0222, freedom: float = 2.0) -> Prior:
    return Prior(HALF, setting_u, gain_u=0.005, uneven_u=HALF, freedom=freedom)


def cut(
    name: str, at: float, off: float, u: float = 0.0065, s0: float = 0.0222, **more: Any
) -> Row:
    return Row(name, at, off, u, s0, **more)


def seen(*readings: tuple[float, float, float], s0: float = 0.0222) -> Estimate:
    """From (scale, off, u)."""
    rows = tuple(cut(f"c{i}", at, off, u, s0) for i, (at, off, u) in enumerate(readings))
    return estimate(rows, tilt(s0))


SIX = (
    (0.0, 0.0073, 0.0065),
    (0.0, 0.0879, 0.0065),
    (0.0, 0.0239, 0.0065),
    (12.0, 0.0902, 0.024),
    (12.0, 0.0957, 0.024),
    (12.0, 0.0758, 0.024),
)


def test_three_exact_readings_at_zero_by_hand() -> None:
    """.04 .06 .05, s0 .02, m 0. Means without one .05 .045 .055, so D = .045; variance of the
    prior at 0: .045² + .00045 = .002475; χ² = .5 + .0025/(.002475 + .0004/3) = 1.458 and
    2 + 1.458 < 5: φ = 1, ν = 5. v = 1/(1/.002475 + 3/.0004), off = .05·v·3/.0004; t₅ = 2.65592;
    later t·√(v + .0004). All to 1e-5, as they were worked out."""
    found = seen((0.0, 0.04, 0.0), (0.0, 0.06, 0.0), (0.0, 0.05, 0.0), s0=0.02)
    assert found.offset_u == pytest.approx(0.045, abs=1e-12)
    assert found.chi_square == pytest.approx(1.458, abs=5e-4)
    assert (found.scatter, found.freedom) == (1.0, 5.0)
    known = found.at(0.0)
    assert known.standard**2 == pytest.approx(1.26518e-4, abs=1e-9)
    assert known.off == pytest.approx(0.04744, abs=1e-5)
    assert known.mean == pytest.approx(0.02987, abs=1e-5)
    assert known.later == pytest.approx(0.06094, abs=1e-5)


def test_one_reading_far_beyond_the_file_by_hand() -> None:
    """.25 where d = .03: 2/φ + .0625/(.0009 + .0004·φ) = 3 gives φ = 50.530; prior
    .00045·(φ + 1) = .02319, noise .02021, off .25·.02319/.04340. The interval reaches from the
    file's 0 to the reading."""
    found = seen((0.0, 0.25, 0.0), s0=0.02)
    phi = found.scatter
    assert phi == pytest.approx(50.530, abs=1e-3)
    assert 2 / phi + 0.0625 / (0.0009 + 0.0004 * phi) == pytest.approx(3.0, abs=1e-6)
    known = found.at(0.0)
    assert known.off == pytest.approx(0.13357, abs=1e-5)
    assert known.mean == pytest.approx(0.34790, abs=1e-5)
    assert known.later == pytest.approx(0.58955, abs=1e-5)
    assert known.off - known.mean < 0.0 < 0.25 < known.off + known.mean


def test_two_angles_against_a_second_way() -> None:
    """Six settings at 0° and 12°: figures to 1e-5, and the same from the joint normal of all that
    is unknown, conditioned on the readings by its block formulas."""
    found = seen(*SIX)
    phi = found.scatter
    assert phi == pytest.approx(1.56422, abs=1e-5)
    assert found.freedom == 8.0
    assert found.gain == pytest.approx(0.0043034, abs=1e-6)
    expected = {0.0: (0.03493, 0.07471), 6.0: (0.05608, 0.08653), 12.0: (0.08312, 0.08172)}
    at, off, u = (np.array(column) for column in zip(*SIX, strict=True))
    for angle, (middle, later) in expected.items():
        known = found.at(angle)
        assert (known.off, known.later) == (
            pytest.approx(middle, abs=1e-5),
            pytest.approx(later, abs=1e-5),
        )
        every = np.append(at, angle)
        lasting = phi * (found.offset_u**2 + found.gain_u**2 * np.outer(every, every))
        lasting += 0.00045 * np.exp(-np.abs(np.subtract.outer(every, every)) / 5)
        told = lasting[:-1, :-1] + np.diag(u**2 + phi * 0.0222**2)
        gain = np.linalg.solve(told, lasting[:-1, -1])
        assert known.off == pytest.approx(gain @ off, abs=1e-9)
        assert known.standard**2 == pytest.approx(lasting[-1, -1] - gain @ lasting[:-1, -1])


def test_a_setting_left_alone_is_known_better_than_one_set_anew() -> None:
    found = seen(*SIX)
    last = found.untouched(5)
    assert last.off == pytest.approx(0.07893, abs=1e-5)
    assert last.mean == pytest.approx(0.04774, abs=1e-5)
    assert last.mean < 0.6 * found.at(12.0).later


@pytest.mark.parametrize(
    ("have", "at", "now", "after"),
    [
        ([(0.0, 0.0065)], 12.0, 0.233, (0.200, 0.158, 0.106, 0.107)),
        ([(0.0, 0.0065)] * 3, 12.0, 0.183, (0.174, 0.138, 0.093, 0.093)),
        ([(0.0, 0.0065)] * 3 + [(12.0, 0.024)], 12.0, 0.093, (0.089, 0.086, 0.076, 0.076)),
    ],
)
def test_what_one_more_cut_would_bring(
    have: list[tuple[float, float]], at: float, now: float, after: tuple[float, ...]
) -> None:
    """At 0, 6, 12 and 20°, 0.024° off 0: worked out once with the formulas of ``estimate``, to
    the half of the last digit. Interpolate, do not extrapolate: a cut at 0 brings next to nothing
    at 12°, one at 20° as much as one at 12°."""
    found = seen(*((s, 0.0, u) for s, u in have))
    assert found.at(at).later == pytest.approx(now, abs=5e-4)
    brought = [
        found.with_more([cut("new", s, 0.0, 0.0065 if s == 0 else 0.024)]).at(at).later
        for s in (0.0, 6.0, 12.0, 20.0)
    ]
    assert brought == pytest.approx(after, abs=6e-4)


def test_with_no_cut_the_file_is_believed() -> None:
    """k = 2: 2·√(.03² + (.005·12)²) = .13416; later with .0222: .14132."""
    known = seen().at(12.0)
    assert known.mean == pytest.approx(0.13416, abs=1e-5)
    assert known.later == pytest.approx(0.14132, abs=1e-5)
    assert estimate((), Prior(0.01, 0.02, offset=0.3)).at(5.0).off == 0.3


def test_order_and_repetition_cannot_matter() -> None:
    rows = tuple(cut(f"c{i}", at, off, u) for i, (at, off, u) in enumerate(SIX))
    one, other = estimate(rows, tilt()), estimate(rows[::-1], tilt())
    assert one.at(7.0) == other.at(7.0)


def test_three_settings_push_a_prior_aside_and_two_do_not() -> None:
    """Three at about .2: the means without one are .205, .2, .195, so D = .195 and nothing poses as
    scatter. Two leave D at the file's, and φ takes the strain."""
    three = seen((0.0, 0.19, 0.0), (0.0, 0.20, 0.0), (0.0, 0.21, 0.0))
    assert three.offset_u == pytest.approx(0.195, abs=1e-9)
    assert three.scatter == 1.0
    two = seen((0.0, 0.19, 0.0), (0.0, 0.20, 0.0))
    assert two.offset_u == HALF
    assert two.scatter > 5
    one_wrong = seen((0.0, 0.0, 0.0), (0.0, 0.001, 0.0), (0.0, 0.8, 0.0))
    assert one_wrong.offset_u == HALF


def test_a_gain_is_pushed_aside_only_by_what_tells_of_it() -> None:
    """4 % of 12° is .48°. One cut at 12° can be wrong alone; three cannot."""
    lone = seen((0.0, 0.0, 0.01), (0.0, 0.01, 0.01), (12.0, 0.48, 0.01))
    assert lone.gain_u == 0.005
    both = seen(*[(0.0, 0.0, 0.01)] * 3, *[(12.0, 0.48, 0.01)] * 3)
    assert both.gain_u == pytest.approx(0.04, abs=0.004)  # the unevenness blurs it by 0.03/12
    assert both.gain == pytest.approx(0.04, abs=0.004)


def test_scatter_far_beyond_the_file_sets_the_file_s_aside() -> None:
    """±.1 where the file says .0222: χ² of four is 4·(.1/.0222)² and more; then ν = n - 1 and
    √φ·s0 comes near the readings' own √(4·.1²/4)."""
    wild = seen((0.0, 0.1, 0.0), (0.0, -0.1, 0.0), (0.0, 0.1, 0.0), (0.0, -0.1, 0.0))
    assert wild.scatter_freed
    assert wild.freedom == 3.0
    assert wild.repeats == pytest.approx(0.1, rel=0.05)


def test_an_older_zero_tells_of_gain_and_scatter_only() -> None:
    rows = [cut(f"old{i}", s, 0.5 + 0.004 * s, 0.003, zero=1) for i, s in enumerate((0.0, 12.0))]
    found = estimate((*rows, cut("new", 0.0, 0.02, 0.003)), tilt())
    without = estimate((cut("new", 0.0, 0.02, 0.003),), tilt())
    assert found.told == 2
    assert found.at(0.0).off == pytest.approx(without.at(0.0).off, abs=0.004)
    assert found.at(12.0).standard < 0.75 * without.at(12.0).standard


def test_an_instrument_s_own_error_does_not_average_out() -> None:
    """Many readings of one protractor that may be .02° out for good: never better than .02°
    against an offset known to .03° alone, √(1/(1/.02² + 1/.03²)) = .0166 less unevenness."""
    one = {"instrument": "protractor", "instrument_u": 0.02}
    rows = tuple(cut(f"c{i}", 0.0, 0.0, 0.005, **one) for i in range(40))
    apart = tuple(attrs.evolve(r, instrument="") for r in rows)
    assert estimate(rows, tilt()).at(0.0).standard == pytest.approx(0.0166, abs=0.0005)
    assert estimate(apart, tilt()).at(0.0).standard < 0.005


def test_what_a_stop_sets_shares_the_offset_only() -> None:
    by_stop = estimate((cut("a", 12.0, 0.02, 0.001, on_scale=False),), tilt())
    by_scale = estimate((cut("a", 12.0, 0.02, 0.001),), tilt())
    assert by_stop.gain == pytest.approx(0.0, abs=1e-12)
    assert by_scale.gain > 0.0
    assert by_stop.at(12.0).standard > by_scale.at(12.0).standard


def test_the_scale_for_an_angle_gives_that_angle() -> None:
    found = seen(*SIX)
    scale = found.scale_for(12.0)
    assert scale + found.at(scale).off == pytest.approx(12.0, abs=1e-9)


def test_a_file_that_claims_to_be_exact_is_still_answered() -> None:
    exact = Prior(1e-7, 1e-7, 0.0, 1e-7)
    rows = tuple(cut(n, 0.0, y, 0.001, 1e-7) for n, y in zip("abc", (0.2, 0.21, 0.22), strict=True))
    known = estimate(rows, exact).at(0.0)
    assert known.off == pytest.approx(0.21, abs=0.002)
    assert known.mean > 0.005


@pytest.mark.parametrize(
    ("freedom", "worked"), [(3, 3.348), (4, 2.884), (5, 2.656), (6, 2.521), (8, 2.368)]
)
def test_student_s_t_against_scipy(freedom: int, worked: float) -> None:
    exact = stats.t.ppf((1 + math.erf(2 / math.sqrt(2))) / 2, freedom)
    assert student_t(freedom) == pytest.approx(worked, abs=5e-4)
    assert exact <= student_t(freedom) <= 1.013 * exact
    assert student_t(1e6) == pytest.approx(2.0, abs=1e-4)


@pytest.mark.parametrize("freedom", [1, 2, 3, 5, 10, 40])
def test_chi_square_points_against_scipy(freedom: int) -> None:
    assert chi_square_point(freedom, 2.3263) == pytest.approx(
        stats.chi2.ppf(0.99, freedom), rel=0.01
    )
    assert chi_square_point(freedom, 1.6449) == pytest.approx(
        stats.chi2.ppf(0.95, freedom), rel=0.03
    )
