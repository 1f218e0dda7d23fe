"""Boxes with sloping sides, cut by the settings of their boards' ends alone and put up.

The volume law: boards with level rims and no clearance fill exactly what lies between their
outsides and their backs. Both bodies are made by scipy from the room numbers alone (half-spaces and
their hull), so that open space at any corner shows as missing volume.
"""

from __future__ import annotations

from math import atan, cos, radians, sin, tan
from typing import Any

import numpy as np
import pytest
from scipy.optimize import linprog
from scipy.spatial import ConvexHull, HalfspaceIntersection

from jointgeo.proof import PieceFit, fit_piece

from .boxes import PLANS, box, cut, solved
from .random_boxes import random_box

EXACT = 1e-9  # mm: rounding only
NOTHING_MM3 = 1e-6  # rounding of the boolean kernel over a metre
OPEN_MM3 = 1e-4  # of a litre, of volumes that are summed over thousands of triangles


def frustum_mm3(sides: list[tuple[Any, float]], height: float) -> float:
    """Of the body inside planes (outward unit normal, place), between 0 and a height."""
    planes = np.array(
        [*([*normal, -at] for normal, at in sides), [0, 0, -1, 0], [0, 0, 1, -height]], dtype=float
    )
    # A point well inside: the middle of the largest ball that touches no plane.
    most = linprog(
        [0, 0, 0, -1],
        np.column_stack([planes[:, :3], np.ones(len(planes))]),
        -planes[:, 3],
        bounds=[*[(None, None)] * 3, (0, None)],
    )
    corners = HalfspaceIntersection(planes, most.x[:3]).intersections
    return float(ConvexHull(corners).volume)


def shell_mm3(made: Any) -> float:
    """What its boards must fill, from its plan and slopes alone: outsides less insides."""
    corners = [np.array(p[:2]) for p in made._plan]
    outer, inner = [], []
    for i, out in enumerate(made._outs):
        a, b = corners[i], corners[(i + 1) % len(corners)]
        way = (b - a) / np.hypot(*(b - a))
        slope = atan(out)
        level = np.array([way[1], -way[0]])
        normal = np.array([*(level * cos(slope)), -sin(slope)])
        at = float(normal @ [*a, 0.0])
        outer.append((normal, at))
        inner.append((normal, at - made.thickness_mm))
    whole, hollow = (frustum_mm3(s, made.height_mm) for s in (outer, inner))
    return whole - hollow


def wood_mm3(fit: PieceFit) -> float:
    return sum(mesh.volume_mm3 for mesh in fit.parts.values())


UNLIKE = {4: "5 12 25 -8", 5: "5 12 25 -8 18"}
CLOSED = [
    *(
        {"sides": n, "lower_edge_mm": 900 / n, "slope_deg": s}
        for n, s in ((3, 10), (4, 0), (5, -12), (6, 20), (7, 15), (8, 25))
    ),
    {"length_mm": 400, "depth_mm": 250, "slopes_deg": "10 20 10 20"},
    {"length_mm": 400, "depth_mm": 250, "slopes_deg": "10 -20 0 20"},
    *({"plan": plan, "slope_deg": 12} for plan, _, _ in PLANS),
    *({"plan": plan, "slopes_deg": UNLIKE[len(c)]} for plan, c, _ in PLANS),
    *({"plan": plan, "slope_deg": -10, "finger_count": 4} for plan, _, _ in PLANS),
]


@pytest.mark.parametrize("values", CLOSED)
def test_a_box_closes_with_nothing_twice_and_nothing_open(values: dict[str, Any]) -> None:
    made = box(height_mm=100, fit_mm=0.0, **values)
    fit = cut(made)
    assert fit.faults == ()
    assert fit.overlap_mm3 <= NOTHING_MM3
    assert wood_mm3(fit) == pytest.approx(shell_mm3(made), abs=OPEN_MM3)
    low, high = fit.extents_mm
    assert (low[2], high[2]) == pytest.approx((0.0, 100.0), abs=EXACT)


def test_a_rim_left_square_leaves_wood_beyond_the_shell() -> None:
    """The law can fail: without its planing a board of 14 mm at 12° has too much."""
    made = box(height_mm=100, fit_mm=0.0, sides=4, lower_edge_mm=250, slope_deg=12)
    data = solved(made).bars_dict()
    data["bars"][0]["near"]["layout"] = []
    fit = fit_piece(data)
    # Two triangles of 14 × 14 tan 12°/2 along some 250 mm.
    more = wood_mm3(fit) - shell_mm3(made)
    assert more == pytest.approx(14 * 14 * tan(radians(12)) * 250, rel=0.2)
    assert not np.isclose(fit.extents_mm[1, 2], 100.0)


@pytest.mark.parametrize("seed", range(20))
def test_random_boxes_go_together_where_they_were_drawn(seed: int) -> None:
    """Plans of three to eight sides, slopes alike and unlike, of either sign: overlap, gaps and
    faces as stated, rims at their levels, the lower rim's outside where the plan has it."""
    made: Any = random_box(np.random.default_rng([12, seed]))
    fit = cut(made)
    assert fit.faults == ()
    assert fit.overlap_mm3 <= NOTHING_MM3
    low, high = fit.extents_mm
    assert (low[2], high[2]) == pytest.approx((0.0, made.height_mm), abs=1e-6)
    plan = np.array([p[:2] for p in made._plan])
    np.testing.assert_allclose(
        fit.extents_at_mm(0.0), [plan.min(0), plan.max(0)], rtol=0, atol=1e-6
    )
    if made.fit_mm == 0.0:
        assert wood_mm3(fit) == pytest.approx(shell_mm3(made), abs=OPEN_MM3)


@pytest.mark.parametrize("fit", [0.0, 0.12])
def test_rims_are_planed_along_boards_that_are_hardly_longer_than_their_ends_lean(
    fit: float,
) -> None:
    """Three steep sides, 195 mm high on a lower edge of 152: an end leans 157 mm over the board's
    width, further than the board is long, and its tip must lose its rim like the rest."""
    made: Any = box(
        sides=3,
        lower_edge_mm=152.53,
        height_mm=195.39,
        thickness_mm=15.43,
        slopes_deg="-32.5413 26.0744 17.4411",
        finger_count=6,
        fit_mm=fit,
    )
    found = cut(made)
    assert found.faults == ()
    low, high = found.extents_mm
    assert (low[2], high[2]) == pytest.approx((0.0, 195.39), abs=EXACT)
    if not fit:
        assert wood_mm3(found) == pytest.approx(shell_mm3(made), abs=OPEN_MM3)


def test_a_mis_set_angle_opens_a_box() -> None:
    fit = cut(box(sides=4, lower_edge_mm=300, slope_deg=10), {"tilt_deg": 0.1})
    assert not fit.goes_together
    assert fit.gap_mm + fit.press_mm > 0.01  # 0.1° over a finger of 14 mm and more
