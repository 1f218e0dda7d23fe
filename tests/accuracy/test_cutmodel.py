"""The error model against cuts made independently with scipy's rotations, and by hand."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from jointgeo.planning.end_plan import SetupPlan
from jointgeo.uncertainty.cutmodel import OUTCOMES, outcomes
from jointgeo.uncertainty.shape import ERRORS, Shape, setup_shape

ARM, LOCK, RAILS = 230.0, 380.0, 420.0


def shape_of(swivel: float, tilt: float, wall: int = 1, span: float = 20.0, side: int = 0) -> Shape:
    return Shape(swivel, tilt, 0.0, side, 100.0, 40.0, 30.0, span, wall, 50.0, ARM, LOCK, RAILS)


def result(shape: Shape, **errors: float) -> dict[str, float]:
    row = np.array([errors.get(name, 0.0) for name in ERRORS])
    return dict(zip(OUTCOMES, outcomes(row, shape).tolist(), strict=True))


def reference_rotation(shape: Shape, e: dict[str, float]) -> np.ndarray:
    """Rows: machine axes in stock coordinates, by scipy, in the order the model's text says."""
    tilt = shape.tilt_deg + e.get("tilt_deg", 0.0)
    tilt += np.degrees(np.arctan(e.get("hinge_play_mm", 0.0) / ARM))
    lock = e.get("lock_difference_mm", 0.0)
    tilt += np.degrees(np.arctan(lock / 2 / ARM))
    swivel = shape.swivel_deg + e.get("swivel_deg", 0.0)
    roll = np.degrees(np.arctan(e.get("rail_difference_mm", 0.0) / RAILS))
    turns = [
        Rotation.from_euler("y", roll, degrees=True),
        Rotation.from_euler("x", -tilt, degrees=True),
        Rotation.from_euler("z", -np.degrees(np.arctan(lock / LOCK)), degrees=True),
        Rotation.from_euler("y", swivel, degrees=True),
        Rotation.from_euler("z", shape.packing_deg + 90 * shape.side, degrees=True),
    ]
    whole = turns[0] * turns[1] * turns[2] * turns[3] * turns[4]
    return np.asarray(whole.as_matrix())


def shoulder_diagonals(nominal: np.ndarray, actual: np.ndarray) -> tuple[float, float]:
    """Rise of the actual end over the nominal one at the four edges, plane by plane."""
    rises = []
    for x, y in ((0, 0), (100, 0), (100, 40), (0, 40)):
        at = np.array([x - 50.0, y - 20.0])
        heights = [-(r[2, :2] @ at) / r[2, 2] for r in (nominal, actual)]
        rises.append((heights[1] - heights[0]) * nominal[2, 2])
    return rises[2] - rises[0], rises[3] - rises[1]


@pytest.mark.parametrize("side", [0, 1, 2, 3])
@pytest.mark.parametrize(("swivel", "tilt"), [(0.0, 0.0), (8.0, 12.0), (-14.5, 3.8)])
@pytest.mark.parametrize(
    "errors",
    [
        {"swivel_deg": 0.3},
        {"tilt_deg": -0.2},
        {"lock_difference_mm": 0.8, "hinge_play_mm": 0.2},
        {"rail_difference_mm": 0.5, "swivel_deg": -0.1},
    ],
)
def test_shoulder_and_corner_agree_with_planes_cut_by_scipy(
    swivel: float, tilt: float, side: int, errors: dict[str, float]
) -> None:
    """Exact geometry both times, so only rounding may differ: 1e-9 mm, and 1e-5° for the
    corner, which is read from the antisymmetric part of a turn of under half a degree."""
    shape = shape_of(swivel, tilt, side=side)
    nominal, actual = reference_rotation(shape, {}), reference_rotation(shape, errors)
    found = result(shape, **errors)
    first, second = shoulder_diagonals(nominal, actual)
    assert found["shoulder_1_mm"] == pytest.approx(first, abs=1e-9)
    assert found["shoulder_2_mm"] == pytest.approx(second, abs=1e-9)
    turn = Rotation.from_matrix(actual @ nominal.T).as_rotvec(degrees=True)
    assert found["corner_feed_deg"] == pytest.approx(turn[1], abs=1e-5)
    assert found["corner_traverse_deg"] == pytest.approx(-turn[0], abs=1e-5)


