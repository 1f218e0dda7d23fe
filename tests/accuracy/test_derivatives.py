"""The closed derivatives against central differences of the exact cut, over random setups."""

from __future__ import annotations

import numpy as np
import pytest

from jointgeo.uncertainty.cutmodel import OUTCOMES, outcomes
from jointgeo.uncertainty.derivatives import derivatives
from jointgeo.uncertainty.shape import ERRORS, Shape

#: Steps of the differences: 0.001 degree or millimetre, 1e-5 of a fraction.
STEPS = np.array([1e-5 if name.endswith("fraction") else 1e-3 for name in ERRORS])

#: mm, or degrees, for each unit of an error. A central difference is out by h²·f'''/6. Of a
#: play p at an arm of 30 mm, f''' = 2·f'/arm²: (1e-3 / 30)²/3 = 4e-10 of f', which is 8 mm at
#: most here; a degree's h is 1.7e-5, and f''' some tens of f' where the end is steep. Either
#: is some 5e-9 mm.
TOLERANCE = 1e-8


def differences(shape: Shape) -> dict[str, np.ndarray]:
    """Central differences of the exact cut: for each outcome, by error."""
    steps = np.diag(STEPS)
    whole = (outcomes(steps, shape) - outcomes(-steps, shape)) / (2 * STEPS[:, None])
    return dict(zip(OUTCOMES, whole.T, strict=True))


def closed(shape: Shape) -> dict[str, np.ndarray]:
    found = derivatives(shape)
    slopes = (
        *found.shoulder,
        found.cheek_fit,
        *found.cheek_wind,
        found.depth,
        found.place,
        *found.corner,
    )
    assert all(set(s) <= set(ERRORS) for s in slopes)
    rows = [np.array([s.get(e, 0.0) for e in ERRORS]) for s in slopes]
    return dict(zip(OUTCOMES, rows, strict=True))


def random_shape(rng: np.random.Generator, wall: int, level: bool) -> Shape:
    """Any side on the plate; level: both axes at zero, where corners stand level."""
    swivel, tilt, packing = (0.0, 0.0, 0.0) if level else rng.uniform([-50, -40, -45], [50, 40, 45])
    span = 0.0 if rng.random() < 0.2 else rng.uniform(1, 150)
    sizes = rng.uniform([10, 10, 0], [200, 150, 80])
    distances = rng.uniform([30, 100, 100], [500, 800, 800])
    side = int(rng.integers(4))
    middle = rng.uniform(-100, 200)
    return Shape(swivel, tilt, packing, side, *sizes, span, wall, middle, *distances)


@pytest.mark.parametrize("wall", [-1, 0, 1])
@pytest.mark.parametrize("level", [False, True])
def test_closed_form_and_differences_agree(
    wall: int, level: bool, rng: np.random.Generator
) -> None:
    for _ in range(60):
        shape = random_shape(rng, wall, level)
        one, other = closed(shape), differences(shape)
        for name in OUTCOMES:
            assert one[name] == pytest.approx(other[name], abs=TOLERANCE), name


def test_one_axis_at_zero_leaves_corners_level(rng: np.random.Generator) -> None:
    """Swivelled but not tilted, or the reverse: two corners stand level across the machine."""
    for axes in ((12.0, 0.0), (-12.0, 0.0), (0.0, 9.0)):
        for side in range(4):
            sizes = rng.uniform([10, 10, 0], [200, 150, 80])
            shape = Shape(*axes, 0.0, side, *sizes, 20.0, 1, 30.0, 230.0, 380.0, 420.0)
            one, other = closed(shape), differences(shape)
            for name in OUTCOMES:
                assert one[name] == pytest.approx(other[name], abs=TOLERANCE), name


@pytest.mark.parametrize("side", [0, 1, 2, 3])
def test_rounding_does_not_choose_among_corners_that_stand_level(side: int) -> None:
    """A tilt of 1e-13° of either sign lifts one of two level corners by some 1e-14 mm. Followed is
    the same corner every time, by both models: the first of the two."""
    place = []
    for tilt in (0.0, 1e-13, -1e-13):
        shape = Shape(12.0, tilt, 0.0, side, 100.0, 40.0, 30.0, 20.0, 1, 50.0, 230.0, 380.0, 420.0)
        found = closed(shape)["place_mm"]
        assert found == pytest.approx(differences(shape)["place_mm"], abs=TOLERANCE)
        place.append(found)
    assert place[1] == pytest.approx(place[0], abs=TOLERANCE)
    assert place[2] == pytest.approx(place[0], abs=TOLERANCE)
