"""Hidden lines: counted and measured on bodies whose answer is known."""

from __future__ import annotations

import numpy as np
import pytest

from jointgeo.geometry.clearance import box, box_corners
from jointgeo.sheet.outline import View, edges_of, hidden_points, split

#: The twelve triangles of a box whose corners are in the order of ``box_corners``.
TRIANGLES = np.array(
    [
        (0, 1, 3), (0, 3, 2), (4, 6, 7), (4, 7, 5), (0, 4, 5), (0, 5, 1),
        (2, 3, 7), (2, 7, 6), (0, 2, 6), (0, 6, 4), (1, 5, 7), (1, 7, 3),
    ]
)  # fmt: skip
FRONT = View.along(np.array([0.0, -1.0, 0.0]), np.array([0.0, 0.0, 1.0]))


def brick(low: list[float], high: list[float]) -> tuple[np.ndarray, np.ndarray]:
    """Edges and triangles."""
    corners = box_corners(*box(low, high))
    return edges_of(corners, TRIANGLES), corners[TRIANGLES]


def test_a_box_has_twelve_edges_and_its_diagonals_are_none() -> None:
    edges, _ = brick([0, 0, 0], [3, 2, 1])
    assert len(edges) == 12
    assert np.sum(np.linalg.norm(edges[:, 1] - edges[:, 0], axis=1)) == pytest.approx(24.0)


def test_of_a_box_seen_from_a_corner_three_edges_are_hidden() -> None:
    """Drawing practice: nine edges seen, and the three that meet in the far corner hidden."""
    edges, triangles = brick([0, 0, 0], [3, 2, 1])
    view = View.along(np.array([1.0, -1.4, 0.8]), np.array([0.0, 0.0, 1.0]))
    found = split(edges, triangles, view)
    hidden = [e for e in found if e.hidden]
    assert len(hidden) == 3
    # At the outline itself an edge is seen until it is a thousandth of a millimetre behind.
    assert all(sum(b - a for a, b in e.seen) < 3e-3 for e in hidden)
    far = np.array([0.0, 2.0, 0.0])  # away from the viewer on every axis
    for edge in hidden:
        ends = edge.ends @ view.axes
        assert min(np.linalg.norm(ends - far, axis=1)) < 1e-9


def test_a_post_hides_the_middle_of_a_rail_behind_it() -> None:
    """Seen along +Y: the rail is 10 long, the post before it covers X 4 to 7 and all its height."""
    rail, behind = brick([0, 5, 0], [10, 6, 1])
    _, before = brick([4, 0, -1], [7, 1, 2])
    edges = split(rail, np.concatenate([behind, before]), FRONT)
    level = [e for e in edges if abs(np.ptp(e.ends[:, 0]) - 10) < 1e-9]
    near = [e for e in level if e.ends[:, 2].min() > -5.5]  # on the rail's front face
    assert len(near) == 2
    for edge in near:
        (stretch,) = edge.hidden
        ends = sorted(edge.between(stretch)[:, 0])
        assert ends == pytest.approx([4.0, 7.0], abs=1e-5)
        assert sum(b - a for a, b in edge.seen) == pytest.approx(0.7, abs=1e-5)


def test_what_stands_before_hides_and_what_stands_behind_does_not() -> None:
    _, triangles = brick([0, 0, 0], [1, 1, 1])
    points = np.array([[0.5, 2.0, 0.5], [0.5, -1.0, 0.5], [3.0, 2.0, 0.5]])
    assert hidden_points(points, triangles, FRONT).tolist() == [True, False, False]


def test_faces_that_touch_hide_nothing_of_each_other() -> None:
    """Two blocks side by side, their front faces flush: every front edge is seen whole."""
    left, a = brick([0, 0, 0], [1, 1, 1])
    right, b = brick([1, 0, 0], [2, 1, 1])
    both = np.concatenate([a, b])
    for edge in split(np.concatenate([left, right]), both, FRONT):
        if np.allclose(edge.ends[:, 2], 0.0):  # in the front face, Y = 0
            assert edge.seen == ((0.0, 1.0),)


def test_seen_and_hidden_make_the_whole_edge(rng: np.random.Generator) -> None:
    bricks = []
    for _ in range(5):
        low = rng.uniform(-5, 5, 3)
        bricks.append(brick(list(low), list(low + rng.uniform(1, 5, 3))))
    triangles = np.concatenate([t for _, t in bricks])
    view = View.along(rng.normal(size=3), np.array([0.0, 0.0, 1.0]))
    for edge in split(np.concatenate([e for e, _ in bricks]), triangles, view):
        total = sum(b - a for a, b in (*edge.seen, *edge.hidden))
        assert total == pytest.approx(1.0, abs=1e-5)
