"""Plane geometry of the drawings, against scipy and hand-drawn cases."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import minimize
from scipy.spatial import ConvexHull

from jointgeo.sheet.plane import clipped, hatching, hull, inside_box, segment_in_box, spread


def area(polygon: np.ndarray) -> float:
    x, y = polygon[:, 0], polygon[:, 1]
    return float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)) / 2)


def test_a_hull_is_scipys(rng: np.random.Generator) -> None:
    """Reference: scipy.spatial.ConvexHull (Qhull), whose 2-D "volume" is the area."""
    for _ in range(20):
        p = rng.normal(size=(30, 2)) * [40.0, 7.0]
        found, known = hull(p), ConvexHull(p)
        assert len(found) == len(known.vertices)
        assert area(found) == pytest.approx(known.volume, abs=1e-6)  # mm², corners to 1e-9 mm


def test_a_hull_runs_counter_clockwise_and_drops_what_lies_on_its_sides() -> None:
    square = [[0, 0], [1, 0], [2, 0], [2, 2], [0, 2], [0, 1], [1, 1]]
    found = hull(square)
    assert area(found) == pytest.approx(4.0)
    assert len(found) == 4


def test_clipping_keeps_the_side_that_is_asked_for() -> None:
    square = np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 4.0], [0.0, 4.0]])
    left = clipped(square, [1.0, 0.0], 1.0)
    assert area(left) == pytest.approx(4.0)
    assert left[:, 0].max() == pytest.approx(1.0)
    assert len(clipped(square, [1.0, 0.0], -1.0)) == 0
    assert area(inside_box(square, [1, 1], [9, 2])) == pytest.approx(3.0)


@pytest.mark.parametrize(
    ("a", "b", "wanted"),
    [
        ([-1, 1], [5, 1], ([0, 1], [2, 1])),
        ([1, -1], [1, 1], ([1, 0], [1, 1])),
        ([3, 0], [3, 2], None),
        ([-1, 0], [2, 3], ([0, 1], [1, 2])),
    ],
)
def test_a_line_is_cut_off_at_a_box(
    a: list[float], b: list[float], wanted: tuple[list[float], list[float]] | None
) -> None:
    found = segment_in_box(a, b, [0, 0], [2, 2])
    if wanted is None:
        assert found is None
    else:
        assert found is not None
        np.testing.assert_allclose(found, wanted, atol=1e-12)


def test_hatching_fills_a_square_with_its_own_length() -> None:
    """Lines 1 mm apart have as many millimetres as the area has square millimetres, on average."""
    lines = hatching([[0, 0], [50, 0], [50, 50], [0, 50]], 1.0, 30.0)
    total = sum(float(np.hypot(b[0] - a[0], b[1] - a[1])) for a, b in lines)
    assert total == pytest.approx(2500.0, rel=0.01)  # the first and last line are chance
    for a, b in lines:
        for p in (a, b):
            assert min(p) >= -1e-9
            assert max(p) <= 50 + 1e-9


def test_labels_move_as_little_as_scipy_finds(rng: np.random.Generator) -> None:
    """Reference: the same least squares under the same distances by scipy's SLSQP."""
    for _ in range(15):
        wanted = np.sort(rng.uniform(0, 40, size=7))
        steps = rng.uniform(2, 6, size=6)
        found = np.array(spread(list(wanted), list(steps), 0.0, 60.0))
        assert np.all(np.diff(found) >= steps - 1e-9)
        best = minimize(
            lambda p, w=wanted: float(np.sum((p - w) ** 2)),
            np.linspace(0, 60, 7),
            method="SLSQP",
            bounds=[(0.0, 60.0)] * 7,
            constraints=[
                {"type": "ineq", "fun": lambda p, s=steps: np.diff(p) - s},
            ],
            options={"maxiter": 500, "ftol": 1e-12},
        )
        assert np.sum((found - wanted) ** 2) <= best.fun + 1e-4  # mm², SLSQP's own slack


def test_labels_that_cannot_fit_share_the_room() -> None:
    np.testing.assert_allclose(spread([1, 2, 3], 10.0, 0.0, 10.0), [0.0, 5.0, 10.0])
    assert spread([], 1.0, 0.0, 1.0) == []
    assert spread([7.0], 1.0, 0.0, 5.0) == [5.0]
