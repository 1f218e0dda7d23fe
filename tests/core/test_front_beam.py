"""Room to the front beam against linear programming, dense points and the closed form.

The least Y of a convex solid inside a slab of Z is a linear programme over its corners.
"""

from __future__ import annotations

import math
from typing import Any

import attrs
import numpy as np
import pytest
from scipy.optimize import linprog

from jointgeo.fixtures.model import Fixture, FrontBeam
from jointgeo.geometry.boxes import box, box_corners
from jointgeo.geometry.clearance import BOX_EDGES, beam_gap, extent_in_slab
from jointgeo.planning.clamped_stock import ClampedStock, clamp_stock, front_gap

from .samples import BEAM, fixture_with, turn

EXACT_MM = 1e-9


def beam(**changes: Any) -> FrontBeam:
    return FrontBeam(**{**BEAM, **changes})


def least_y(corners: np.ndarray, low: float, high: float) -> float:
    """Least Y of the hull of ``corners`` where low ≤ Z ≤ high, by scipy; inf if none is there."""
    z = corners[:, 2]
    found = linprog(
        corners[:, 1],
        A_ub=np.stack([z, -z]),
        b_ub=[high, -low],
        A_eq=np.ones((1, len(z))),
        b_eq=[1.0],
        method="highs",
    )
    return float(found.fun) if found.status == 0 else math.inf


def random_stand(rng: np.random.Generator, fixture: Fixture) -> ClampedStock:
    return clamp_stock(
        fixture,
        rng.uniform(20, 120),
        rng.uniform(8, 60),
        rng.uniform(100, 900),
        rng.uniform(-50, 50),
        rng.uniform(0, 50),
        rng.choice([0.0, rng.uniform(-20, 20)]),
        int(rng.integers(4)),
        cut_above_lowest_mm=rng.uniform(5, 60),
    )


def test_random_settings_agree_with_linear_programming(rng) -> None:
    fixture = fixture_with({"front_beam": [BEAM]})
    seen = 0
    for _ in range(60):
        clamped = random_stand(rng, fixture)
        low, span = rng.uniform(-500, 350), rng.uniform(5, 300)
        here = beam(face_distance_mm=100, z_min_mm=low, z_max_mm=low + span)
        expected = 100 + min(least_y(np.array(c), low, low + span) for _, c, _ in clamped.solids())
        found = front_gap(here, clamped)
        if math.isinf(expected):
            assert math.isinf(found)
        else:
            seen += 1
            # HiGHS stops at 1e-7 of feasibility; a slope of 10 in the solid makes 1e-6 of it.
            assert found == pytest.approx(expected, abs=1e-6)
    assert seen > 25


def test_a_dense_cloud_of_points_agrees() -> None:
    """Points every 2 mm through stock, backing and plate: none nearer, one within a step."""
    fixture = fixture_with()
    here = beam(face_distance_mm=200, z_min_mm=-60, z_max_mm=-10)
    clamped = clamp_stock(fixture, 60, 30, 400, 12.0, 25.0, cut_above_lowest_mm=40, overhang_mm=50)
    nearest = math.inf
    for solid in clamped.boxes.values():
        axes = [np.linspace(-s, s, max(2, int(s) + 1)) for s in solid.half]
        grid = np.stack(np.meshgrid(*axes, indexing="ij"), -1).reshape(-1, 3)
        points = solid.centre + grid @ np.array(solid.axes)
        at_height = points[(points[:, 2] >= -60) & (points[:, 2] <= -10)]
        if len(at_height):
            nearest = min(nearest, float(at_height[:, 1].min()))
    found = front_gap(here, clamped)
    # Within the diagonal of a 2 mm cell, 3.5 mm, some sample lies at the beam's height.
    assert 0 <= 200 + nearest - found <= 3.5


def test_one_upright_box_by_hand() -> None:
    solid = (box_corners(box((0, -10, 0), (5, 20, 50))), BOX_EDGES)
    assert beam_gap(solid, 40, -100, 100) == 30
    assert beam_gap(solid, 40, 50, 100) == 30  # touching the height counts
    assert math.isinf(beam_gap(solid, 40, 51, 100))
    assert beam_gap(solid, 5, 10, 20) == -5  # it stands in the beam


