"""Rotations against scipy.spatial.transform.Rotation, and the way each of them turns."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from jointgeo.geometry.rotations import (
    about_x,
    about_y,
    about_z,
    apply,
    cross,
    direction,
    dot,
    moved,
    pose,
    pose_rows,
    rows_of,
    scaled,
    stacked,
    transposed,
    unapply,
    unit,
    vectors_of,
)

# Rounding of one product of doubles near 1; dimensionless.
ROUNDING = 1e-14


@pytest.mark.parametrize(
    ("axis", "about"), [(0, about_x), (1, about_y), (2, about_z)], ids=["x", "y", "z"]
)
def test_one_axis_agrees_with_scipy(axis, about, rng) -> None:
    angles = rng.uniform(-2 * np.pi, 2 * np.pi, size=(4, 5))
    turns = angles.ravel()[:, None] * np.eye(3)[axis]
    expected = Rotation.from_rotvec(turns).as_matrix().reshape(4, 5, 3, 3)
    np.testing.assert_allclose(about(angles), expected, rtol=0, atol=ROUNDING)


@pytest.mark.parametrize(
    ("about", "from_axis", "to_axis"),
    [(about_x, 1, 2), (about_y, 2, 0), (about_z, 0, 1)],
    ids=["about X: Y goes to Z", "about Y: Z goes to X", "about Z: X goes to Y"],
)
def test_a_quarter_turn_goes_the_right_handed_way(about, from_axis, to_axis) -> None:
    start, end = np.eye(3)[from_axis], np.eye(3)[to_axis]
    np.testing.assert_allclose(about(np.pi / 2) @ start, end, rtol=0, atol=ROUNDING)


def test_pose_first_turns_and_then_moves() -> None:
    # By hand: (1, 0, 0) turned a quarter about Z is (0, 1, 0), moved by (10, 20, 30).
    landed = pose(about_z(np.pi / 2), [10.0, 20.0, 30.0]) @ [1.0, 0.0, 0.0, 1.0]
    np.testing.assert_allclose(landed, [10.0, 21.0, 30.0, 1.0], rtol=0, atol=ROUNDING)


def test_pose_broadcasts_one_rotation_over_many_places(rng) -> None:
    places = rng.normal(size=(7, 2, 3))
    many = pose(about_x(0.3), places)
    assert many.shape == (7, 2, 4, 4)
    np.testing.assert_array_equal(many[3, 1], pose(about_x(0.3), places[3, 1]))


def test_unit_by_hand() -> None:
    # 3-4-5 and 2-3-6-7: lengths that are whole numbers.
    np.testing.assert_allclose(
        unit([[3.0, 0.0, 4.0], [2.0, 3.0, 6.0]]),
        [[0.6, 0.0, 0.8], [2 / 7, 3 / 7, 6 / 7]],
        rtol=0,
        atol=ROUNDING,
    )


def random_rows(rng, count):
    return Rotation.random(count, random_state=rng).as_matrix()


def test_rows_agree_with_matrices(rng) -> None:
    for a, p in zip(random_rows(rng, 20), rng.normal(size=(20, 3)), strict=True):
        here, v = rows_of(a), tuple(p.tolist())
        np.testing.assert_allclose(apply(here, v), a @ p, rtol=0, atol=ROUNDING)
        np.testing.assert_allclose(unapply(here, v), a.T @ p, rtol=0, atol=ROUNDING)
        np.testing.assert_array_equal(transposed(here), a.T)
        np.testing.assert_array_equal(pose_rows(here, v), pose(a, p))


def test_columns_of_rows_agree_with_matrices(rng) -> None:
    first = random_rows(rng, 12).reshape(3, 4, 3, 3)
    points = rng.normal(size=(3, 4, 5, 3))
    landed = stacked([apply(rows_of(first), v) for v in vectors_of(points)])
    expected = points @ np.swapaxes(first, -1, -2)
    np.testing.assert_allclose(landed, expected, rtol=0, atol=ROUNDING)


def test_vectors_by_hand() -> None:
    x, y = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0)
    assert cross(x, y) == (0.0, 0.0, 1.0)
    assert dot((1.0, 2.0, 3.0), (4.0, 5.0, 6.0)) == 32.0
    assert moved((1.0, 2.0, 3.0), y, 10.0) == (1.0, 12.0, 3.0)
    assert scaled((1.0, -2.0, 3.0), -2.0) == (-2.0, 4.0, -6.0)
    np.testing.assert_allclose(direction((3.0, 0.0, 4.0)), (0.6, 0.0, 0.8), rtol=0, atol=ROUNDING)
