"""Passes and handwheel: they cover their cut, and the scale reads what it should."""

from __future__ import annotations

import itertools
import math
from typing import Any

import pytest

from jointgeo.fixtures.model import Cutter, Traverse
from jointgeo.planning.passes import handwheel, passes, sweep

# 4 mm a turn in 80 divisions: 0.05 mm each.
TRAVERSE = Traverse(min_mm=-500, max_mm=500, lead_mm=4, divisions=80)
EXACT_MM = 1e-9


def cutter(kerf_mm: float) -> Cutter:
    return Cutter(name="disc", kind="disc", diameter_mm=250, kerf_mm=kerf_mm, reach_mm=80)


def union(found: Any, kerf_mm: float) -> list[tuple[float, float]]:
    """The intervals that passes clear, joined where they meet or overlap."""
    out: list[tuple[float, float]] = []
    for low, high in sorted((p.travel_mm - kerf_mm, p.travel_mm) for p in found):
        if out and low <= out[-1][1] + EXACT_MM:
            out[-1] = (out[-1][0], max(high, out[-1][1]))
        else:
            out.append((low, high))
    return out


def test_passes_clear_their_cut_and_nothing_beside_it(rng) -> None:
    for _ in range(500):
        kerf = rng.uniform(1.5, 12)
        overlap = rng.choice([0.0, rng.uniform(0, 0.9 * kerf)])
        left = rng.uniform(-80, 80)
        right = left + kerf * rng.choice([1.0, 2.0, 3.0, rng.uniform(1, 20)])
        found = passes(left, right, cutter(kerf), TRAVERSE, overlap)
        ((low, high),) = union(found, kerf)
        assert (low, high) == pytest.approx((left, right), abs=EXACT_MM)
        steps = [b.travel_mm - a.travel_mm for a, b in itertools.pairwise(found)]
        # From one side only, and never further than the overlap allows.
        assert all(0 < s <= kerf - overlap + 1e-7 for s in steps)
        # No pass more than is needed.
        assert len(found) <= math.ceil((right - left - kerf) / (kerf - overlap) - 1e-6) + 1


def test_a_wide_cut_by_hand() -> None:
    """20 mm with 6 mm of kerf and 0.5 mm of overlap: 14 mm in 3 steps of 4.667 mm."""
    found = passes(10, 30, cutter(6), TRAVERSE, 0.5)
    expected = [16, 16 + 14 / 3, 16 + 28 / 3, 30]
    assert [p.travel_mm for p in found] == pytest.approx(expected, abs=EXACT_MM)


@pytest.mark.parametrize("right", [16.0, 15.0, 10.5])
def test_a_cut_no_wider_than_the_kerf_is_one_pass_at_its_right_end(right) -> None:
    (only,) = passes(10, right, cutter(6), TRAVERSE, 0.5)
    assert only.travel_mm == right


@pytest.mark.parametrize(
    ("travel", "turns", "divisions", "rounding"),
    [
        (0.0, 0, 0, 0.0),
        (8.0, 2, 0, 0.0),
        (7.03, 1, 61, 0.02),  # 140.6 divisions
        (7.02, 1, 60, -0.02),  # 140.4 divisions
        (-7.03, -1, -61, -0.02),
        (0.025, 0, 1, 0.025),  # halves go away from zero
        (-0.025, 0, -1, -0.025),
        (0.02, 0, 0, -0.02),
        (-0.02, 0, 0, 0.02),
        (3.98, 1, 0, 0.02),  # 79.6 divisions carry over into a turn
        (-3.98, -1, 0, -0.02),
    ],
)
def test_the_handwheel_by_hand(travel, turns, divisions, rounding) -> None:
    found = handwheel(TRAVERSE, travel)
    assert found.travel_mm == travel
    assert (found.turns, found.divisions) == (turns, divisions)
    assert found.rounding_mm == pytest.approx(rounding, abs=EXACT_MM)


def test_the_handwheel_is_never_more_than_half_a_division_off(rng) -> None:
    for _ in range(300):
        wheel = Traverse(
            min_mm=0, max_mm=1, lead_mm=rng.uniform(1, 6), divisions=int(rng.integers(1, 500))
        )
        travel = rng.uniform(-200, 200)
        found = handwheel(wheel, travel)
        per = wheel.lead_mm / wheel.divisions
        read = (found.turns * wheel.divisions + found.divisions) * per
        assert read == pytest.approx(travel + found.rounding_mm, abs=EXACT_MM)
        assert abs(found.rounding_mm) <= per / 2 + EXACT_MM
        assert abs(found.divisions) < wheel.divisions
        assert found.turns * travel >= 0
        assert found.divisions * travel >= 0


@pytest.mark.parametrize(
    ("last", "count", "over"),
    [(5.0, 1, 6.0), (5.5, 1, 6.0), (6.0, 2, 6.5), (11.0, 2, 11.5), (11.1, 3, 11.6)],
)
def test_a_sweep_counts_its_passes_and_what_they_clear(
    last: float, count: int, over: float
) -> None:
    """A 6 mm disc, 0.5 mm overlap, first pass at 5.5 mm: every further 5.5 mm is one pass more."""
    found = sweep((5.5, last), cutter(6.0), 0.5)
    assert (found.count, found.most_mm) == (count, 5.5)
    assert found.over_mm == pytest.approx(over, abs=EXACT_MM)
