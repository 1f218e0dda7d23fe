"""Corners whose boards lean unlike each other: published angles, solids, plain geometry."""

from __future__ import annotations

from math import atan, atan2, cos, degrees, hypot, radians, sin, sqrt, tan
from typing import Any

import attrs
import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from jointgeo.errors import InputError
from jointgeo.geometry.vectors import Vec, Z, angle_between
from jointgeo.joints.drawing import Drawing
from jointgeo.joints.registry import joint_type
from jointgeo.joints.stock import parts
from jointgeo.solution.solution import solve

from .by_hand import packing_deg, swivel_deg, tilt_deg
from .samples import fixture_with
from .wrong_drawings import drawn_as, turned, wrong

FOUR = 0.00005 + 1e-9  # degree or mm: worked to four places
EXACT = 1e-9  # degree or mm: rounding only
BOTH_WAYS = {"tilt.min_deg": -89, "tilt.max_deg": 89, "swivel.min_deg": -89, "swivel.max_deg": 89}


def corner(slope: float, slope_b: float | None, **more: Any) -> Any:
    values = {
        "board_width_mm": 150,
        "thickness_a_mm": 18,
        "thickness_b_mm": 15,
        "length_a_mm": 400,
        "length_b_mm": 250,
        "plan_corner_deg": 90,
        "slope_deg": slope,
        "slope_b_deg": slope_b,
        "finger_count": 5,
    }
    return joint_type("angled_box_joint")(**{**values, **more})


def test_the_edge_where_two_slopes_meet_as_published() -> None:
    """Machinery's Handbook, 31st ed. (2020), Compound Angles, figure 5: slopes A = 27° and B = 36°
    off level meet in an edge that rises C = 22° 38.6′ at R = 35° 2.5′; printed to 0.1′."""
    joint = corner(90 - 27, 90 - 36, board_width_mm=900)
    edge = joint.drawing.notches[0].across
    rise = degrees(atan2(edge.z, hypot(edge.x, edge.y)))
    assert rise == pytest.approx(22 + 38.6 / 60, abs=0.1 / 60)
    # cot²C = cot²A + cot²B; tan R = tan A / tan B, from the way that the slope A falls.
    a, b = radians(27), radians(36)
    assert rise == pytest.approx(degrees(atan(1 / hypot(1 / tan(a), 1 / tan(b)))), abs=EXACT)
    plan = degrees(atan2(abs(edge.x), abs(edge.y)))
    assert plan == pytest.approx(35 + 2.5 / 60, abs=0.1 / 60)
    assert plan == pytest.approx(degrees(atan(tan(a) / tan(b))), abs=EXACT)


@pytest.mark.parametrize(("slope", "other"), [(10.0, 20.0), (20.0, 10.0)])
def test_a_tray_of_two_slopes(slope: float, other: float) -> None:
    """Slopes 10 and 20 on a rectangle: dihedral 93.4049°, tilt 3.4049°, swivel 19.7197° on the
    boards that lean 10° and 9.4080° on those that lean 20°, measured on cut solids. By hand the
    cosine between the outsides is sin 10° · sin 20°, and tan σ = tan(other slope) · cos(own)."""
    joint = corner(slope, other)
    a, b = joint.drawing.bars
    inside = 180 - angle_between(a.face, b.face)
    assert inside == pytest.approx(93.4049, abs=FOUR)
    assert "93.4049" in joint.notes()[0]
    cosine = sin(radians(slope)) * sin(radians(other))
    assert cos(radians(180 - inside)) == pytest.approx(cosine, abs=1e-12)
    assert a.width * cos(radians(slope)) == pytest.approx(b.width * cos(radians(other)), abs=EXACT)
    expected = {10.0: 19.7197, 20.0: 9.4080}
    for part, own, its_mate in zip(
        parts(joint.drawing), (slope, other), (other, slope), strict=True
    ):
        notch = part.notches[0]
        assert swivel_deg(notch) == pytest.approx(-expected[own], abs=FOUR)
        by_hand = degrees(atan(tan(radians(its_mate)) * cos(radians(own))))
        assert swivel_deg(notch) == pytest.approx(-by_hand, abs=EXACT)
        assert abs(tilt_deg(notch)) == pytest.approx(3.4049, abs=FOUR)
        assert packing_deg(notch) == pytest.approx(0.0, abs=EXACT)
    answer = solve(joint, fixture_with(BOTH_WAYS)).settings_dict()
    for part_form, own in zip(answer["parts"], (slope, other), strict=True):
        (setup,) = part_form["setups"]
        assert abs(setup["swivel_deg"]) == pytest.approx(expected[own], abs=FOUR)
        assert abs(setup["tilt_deg"]) == pytest.approx(3.4049, abs=FOUR)
        assert setup["packing_deg"] == 0.0


