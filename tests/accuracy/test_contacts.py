"""The two contacts with the front beam against the library's own room, and how often ±2u holds."""

from __future__ import annotations

from typing import Literal

import attrs
import numpy as np
import pytest
from scipy.optimize import brentq

from jointgeo.calibration.contacts import KINDS, corner_limit_deg, edge_limit_deg
from jointgeo.calibration.limits import MEASURE_FIRST, LimitEstimate, estimate_limits
from jointgeo.calibration.readings import LimitReadings
from jointgeo.fixtures.model import Fixture
from jointgeo.planning.clamped_stock import clamp_stock, front_gap
from jointgeo.schema.tables import read

Told = Literal["told", "unknown"]

# The literals of the two tests below follow from the formula beside each; 5e-5 deg is half of
# their last digit.
LAST_DEG = 5e-5


@pytest.mark.parametrize(
    ("drop", "corner", "limit"), [(310, 17.4278, 22.0602), (230, 24.5634, 24.5634)]
)
def test_the_greater_of_both_contacts(drop: float, corner: float, limit: float) -> None:
    """T 62, G 152, v 210: the edge at acos(62/√(152²+210²)) - atan2(210, 152) = 22.0602°, the
    corner at asin(152/√(L²+62²)) - atan2(62, L). L 310: radius 316 is more than √(G²+v²) = 259,
    so the edge; L 230: radius 238 is less, so the corner."""
    first = float(corner_limit_deg(drop, 152, 62))
    second = float(edge_limit_deg(210, 152, 62))
    assert first == pytest.approx(corner, abs=LAST_DEG)
    assert second == pytest.approx(22.0602, abs=LAST_DEG)
    assert max(first, second) == pytest.approx(limit, abs=LAST_DEG)


@pytest.mark.parametrize(("drop", "fall"), [(310, 1.7016), (230, 3.2802)])
def test_hung_40_mm_lower_the_corner_comes_sooner(drop: float, fall: float) -> None:
    """asin(152/√(L²+80²)) - atan2(80, L), at L less at L + 40; the edge's formula has no L."""
    lower = corner_limit_deg(drop + 40, 152, 80)
    assert float(corner_limit_deg(drop, 152, 80) - lower) == pytest.approx(fall, abs=LAST_DEG)


def test_where_a_contact_never_comes_or_is_always_there() -> None:
    assert np.isposinf(corner_limit_deg(50.0, 300.0, 60.0))  # √(50²+60²) = 78 < 300
    assert np.isneginf(edge_limit_deg(50.0, 60.0, 90.0))  # √(50²+60²) = 78 < 90


def first_fouled_deg(fixture: Fixture, thickness: float, overhang: float) -> float:
    """By the library's own room to the beam, which knows nothing of either formula."""

    def room(tilt: float) -> float:
        clamped = clamp_stock(fixture, 60, thickness, 900, 0.0, tilt, overhang_mm=overhang)
        return min(front_gap(fixture.front_beam[0], clamped), 1000.0)

    steps = np.arange(0.0, 60.0, 0.25)
    last = next(t for t in steps if room(t + 0.25) < 0)
    return float(brentq(room, last, last + 0.25, xtol=1e-10))


@pytest.mark.parametrize(
    ("thickness", "limit"),
    [
        (12, 26.5736),
        (20, 24.7769),
        (30, 22.5150),
        (50, 17.9226),
        (80, 10.7896),
        (95, 7.0693),
        (100, 5.8000),
    ],
)
def test_limits_of_the_demo_fixture(porch: Fixture, thickness: float, limit: float) -> None:
    """Its beam has G 140 + 12, v 250 - 40, and T is 12 + 18 + stock: acos(T/√(152²+210²)) -
    atan2(210, 152), the edge since L is 310 or more, beyond 259."""
    found = first_fouled_deg(porch, thickness, 60.0)
    assert found == pytest.approx(limit, abs=LAST_DEG)
    assert float(edge_limit_deg(210, 152, 30 + thickness)) == pytest.approx(limit, abs=LAST_DEG)


def test_how_two_measured_lengths_go_into_a_fixture_s_file(porch: Fixture) -> None:
    """G 152 less the plate's 12 mm in front of the hinge; the hinge at 250 less v 210."""
    beam = porch.front_beam[0]
    assert (beam.face_distance_mm, beam.z_min_mm) == (152.0 - 12.0, 250.0 - 210.0)
    assert (porch.tilt.hinge_y_mm, porch.tilt.hinge_z_mm) == (12.0, 250.0)
    assert "face_distance_mm = G less the plate's offset" in MEASURE_FIRST
    assert "z_min_mm = hinge_z_mm less v" in MEASURE_FIRST