@pytest.mark.parametrize(
    ("low", "high", "least"),
    [(40, 80, 30), (-30, 200, 0), (-12, -6, 8), (150, 155, 112.5)],
    ids=["front face", "foot", "lower end", "front face again"],
)
def test_a_leaning_box_is_clipped_at_the_beam_by_hand(low, high, least) -> None:
    """A plank that leans 3 back for 4 up, 200 mm long and 20 thick, its front foot at 0.

    Its front runs from (Y, Z) = (0, 0) to (120, 160), its lower end from (0, 0) to (16, -12).
    """
    x, through, along = np.array([10, 0, 0]), np.array([0, 16, -12]), np.array([0, 120, 160])
    corners = [i * x + j * through + k * along for i in (0, 1) for j in (0, 1) for k in (0, 1)]
    found, _ = extent_in_slab([tuple(c) for c in corners], BOX_EDGES, 1, 2, low, high)
    assert found == pytest.approx(least, abs=EXACT_MM)


def test_solids_are_clipped_each_by_itself() -> None:
    """Above short stock only the backing is near; a hull of all would fill the hollow in front.

    By hand: backing 18 mm in front of the plate, the beam's face 100 mm: 82 mm of room.
    """
    fixture = fixture_with()
    here = beam(face_distance_mm=100, z_min_mm=200, z_max_mm=300)
    clamped = clamp_stock(fixture, 60, 50, 150, 0.0, 0.0, overhang_mm=0)
    assert front_gap(here, clamped) == pytest.approx(82.0, abs=EXACT_MM)
    everything = np.concatenate([np.array(corners) for _, corners, _ in clamped.solids()])
    # At Z = 200 the hull's front runs from (-68, 150) to (-18, 400): 10 mm a side of 50, -58.
    assert 100 + least_y(everything, 200, 300) == pytest.approx(42.0, abs=1e-6)


# The fixture fitted to two observed limits: 50 mm stock at 15° and 12 mm at 23°, with 18 mm of
# backing each. Common practice, no published source. L sin t + T cos t = G gives both numbers.
DROP_MM, CLEAR_MM, BACKING_MM = 288.58, 140.37, 18.0
OBSERVED = [(50.0, 15.0), (12.0, 23.0)]
# L and G are rounded to 0.005 mm, and 250 mm stand behind an angle: 0.002°.
FITTED_DEG = 0.002


def fitted(more_mm: float = 0.0) -> tuple[Fixture, FrontBeam]:
    fixture = fixture_with(
        {"tilt.hinge_z_mm": DROP_MM, "backing.thickness_mm": BACKING_MM, "plate.thickness_mm": 1}
    )
    return fixture, beam(face_distance_mm=CLEAR_MM + more_mm, z_min_mm=-500, z_max_mm=150)


def limit_deg(thickness_mm: float, overhang_mm: float = 0.0, side: int = 0) -> float:
    """Greatest tilt by bisection on the gap of the solids; no closed form takes part."""
    fixture, here = fitted()
    width, thick = (thickness_mm, 40.0) if side % 2 else (40.0, thickness_mm)

    def gap(tilt: float) -> float:
        clamped = clamp_stock(fixture, width, thick, 200, 0, tilt, 0, side, overhang_mm=overhang_mm)
        return front_gap(here, clamped)

    low, high = 0.0, 45.0
    assert gap(low) > 0 > gap(high)
    for _ in range(50):
        middle = (low + high) / 2
        low, high = (middle, high) if gap(middle) >= 0 else (low, middle)
    return low


def test_the_fitted_fixture_solves_both_observations() -> None:
    """The two numbers, by solving two linear equations."""
    rows = [[math.sin(math.radians(a)), -1.0] for _, a in OBSERVED]
    right = [-(t + BACKING_MM) * math.cos(math.radians(a)) for t, a in OBSERVED]
    found = np.linalg.solve(rows, right)
    np.testing.assert_allclose(found, [DROP_MM, CLEAR_MM], rtol=0, atol=0.005)


