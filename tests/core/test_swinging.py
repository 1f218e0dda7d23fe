"""What turns: outlines, arcs and meetings against a polygon library and by hand.

Reference: shapely (GEOS), which knows nothing of arcs: unions of dense copies, and distances.
"""

from __future__ import annotations

import random
from math import hypot, pi, sqrt

import numpy as np
import pytest
import shapely
from shapely import affinity

from jointgeo.geometry.arcs import (
    Arc,
    edge_keeps_off,
    free_arcs,
    hole_keeps_off,
    slots_apart,
)
from jointgeo.geometry.flat import box_polygon, turned
from jointgeo.geometry.swept import covers, outline_area, reach, swept_outline
from jointgeo.geometry.swinging import swing_until


def bodies(count: int, size: float = 100.0, seed: int = 7):
    """Convex bodies with three to seven corners, and a centre in, on or outside them."""
    rnd = random.Random(seed)  # noqa: S311  # it picks bodies, no secret
    for index in range(count):
        points = [
            (rnd.uniform(-size, size) + size / 2, rnd.uniform(-size, size))
            for _ in range(rnd.choice([3, 4, 5, 7]))
        ]
        ring = shapely.MultiPoint(points).convex_hull.exterior
        body = list((ring if ring.is_ccw else ring.reverse()).coords)[:-1]
        centre = (rnd.uniform(-50, 50), rnd.uniform(-50, 50))
        if index % 4 == 0:  # two corners alike about the centre, and sides with their feet on them
            body, centre = box_polygon((-30, -20), (30, 20)), (0.0, rnd.choice([0.0, 5.0, -40.0]))
        if index % 4 == 1:
            centre = body[0]  # a corner on the axis
        low = rnd.uniform(-60, 0)
        yield body, centre, low, low + rnd.uniform(2, 120)


def copies(body, centre, low, high, count):
    """The body turned to so many angles, as one shape."""
    turns = (low + (high - low) * i / (count - 1) for i in range(count))
    return shapely.union_all(shapely.polygons([turned(body, centre, t) for t in turns]))


def test_area_against_unions_of_dense_copies():
    """A union of n copies is too small, by an error that falls as 1/n."""
    for body, centre, low, high in bodies(16):
        exact = outline_area(swept_outline(body, centre, low, high))
        few, many = (copies(body, centre, low, high, n + 1).area for n in (100, 300))
        assert few <= many * (1 + 1e-9)
        assert many <= exact * (1 + 1e-9)
        assert (
            exact - many <= 0.45 * (exact - few) + 1e-6 * exact
        )  # a third, were it 1/n to the last


def test_outlines_are_closed_and_keep_what_is_swept_on_their_left():
    for body, centre, low, high in bodies(60, seed=8):
        loops = swept_outline(body, centre, low, high)
        for loop in loops:
            for piece, following in zip(loop, [*loop[1:], loop[0]], strict=True):
                # A millionth of a millimetre: rounding of a crossing's square root.
                gap = hypot(piece.end[0] - following.start[0], piece.end[1] - following.start[1])
                assert gap < 1e-5
        assert outline_area(loops) > 0


def test_a_point_is_covered_where_some_turn_covers_it():
    rnd = random.Random(3)  # noqa: S311  # it picks bodies, no secret
    for body, centre, low, high in bodies(24, seed=9):
        solid = shapely.Polygon(body)
        for _ in range(25):
            point = (rnd.uniform(-150, 150), rnd.uniform(-150, 150))
            back = np.radians(-np.linspace(low, high, 801))
            x, y = point[0] - centre[0], point[1] - centre[1]
            u = centre[0] + x * np.cos(back) - y * np.sin(back)
            v = centre[1] + x * np.sin(back) + y * np.cos(back)
            away = shapely.distance(solid, shapely.points(u, v)).min()
            if covers(body, centre, low, high, point):
                assert away <= hypot(x, y) * np.radians(high - low) / 800  # half a step, and half
            else:
                assert away > 0


def test_swept_areas_by_hand():
    # A square about its own middle, a quarter turn: the disc through its corners.
    square = box_polygon((-1, -1), (1, 1))
    assert outline_area(swept_outline(square, (0, 0), 0, 90)) == pytest.approx(2 * pi, abs=1e-9)
    # A strip with one corner on the axis, a quarter turn: the quarter disc of its far corner's
    # radius, and the two right triangles of its sides at both ends. 3 by 4: 25π/4 + 2·6.
    strip = box_polygon((0, 0), (3, 4))
    assert outline_area(swept_outline(strip, (0, 0), 0, 90)) == pytest.approx(
        25 * pi / 4 + 12, abs=1e-9
    )
    assert reach(swept_outline(square, (0, 0), 0, 90)[0]) == pytest.approx(
        (-sqrt(2), sqrt(2), -sqrt(2), sqrt(2)), abs=1e-9
    )


