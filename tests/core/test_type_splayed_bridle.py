"""Splayed bridle against published two-way inclinations, and its slot and checks by hand."""

from __future__ import annotations

import doctest
import math
from pathlib import Path
from typing import Any

import attrs
import pytest

import jointgeo
import jointgeo.types.splayed_bridle as module
from jointgeo.errors import InputError
from jointgeo.geometry.vectors import Vec, X, Y, Z, angle_between
from jointgeo.joints.check import Check
from jointgeo.joints.drawing import Bar
from jointgeo.joints.registry import joint_type
from jointgeo.joints.stock import parts
from jointgeo.schema.units import degrees_minutes
from jointgeo.solution.solution import solve
from jointgeo.types.splayed_bridle import SplayedBridle

from .by_hand import packing_deg
from .check_names import unknown, untried
from .samples import fixture_with

EXACT = 1e-9  # mm or degree: rounding only
STEP = 1e-6  # mm or degree to either side of a limit
# Machinery's Handbook prints four-figure arithmetic: 0.1 of a minute.
PRINTED_DEG = 0.1 / 60


def leg(**changes: Any) -> Any:
    values = {
        "leg_width_mm": 66,
        "leg_thickness_mm": 44,
        "leg_length_mm": 430,
        "rail_thickness_mm": 30,
        "tongue_thickness_mm": 22,
        "rail_depth_mm": 60,
        "rail_length_mm": 900,
        "splay_along_deg": 12,
        "splay_across_deg": 8,
    }
    return joint_type("splayed_bridle")(**{**values, **changes})


def setup_of(joint: Any, changes: dict[str, Any] | None = None) -> dict[str, Any]:
    return solve(joint, fixture_with(changes)).settings_dict()["parts"][0]["setups"][0]


def check(joint: Any, name: str) -> Check:
    return next(c for c in joint.checks() if c.name == name)


def minutes(degrees: int, minute: float) -> float:
    return degrees + minute / 60


def axis(along: float, across: float) -> Vec:
    """Of a leg splayed so, down from the rail; X across the rail, Y along it, Z down."""
    grain: Vec = leg(splay_along_deg=along, splay_across_deg=across).drawing.bars[0].grain
    return grain


def lean_deg(way: Vec) -> float:
    return angle_between(way, Z)


def sight_line_deg(way: Vec) -> float:
    """Where an axis points in plan: degrees from along the rail, towards across."""
    return math.degrees(math.atan2(way.x, way.y))


def test_a_plate_inclined_in_two_planes() -> None:
    """Machinery's Handbook, 31st ed. (2020), Compound Angles, pp. 121-122, fig. 4.

    A = 47°14′ and B = 38°10′ give C = 53°12′ and R = 36°0.9′ as printed.
    """
    a, b = minutes(47, 14), minutes(38, 10)
    way = axis(a, b)
    assert lean_deg(way) == pytest.approx(minutes(53, 12), abs=PRINTED_DEG)
    assert sight_line_deg(way) == pytest.approx(minutes(36, 0.9), abs=PRINTED_DEG)
    # Exact: 53°11.93′ and 36°0.98′, given to 0.01′.
    exact = 0.005 / 60 + EXACT
    assert lean_deg(way) == pytest.approx(minutes(53, 11.93), abs=exact)
    assert sight_line_deg(way) == pytest.approx(minutes(36, 0.98), abs=exact)
    assert degrees_minutes(lean_deg(way)) == "53°11.9′"
    assert "53.1988°" in leg(splay_along_deg=a, splay_across_deg=b).notes()[0]