@pytest.mark.parametrize(("thickness", "angle"), OBSERVED)
@pytest.mark.parametrize("side", [0, 1, 2, 3])
def test_the_solids_find_the_observed_limits_again(thickness, angle, side) -> None:
    """Common practice, no published source. On an edge (side odd) it is the width that counts."""
    assert limit_deg(thickness, side=side) == pytest.approx(angle, abs=FITTED_DEG)


def test_more_beam_distance_leaves_that_much_clearance() -> None:
    """25 mm more leaves clearance at 50 mm and 15° (common practice): all of the 25 mm."""
    fixture, here = fitted(more_mm=25.0)
    clamped = clamp_stock(fixture, 40, 50, 200, 0, 15.0, overhang_mm=0)
    assert front_gap(here, clamped) == pytest.approx(25.0, abs=0.01)


def test_overhang_lowers_the_limit() -> None:
    """60 mm more overhang lowers 15° to about 12.2°, by the closed form as well as the solids."""
    assert limit_deg(50.0, overhang_mm=60.0) == pytest.approx(12.2, abs=0.05)
    assert limit_deg(50.0, overhang_mm=60.0) == pytest.approx(
        closed_form_deg(DROP_MM + 60, 68.0, CLEAR_MM), abs=1e-9
    )


def closed_form_deg(drop: float, thick: float, clear: float) -> float:
    """L sin t + T cos t = G, so t = asin(G / √(L² + T²)) - atan2(T, L)."""
    return math.degrees(math.asin(clear / math.hypot(drop, thick)) - math.atan2(thick, drop))


def test_the_gap_is_the_closed_form_where_the_lowest_corner_fouls(rng) -> None:
    for _ in range(40):
        hinge_y, hinge_z = rng.uniform(0, 40), rng.uniform(200, 400)
        thickness, overhang = rng.uniform(5, 60), rng.uniform(0, 80)
        tilt, side = rng.uniform(1, 40), int(rng.integers(4))
        fixture = fixture_with({"tilt.hinge_y_mm": hinge_y, "tilt.hinge_z_mm": hinge_z})
        here = beam(face_distance_mm=1000, z_min_mm=-900, z_max_mm=hinge_z)
        size = (thickness, 33.0) if side % 2 else (33.0, thickness)
        clamped = clamp_stock(fixture, *size, 150, 0, tilt, 0, side, overhang_mm=overhang)
        drop, thick = hinge_z + overhang, thickness + 18 + hinge_y
        a = math.radians(tilt)
        expected = 1000 + hinge_y - drop * math.sin(a) - thick * math.cos(a)
        assert front_gap(here, clamped) == pytest.approx(expected, abs=EXACT_MM)


def test_stock_lies_on_backing_and_fence_and_hangs_by_its_overhang(rng) -> None:
    """The machine's own motions undone with scipy: hinge first, then pivot."""
    for side in ("left", "right"):
        fixture = fixture_with({"fence.side": side, "tilt.hinge_y_mm": 15})
        pivot, hinge = np.array([0.0, 0.0, 60.0]), np.array([0.0, 15.0, 300.0])
        for _ in range(20):
            swivel, tilt, kappa = rng.uniform(-50, 50), rng.uniform(0, 60), rng.uniform(-20, 20)
            clamped = clamp_stock(
                fixture, 70, 25, 500, swivel, tilt, kappa, int(rng.integers(4)), 30
            )
            corners = np.array(box_corners(clamped.boxes["stock"]))
            plate = (corners - hinge) @ turn(0, tilt) + hinge
            assert plate[:, 1].max() == pytest.approx(-18.0, abs=EXACT_MM)
            assert plate[:, 2].min() == pytest.approx(-clamped.overhang_mm, abs=EXACT_MM)
            upright = (plate - pivot) @ turn(swivel, 0) + pivot
            touching = upright[:, 0].min() if side == "left" else upright[:, 0].max()
            assert touching == pytest.approx(-20.0, abs=EXACT_MM)
            square = np.array([[x, y, 0] for x in (0, 70) for y in (0, 25)], dtype=float)
            low = (square @ np.array(clamped.rows).T + clamped.at)[:, 2].min()
            assert clamped.lowest_mm == pytest.approx(low, abs=EXACT_MM)


