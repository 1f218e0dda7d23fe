"""Distance between boxes against a bounded least-squares solver, depth against a hull and by hand.

Two boxes are |c + Gᵀs| apart at the least, s in [-1, 1]⁶, c from centre to centre and G the
six half-edges: a bounded least-squares problem, solved by scipy. Where they overlap, the
depth is the distance from the origin to the nearest facet of their Minkowski difference,
here a convex hull by Qhull.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import lsq_linear
from scipy.spatial import ConvexHull
from scipy.spatial.transform import Rotation

from jointgeo.geometry.boxes import Box, box, box_corners, box_gap, room_at_least, turned_box

EXACT_MM = 1e-9  # rounding over boxes of 100 mm is 1e-13


def turned(centre: np.ndarray, half: np.ndarray, turn: np.ndarray) -> Box:
    """A box whose edges lie along the columns of ``turn``."""
    x, y, z = map(tuple, turn.T.tolist())
    return turned_box(tuple(centre.tolist()), (x, y, z), tuple(half.tolist()))  # type: ignore[arg-type]  # three each


def anyhow(rng: np.random.Generator) -> np.ndarray:
    return Rotation.from_quat(rng.normal(size=4)).as_matrix()


def random_box(
    rng: np.random.Generator, turn: np.ndarray | None = None, reach: float = 90.0
) -> Box:
    centre, half = rng.uniform(-reach, reach, size=3), rng.uniform(2, 60, size=3)
    return turned(centre, half, np.eye(3) if turn is None else turn)


def halves(solid: Box) -> np.ndarray:
    """Half edges, one a row."""
    return np.array(solid.axes) * np.array(solid.half)[:, None]


def distance(a: Box, b: Box) -> float:
    edges, apart = np.concatenate([halves(a), halves(b)]).T, np.subtract(b.centre, a.centre)
    found = lsq_linear(edges, apart, bounds=(-1.0, 1.0), method="bvls", tol=1e-15)
    return float(np.linalg.norm(edges @ found.x - apart))


def depth(a: Box, b: Box) -> float:
    corners = np.array(box_corners(a))[:, None, :] - np.array(box_corners(b))[None, :, :]
    hull = ConvexHull(corners.reshape(-1, 3))
    return float(-hull.equations[:, 3].max())


def compare(pairs: list[tuple[Box, Box]]) -> tuple[int, int]:
    apart = inside = 0
    for a, b in pairs:
        found, far = box_gap(a, b), distance(a, b)
        assert box_gap(b, a) == pytest.approx(found, abs=EXACT_MM)
        assert room_at_least(a, b) <= found + EXACT_MM
        # Far enough apart, any bound will do that is one.
        assert found / 2 < box_gap(a, b, found / 2) <= found + EXACT_MM or found <= 0
        if far > 1e-6:
            apart += 1
            assert found == pytest.approx(far, abs=EXACT_MM)
        else:
            inside += 1
            assert found == pytest.approx(-depth(a, b), abs=EXACT_MM)
    return apart, inside


def test_boxes_that_lie_anyhow(rng) -> None:
    pairs = [(random_box(rng, anyhow(rng)), random_box(rng, anyhow(rng))) for _ in range(300)]
    apart, inside = compare(pairs)
    assert apart > 100
    assert inside > 30


def test_boxes_with_parallel_axes(rng) -> None:
    """Parallel edges span no axis, and faces lie nearest all over."""
    turn = Rotation.from_euler("XYZ", [20, 35, -50], degrees=True).as_matrix()
    upright = [(random_box(rng), random_box(rng)) for _ in range(150)]
    alike = [(random_box(rng, turn), random_box(rng, turn)) for _ in range(150)]
    apart, inside = compare([*upright, *alike])
    assert apart > 100
    assert inside > 30


def test_boxes_with_one_axis_in_common(rng) -> None:
    """Stock and plate share the traverse's axis while the plate tilts."""
    pairs = []
    for _ in range(150):
        turn = Rotation.from_euler("x", rng.uniform(-90, 90), degrees=True).as_matrix()
        pairs.append((random_box(rng), random_box(rng, turn)))
    apart, inside = compare(pairs)
    assert apart > 50
    assert inside > 20


def test_nearly_parallel_axes(rng) -> None:
    """A turn of 1e-10° to 0.1°: edges that are hardly told apart, and still are."""
    pairs = []
    for exponent in np.linspace(-10, -1, 120):
        turn = Rotation.from_rotvec(np.radians(10**exponent) * rng.normal(size=3)).as_matrix()
        pairs.append((random_box(rng), random_box(rng, turn)))
    apart, inside = compare(pairs)
    assert apart > 40
    assert inside > 10