def test_the_edge_where_two_unequal_slopes_meet() -> None:
    """The same, fig. 5: slopes A = 27° and B = 36° meet in an edge of C = 22°38.6′, R = 35°2.5′.

    The edge rises cot A one way and cot B the other for each unit of height, so it leans
    like a leg splayed by the complements; C is the complement of that leg's lean. Such a leg is
    steeper than a bridle's may be, so it is measured as it stands and not drawn.
    """
    way = Vec(1 / math.tan(math.radians(36)), 1 / math.tan(math.radians(27)), 1.0).unit
    face = (X ^ way).unit
    steep = Bar("leg", 66, 44, 430, way, face, face ^ way, Vec(0.0, 0.0, 0.0))
    found = SplayedBridle.measure(steep, leg().drawing.bars[1])
    assert found["splay_along_deg"] == pytest.approx(90 - 27, abs=EXACT)
    assert found["splay_across_deg"] == pytest.approx(90 - 36, abs=EXACT)
    edge = 90.0 - lean_deg(way)
    assert edge == pytest.approx(minutes(22, 38.6), abs=PRINTED_DEG)
    assert edge == pytest.approx(minutes(22, 38.65), abs=0.005 / 60 + EXACT)
    # tan R = tan A / tan B: measured from the way that rises by cot A.
    line = sight_line_deg(way)
    assert line == pytest.approx(minutes(35, 2.5), abs=PRINTED_DEG)
    assert line == pytest.approx(minutes(35, 2.52), abs=0.005 / 60 + EXACT)


def test_twelve_and_eight_degrees_to_four_places() -> None:
    """The numbers that ``test_angles_of_solids`` measures on solids cut by manifold3d 3.5.4, to
    four places; the lean, atan √(tan² 12° + tan² 8°), by hand."""
    four_places = 0.00005 + EXACT
    setup = setup_of(leg())
    assert setup["swivel_deg"] == pytest.approx(7.8274, abs=four_places)
    assert setup["tilt_deg"] == pytest.approx(12.0, abs=EXACT)
    assert setup["packing_deg"] == 0.0
    assert setup["against_plate"] == "back"
    assert lean_deg(axis(12, 8)) == pytest.approx(14.2957, abs=four_places)


def test_the_axis_leans_as_it_is_seen_in_both_views(rng) -> None:
    """Seen square on to the rail and along it the axis has the two splays."""
    for along, across in rng.uniform(-60, 60, size=(40, 2)):
        joint = leg(splay_along_deg=along, splay_across_deg=across)
        way = joint.drawing.bars[0].grain
        assert way.y / way.z == pytest.approx(math.tan(math.radians(along)), abs=1e-12)
        assert way.x / way.z == pytest.approx(math.tan(math.radians(across)), abs=1e-12)
        lean = math.degrees(math.atan2(math.hypot(way.x, way.y), way.z))
        assert f"leans {lean:.4f}°" in joint.notes()[0]
        (slot,) = parts(joint.drawing)[0].notches
        assert slot.rows[0].y == pytest.approx(0.0, abs=1e-15)
        assert packing_deg(slot) == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(
    ("along", "across", "plate", "swivel_sign"),
    [
        (12, 8, "back", 1),
        (-12, -8, "face_side", 1),
        (12, -8, "back", -1),
        (-12, 8, "face_side", -1),
    ],
)
def test_four_legs_are_two_shapes(along, across, plate, swivel_sign) -> None:
    """(+,+) and (-,-) are one shape with opposite sides on a plate that tilts one way."""
    setup = setup_of(leg(splay_along_deg=along, splay_across_deg=across))
    assert setup["against_plate"] == plate
    assert setup["tilt_deg"] == pytest.approx(12.0, abs=EXACT)
    assert setup["swivel_deg"] == pytest.approx(swivel_sign * 7.8274, abs=0.00005 + EXACT)


def test_an_upright_leg_by_hand() -> None:
    """66 mm of leg, 22 mm of tongue and 0.2 mm of fit: a slot from 21.9 to 44.1 mm, 60 deep."""
    (cut,) = setup_of(leg(splay_along_deg=0, splay_across_deg=0, fit_mm=0.2))["cuts"]
    assert (cut["left_mm"], cut["right_mm"]) == pytest.approx((21.9, 44.1), abs=EXACT)
    assert cut["depth_mm"] == 60


def test_depth_along_the_leg() -> None:
    """60 / (cos 12° · cos 7.8274°) = 61.917 mm on every long edge, from trim to floor."""
    marks = solve(leg(), fixture_with()).settings_dict()["parts"][0]["marks"]
    trim, floor = (next(m["at_mm"] for m in marks if m["line"] == n) for n in ("trim", "floor"))
    for edge, at in trim.items():
        assert floor[edge] - at == pytest.approx(61.917, abs=0.0005)


def test_the_librarys_own_example_is_this_joint() -> None:
    """The lines at the top of the package, run as they stand there."""
    done = doctest.testmod(jointgeo)
    assert done.attempted >= 4
    assert done.failed == 0


