"""Arithmetic on numbers and on columns: each function against numpy, and one against the other."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from jointgeo.geometry import arith

# math and numpy may round the last digit differently; relative, values near 1.
LAST_DIGIT = 4e-16

ONE = {
    "sin": (arith.sin, np.sin),
    "cos": (arith.cos, np.cos),
    "tan": (arith.tan, np.tan),
    "arcsin": (arith.arcsin, np.arcsin),
    "arctan": (arith.arctan, np.arctan),
    "sqrt": (lambda v: arith.sqrt(abs(v)), lambda v: np.sqrt(np.abs(v))),
    "radians": (arith.radians, np.radians),
    "degrees": (arith.degrees, np.degrees),
    "sign": (arith.sign, np.sign),
    "nearest_whole": (lambda v: arith.nearest_whole(3 * v), lambda v: np.rint(3 * v)),
}
TWO = {
    "arctan2": (arith.arctan2, np.arctan2),
    "hypot": (arith.hypot, np.hypot),
    "least": (
        lambda a, b: arith.least([a, b, 0.1]),
        lambda a, b: np.minimum(np.minimum(a, b), 0.1),
    ),
    "most": (
        lambda a, b: arith.most([a, 0.1, b]),
        lambda a, b: np.maximum(np.maximum(a, b), 0.1),
    ),
    "where": (lambda a, b: arith.where(a < b, a, 2.0), lambda a, b: np.where(a < b, a, 2.0)),
    "place_of_least": (
        lambda a, b: arith.place_of_least([a, b, 0.1]),
        lambda a, b: np.argmin([a, b, np.full_like(a, 0.1)], axis=0),
    ),
    "among": (
        lambda a, b: arith.among(arith.nearest_whole(abs(a)), [a, b]),
        lambda a, b: np.where(np.abs(a) > 0.5, b, a),
    ),
}


def _compare(mine: Callable[..., Any], theirs: Callable[..., Any], *columns: Any) -> None:
    expected = theirs(*columns)
    whole = mine(*columns)
    assert isinstance(whole, np.ndarray)
    assert whole.shape == expected.shape
    np.testing.assert_allclose(whole, expected, rtol=LAST_DIGIT, atol=0)
    singles = [mine(*row) for row in zip(*(c.ravel().tolist() for c in columns), strict=True)]
    assert {type(s) for s in singles} <= {float, int}
    np.testing.assert_allclose(singles, expected.ravel(), rtol=LAST_DIGIT, atol=0)


@pytest.mark.parametrize("name", ONE)
def test_one_value_as_numpy_has_it(name: str, rng: np.random.Generator) -> None:
    _compare(*ONE[name], np.append(rng.uniform(-1, 1, 59), 0.0).reshape(3, 20))


@pytest.mark.parametrize("name", TWO)
def test_two_values_as_numpy_has_it(name: str, rng: np.random.Generator) -> None:
    _compare(*TWO[name], rng.uniform(-1, 1, (3, 20)), rng.uniform(-1, 1, (3, 20)))


def test_numbers_and_columns_broadcast_together() -> None:
    column = np.array([1.0, 3.0])
    assert arith.least([2.0, column]).tolist() == [1.0, 2.0]
    assert arith.where(column > 2, 5.0, column).tolist() == [1.0, 5.0]
    assert arith.among(np.array([1, 0]), [column, 7.0]).tolist() == [7.0, 3.0]
    assert arith.place_of_least([column, 2.0]).tolist() == [0, 1]


def test_the_first_of_equal_ones_is_the_least() -> None:
    assert arith.place_of_least([2.0, 1.0, 1.0]) == 1
    assert arith.place_of_least([np.array([1.0]), np.array([1.0])]).tolist() == [0]


@pytest.mark.parametrize("ratio", [1.0000001, -2.0])
def test_no_angle_has_a_sine_beyond_one(ratio: float) -> None:
    assert math.isnan(arith.arcsin(ratio))
    assert np.isnan(arith.arcsin(np.array([ratio, 0.5]))).tolist() == [True, False]


@pytest.mark.parametrize("value", [2, 2.0, np.float64(2), np.array(2.0), True])
def test_whatever_is_one_number_becomes_a_float(value: Any) -> None:
    assert type(arith.column(value)) is float


def test_lists_become_columns() -> None:
    assert arith.column([1, 2]).tolist() == [1.0, 2.0]
