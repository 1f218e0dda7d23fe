"""Among many bodies and beams the nearest is found as if every pair had been measured.

What cannot be near is never measured; here each pair is, and each gap is the least of them.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from jointgeo.checks.context import Context
from jointgeo.checks.fouling import fouling_checks
from jointgeo.fixtures.model import Fixture
from jointgeo.geometry.boxes import Box, box, box_corners, box_gap
from jointgeo.geometry.clearance import BOX_EDGES, beam_gap
from jointgeo.joints.check import Check
from jointgeo.planning.end_plan import plan_end

from .samples import BEAM, fixture_with, part_at

EXACT_MM = 1e-9  # rounding over metres is 1e-12


def random_fixture(rng: np.random.Generator) -> Fixture:
    """Forty bodies of 10 to 100 mm about stock and plate, ten of each kind, and three beams."""
    bodies: list[dict[str, Any]] = []
    for i in range(40):
        low = rng.uniform([-500, -700, -400], [400, 600, 900])
        sizes = 10 ** rng.uniform(1, 2, size=3)
        ends = {f"{a}_min_mm": v for a, v in zip("xyz", low.tolist(), strict=True)}
        ends |= {f"{a}_max_mm": v for a, v in zip("xyz", (low + sizes).tolist(), strict=True)}
        kind = ("base", "traverse", "tilt", "fence")[i % 4]
        bodies.append({"name": f"body {i}", "fixed_to": kind, **ends})
    beams = []
    for i in range(3):
        low_z = float(rng.uniform(-400, 400))
        place = {"z_min_mm": low_z, "z_max_mm": low_z + float(rng.uniform(20, 300))}
        face = float(rng.uniform(60, 500))
        beams.append({**BEAM, "name": f"beam {i}", "face_distance_mm": face, **place})
    return fixture_with({"body": bodies, "front_beam": beams})


def placement(context: Context) -> dict[str, Box]:
    """Bodies of base and traverse, those of the base swept over the travel."""
    out = {}
    for body in context.fixture.body:
        (x0, *low), (x1, *high) = body.low, body.high
        if body.fixed_to in ("base", "traverse"):
            least, most = context.setup.travel_x_mm if body.fixed_to == "base" else (0.0, 0.0)
            out[body.name] = box((x0 + least, low[0], low[1]), (x1 + most, high[0], high[1]))
    return out


def found(rng: np.random.Generator) -> tuple[Context, list[Check]]:
    fixture = random_fixture(rng)
    swivel, tilt = float(rng.uniform(-30, 30)), float(rng.uniform(0, 30))
    plan = plan_end(part_at(swivel, tilt), fixture)
    context = Context(fixture, plan, plan.setups[0])
    return context, list(fouling_checks(context))


def test_the_nearest_pair_of_bodies(rng) -> None:
    apart = 0
    for _ in range(40):
        context, checks = found(rng)
        moving, carried = context.setup.chosen.clamped.boxes, context.carried
        gaps = {
            (who, what): box_gap(a, b)
            for what, b in placement(context).items()
            for who, a in {**moving, **carried}.items()
        }
        gaps |= {("stock", what): box_gap(moving["stock"], b) for what, b in carried.items()}
        who, what = min(gaps, key=gaps.__getitem__)
        (check,) = (c for c in checks if c.name == "bodies")
        assert check.value == pytest.approx(gaps[who, what], abs=EXACT_MM)
        assert check.because.endswith(f"{who} comes nearest to the {what}")
        apart += check.value > 0
    assert 10 < apart < 35


def test_what_swings_nearest_to_each_beam(rng) -> None:
    named = set()
    for _ in range(20):
        context, checks = found(rng)
        solids = {name: (c, edges) for name, c, edges in context.setup.chosen.clamped.solids()}
        solids |= {name: (box_corners(b), BOX_EDGES) for name, b in context.carried.items()}
        of_beams = [c for c in checks if c.name == "front_beam"]
        for beam, check in zip(context.fixture.fitted_beams, of_beams, strict=True):
            face, low, high = beam.face_distance_mm, beam.z_min_mm, beam.z_max_mm
            gaps = {n: beam_gap(solid, face, low, high) for n, solid in solids.items()}
            nearest = min(gaps, key=gaps.__getitem__)
            named.add(nearest)
            if np.isfinite(gaps[nearest]):
                assert check.value == pytest.approx(gaps[nearest], abs=EXACT_MM)
                assert check.because.startswith(f"of all that swings, the {nearest} comes nearest")
            else:
                z = {n: [z for _, _, z in corners] for n, (corners, _) in solids.items()}
                rooms = {n: max(min(v) - high, low - max(v)) for n, v in z.items()}
                nearest = min(rooms, key=rooms.__getitem__)
                assert check.value == pytest.approx(rooms[nearest], abs=EXACT_MM)
                assert f"; the {nearest}, " in check.because
                assert "stays above or below" in check.because
    assert {"stock", "plate", "backing"} & named
    assert len(named) > 10
