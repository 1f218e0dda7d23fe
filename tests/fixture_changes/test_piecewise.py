"""Straight pieces against the same functions looked at point by point."""

from __future__ import annotations

import math

import numpy as np
import pytest

from jointgeo.geometry.piecewise import NOTHING, Piecewise, Step, greatest_of, least_of

EXACT = 1e-9  # of values below 100: rounding


def some(rng: np.random.Generator) -> Piecewise:
    x = np.sort(rng.uniform(-10, 10, size=int(rng.integers(2, 6))))
    return Piecewise.through(
        (float(a), float(b)) for a, b in zip(x, rng.uniform(-5, 5, size=len(x)), strict=True)
    )


@pytest.mark.parametrize("seed", range(40))
def test_greatest_and_least_of_many_at_many_places(seed: int) -> None:
    rng = np.random.default_rng(seed)
    functions = [some(rng) for _ in range(int(rng.integers(1, 7)))]
    top, bottom = greatest_of(functions), least_of(functions)
    for x in rng.uniform(-11, 11, size=200):
        values = [f.at(float(x)) for f in functions]
        for found, expected in (
            (top.at(float(x)), max(values)),
            (bottom.at(float(x)), min(values)),
        ):
            assert found == expected or abs(found - expected) < EXACT


def test_a_crossing_is_a_break_point() -> None:
    up, down = Piecewise.through([(0, 0), (4, 4)]), Piecewise.through([(0, 2), (4, -2)])
    assert greatest_of([up, down]).breaks == [0, 1, 4]
    assert greatest_of([up, down]).at(1) == 1
    assert least_of([up, down]).at(3) == -1


def test_at_a_jump_the_greater_value_counts() -> None:
    high = Piecewise((Step(0, 1, 5, 5), Step(1, 2, 3, 3)))
    assert high.at(1) == 5
    assert high.at(2) == 3
    assert high.at(2.0000001) == -math.inf


def test_nothing_stays_nothing() -> None:
    one = Piecewise.through([(0, 1), (1, 1)])
    assert greatest_of([]) == NOTHING
    assert greatest_of([one, NOTHING]) == one
    assert least_of([one, NOTHING]) == NOTHING
    assert NOTHING.but_within(one, 7).at(0.5) == 7
    assert one.but_within(Piecewise.through([(0, 0), (2, 0)]), 7).at(1.5) == 7
    assert one.but_within(Piecewise.through([(0, 0), (2, 0)]), 7).at(0.5) == 1
