"""One end of a blank: lines against independent plane geometry, end faces against dense points."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pytest

from jointgeo.geometry.vectors import Vec
from jointgeo.joints.drawing import Channel
from jointgeo.joints.stock import StockNotch
from jointgeo.planning.blank import (
    allowance_mm,
    corner_points,
    end_pieces,
    extent_across,
    heights,
    least_across,
    section,
    trim_depth_mm,
)

from .samples import turn

EXACT_MM = 1e-9
WIDTH, THICKNESS = 60.0, 30.0
CORNERS = ((0.0, 0.0), (WIDTH, 0.0), (WIDTH, THICKNESS), (0.0, THICKNESS))
Spans = Sequence[tuple[float, float]]


def notch(frame: np.ndarray, spans: Spans, origin: Sequence[float] = (30, 15, 4)) -> StockNotch:
    x, y, z = (Vec(*row) for row in frame.tolist())
    channels = tuple(Channel(a, b, 10.0) for a, b in spans)
    return StockNotch((x, y, z), Vec(*map(float, origin)), channels)


def frame_of(cut: StockNotch) -> np.ndarray:
    return np.array(cut.rows)


def q_z(frame: np.ndarray) -> Vec:
    return Vec(*frame[2].tolist())


def random_turn(rng: np.random.Generator) -> np.ndarray:
    return turn(rng.uniform(-50, 50), rng.uniform(-50, 50), rng.uniform(-20, 20))


def test_section_corners_go_round_from_the_origin() -> None:
    assert section(WIDTH, THICKNESS) == CORNERS


def test_a_square_end_by_hand() -> None:
    frame = np.eye(3)
    assert heights(q_z(frame), (30.0, 15.0, 4.0), 7.0, CORNERS) == (11.0, 11.0, 11.0, 11.0)
    assert trim_depth_mm(q_z(frame), CORNERS, 1.5) == 1.5
    # The plane stands 4 mm above the datum; 1.5 mm more goes below: the end lies at z = 2.5.
    assert allowance_mm(q_z(frame), (30.0, 15.0, 4.0), CORNERS, 1.5) == -2.5


def test_one_angle_by_hand() -> None:
    """A mitre of 30° across 60 mm: 60·tan 30° = 34.641 mm along the edges, 30 mm square to it.

    Positive swivel is clockwise: the right-hand edge (x = width) drops to the cutter, so the
    trim line crosses it further up the stock.
    """
    frame = turn(30.0, 0.0)
    at = heights(q_z(frame), (0.0, 0.0, 0.0), 0.0, CORNERS)
    np.testing.assert_allclose(at, [0, 34.641, 34.641, 0], rtol=0, atol=0.0005)
    right_end = frame @ [WIDTH, 0.0, 0.0]
    assert right_end[2] == pytest.approx(-30.0, abs=EXACT_MM)
    assert trim_depth_mm(q_z(frame), CORNERS, 1.0) == pytest.approx(31.0, abs=EXACT_MM)
    # 1 mm square to the plane is 1 / cos 30° = 1.155 mm along the grain; with the datum at the
    # long edge the blank reaches 34.641 mm beyond it as well.
    short, long = (allowance_mm(q_z(frame), (x, 0.0, 0.0), CORNERS, 1.0) for x in (0.0, WIDTH))
    assert short == pytest.approx(1.155, abs=0.0005)
    assert long == pytest.approx(35.796, abs=0.0005)


def test_edge_heights_are_where_lines_meet_planes(rng) -> None:
    """Each edge is a line p + s·z; the plane goes through a point of it, square to q_z."""
    for _ in range(50):
        frame, origin = random_turn(rng), rng.uniform(-40, 40, size=3)
        depth = rng.uniform(-20, 60)
        found = heights(q_z(frame), Vec(*origin.tolist()), depth, CORNERS)
        for (x, y), height in zip(CORNERS, found, strict=True):
            # Solve for the line's parameter together with the plane's own two, 3 × 3.
            along_plane = np.stack([[0.0, 0.0, 1.0], -frame[0], -frame[1]], axis=1)
            in_plane = origin + depth * frame[2] - [x, y, 0.0]
            assert height == pytest.approx(np.linalg.solve(along_plane, in_plane)[0], abs=EXACT_MM)


def test_the_trim_clears_every_corner_and_just_one_by_no_more(rng) -> None:
    """Square to the plane, all four corners of the blank lie at least the extra below it."""
    for _ in range(50):
        frame, origin = random_turn(rng), rng.uniform(-40, 40, size=3)
        extra = rng.uniform(0.1, 5)
        beyond = allowance_mm(q_z(frame), origin, CORNERS, extra)
        end = np.column_stack([CORNERS, np.full(4, -beyond)])
        below = -(end - origin) @ frame[2]
        assert below.min() == pytest.approx(extra, abs=EXACT_MM)
        # The trim's depth is counted from the corner that hangs lowest.
        depth = trim_depth_mm(q_z(frame), CORNERS, extra)
        assert depth == pytest.approx(below.max(), abs=EXACT_MM)


def test_extent_across_over_the_depth_against_points(rng) -> None:
    for _ in range(20):
        frame = random_turn(rng)
        cut = notch(frame, [(-1, 1)])
        low, high = sorted(rng.uniform(-30, 30, size=2))
        z = np.linspace(-200, 200, 4001)
        edges = np.array([[x, y, h] for (x, y) in CORNERS for h in z]) - np.array(cut.at)
        depth, across = edges @ frame[2], edges @ frame[0]
        inside = across[(depth >= low) & (depth <= high)]
        least, most = extent_across(cut, corner_points(cut, 0.0, CORNERS), low, high)
        # Points every 0.1 mm along the edges.
        assert 0 <= inside.min() - least <= 0.1
        assert 0 <= most - inside.max() <= 0.1


def left_on_end(
    cut: StockNotch, sense: float, earlier: Sequence[StockNotch], step: float = 0.1
) -> float:
    """Least sense·q_x over points of the trimmed end that no earlier channel holds."""
    x = np.arange(0, WIDTH + step / 2, step)
    y = np.arange(0, THICKNESS + step / 2, step)
    grid = np.stack(np.meshgrid(x, y, indexing="ij"), -1).reshape(-1, 2)
    n = frame_of(cut)[2]
    z = np.array(cut.at)[2] - ((grid - np.array(cut.at)[:2]) @ n[:2]) / n[2]
    points = np.column_stack([grid, z])
    left = np.ones(len(points), dtype=bool)
    for before in earlier:
        across = (points - np.array(before.at)) @ frame_of(before)[0]
        for c in before.channels:
            left &= ~((across > c.low) & (across < c.high))
    return float((sense * ((points - np.array(cut.at)) @ frame_of(cut)[0]))[left].min())


SPANS: dict[str, Spans] = {
    "tenon": [(-math.inf, -12), (9, math.inf)],
    "slot": [(-8, 5)],
    "comb": [(-math.inf, -20), (-12, -4), (4, 12), (20, math.inf)],
    "haunched": [(-math.inf, -12), (9, 17), (17, math.inf)],
    "one in another": [(-math.inf, -10), (-25, -20)],
    "overlapping": [(-math.inf, -12), (-14, -2), (9, math.inf)],
}


@pytest.mark.parametrize("name", SPANS)
@pytest.mark.parametrize("sense", [1.0, -1.0])
def test_the_corner_that_earlier_cuts_leave(name, sense, rng) -> None:
    for _ in range(5):
        first = random_turn(rng)
        quarter = np.array([first[1], -first[0], first[2]])
        cut, earlier = notch(quarter, [(-1, 1)]), (notch(first, SPANS[name]),)
        exact = least_across(cut, sense, end_pieces(corner_points(cut, 0.0, CORNERS), earlier))
        sampled = left_on_end(cut, sense, earlier)
        # Points every 0.1 mm both ways and a slope under 2 in the end: within 0.3 mm.
        assert 0 <= sampled - exact + EXACT_MM <= 0.3


def test_two_earlier_cuts_leave_their_overlap(rng) -> None:
    first = random_turn(rng)
    turned = np.array([first[1], -first[0], first[2]])
    askew = turn(0, 0, 33.0) @ first
    earlier = (notch(first, SPANS["comb"]), notch(askew, SPANS["tenon"]))
    cut = notch(turned, [(-1, 1)])
    exact = least_across(cut, 1.0, end_pieces(corner_points(cut, 0.0, CORNERS), earlier))
    assert 0 <= left_on_end(cut, 1.0, earlier) - exact + EXACT_MM <= 0.3


@pytest.mark.parametrize("edge", [-30.0, 30.0])
@pytest.mark.parametrize("sense", [1.0, -1.0])
def test_a_cut_that_stops_at_the_very_side_leaves_nothing_there(edge, sense) -> None:
    """Given to the edge of the stock or run out past it, the same wood is gone."""
    first = np.eye(3)
    askew = turn(0, 0, 90.0) @ turn(0, 0, 20.0)
    cut = notch(askew, [(-1, 1)])
    if edge < 0:
        exact_edge, run_out = notch(first, [(-30, -18)]), notch(first, [(-math.inf, -18)])
    else:
        exact_edge, run_out = notch(first, [(18, 30)]), notch(first, [(18, math.inf)])
    found = least_across(cut, sense, end_pieces(corner_points(cut, 0.0, CORNERS), (exact_edge,)))
    assert found == pytest.approx(
        least_across(cut, sense, end_pieces(corner_points(cut, 0.0, CORNERS), (run_out,))),
        abs=EXACT_MM,
    )
