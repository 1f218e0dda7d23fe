"""Clampings against scipy's rotations, and which way things move on the machine.

Signs: positive swivel is clockwise as you face the plate, positive tilt swings the cut end
towards you (-Y). Machine frame: X right, Y into the plate, Z up; the stock's z runs from
its cut end upwards.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from jointgeo.planning.orientation import clampings, machine_from_stock, quarter_turns

from .samples import turn

# Rounding of products and arctangents of doubles: 1e-12 in a matrix, 1e-10 of a degree.
MATRIX, DEGREE = 1e-12, 1e-10


def random_frames(rng: np.random.Generator, count: int) -> np.ndarray:
    return Rotation.from_quat(rng.normal(size=(count, 4))).as_matrix()


def test_positive_swivel_is_clockwise_as_you_face_the_plate() -> None:
    # Clockwise, seen with X right and Z up: what stood up leans to the right.
    far_end = machine_from_stock(30.0, 0.0) @ [0.0, 0.0, 1.0]
    np.testing.assert_allclose(far_end, [0.5, 0.0, np.sqrt(0.75)], rtol=0, atol=MATRIX)


def test_positive_tilt_swings_the_cut_end_towards_you() -> None:
    cut_end = machine_from_stock(0.0, 30.0) @ [0.0, 0.0, -1.0]
    np.testing.assert_allclose(cut_end, [0.0, -0.5, -np.sqrt(0.75)], rtol=0, atol=MATRIX)


def test_positive_packing_presses_the_right_hand_edge_to_the_plate() -> None:
    right_edge = machine_from_stock(0.0, 0.0, 30.0) @ [1.0, 0.0, 0.0]
    np.testing.assert_allclose(right_edge, [np.sqrt(0.75), 0.5, 0.0], rtol=0, atol=MATRIX)


@pytest.mark.parametrize(
    ("side", "outward"),
    [(0, (0, 1, 0)), (1, (1, 0, 0)), (2, (0, -1, 0)), (3, (-1, 0, 0))],
    ids=["0: back", "1: edge at x = width", "2: face side", "3: edge at x = 0"],
)
def test_quarter_turns_put_the_named_side_on_the_plate(side, outward) -> None:
    on_machine = machine_from_stock(0.0, 0.0, 0.0, side) @ np.array(outward, float)
    np.testing.assert_array_equal(on_machine, [0.0, 1.0, 0.0])


def test_rows_are_the_machine_axes_in_stock_coordinates() -> None:
    # Swivel 30°, tilt 20°, by hand from X: (cs, 0, ss), Y: (-st ss, ct, st cs),
    # Z: (-ct ss, -st, ct cs) with sin 20° = 0.3420201433, cos 20° = 0.9396926208.
    expected = [
        [0.8660254038, 0.0, 0.5],
        [-0.1710100717, 0.9396926208, 0.2961981327],
        [-0.4698463104, -0.3420201433, 0.8137976814],
    ]
    np.testing.assert_allclose(machine_from_stock(30.0, 20.0), expected, rtol=0, atol=1e-10)


def test_machine_from_stock_agrees_with_scipy(rng) -> None:
    swivel, tilt, packing = rng.uniform(-80, 80, size=(3, 50))
    side = rng.integers(0, 4, size=50)
    found = machine_from_stock(swivel, tilt, packing, side)
    for i in range(50):
        expected = turn(swivel[i], tilt[i], packing[i], int(side[i]))
        np.testing.assert_allclose(found[i], expected, rtol=0, atol=MATRIX)


def test_quarter_turns_are_exact() -> None:
    np.testing.assert_array_equal(
        quarter_turns([0, 1, 5, -1])[1], [[0, -1, 0], [1, 0, 0], [0, 0, 1]]
    )
    np.testing.assert_array_equal(quarter_turns(5), quarter_turns(1))
    np.testing.assert_array_equal(quarter_turns(-1), quarter_turns(3))


def test_both_clampings_make_the_cut_of_random_frames(rng) -> None:
    frames = random_frames(rng, 300)
    found = clampings(frames)
    for i, frame in enumerate(frames):
        for k, sense in enumerate((1.0, -1.0)):
            machine = turn(
                found.swivel_deg[i, k],
                found.tilt_deg[i, k],
                found.packing_deg[i, k],
                int(found.side[i, k]),
            )
            expected = np.diag([sense, sense, 1.0]) @ frame
            np.testing.assert_allclose(machine, expected, rtol=0, atol=MATRIX)
    assert np.all(np.abs(found.packing_deg) <= 45.0 + DEGREE)


def test_the_two_clampings_are_opposite(rng) -> None:
    # Turning by 180° about the machine's Z: Rz(180) Rx(-t) Ry(s) = Rx(t) Ry(-s) Rz(180).
    found = clampings(random_frames(rng, 200))
    np.testing.assert_allclose(found.swivel_deg.sum(-1), 0.0, rtol=0, atol=DEGREE)
    np.testing.assert_allclose(found.tilt_deg[:, 0], -found.tilt_deg[:, 1], rtol=0, atol=DEGREE)
    np.testing.assert_allclose(np.diff(found.packing_deg), 0.0, rtol=0, atol=DEGREE)
    np.testing.assert_array_equal((found.side[:, 0] + 2) % 4, found.side[:, 1])


def test_eight_names_are_two_clampings(rng) -> None:
    """Every side with either sense, by scipy: only two need 45° of packing or less."""
    for frame in random_frames(rng, 20):
        named = []
        for side in range(4):
            for sense in (1.0, -1.0):
                bare = np.diag([sense, sense, 1.0]) @ frame @ turn(0, 0, 0, side).T
                tilt, swivel, packing = Rotation.from_matrix(bare).as_euler("XYZ", degrees=True)
                if abs(packing) <= 45:
                    named.append((side, sense, swivel, -tilt, packing))
        found = clampings(frame)
        assert len(named) == 2
        for side, sense, *angles in named:
            k = 0 if sense > 0 else 1
            assert found.side[k] == side
            mine = [found.swivel_deg[k], found.tilt_deg[k], found.packing_deg[k]]
            np.testing.assert_allclose(mine, angles, rtol=0, atol=1e-9)


def test_leading_axes_broadcast(rng) -> None:
    frames = random_frames(rng, 6).reshape(2, 3, 3, 3)
    many = clampings(frames)
    assert many.swivel_deg.shape == (2, 3, 2)
    one = clampings(frames[1, 2])
    for name in ("side", "swivel_deg", "tilt_deg", "packing_deg", "degenerate"):
        np.testing.assert_array_equal(getattr(many, name)[1, 2], getattr(one, name))


@pytest.mark.parametrize("swivel", [90.0, -90.0])
def test_gimbal_lock_is_flagged_and_still_makes_the_cut(swivel) -> None:
    frame = turn(swivel, 25.0, 10.0)
    found = clampings(frame)
    assert found.degenerate.all()
    np.testing.assert_array_equal(found.packing_deg, 0.0)
    for k, sense in enumerate((1.0, -1.0)):
        machine = turn(found.swivel_deg[k], found.tilt_deg[k], 0.0, int(found.side[k]))
        # At lock the angles carry the square root of rounding, the frames do not need more.
        np.testing.assert_allclose(machine, np.diag([sense, sense, 1.0]) @ frame, rtol=0, atol=1e-6)


def test_short_of_gimbal_lock_is_not_flagged() -> None:
    found = clampings(turn(89.99, 25.0, 10.0))
    assert not found.degenerate.any()
    np.testing.assert_allclose(found.tilt_deg, [25.0, -25.0], rtol=0, atol=1e-8)
    np.testing.assert_allclose(found.packing_deg, 10.0, rtol=0, atol=1e-8)


@pytest.mark.parametrize("small", [1e-3, 1e-6, 1e-9])
def test_small_angles_keep_their_digits(small) -> None:
    # acos would lose half of them: cos(1e-9°) is 1 to the last bit.
    found = clampings(turn(small, small))
    assert found.swivel_deg[0] == pytest.approx(small, rel=1e-9)
    assert found.tilt_deg[0] == pytest.approx(small, rel=1e-9)


@pytest.mark.parametrize(
    "frame",
    [
        np.diag([-1.0, 1.0, 1.0]),
        np.diag([1.0, 1.0, 1.0 + 1e-6]),
        np.array([[1.0, 1e-6, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]]),
        np.full((3, 3), np.nan),
        np.zeros((3, 3)),
        np.eye(4),
        np.ones(3),
        1.0,
    ],
    ids=["mirrored", "stretched", "sheared", "not a number", "zero", "4×4", "vector", "scalar"],
)
def test_what_is_no_rotation_is_refused(frame) -> None:
    with pytest.raises(ValueError, match="frames must"):
        clampings(frame)


def test_one_bad_frame_of_many_is_refused(rng) -> None:
    frames = random_frames(rng, 5)
    frames[3] *= -1.0
    with pytest.raises(ValueError, match="right-handed"):
        clampings(frames)
