"""Arc slots: hand, ends, webs and pairs, by hand arithmetic and by stepping a screw through them.

Reference for free or bound: shapely's polygons of slot and screw. Figures without a source beside
them are hand arithmetic.
"""

from __future__ import annotations

import random
from math import cos, hypot, radians, sin

import pytest
import shapely

import jointgeo
from jointgeo.fixture_parts.axis import axis_of, band
from jointgeo.fixture_parts.slots import (
    Keep,
    angle_of_play_deg,
    clamping_n,
    farthest_pair,
    slip_torque_nm,
    slot,
    two_slots_apart_mm,
)
from jointgeo.geometry.flat import box_polygon
from jointgeo.geometry.swept import Bow, outline_area

SWIVEL, TILT = (axis_of(jointgeo.load_fixture("porch"), name) for name in ("swivel", "tilt"))
PLATE = box_polygon((-210, 0), (210, 380))
OLD = (((-75.0, 90.0), 8.0), ((-75.0, 200.0), 8.0), ((0.0, 60.0), 8.0))


def polygon(pieces: tuple[Bow, ...], step: float = 0.01) -> shapely.Polygon:
    points = []
    for piece in pieces:
        count = max(2, int(abs(piece.end_rad - piece.start_rad) / step))
        turn = (piece.end_rad - piece.start_rad) / count
        points += [piece.at(piece.start_rad + i * turn) for i in range(count)]
    return shapely.Polygon(points)


def test_marks_count_clockwise_from_up_and_from_down():
    assert SWIVEL.at(100, 90) == pytest.approx((100, 60), abs=1e-9)  # to the right of the pivot
    assert TILT.at(100, 90) == pytest.approx((-88, 250), abs=1e-9)  # towards you from the hinge
    assert SWIVEL.marks((-100.0, 60.0)) == pytest.approx((100, -90), abs=1e-9)
    assert TILT.marks((12.0, 150.0)) == pytest.approx((100, 0), abs=1e-9)


def test_the_tilt_lock_of_the_demo():
    found = slot(TILT, 230, 8.5, 0, 0, 24, 0.5, moving=False)
    assert found.ends[0] == pytest.approx((14.007, 20.009), abs=0.0005)
    assert found.ends[1] == pytest.approx((-83.379, 40.709), abs=0.0005)
    assert found.chord_mm == pytest.approx(99.5622, abs=0.00005)


def _bound(moving: bool, slot_moving: bool, low: float, high: float) -> float | None:
    """The first angle, stepping from 0, at which the screw leaves a slot that was routed for
    ``slot_moving``; None where it never does. moving: how it really is."""
    routed = slot(SWIVEL, 100, 8.5, 30, low, high, 0.5, moving=slot_moving)
    wood = polygon(band(SWIVEL, 100, 8.5 / 2, routed.start_deg, routed.end_deg))
    for sign, end in ((1, high), (-1, -low)):
        for step in range(501):
            angle = sign * end * step / 500
            at = SWIVEL.at(100, 30 - angle if moving else 30 + angle)
            # 8 of screw in 8.5 of slot; what the polygon's chords take off is 2e-4.
            if not wood.contains(shapely.Point(at).buffer(8 / 2)):
                return abs(angle)
    return None


@pytest.mark.parametrize("moving", [False, True])
def test_the_screw_stays_free_over_the_whole_range(moving):
    assert _bound(moving, moving, -25, 25) is None
    assert _bound(moving, moving, -5, 25) is None


def test_the_wrong_hand_fits_a_symmetric_range_and_binds_on_any_other():
    assert _bound(True, False, -25, 25) is None
    # The slot ends 0.5° past the 5° of the other end; half the play gives 0.143° more.
    assert _bound(True, False, -5, 25) == pytest.approx(5.5 + 0.14, abs=0.06)


def test_the_slot_grown_by_its_wall_has_the_area_of_a_band():
    """A sector of a ring and two half discs; and the polygons' own area beside it."""
    grown = band(TILT, 230, 14.25, -0.5, 24.5)
    by_hand = radians(25) * 230 * 28.5 + 3.141592653589793 * 14.25**2
    assert outline_area((grown,)) == pytest.approx(by_hand, abs=1e-8)
    assert polygon(grown).area == pytest.approx(by_hand, rel=1e-4)


def test_a_band_swung_about_its_own_centre_is_a_longer_band():
    """What the demo's quadrant sweeps: a union of copies against the band that is longer by the
    swing, 49·π/180·230·28.5 + π·14.25² = 6243.85."""
    small = [
        polygon(band(TILT, 230, 14.25, -0.5 + a, 24.5 + a), step=0.005)
        for a in (24 * i / 120 for i in range(121))
    ]
    union, longer = (
        shapely.union_all(small).area,
        outline_area((band(TILT, 230, 14.25, -0.5, 48.5),)),
    )
    assert longer == pytest.approx(6243.85, abs=0.005)
    assert union == pytest.approx(longer, rel=3e-4)  # chords of the copies' arcs