def test_length_over_the_long_point() -> None:
    """A leg of 430 mm, 44 mm thick, leaning 10° along only: 430 + 22·tan 10° = 433.879 mm."""
    joint = leg(splay_along_deg=10, splay_across_deg=0)
    (verify,) = joint.drawing.verify["leg"]
    assert verify.expected_mm == pytest.approx(433.879, abs=0.0005)


@pytest.mark.parametrize("along", [12.0, -12.0])
def test_the_housing_follows_the_leg_down_the_rail(along) -> None:
    """By hand: half of 30 - 22 deep, as wide as the leg is thick, 44 / cos 12° = 44.983 along.

    In the world its middle runs down the rail the way the leg's foot leans.
    """
    joint = leg(splay_along_deg=along)
    assert [p.side for p in joint.drawing.pockets] == ["face_side", "back"]
    for box in joint.drawing.pockets:
        assert box.marks["depth_mm"] == pytest.approx(4.0, abs=EXACT)
        assert box.marks["width_mm"] == 44
        assert box.marks["width_along_the_edge_mm"] == pytest.approx(44.983, abs=0.0005)
        down = box.block.axes[0] * (1 if box.block.axes[0].z > 0 else -1)
        assert down.y / down.z == pytest.approx(math.tan(math.radians(along)), abs=EXACT)
    assert leg(tongue_thickness_mm=30).drawing.pockets == ()


def test_a_housed_leg_comes_out_along_its_housings() -> None:
    """Not straight down, where a lean along the rail would carry it into the housings' sides."""
    drawing = leg(splay_along_deg=12).drawing
    way = drawing.slides["leg"]
    assert way.y / way.z == pytest.approx(math.tan(math.radians(12)), abs=EXACT)
    assert way.x == 0
    assert Y @ way > 0


def slot_wall(margin: float) -> Any:
    # Upright: (leg - slot) / 2 against leg / 6, so slot = 2/3 of the leg at the limit.
    return leg(
        splay_along_deg=0,
        splay_across_deg=0,
        leg_width_mm=66,
        rail_thickness_mm=60,
        tongue_thickness_mm=44 - 2 * margin,
    )


def slot_third(margin: float) -> Any:
    # Stock gauged in thirds (Fairham, Woodwork Joints).
    return leg(tongue_thickness_mm=22 - margin)


def housing_covered(margin: float) -> Any:
    # Upright: half the leg against half the rail.
    changes = {"splay_along_deg": 0, "splay_across_deg": 0, "leg_width_mm": 66}
    return leg(**changes, rail_thickness_mm=66 - 2 * margin)


CASES = {
    "slot_wall": (slot_wall, "caution"),
    "slot_third": (slot_third, "caution"),
    "housing_covered": (housing_covered, "fail"),
}


@pytest.mark.parametrize("name", CASES)
def test_a_check_flips_exactly_at_its_limit(name) -> None:
    make, short = CASES[name]
    inside, outside = check(make(STEP), name), check(make(-STEP), name)
    assert (inside.status, outside.status) == ("pass", short)
    assert inside.margin == pytest.approx(STEP, abs=1e-9)
    assert outside.margin == pytest.approx(-STEP, abs=1e-9)


def test_every_check_of_this_type_is_tried() -> None:
    assert untried([Path(module.__file__)], set(CASES)) == set()
    assert unknown([Path(module.__file__)], set(CASES)) == set()


@pytest.mark.parametrize("left_mm", [0.0, -1e-10, -0.001, -3.0])
def test_a_slot_as_wide_as_the_leg_fails(left_mm) -> None:
    """No wood beside the slot is no joint, at zero as well as below it."""
    joint = leg(
        splay_along_deg=0,
        splay_across_deg=0,
        leg_width_mm=22,
        tongue_thickness_mm=22 - 2 * left_mm,
    )
    assert check(joint, "slot_wall").status == "fail"


def test_a_leaning_leg_loses_wall_at_the_far_corner() -> None:
    """Leaning 10° across only: the slot's floor shifts by 60·tan 10° = 10.580 mm.

    The leg's sides are 33 / cos 10° = 33.509 mm from the middle, level; 11 mm are slot.
    """
    found = check(leg(splay_along_deg=0, splay_across_deg=10), "slot_wall")
    assert found.value == pytest.approx(33.509 - 10.580 - 11.0, abs=0.001)