def test_the_same_slope_said_twice_is_one_slope() -> None:
    once, twice = corner(15, None), corner(15, 15.0)
    assert once.drawing == twice.drawing
    assert [c.off for c in twice.claims() if c.off > EXACT] == []
    found, _ = type(once).between(*twice.drawing.bars, finger_count=5)
    assert found.slope_b_deg is None


def test_the_corner_edge_by_a_general_library(rng: np.random.Generator) -> None:
    """Boards stood up and leaned by scipy's rotations: the corner edge lies in both outsides and
    ends at the height that both boards have."""
    for _ in range(20):
        plan, slope, other = rng.uniform(40, 160), rng.uniform(-40, 40), rng.uniform(-40, 40)
        joint = corner(slope, other, plan_corner_deg=plan, board_width_mm=600)
        # b's plan is a's turned by the outside angle; each leans about the way it runs.
        normals = []
        for turn, lean in ((0.0, slope), (180 - plan, other)):
            tipped = Rotation.from_euler("x", lean, degrees=True).apply([0.0, -1.0, 0.0])
            normals.append(Rotation.from_euler("z", turn, degrees=True).apply(tipped))
        edge = np.cross(*normals)
        edge /= np.linalg.norm(edge)
        notch_a, notch_b = joint.drawing.notches
        for notch in (notch_a, notch_b):
            np.testing.assert_allclose(notch.across, edge, rtol=0, atol=1e-12)
        whole = joint._edges[-1]
        assert whole * edge[2] == pytest.approx(600 * cos(radians(slope)), abs=1e-9)


@pytest.mark.parametrize(
    ("slope", "other", "low", "under"),
    [
        (10, 20, 15 * sin(radians(20)), 0.0),
        (10, 0, 18 * sin(radians(10)), 0.0),
        (-10, 20, 15 * sin(radians(20)), -18 * sin(radians(10))),
    ],
)
def test_rims_are_level_over_both_boards(
    slope: float, other: float, low: float, under: float
) -> None:
    """A back lies thickness · sin slope above or below its face side: the lower rim at the highest
    of both boards' lower arrises, the upper one at the lowest of the upper ones."""
    joint = corner(slope, other)
    high = 150 * cos(radians(slope)) + under
    for rim in joint.drawing.pockets:
        z, middle, size = rim.block.axes[2], rim.block.middle, rim.block.size[2]
        assert abs(z.z) == pytest.approx(1.0, abs=1e-12)
        at = middle.z - z.z * size / 2
        assert at == pytest.approx(low if z.z < 0 else high, abs=EXACT)
        own = slope if rim.bar == "a" else other
        assert rim.marks["bevel_deg"] == pytest.approx(own, abs=EXACT)
    names = {(rim.bar, rim.side) for rim in joint.drawing.pockets}
    # An upright board has nothing above a level upper rim that is not lowered.
    assert (("b", "back_edge") in names) == (other != 0 or under < 0)


def test_a_finger_root_by_the_steeper_run() -> None:
    """On either board a rim runs (t - y·c)/√(1 - c²) · tan σ along the edge between a finger's end
    and its root, y the depth behind the face, c the cosine between the outsides."""
    joint = corner(10, 20)
    c = sin(radians(10)) * sin(radians(20))
    runs = []
    for own, mate, sigma in ((18, 15, 19.7197), (15, 18, 9.4080)):
        runs += [(mate - y * c) / sqrt(1 - c * c) * tan(radians(sigma)) for y in (0, own)]
    check = next(x for x in joint.checks() if x.name == "finger_root")
    finger = joint._edges[1]
    assert check.value == pytest.approx(finger - max(runs), abs=1e-4)  # σ is to four places


def lifted(d: Drawing) -> Drawing:
    b = d.bars[1]
    return attrs.evolve(d, bars=(d.bars[0], attrs.evolve(b, middle=b.middle + Z)))


BOX = corner(10, 20.0)


@pytest.mark.parametrize(
    "change",
    [
        drawn_as(BOX, slope_b_deg=20.1),
        drawn_as(BOX, slope_b_deg=-20),
        drawn_as(BOX, slope_b_deg=None),
        drawn_as(BOX, slope_deg=20, slope_b_deg=10),
        turned(Vec(0.0, 1.0, 0.0), 0.1, "b"),
        lifted,
    ],
)
def test_a_wrong_second_slope_fails_a_claim(change: Any) -> None:
    assert wrong(BOX, BOX.drawing) == []
    assert wrong(BOX, change(BOX.drawing))


def test_no_board_may_lie_flat() -> None:
    with pytest.raises(InputError) as caught:
        corner(10, 85, plan_corner_deg=30)
    (problem,) = caught.value.problems
    assert problem.field == "slope_b_deg"


def test_a_rim_that_is_missing_is_seen() -> None:
    bare = attrs.evolve(BOX.drawing, pockets=BOX.drawing.pockets[:3])
    assert "number of the upper rim bevel of b" in wrong(BOX, bare)
