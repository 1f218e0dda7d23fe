"""Whole pieces cut from the settings of their ends alone, put in the room, and measured there."""

from __future__ import annotations

from math import radians, sqrt, tan
from typing import Any

import numpy as np
import pytest

from jointgeo.errors import InputError
from jointgeo.fixtures.file import load_fixture
from jointgeo.pieces.solve import solve_piece
from jointgeo.proof import PieceFit, fit_piece

from .rooms import bench, frame

FOUR = 0.00005 + 1e-6  # mm: printed to four places
ROUNDING_MM = 1e-9
NOTHING_MM3 = 1e-6  # the kernel's rounding over metres

PORCH = load_fixture("porch")


def cut(piece: Any, marks: Any = "alike", errors: dict[str, float] | None = None) -> PieceFit:
    return fit_piece(solve_piece(piece, PORCH, marks).bars_dict(), errors)


@pytest.mark.parametrize("marks", ["alike", "as_drawn"])
@pytest.mark.parametrize("leaning", [True, False])
@pytest.mark.parametrize("housed", [True, False])
def test_a_bench_goes_together(leaning: bool, housed: bool, marks: str) -> None:
    """Feet at footprint half-sizes 503.8908 and 224.3858 in the floor, the seat at 430."""
    fit = cut(bench(leaning=leaning, housed=housed), marks)
    assert fit.faults == ()
    assert fit.overlap_mm3 <= NOTHING_MM3
    assert max(fit.gap_mm, fit.press_mm) <= ROUNDING_MM
    low, high = fit.extents_mm
    assert (low[2], high[2]) == (pytest.approx(0, abs=1e-9), pytest.approx(430, abs=1e-9))
    expected = [[-503.8908, -224.3858], [503.8908, 224.3858]]
    np.testing.assert_allclose(fit.extents_at_mm(0.0), expected, rtol=0, atol=FOUR)


def test_the_footprint_by_hand() -> None:
    """centre + t/(2 cos a), and centre + w/(2 cos σ) + (t/2) sin a · tan c."""
    a, c = radians(12), radians(8)
    sigma = np.arctan(np.cos(a) * tan(c))
    x = 390 + 430 * tan(a) + 22 / np.cos(a)
    y = 130 + 430 * tan(c) + 33 / np.cos(sigma) + 22 * np.sin(a) * tan(c)
    np.testing.assert_allclose(cut(bench()).extents_at_mm(0.0)[1], [x, y], rtol=0, atol=1e-6)


def test_a_chair_side_goes_together() -> None:
    fit = cut(frame())
    assert fit.faults == ()
    assert fit.overlap_mm3 <= NOTHING_MM3


def test_a_mis_set_angle_is_seen_in_the_whole_piece() -> None:
    fit = cut(bench(), errors={"tilt_deg": 0.1})
    assert not fit.goes_together
    # 0.1° over half of a 50 mm shoulder and more.
    assert fit.gap_mm + fit.press_mm > 0.02


@pytest.mark.parametrize("what", ["pose", "turn", "layout", "far"])
def test_a_wrong_piece_is_found(what: str) -> None:
    data = solve_piece(bench(leaning=False), PORCH).bars_dict()
    bars = {b["bar"]: b for b in data["bars"]}
    stretcher, leg = bars["end stretcher, left"], bars["leg, front left"]
    if what == "pose":
        stretcher["pose"][2][3] += 0.5
    elif what == "turn":
        (box,) = leg["near"]["layout"]
        box["frame"][2][3] += 0.5
    elif what == "layout":
        leg["near"]["layout"] = []
    else:
        stretcher["near"], stretcher["far"] = stretcher["far"], stretcher["near"]
    fit = fit_piece(data)
    assert not fit.goes_together


def test_a_piece_that_cannot_be_read_names_every_path() -> None:
    data = solve_piece(frame(), PORCH).bars_dict()
    data["bars"][0]["pose"] = None
    data["joints"][0]["mate"]["bar"] = "no such leg"
    del data["bars"][1]["far"]
    with pytest.raises(InputError) as caught:
        fit_piece(data)
    paths = {p.field for p in caught.value.problems}
    assert {"bars[0].pose", "joints[0].mate.bar", "bars[1].far"} <= paths


RANDOM = 6


@pytest.mark.parametrize("seed", range(RANDOM))
def test_random_benches_stand_where_they_were_drawn(seed: int) -> None:
    """Any splays of either sign, stretchers leaning or not: feet in the floor, where the formulas
    of the footprint have them, and nothing in one place twice."""
    rng = np.random.default_rng(100 + seed)
    along, across = rng.uniform(-15, 15), rng.uniform(-12, 12)
    leaning, housed = bool(rng.integers(2)), bool(rng.integers(2))
    fit = cut(bench(along, across, leaning=leaning, housed=housed))
    assert fit.faults == ()
    a, c = radians(along), radians(across)
    sigma = np.arctan(np.cos(a) * tan(c))
    x = 390 + 430 * tan(a) + 22 / np.cos(a)
    y = 130 + 430 * tan(c) + 33 / np.cos(sigma) + 22 * abs(np.sin(a) * tan(c))
    np.testing.assert_allclose(fit.extents_at_mm(0.0)[1], [x, y], rtol=0, atol=1e-6)
    assert sqrt(float(fit.extents_mm[0, 2]) ** 2) <= ROUNDING_MM
