"""Hidden lines: counted and measured on bodies whose answer is known."""

from __future__ import annotations

import numpy as np
import pytest

from jointgeo.geometry.vectors import Vec, X, Y, Z
from jointgeo.joints.drawing import Bar
from jointgeo.sheet.outline import Edge, View, hidden, split
from jointgeo.sheet.wood import SIDES, Wood, edges

FRONT = View.along(-Y, Z)


def brick(low: list[float], high: list[float]) -> Wood:
    """A whole box between two corners."""
    a, b = Vec(*low), Vec(*high)
    size, middle = b - a, Vec((a.x + b.x) / 2, (a.y + b.y) / 2, a.z)
    bar = Bar("brick", *size, Z, -Y, -X, middle)
    return Wood(bar, (*(bar.side(s) for s in SIDES), bar.near, bar.far), ())


def seen(woods: list[Wood], view: View, which: int | None = None) -> list[Edge]:
    """Edges of all of them, or of one, as all of them let them be seen."""
    found = split([edges(wood) for wood in woods], woods, view)
    return [e for own in found for e in own] if which is None else found[which]


def test_a_box_has_twelve_edges() -> None:
    found = edges(brick([0, 0, 0], [3, 2, 1]))
    assert len(found) == 12
    assert sum((b - a).length for a, b in found) == pytest.approx(24.0)


def test_of_a_box_seen_from_a_corner_three_edges_are_hidden() -> None:
    """Drawing practice: nine edges seen, and the three that meet in the far corner hidden."""
    box = brick([0, 0, 0], [3, 2, 1])
    view = View.along(Vec(1.0, -1.4, 0.8), Z)
    behind = [e for e in seen([box], view) if e.hidden]
    assert len(behind) == 3
    assert all(not e.seen for e in behind)
    far = view.flat(Vec(0.0, 2.0, 0.0))  # away from the viewer on every axis
    for edge in behind:
        assert min(np.linalg.norm(edge.ends - far, axis=1)) < 1e-9


def test_a_post_hides_the_middle_of_a_rail_behind_it() -> None:
    """Seen along +Y: the rail is 10 long, the post before it covers X 4 to 7 and all its height."""
    rail, post = brick([0, 5, 0], [10, 6, 1]), brick([4, 0, -1], [7, 1, 2])
    level = [e for e in seen([rail, post], FRONT, 0) if abs(np.ptp(e.ends[:, 0]) - 10) < 1e-9]
    assert len(level) == 4  # those of its rear face lie behind those of its front face
    for edge in level:
        (stretch,) = edge.hidden
        ends = sorted(x for x, _ in edge.between(stretch))
        assert ends == pytest.approx([4.0, 7.0], abs=1e-5)
        assert sum(b - a for a, b in edge.seen) == pytest.approx(0.7, abs=1e-5)


def test_what_stands_before_hides_and_what_stands_behind_does_not() -> None:
    box = brick([0, 0, 0], [1, 1, 1])
    points = Vec(0.5, 2.0, 0.5), Vec(0.5, -1.0, 0.5), Vec(3.0, 2.0, 0.5)
    assert hidden(points, [box], FRONT) == [True, False, False]


def test_a_cut_right_through_lets_what_is_behind_it_be_seen() -> None:
    """A slot 1 wide and 2 high through a block 3 × 3 × 3, looked at along it."""
    block = brick([0, 0, 0], [3, 3, 3])
    slot = brick([1, -1, -1], [2, 4, 2])
    slotted = Wood(block.bar, block.body, (slot.body,))
    inside, beside, above = Vec(1.5, 5.0, 1.0), Vec(0.5, 5.0, 1.0), Vec(1.5, 5.0, 2.5)
    assert hidden((inside, beside, above), [slotted], FRONT) == [False, True, True]
    # Eight corners, of which two edges are divided by the slot's mouth, and the slot's own eight.
    assert sum((b - a).length for a, b in edges(slotted)) == pytest.approx(
        36 - 2 + 4 * 2 + 2 + 4 * 3
    )


def test_faces_that_touch_hide_nothing_of_each_other() -> None:
    """Two blocks side by side, their front faces flush: every front edge is seen whole."""
    both = [brick([0, 0, 0], [1, 1, 1]), brick([1, 0, 0], [2, 1, 1])]
    front = [(a, b) for wood in both for a, b in edges(wood) if abs(a.y) + abs(b.y) < 1e-9]
    assert len(front) == 8
    (found,) = split([front], both, FRONT)
    for edge in found:
        assert edge.seen == ((0.0, 1.0),)


def test_seen_and_hidden_make_the_whole_edge(rng: np.random.Generator) -> None:
    bricks = []
    for _ in range(5):
        low = rng.uniform(-5, 5, 3)
        bricks.append(brick(list(low), list(low + rng.uniform(1, 5, 3))))
    for edge in seen(bricks, View.along(Vec(*rng.normal(size=3)), Z)):
        total = sum(b - a for a, b in (*edge.seen, *edge.hidden))
        assert total == pytest.approx(1.0, abs=1e-5)