def test_the_foot_of_a_side_is_not_lost():
    """Where a side's foot lies on it, its arc bounds the hollow: without it 22 % of a thin body's
    area can be wrong. A bar that passes the centre at 100: the nearest it comes is 100."""
    bar = box_polygon((-80, 100), (80, 110))
    loop = swept_outline(bar, (0, 0), -30, 30)[0]
    nearest = min(p.radius for p in loop if hasattr(p, "radius"))
    assert nearest == pytest.approx(100, abs=1e-9)
    union = copies(bar, (0, 0), -30, 30, 601).area  # too small by 1/n: 0.2 % here
    assert union < outline_area((loop,)) < union * 1.004


def test_swing_until_two_bodies_meet():
    """At the turn found they touch (1e-9 mm, rounding), and before it they are apart."""
    met = 0
    for (a, centre, *_), (b, *_) in zip(
        bodies(120, 40, seed=1), bodies(120, 40, seed=2), strict=True
    ):
        other = [(u - 60, v + 50) for u, v in turned(b, (0, 0), 35)]
        moving, fixed = shapely.Polygon(a), shapely.Polygon(other)
        turn = swing_until(a, other, centre)
        if moving.intersects(fixed):
            assert turn == 0
            continue

        def apart(angle: float, moving=moving, fixed=fixed, centre=centre) -> float:
            return affinity.rotate(moving, angle, origin=centre).distance(fixed)

        if turn is None:
            assert min(apart(x) for x in range(0, 360, 5)) > 0
            continue
        met += 1
        assert apart(turn) < 1e-9
        assert min(apart(turn * i / 40) for i in range(40)) > 0
    assert met > 30


def test_bodies_that_touch_and_part_may_turn_on():
    low, high = box_polygon((0, 0), (10, 10)), box_polygon((0, 10), (10, 20))
    assert swing_until(low, high, (0.0, 0.0), 90) == 0  # its far corner rises into the other
    assert swing_until(high, low, (0.0, 0.0), 90) is None  # it leaves it


#: Limits of the demo fixture's stock at the straight beam, found by cutting and stepping; degrees
#: to 0.001 by thickness in mm, backing 18 mm, hinge 12 mm behind the plate and 250 mm up.
LIMITS = {12: 26.574, 20: 24.777, 30: 22.515, 50: 17.923, 80: 10.790, 95: 7.069, 100: 5.800}


@pytest.mark.parametrize("thick", LIMITS)
def test_swing_of_stock_to_the_straight_beam(thick):
    stock = box_polygon((-18.0 - thick, -100.0), (-18.0, 380.0))
    beam = box_polygon((-400.0, 40.0), (-140.0, 130.0))
    # Towards you is clockwise from the right-hand end: turned round by the mirror in Y = 0.
    images = [[(-u, v) for u, v in reversed(p)] for p in (stock, beam)]
    assert swing_until(*images, (-12.0, 250.0)) == pytest.approx(LIMITS[thick], abs=0.0006)


def test_what_a_hole_and_an_edge_take_from_a_circle():
    """Hole of 6 at 226 beside a slot of 8.5 at 230, 8 of wood between: 3.699° to either side."""
    assert hole_keeps_off(230, 226, 8.5 / 2 + 6 / 2 + 8) == pytest.approx(3.699, abs=0.0005)
    assert hole_keeps_off(230, 200, 15.25) == 0
    assert hole_keeps_off(5, 3, 15.25) == 180
    # 3-4-5: an edge 8 away of which 2 must stay: 6 of 10, acos 0.6 = 53.1301°.
    assert edge_keeps_off(10, 8, 2) == pytest.approx(53.1301, abs=0.00005)
    assert edge_keeps_off(5, 8, 2) == 0
    assert edge_keeps_off(10, -9, 2) == 180


def test_free_arcs_against_stepping():
    rnd = random.Random(5)  # noqa: S311  # it picks bodies, no secret
    for _ in range(60):
        taken = [(rnd.uniform(-720, 720), rnd.uniform(0, 60)) for _ in range(rnd.randint(0, 5))]
        free = free_arcs(taken)
        for step in range(720):
            at = step / 2 + 0.123
            off = [abs((at - mid + 180) % 360 - 180) - half for mid, half in taken if half > 0]
            assert any(a.holds(at) for a in free) == all(o > 0 for o in off)
    assert free_arcs([]) == (Arc(0.0, 360.0),)
    assert free_arcs([(10, 180)]) == ()


def test_two_arcs_about_one_centre_by_hand():
    assert slots_apart((100, 80), (0, 30), (40, 40)) == 20  # one beside the other
    # Ends 60° apart on one radius: an equal-sided triangle.
    assert slots_apart((100, 100), (0, 80), (20, 20)) == pytest.approx(100, abs=1e-9)
    assert slots_apart((100, 100), (80, 0), (20, 20)) == pytest.approx(100, abs=1e-9)