def test_leaning_less_keeps_its_promise() -> None:
    joint = leg(splay_along_deg=0, splay_across_deg=-14)
    found = check(joint, "slot_wall")
    assert found.status == "caution"
    (remedy,) = found.remedies
    most = remedy.amounts["splay_across_deg"]
    assert -14 < most < 0
    at = {s: leg(splay_along_deg=0, splay_across_deg=most + s) for s in (STEP, 0.0, -STEP)}
    assert check(at[0.0], "slot_wall").status == "pass"
    assert check(at[STEP], "slot_wall").status == "pass"
    assert check(at[-STEP], "slot_wall").status == "caution"


def test_a_housing_that_the_leg_does_not_cover() -> None:
    """A leg 42.7 mm wide leans 12.4° across a housed rail of 24 × 52 mm.

    Its lower side comes to 42.7 / 2 / cos 12.4° - 52 · tan 12.4° = 10.427 mm from the rail's
    middle, inside the 12 mm of its face. Either remedy just mends it.
    """
    changes = {"leg_width_mm": 42.7, "splay_along_deg": 0, "splay_across_deg": 12.4}
    changes |= {"rail_thickness_mm": 24, "rail_depth_mm": 52, "tongue_thickness_mm": 18.5}
    found = check(leg(**changes), "housing_covered")
    assert found.status == "fail"
    assert found.value == pytest.approx(10.427, abs=0.0005)
    assert {r.do for r in found.remedies} == {"widen_leg", "thinner_rail"}
    for remedy in found.remedies:
        mended = check(leg(**(changes | remedy.amounts)), "housing_covered")
        assert mended.margin == pytest.approx(0.0, abs=EXACT)
        assert mended.status == "pass"
    unhoused = leg(**(changes | {"rail_thickness_mm": 18.5}))
    assert "housing_covered" not in {c.name for c in unhoused.checks()}


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"tongue_thickness_mm": 31}, "tongue_thickness_mm"),
        ({"tongue_thickness_mm": 0.5, "fit_mm": -0.5}, "fit_mm"),
        ({"splay_along_deg": 61}, "splay_along_deg"),
        ({"leg_width_mm": 0}, "leg_width_mm"),
    ],
)
def test_parameters_that_make_no_bridle_are_refused(changes, field) -> None:
    with pytest.raises(InputError) as caught:
        leg(**changes)
    (problem,) = caught.value.problems
    assert problem.field == field
    assert problem.given
    assert problem.allowed


def held(leg_length_mm: float) -> jointgeo.Solution:
    shorter = attrs.evolve(SplayedBridle.examples()[0], leg_length_mm=leg_length_mm)
    return solve(shorter, jointgeo.load_fixture("porch"))


def length_check(answer: jointgeo.Solution) -> Check:
    return next(c for c in answer.checks if c.name == "held_length")


def test_a_leg_that_hardly_lies_on_the_plate_fails() -> None:
    """A leg of 90 mm, 100.3 mm with its trim, hangs 92.7 mm below the plate.

    100.3·cos 7.83° - 92.7 = 6.7 mm of it lie on the plate over its whole width, to 0.05 mm.
    """
    short = held(90)
    check = length_check(short)
    assert (short.status, check.status) == ("fail", "fail")
    assert check.value == pytest.approx(6.7, abs=0.05)
    assert check.limit == pytest.approx(92.7, abs=0.05)
    assert {c.name for c in short.checks if c.status == "fail"} == {"held_length", "clamp_contact"}
    by = check.remedies[0].amounts["length_by_mm"]
    assert length_check(held(90 + by)).status == "pass"
    # Half the overhang, 46.3 mm, is less than 60 mm, so that 60 mm is where it begins to hold.
    more = (60 - check.value) / math.cos(math.radians(7.827))
    for off, status in ((-0.01, "fail"), (0.01, "caution")):
        assert length_check(held(90 + more + off)).status == status


def test_a_tongue_far_too_thick_is_a_caution() -> None:
    """1 mm of interference is more than 2 % of any tongue here (our choice)."""
    assert check(leg(fit_mm=-1), "tight_fit").status == "caution"
    assert check(leg(fit_mm=0.1), "tight_fit").status == "pass"