def test_webs_against_the_distance_of_drawn_slot_and_hole():
    rnd = random.Random(4)  # noqa: S311  # it picks bodies, no secret
    for _ in range(30):
        start = rnd.uniform(-180, 180)
        s = slot(SWIVEL, rnd.uniform(40, 200), 8.5, start, -20, 30, 0.5, moving=False)
        wood = polygon(band(SWIVEL, s.radius_mm, 4.25, s.start_deg, s.end_deg), 0.004)
        hole = (rnd.uniform(-200, 200), rnd.uniform(-100, 300))
        drawn = shapely.Point(hole).distance(wood) - 3
        if drawn > -3:
            assert s.web_to_hole_mm(hole, 6) == pytest.approx(drawn, abs=0.001)
        edges = shapely.Polygon(PLATE)
        if edges.contains(wood):
            inside = edges.exterior.distance(wood)
            assert s.web_to_edges_mm(PLATE) == pytest.approx(inside, abs=0.001)


def test_the_pair_farthest_apart_on_the_demo_plate():
    """At radius 196 the plate's lower edge leaves ±78.6°, 384.3 mm apart; the best lies further
    out still, where the slot runs along both upright edges: 210 - 4.25 - 8."""
    keep = Keep(PLATE, OLD, 8.0)
    (arc,) = keep.free(SWIVEL, 196.0, 8.5)
    assert (arc.span_deg - 51) / 2 == pytest.approx(78.6, abs=0.05)
    assert 2 * 196 * sin(radians(78.6)) == pytest.approx(384.3, abs=0.05)
    (radius, low), (same, high) = farthest_pair(SWIVEL, keep, 8.5, -25.5, 25.5)
    assert radius == same
    assert radius == pytest.approx(197.75, abs=1e-6)
    assert high == pytest.approx(-low, abs=1e-9)
    apart = hypot(
        *(a - b for a, b in zip(SWIVEL.at(radius, low), SWIVEL.at(radius, high), strict=True))
    )
    assert apart == pytest.approx(387.52, abs=0.005)


def test_no_pair_on_a_grid_is_farther_apart():
    holes = (((120.0, 150.0), 10.0), ((-140.0, 60.0), 12.0), ((0.0, 60.0), 8.0))
    keep = Keep(PLATE, holes, 8.0)
    (radius, low), (_, high) = farthest_pair(SWIVEL, keep, 8.5, -15.5, 20.5)
    best = 2 * radius * sin(radians(abs(high - low)) / 2)
    least = min(
        slot(SWIVEL, radius, 8.5, m, -15, 20, 0.5, moving=False).web_to_edges_mm(PLATE)
        for m in (low, high)
    )
    assert least >= 8 - 1e-6
    found = 0.0
    for r in range(30, 230, 4):
        marks = [
            m
            for m in range(-180, 180, 3)
            for s in [slot(SWIVEL, r, 8.5, m, -15, 20, 0.5, moving=False)]
            if s.web_to_edges_mm(PLATE) >= 8 and all(s.web_to_hole_mm(*h) >= 8 for h in holes)
        ]
        found = max([found, *(2 * r * abs(sin(radians(a - b) / 2)) for a in marks for b in marks)])
    assert 0 < found <= best + 1e-9
    assert found > best - 15  # the grid is 4 mm and 3°


def test_two_slots_by_hand():
    one, other = (slot(SWIVEL, r, 8.5, 0, -25, 25, 0, moving=False) for r in (110, 90))
    assert two_slots_apart_mm(one, other) == pytest.approx(20 - 8.5, abs=1e-9)
    across = [slot(SWIVEL, 55, 8.5, m, -25, 25, 0, moving=False) for m in (0, 180)]
    # Ends 130° apart on 55: 2·55·sin 65° less the width.
    assert two_slots_apart_mm(*across) == pytest.approx(110 * cos(radians(25)) - 8.5, abs=1e-9)


def test_play_and_lock():
    """0.25 mm at 60 and at 196 mm; 2 N·m on M8 and 150 mm. Factors from memory."""
    assert angle_of_play_deg(0.25, 60) == pytest.approx(0.239, abs=0.0005)
    assert angle_of_play_deg(0.25, 196) == pytest.approx(0.073, abs=0.0005)
    assert clamping_n(2, 8) == pytest.approx(1250, abs=1e-9)
    assert slip_torque_nm(1250, [150]) == pytest.approx(46.9, abs=0.05)