def test_the_overhang_that_clears_backing_and_plate() -> None:
    """50 mm stock, 18 mm of backing and as much of plate, 15°, 35 mm deep: about 59 mm.

    By hand: the plate's rear edge drops by 18·tan 15°, stock and backing by 68·tan 15°, and
    the channel is 35 / cos 15° along the plate: 86·tan 15° + 35 / cos 15° = 59.28 mm.
    """
    fixture = fixture_with({"plate.thickness_mm": 18, "practice.clearance_mm": 0})
    trim = 50 * math.sin(math.radians(15))
    clamped = clamp_stock(fixture, 40, 50, 400, 0, 15.0, cut_above_lowest_mm=trim + 35)
    assert clamped.overhang_mm == pytest.approx(59.0, abs=0.5)
    assert clamped.overhang_mm == pytest.approx(59.28, abs=0.005)


@pytest.mark.parametrize("sacrificial", [True, False])
def test_the_overhang_is_the_least_that_keeps_the_clearance(sacrificial, rng) -> None:
    fixture = fixture_with({"backing.sacrificial": sacrificial, "practice.clearance_mm": 2.5})
    for _ in range(20):
        cut = rng.uniform(10, 90)
        clamped = clamp_stock(
            fixture, 60, 30, 400, rng.uniform(-40, 40), rng.uniform(0, 50), cut_above_lowest_mm=cut
        )
        keep = ["plate"] if sacrificial else ["plate", "backing"]
        lowest = min(z for n in keep for _, _, z in box_corners(clamped.boxes[n]))
        room = lowest - (clamped.lowest_mm + cut)
        if clamped.overhang_mm > 0:
            assert room == pytest.approx(2.5, abs=EXACT_MM)
        else:
            assert room >= 2.5


def test_the_wedge_fills_the_room_behind_turned_stock() -> None:
    """Packing of 5° lifts the left edge of 60 mm stock by 60·sin 5° = 5.2293 mm."""
    clamped = clamp_stock(fixture_with(), 60, 30, 400, 0, 0, 5.0, overhang_mm=0)
    assert clamped.packing is not None
    x, y, z = np.array(clamped.packing).T
    lifted = y < -18 - 1e-6
    assert lifted.sum() == 2
    np.testing.assert_allclose(y[lifted], -18 - 5.2293, rtol=0, atol=0.00005)
    assert x[lifted].max() < x[~lifted].max()
    assert sorted(set(z.round(9))) == [0.0, 400.0]


@pytest.mark.parametrize(("side", "wide"), [(0, 110.0), (2, 110.0), (1, 16.0), (3, 16.0)])
@pytest.mark.parametrize("packing", [12.0, -12.0])
def test_the_wedge_lies_behind_the_side_on_the_plate_however_thin_the_stock(
    side, wide, packing
) -> None:
    """110 × 16 mm turned by 12°, past its diagonal's 8.3°: the base is still the side on the plate.

    So the prism spans that side, wide·cos 12° across, and rises by wide·sin 12° from the backing.
    """
    clamped = clamp_stock(fixture_with(), 110, 16, 400, 0, 0, packing, side, overhang_mm=0)
    assert clamped.packing is not None
    x, y, _ = np.array(clamped.packing).T
    turn = np.radians(12.0)
    assert np.ptp(x) == pytest.approx(wide * np.cos(turn), abs=EXACT_MM)
    assert np.ptp(y) == pytest.approx(wide * np.sin(turn), abs=EXACT_MM)
    assert y.max() == pytest.approx(-18, abs=EXACT_MM)


def test_a_beam_is_frozen() -> None:
    with pytest.raises(attrs.exceptions.FrozenInstanceError):
        beam().face_distance_mm = 1.0  # type: ignore[misc]  # the very thing that must not work