def test_random_fixtures_and_the_radius_rule(porch: Fixture, rng: np.random.Generator) -> None:
    """100 beams: the first fouled tilt is the contact that the radii name, to 1e-6° (root finding
    stops at 1e-10°)."""
    seen = dict.fromkeys(KINDS, 0)
    for _ in range(100):
        low, face = rng.uniform(-60, 60), rng.uniform(100, 160)
        beam = attrs.evolve(
            porch.front_beam[0], face_distance_mm=face, z_min_mm=low, z_max_mm=low + 240
        )
        fixture = attrs.evolve(porch, front_beam=(beam,))
        thickness, overhang = rng.uniform(10, 60), rng.uniform(0, 60)
        depth, drop = 30 + thickness, 250 + overhang
        distance, edge = face + 12, 250 - low
        kind = KINDS[int(np.hypot(drop, depth) > np.hypot(distance, edge))]
        expected = float(
            corner_limit_deg(drop, distance, depth)
            if kind == "end_on_face"
            else edge_limit_deg(edge, distance, depth)
        )
        assert first_fouled_deg(fixture, thickness, overhang) == pytest.approx(expected, abs=1e-6)
        seen[kind] += 1
    assert min(seen.values()) >= 15


# How often the stated intervals hold ----------------------------------------------------------

TRIALS = 1000
#: Four binomial standard deviations of 1000 trials at 95.45 %: √(0.9545·0.0455/1000) = 0.66 %.
FOUR_SD = 0.027


@attrs.frozen
class Truth:
    """A fixture, its stocks and their overhangs; T is 30 + stock."""

    distance: float
    height: float
    edge: float
    stocks: tuple[float, ...]
    overhangs: tuple[float, ...]

    def kinds(self) -> list[str]:
        far = np.hypot(self.distance, self.edge)
        radii = np.hypot(self.height + np.array(self.overhangs), 30 + np.array(self.stocks))
        return [KINDS[int(r > far)] for r in radii]

    def limit(self, stock: float, overhang: float) -> float:
        corner = corner_limit_deg(self.height + overhang, self.distance, 30 + stock)
        return float(max(corner, edge_limit_deg(self.edge, self.distance, 30 + stock)))

    def observed(self, rng: np.random.Generator, told: Told) -> LimitEstimate:
        """Angles scatter by 0.3°, thicknesses by 0.2 mm."""
        limits = [
            {
                "thickness_mm": stock,
                "angle_deg": self.limit(stock + rng.normal(0, 0.2), o) + rng.normal(0, 0.3),
                "u_deg": 0.3,
                "overhang_mm": o,
                "touched": kind if told == "told" else "unknown",
            }
            for stock, o, kind in zip(self.stocks, self.overhangs, self.kinds(), strict=True)
        ]
        data = {"backing_mm": 18, "plate_offset_mm": 12, "u_thickness_mm": 0.2, "limit": limits}
        return estimate_limits(read(LimitReadings, data))


EDGES = Truth(152, 250, 210, (12, 30, 50, 80), (60, 60, 60, 60))
CORNERS = Truth(152, 250, 330, (12, 30, 50, 80), (10, 40, 10, 40))
BOTH = Truth(152, 180, 210, (12, 30, 50, 60, 80, 30), (10, 10, 20, 70, 90, 110))


@pytest.mark.parametrize("truth", [EDGES, CORNERS, BOTH], ids=["edges", "corners", "both"])
def test_the_stated_uncertainty_holds_as_often_as_it_says(
    truth: Truth, rng: np.random.Generator
) -> None:
    """G, h and v within ± 2u in 95.45 %, less or more FOUR_SD, over the trials that were fitted;
    at most 4 % of the trials may be refused, the 99 % point of χ² and rounding radii among them."""
    inside: dict[str, int] = {"distance": 0, "drop": 0, "edge": 0}
    fitted = 0
    for _ in range(TRIALS):
        found = truth.observed(rng, "told")
        if found.status == "contradictory":
            continue
        fitted += 1
        (split,) = found.splits
        true = {"distance": truth.distance, "drop": truth.height, "edge": truth.edge}
        for name, value in true.items():
            seen, u = getattr(split, f"{name}_mm"), getattr(split, f"{name}_u_mm")
            inside[name] += seen is not None and abs(seen - value) <= 2 * u
    assert fitted >= 0.96 * TRIALS
    kinds = set(truth.kinds())
    named = {"distance": True, "drop": KINDS[0] in kinds, "edge": KINDS[1] in kinds}
    for name, determined in named.items():
        share = inside[name] / fitted
        assert share == (pytest.approx(0.9545, abs=FOUR_SD) if determined else 0.0), name


@pytest.mark.parametrize("truth", [EDGES, CORNERS, BOTH], ids=["edges", "corners", "both"])
def test_the_tilt_to_trust_is_free_though_nobody_told_what_touched(
    truth: Truth, rng: np.random.Generator
) -> None:
    """For 100 mm stock, thicker than any that was tried: limit - 2u lies beyond the truth in at
    most the 2.275 % of one side of ± 2u, and four binomial standard deviations of 300 trials
    (0.86 %)."""
    beyond = told = 0
    true = truth.limit(100, 50)
    for _ in range(300):
        found = truth.observed(rng, "unknown").predict(100, 50)
        if found is None or found.safe_deg is None:
            continue
        told += 1
        beyond += found.safe_deg > true
    assert told >= 285
    assert beyond / told <= 0.02275 + 4 * 0.0086
