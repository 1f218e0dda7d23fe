"""Rotations against scipy.spatial.transform.Rotation, and the way each of them turns."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from jointgeo.rotations import about_x, about_y, about_z, pose, unit

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