def test_square_stock_gaps_by_width_times_tangent() -> None:
    """At zero settings swivel acts on the 100 mm width, tilt on the 40 mm thickness."""
    found = result(shape_of(0.0, 0.0), swivel_deg=0.1)
    assert abs(found["shoulder_1_mm"]) == pytest.approx(100 * np.tan(np.radians(0.1)), abs=1e-9)
    found = result(shape_of(0.0, 0.0), tilt_deg=0.1)
    assert abs(found["shoulder_1_mm"]) == pytest.approx(40 * np.tan(np.radians(0.1)), abs=1e-9)


def test_directions_of_an_error() -> None:
    """Swivel clockwise: the trim runs deeper on the right, x grows to the right, so the far
    corner's rise is positive. Tilt: deeper on the plate's side, where y is greatest."""
    assert result(shape_of(0.0, 0.0), swivel_deg=0.1)["shoulder_1_mm"] > 0
    assert result(shape_of(0.0, 0.0), tilt_deg=0.1)["shoulder_2_mm"] > 0
    assert result(shape_of(0.0, 0.0), rail_difference_mm=1.0)["corner_feed_deg"] > 0
    thicker_right = result(shape_of(0.0, 0.0), lock_difference_mm=1.0)
    assert thicker_right["corner_traverse_deg"] > 0
    # The right-hand side forward: the stock turns clockwise seen from above, so in it the walls
    # run to the left going away from you, by 40 mm of feed times 1 mm over the locks' spacing.
    assert thicker_right["cheek_wind_1_mm"] == pytest.approx(-40 * 1.0 / LOCK, rel=2e-3)


def test_widths_and_depths_by_hand() -> None:
    """Kerf widens a slot and narrows a tongue; lead acts over the span between the walls."""
    slot, tongue = shape_of(0.0, 0.0, wall=1), shape_of(0.0, 0.0, wall=-1)
    assert result(slot, kerf_mm=0.04)["cheek_fit_mm"] == pytest.approx(0.04, abs=1e-12)
    assert result(tongue, kerf_mm=0.04)["cheek_fit_mm"] == pytest.approx(-0.04, abs=1e-12)
    assert result(slot, lead_fraction=0.001)["cheek_fit_mm"] == pytest.approx(0.02, abs=1e-12)
    walls = result(slot, left_wall_mm=-0.01, right_wall_mm=0.02)
    assert walls["cheek_fit_mm"] == pytest.approx(0.03, abs=1e-12)
    one_pass = shape_of(0.0, 0.0, span=0.0)
    assert result(one_pass, right_wall_mm=0.02)["cheek_fit_mm"] == 0.0
    depth = result(slot, trim_height_mm=0.1, cut_height_mm=0.25, mate_mm=0.05)
    assert depth["depth_mm"] == pytest.approx(0.10, abs=1e-12)
    # The middle, 50 mm from the touch-off corner: lead moves it, half the kerf moves it back.
    assert result(slot, lead_fraction=0.001)["place_mm"] == pytest.approx(0.05, abs=1e-12)
    assert result(slot, kerf_mm=0.04)["place_mm"] == pytest.approx(-0.02, abs=1e-12)


def test_thickness_moves_the_place_where_the_touched_corner_is_a_back_one() -> None:
    """On edge with x = width on the plate (n = 1) the back comes to the left, and the touch-off
    corner lies on it: stock thicker by 0.3 mm moves the cut by as much towards the back."""
    found = result(shape_of(0.0, 0.0, side=1), thickness_mm=0.3)
    assert abs(found["place_mm"]) == pytest.approx(0.3, abs=1e-9)
    assert result(shape_of(0.0, 0.0, side=0), thickness_mm=0.3)["place_mm"] == 0.0


def test_no_error_no_outcome(setup: SetupPlan, porch: object) -> None:
    found = outcomes(np.zeros((1, len(ERRORS))), setup_shape(setup, porch))
    assert np.abs(found).max() < 1e-9


def test_batches_run_the_same_lines(
    bridle: SetupPlan, porch: object, rng: np.random.Generator
) -> None:
    """Each entry of a batch equals the same errors by themselves, to rounding."""
    errors = rng.normal(size=(5, 2, len(ERRORS))) * 0.05
    shape = setup_shape(bridle, porch)
    whole = outcomes(errors, shape)
    assert whole.shape == (5, 2, len(OUTCOMES))
    for i in range(5):
        assert whole[i, 1] == pytest.approx(outcomes(errors[i, 1], shape), abs=1e-12)
