"""Clampings against scipy's rotations, and which way things move on the machine.

Signs: positive swivel is clockwise as you face the plate, positive tilt swings the cut end
towards you (-Y). Machine frame: X right, Y into the plate, Z up; the stock's z runs from
its cut end upwards.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from jointgeo.planning.orientation import (
    SENSES,
    Clamping,
    clamping,
    machine_from_stock,
    quarter_rows,
)

from .samples import turn

# Rounding of products and arctangents of doubles: 1e-12 in a matrix, 1e-10 of a degree.
MATRIX, DEGREE = 1e-12, 1e-10


def random_frames(rng: np.random.Generator, count: int) -> np.ndarray:
    return Rotation.from_quat(rng.normal(size=(count, 4))).as_matrix()


def test_positive_swivel_is_clockwise_as_you_face_the_plate() -> None:
    # Clockwise, seen with X right and Z up: what stood up leans to the right.
    far_end = np.array(machine_from_stock(30.0, 0.0)) @ [0.0, 0.0, 1.0]
    np.testing.assert_allclose(far_end, [0.5, 0.0, np.sqrt(0.75)], rtol=0, atol=MATRIX)


def test_positive_tilt_swings_the_cut_end_towards_you() -> None:
    cut_end = np.array(machine_from_stock(0.0, 30.0)) @ [0.0, 0.0, -1.0]
    np.testing.assert_allclose(cut_end, [0.0, -0.5, -np.sqrt(0.75)], rtol=0, atol=MATRIX)


def test_positive_packing_presses_the_right_hand_edge_to_the_plate() -> None:
    right_edge = np.array(machine_from_stock(0.0, 0.0, 30.0)) @ [1.0, 0.0, 0.0]
    np.testing.assert_allclose(right_edge, [np.sqrt(0.75), 0.5, 0.0], rtol=0, atol=MATRIX)


@pytest.mark.parametrize(
    ("side", "outward"),
    [(0, (0, 1, 0)), (1, (1, 0, 0)), (2, (0, -1, 0)), (3, (-1, 0, 0))],
    ids=["0: back", "1: edge at x = width", "2: face side", "3: edge at x = 0"],
)
def test_quarter_turns_put_the_named_side_on_the_plate(side, outward) -> None:
    on_machine = np.array(machine_from_stock(0.0, 0.0, 0.0, side)) @ np.array(outward, float)
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
    for _ in range(50):
        angles, side = rng.uniform(-80, 80, size=3).tolist(), int(rng.integers(-1, 5))
        found = machine_from_stock(*angles, side)
        np.testing.assert_allclose(found, turn(*angles, side), rtol=0, atol=MATRIX)


def test_quarter_turns_are_exact() -> None:
    assert quarter_rows(1) == ((0, -1, 0), (1, 0, 0), (0, 0, 1))
    assert quarter_rows(2) == ((-1, 0, 0), (0, -1, 0), (0, 0, 1))
    assert quarter_rows(5) == quarter_rows(1)
    assert quarter_rows(-1) == quarter_rows(3)


def clampings(frame: np.ndarray) -> list[Clamping]:
    """Both clampings of a frame, in the order of ``SENSES``."""
    rows: Any = tuple(map(tuple, frame.tolist()))
    return [clamping(rows, sense) for sense in SENSES]


def sensed(frame: np.ndarray, sense: float) -> np.ndarray:
    return np.diag([sense, sense, 1.0]) @ frame


def test_both_clampings_make_the_cut_of_random_frames(rng) -> None:
    for frame in random_frames(rng, 300):
        for sense, c in zip(SENSES, clampings(frame), strict=True):
            machine = turn(c.swivel_deg, c.tilt_deg, c.packing_deg, c.side)
            np.testing.assert_allclose(machine, sensed(frame, sense), rtol=0, atol=MATRIX)
            assert abs(c.packing_deg) <= 45.0 + DEGREE


def test_the_two_clampings_are_opposite(rng) -> None:
    # Turning by 180° about the machine's Z: Rz(180) Rx(-t) Ry(s) = Rx(t) Ry(-s) Rz(180).
    for frame in random_frames(rng, 200):
        one, other = clampings(frame)
        assert one.swivel_deg == pytest.approx(-other.swivel_deg, abs=DEGREE)
        assert one.tilt_deg == pytest.approx(-other.tilt_deg, abs=DEGREE)
        assert one.packing_deg == pytest.approx(other.packing_deg, abs=DEGREE)
        assert (one.side + 2) % 4 == other.side


def test_eight_names_are_two_clampings(rng) -> None:
    """Every side with either sense, by scipy: only two need 45° of packing or less."""
    for frame in random_frames(rng, 20):
        named = []
        for side in range(4):
            for sense in SENSES:
                bare = sensed(frame, sense) @ turn(0, 0, 0, side).T
                tilt, swivel, packing = Rotation.from_matrix(bare).as_euler("XYZ", degrees=True)
                if abs(packing) <= 45:
                    named.append((side, sense, swivel, -tilt, packing))
        found = dict(zip(SENSES, clampings(frame), strict=True))
        assert len(named) == 2
        for side, sense, *angles in named:
            c = found[sense]
            assert c.side == side
            mine = [c.swivel_deg, c.tilt_deg, c.packing_deg]
            np.testing.assert_allclose(mine, angles, rtol=0, atol=1e-9)


@pytest.mark.parametrize("swivel", [90.0, -90.0])
def test_gimbal_lock_is_flagged_and_still_makes_the_cut(swivel) -> None:
    frame = turn(swivel, 25.0, 10.0)
    for sense, c in zip(SENSES, clampings(frame), strict=True):
        assert c.degenerate
        assert c.packing_deg == 0.0
        machine = turn(c.swivel_deg, c.tilt_deg, 0.0, c.side)
        # At lock the angles carry the square root of rounding, the frames do not need more.
        np.testing.assert_allclose(machine, sensed(frame, sense), rtol=0, atol=1e-6)


def test_short_of_gimbal_lock_is_not_flagged() -> None:
    for tilt, c in zip((25.0, -25.0), clampings(turn(89.99, 25.0, 10.0)), strict=True):
        assert not c.degenerate
        assert c.tilt_deg == pytest.approx(tilt, abs=1e-8)
        assert c.packing_deg == pytest.approx(10.0, abs=1e-8)


@pytest.mark.parametrize("small", [1e-3, 1e-6, 1e-9])
def test_small_angles_keep_their_digits(small) -> None:
    # acos would lose half of them: cos(1e-9°) is 1 to the last bit.
    found, _ = clampings(turn(small, small))
    assert found.swivel_deg == pytest.approx(small, rel=1e-9)
    assert found.tilt_deg == pytest.approx(small, rel=1e-9)