def test_long_thin_boxes(rng) -> None:
    """Boards and beams: edges from 0.1 mm to a metre."""
    pairs = []
    for _ in range(150):
        a, b = (
            turned(rng.uniform(-200, 200, size=3), 10 ** rng.uniform(-1, 3, size=3), anyhow(rng))
            for _ in range(2)
        )
        pairs.append((a, b))
    apart, inside = compare(pairs)
    assert apart > 50
    assert inside > 10


UNIT = box((-1, -1, -1), (1, 1, 1))


@pytest.mark.parametrize(
    ("other", "gap"),
    [
        (box((3, -1, -1), (5, 1, 1)), 2.0),
        (box((4, 5, -1), (6, 7, 1)), 5.0),  # 3 and 4 across, edge to edge
        (box((3, 4, 7), (4, 5, 8)), 7.0),  # 2, 3 and 6 across, corner to corner
        (box((1, -1, -1), (3, 1, 1)), 0.0),
        (box((0.75, -1, -1), (3, 1, 1)), -0.25),
        (box((0.75, 0.5, -1), (3, 3, 1)), -0.25),
        (box((-0.25, -0.25, -0.25), (0.25, 0.25, 0.25)), -1.25),  # wholly inside
        (box((-1, -1, -1), (1, 1, 1)), -2.0),  # the same box
        (box((-9, -9, 0.9), (9, 9, 20)), -0.1),
    ],
    ids=[
        "face",
        "edge",
        "corner",
        "touch",
        "a quarter in",
        "least way out",
        "inside",
        "same",
        "slab",
    ],
)
def test_upright_boxes_by_hand(other, gap) -> None:
    assert box_gap(UNIT, other) == pytest.approx(gap, abs=EXACT_MM)
    assert box_gap(other, UNIT) == pytest.approx(gap, abs=EXACT_MM)


def test_a_box_stood_on_its_edge_by_hand() -> None:
    """A cube of 2 mm turned by 45° about Z reaches √2 along X."""
    turn = Rotation.from_euler("z", 45, degrees=True).as_matrix()
    for x, gap in ((4.0, 3 - np.sqrt(2)), (2.2, 1.2 - np.sqrt(2))):
        other = turned(np.array([x, 0.0, 0.0]), np.ones(3), turn)
        assert box_gap(UNIT, other) == pytest.approx(gap, abs=EXACT_MM)


def test_two_crossed_edges_by_hand() -> None:
    """Edges that cross at right angles, each √2 from its own middle: 5 mm apart less 2√2."""
    one, half = np.array([0, 0, 5.0]), np.ones(3)
    low = turned(0 * one, half, Rotation.from_euler("x", 45, degrees=True).as_matrix())
    high = turned(one, half, Rotation.from_euler("y", 45, degrees=True).as_matrix())
    assert box_gap(low, high) == pytest.approx(5 - 2 * np.sqrt(2), abs=EXACT_MM)


def test_two_that_touch_but_for_rounding() -> None:
    """Mortises 8 wide and 17 deep in two sides of a leg 42 × 42, one's end on the other's side: by
    hand 17 + 4 = 21, so they touch; the axes are those of a drawing, off by the last bit."""
    one = turned_box(
        (21.0, 33.5, 40.0),
        ((-1.0000000000000002, 0.0, 0.0), (0.0, -1.0, -0.0), (0.0, 0.0, 1.0000000000000002)),
        (4.0, 8.5, 20.0),
    )
    for x in (8.5, 33.5):
        other = turned_box(
            (x, 21.0, 40.0), ((0.0, 1.0, 0.0), (-1.0, 0.0, 0.0), (0.0, 0.0, 1.0)), (4.0, 8.5, 20.0)
        )
        for a, b in ((one, other), (other, one)):
            assert box_gap(a, b) == pytest.approx(0, abs=EXACT_MM)
    # Moved by the last bit of its place.
    corner = turned_box(
        (8.499999999999998, 21.0, 40.0),
        ((0.0, 1.0, 0.0), (-1.0, 0.0, 0.0), (0.0, 0.0, 1.0)),
        (4.0, 8.5, 20.0),
    )
    assert box_gap(one, corner) == pytest.approx(0, abs=EXACT_MM)
