"""Distance of convex solids: by hand, against boxes, and against a linear programme of scipy's."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from scipy.optimize import linprog
from scipy.spatial.transform import Rotation

from jointgeo.geometry.boxes import box_gap, turned_box
from jointgeo.geometry.prisms import Prism, prism_gap
from jointgeo.geometry.vectors import Vec

EXACT = 1e-9  # mm: rounding only


def cuboid(rows: np.ndarray, middle: np.ndarray, half: np.ndarray) -> Prism:
    axes = [Vec(*row) for row in rows]
    signs = itertools.product((-1, 1), repeat=3)
    corners = tuple(
        Vec(*middle)
        + sum((a * (s * h) for a, s, h in zip(axes, t, half, strict=True)), Vec(0, 0, 0))
        for t in signs
    )
    return Prism(corners, tuple(axes), tuple(axes))


def test_cuboids_are_boxes(rng) -> None:
    """In each other they are as deep as boxes; apart no further."""
    inside = 0
    for _ in range(300):
        pair = []
        for _ in range(2):
            rows = Rotation.random(rng=rng).as_matrix()
            pair.append((rows, rng.uniform(-30, 30, 3), rng.uniform(5, 20, 3)))
        a, b = (turned_box(tuple(m), tuple(map(tuple, r)), tuple(h)) for r, m, h in pair)
        deep, found = box_gap(a, b), prism_gap(*(cuboid(*p) for p in pair))
        if deep <= 0:
            inside += 1
            assert found == pytest.approx(deep, abs=EXACT)
        else:
            assert 0 < found <= deep + EXACT
    assert 50 < inside < 250


def wedge(rows: np.ndarray, middle: np.ndarray, slopes: np.ndarray) -> Prism:
    """A bar 20 × 10 along its own z, from -30 to 30, both ends cut at a slope over x and y."""
    x, y, z = (Vec(*row) for row in rows)
    corners, ends = [], []
    for end, (p, q) in zip((-1.0, 1.0), slopes, strict=True):
        ends.append(((x * -p + y * -q + z) * end).unit)
        for i, k in itertools.product((-10, 10), (-5, 5)):
            corners.append(Vec(*middle) + x * i + y * k + z * (30 * end + p * i + q * k))
    edges = (z, *(n ^ side for n in ends for side in (x, y)))
    return Prism(tuple(corners), (x, y, *ends), edges)


def in_one_place(a: Prism, b: Prism) -> bool:
    """Whether a point is a mean of either's corners."""
    p, q = np.array(a.corners), np.array(b.corners)
    equal = np.zeros((5, len(p) + len(q)))
    equal[:3] = np.hstack([p.T, -q.T])
    equal[3, : len(p)] = equal[4, len(p) :] = 1
    found = linprog(np.zeros(equal.shape[1]), A_eq=equal, b_eq=[0, 0, 0, 1, 1])
    return found.status == 0


def test_slanting_ends_against_a_linear_programme(rng) -> None:
    counts = {True: 0, False: 0}
    for _ in range(200):
        pair = [
            wedge(Rotation.random(rng=rng).as_matrix(), rng.uniform(-25, 25, 3), slopes)
            for slopes in rng.uniform(-0.8, 0.8, (2, 2, 2))
        ]
        met = in_one_place(*pair)
        counts[met] += 1
        assert (prism_gap(*pair) <= 0) == met
    assert min(counts.values()) > 40


def test_enough_stops_early_and_stays_true() -> None:
    one = cuboid(np.eye(3), np.zeros(3), np.array([5.0, 5, 5]))
    other = cuboid(np.eye(3), np.array([30.0, 0, 0]), np.array([5.0, 5, 5]))
    assert prism_gap(one, other) == pytest.approx(20, abs=EXACT)
    assert prism_gap(one, other, enough=3.0) > 3
