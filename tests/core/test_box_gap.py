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

from jointgeo.geometry.clearance import box, box_corners, box_gap

EXACT_MM = 1e-9
# Ties are settled as if each edge were turned by about 1e-7; boxes of 120 mm that differ by
# as little as that may be taken for the other tie: 1e-5 mm.
NEAR_TIE_MM = 1e-5
Box = tuple[np.ndarray, np.ndarray]


def random_box(rng: np.random.Generator, turned: bool = True, reach: float = 90.0) -> Box:
    centre = rng.uniform(-reach, reach, size=3)
    halves = np.diag(rng.uniform(2, 60, size=3))
    if turned:
        halves = halves @ Rotation.from_quat(rng.normal(size=4)).as_matrix().T
    return centre, halves


def distance(a: Box, b: Box) -> float:
    edges = np.concatenate([a[1], b[1]]).T
    found = lsq_linear(edges, b[0] - a[0], bounds=(-1.0, 1.0), method="bvls", tol=1e-15)
    return float(np.linalg.norm(edges @ found.x - (b[0] - a[0])))


def depth(a: Box, b: Box) -> float:
    corners = box_corners(*a)[:, None, :] - box_corners(*b)[None, :, :]
    hull = ConvexHull(corners.reshape(-1, 3))
    return float(-hull.equations[:, 3].max())


def compare(pairs: list[tuple[Box, Box]], within: float = EXACT_MM) -> tuple[int, int]:
    apart = inside = 0
    for a, b in pairs:
        found, far = float(box_gap(*a, *b)), distance(a, b)
        if far > 1e-6:
            apart += 1
            assert found == pytest.approx(far, abs=within)
        else:
            inside += 1
            assert found == pytest.approx(-depth(a, b), abs=within)
    return apart, inside


def test_boxes_that_lie_anyhow(rng) -> None:
    apart, inside = compare([(random_box(rng), random_box(rng)) for _ in range(300)])
    assert apart > 100
    assert inside > 30


def test_boxes_with_parallel_axes(rng) -> None:
    """Parallel edges make facets of several tiles: the case the tie-breaking is for."""
    upright = [(random_box(rng, False), random_box(rng, False)) for _ in range(150)]
    turn = Rotation.from_euler("XYZ", [20, 35, -50], degrees=True).as_matrix()
    alike = [tuple((c, h @ turn.T) for c, h in pair) for pair in upright]
    apart, inside = compare([*upright, *alike])
    assert apart > 100
    assert inside > 30


def test_boxes_with_one_axis_in_common(rng) -> None:
    """Stock and plate share the traverse's axis while the plate tilts."""
    pairs = []
    for _ in range(150):
        a, (centre, halves) = random_box(rng, False), random_box(rng, False)
        turn = Rotation.from_euler("x", rng.uniform(-90, 90), degrees=True).as_matrix()
        pairs.append((a, (centre, halves @ turn.T)))
    apart, inside = compare(pairs)
    assert apart > 50
    assert inside > 20


def test_nearly_parallel_axes(rng) -> None:
    """A turn of 1e-5° to 0.1°: close to the tie, and no tie."""
    pairs = []
    for exponent in np.linspace(-5, -1, 60):
        a, (centre, halves) = random_box(rng, False), random_box(rng, False)
        turn = Rotation.from_rotvec(np.radians(10**exponent) * np.array([0.6, 0.0, 0.8]))
        pairs.append((a, (centre, halves @ turn.as_matrix().T)))
    assert sum(compare(pairs, NEAR_TIE_MM)) == 60


UNIT = box([-1, -1, -1], [1, 1, 1])


@pytest.mark.parametrize(
    ("other", "gap"),
    [
        (box([3, -1, -1], [5, 1, 1]), 2.0),
        (box([4, 5, -1], [6, 7, 1]), 5.0),  # 3 and 4 across, edge to edge
        (box([3, 4, 7], [4, 5, 8]), 7.0),  # 2, 3 and 6 across, corner to corner
        (box([1, -1, -1], [3, 1, 1]), 0.0),
        (box([0.75, -1, -1], [3, 1, 1]), -0.25),
        (box([0.75, 0.5, -1], [3, 3, 1]), -0.25),
        (box([-0.25, -0.25, -0.25], [0.25, 0.25, 0.25]), -1.25),  # wholly inside
        (box([-1, -1, -1], [1, 1, 1]), -2.0),  # the same box
        (box([-9, -9, 0.9], [9, 9, 20]), -0.1),
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
    assert float(box_gap(*UNIT, *other)) == pytest.approx(gap, abs=EXACT_MM)
    assert float(box_gap(*other, *UNIT)) == pytest.approx(gap, abs=EXACT_MM)


def test_a_box_stood_on_its_edge_by_hand() -> None:
    """A cube of 2 mm turned by 45° about Z reaches √2 along X."""
    turn = Rotation.from_euler("z", 45, degrees=True).as_matrix()
    for x, gap in ((4.0, 3 - np.sqrt(2)), (2.2, 1.2 - np.sqrt(2))):
        turned = (np.array([x, 0.0, 0.0]), np.eye(3) @ turn.T)
        assert float(box_gap(*UNIT, *turned)) == pytest.approx(gap, abs=EXACT_MM)


def test_two_crossed_edges_by_hand() -> None:
    """Edges that cross at right angles, each √2 from its own middle: 5 mm apart less 2√2."""
    low = (np.zeros(3), Rotation.from_euler("x", 45, degrees=True).as_matrix().T)
    high = (np.array([0, 0, 5.0]), Rotation.from_euler("y", 45, degrees=True).as_matrix().T)
    assert float(box_gap(*low, *high)) == pytest.approx(5 - 2 * np.sqrt(2), abs=EXACT_MM)


def test_leading_axes_broadcast(rng) -> None:
    boxes = [random_box(rng) for _ in range(6)]
    centres = np.stack([c for c, _ in boxes]).reshape(2, 3, 3)
    halves = np.stack([h for _, h in boxes]).reshape(2, 3, 3, 3)
    many = box_gap(centres, halves, *UNIT)
    assert many.shape == (2, 3)
    assert many[1, 2] == box_gap(*boxes[5], *UNIT)
