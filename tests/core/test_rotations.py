"""Rotations against scipy.spatial.transform.Rotation, and the way each of them turns."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from jointgeo.geometry.rotations import (
    UNIT_ROWS,
    Rows,
    apply,
    dot,
    transposed,
    turn_x,
    turn_y,
    turn_z,
    unapply,
)

# Rounding of one product of doubles near 1; dimensionless.
ROUNDING = 1e-14
TURNS = (turn_x, turn_y, turn_z)


def rows_of(matrix: np.ndarray) -> Rows:
    x, y, z = map(tuple, matrix.tolist())
    return x, y, z


@pytest.mark.parametrize("axis", [0, 1, 2], ids=["x", "y", "z"])
def test_a_turn_follows_what_was_turned_before(axis, rng) -> None:
    for angle in rng.uniform(-2 * np.pi, 2 * np.pi, size=20).tolist():
        before = Rotation.random(random_state=rng).as_matrix()
        about = Rotation.from_rotvec(angle * np.eye(3)[axis]).as_matrix()
        found = TURNS[axis](rows_of(before), angle)
        np.testing.assert_allclose(found, about @ before, rtol=0, atol=ROUNDING)


@pytest.mark.parametrize(
    ("about", "start", "end"),
    [(turn_x, 1, 2), (turn_y, 2, 0), (turn_z, 0, 1)],
    ids=["about X: Y goes to Z", "about Y: Z goes to X", "about Z: X goes to Y"],
)
def test_a_quarter_turn_goes_the_right_handed_way(about, start, end) -> None:
    found = apply(about(UNIT_ROWS, np.pi / 2), UNIT_ROWS[start])
    np.testing.assert_allclose(found, UNIT_ROWS[end], rtol=0, atol=ROUNDING)


def test_rows_agree_with_matrices(rng) -> None:
    for point in rng.normal(size=(20, 3)):
        matrix = Rotation.random(random_state=rng).as_matrix()
        rows, v = rows_of(matrix), tuple(point.tolist())
        np.testing.assert_allclose(apply(rows, v), matrix @ point, rtol=0, atol=ROUNDING)
        np.testing.assert_allclose(unapply(rows, v), matrix.T @ point, rtol=0, atol=ROUNDING)
        np.testing.assert_array_equal(transposed(rows), matrix.T)


def test_a_scalar_product_by_hand() -> None:
    assert dot((1.0, 2.0, 3.0), (4.0, 5.0, 6.0)) == 32.0
