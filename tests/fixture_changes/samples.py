"""Joints, fixtures and random cases for the tests of changes; no expected values."""

from __future__ import annotations

from typing import Any

import numpy as np

import jointgeo
from jointgeo.fixtures.model import Fixture
from jointgeo.solution.solution import Solution, solve

Bridle: Any = jointgeo.joint_type("splayed_bridle")
PORCH: Fixture = jointgeo.load_fixture("porch")


def leg(width: float, thickness: float, along: float, across: float) -> Any:
    return Bridle(
        leg_width_mm=width,
        leg_thickness_mm=thickness,
        leg_length_mm=430,
        rail_thickness_mm=30,
        tongue_thickness_mm=22,
        rail_depth_mm=60,
        rail_length_mm=900,
        splay_along_deg=along,
        splay_across_deg=across,
        fit_mm=0.1,
    )


def three_legs() -> list[Solution]:
    """Each short of room to the straight beam on the porch fixture."""
    return [
        solve(leg(*size), PORCH) for size in ((66, 80, 15, 8), (60, 60, 20, 5), (90, 44, 23, -10))
    ]


def random_legs(count: int, seed: int) -> list[Solution]:
    rng = np.random.default_rng(seed)
    return [
        solve(
            leg(
                rng.uniform(40, 100),
                rng.uniform(32, 90),
                rng.uniform(3, 24),
                rng.uniform(-15, 15),
            ),
            PORCH,
        )
        for _ in range(count)
    ]
