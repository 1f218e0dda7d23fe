"""Angled box joint against published compound angles, regular solids and roofs."""

from __future__ import annotations

import csv
import math
from pathlib import Path
from typing import Any

import pytest

from jointgeo.geometry.vectors import Vec, Z, angle_between
from jointgeo.joints.drawing import Bar
from jointgeo.joints.registry import joint_type
from jointgeo.joints.stock import StockNotch, parts
from jointgeo.solution.solution import solve

from .by_hand import packing_deg, swivel_deg, tilt_deg
from .samples import fixture_with

# The table is printed to 0.01°; its worst good row is 0.00498° off (data/hopper-angles.txt).
TABLE_DEG = 0.006
# Mathematics, in doubles: what is left is rounding.
EXACT_DEG = 1e-9
MISPRINT = (7, 25.0)

TABLE = Path(__file__).parent / "data" / "hopper-angles.csv"
ROWS = [
    (int(r["sides"]), *(float(r[k]) for k in list(r)[1:4]))
    for r in csv.DictReader(TABLE.read_text("utf-8").splitlines())
]
GOOD = [row for row in ROWS if row[:2] != MISPRINT]
ANY_WAY = {"tilt.min_deg": -89, "swivel.min_deg": -89, "swivel.max_deg": 89}
ONE_WAY = {"tilt.max_deg": 89, "swivel.min_deg": -89, "swivel.max_deg": 89}


def plan_corner(sides: int) -> float:
    return 180.0 - 360.0 / sides


def box(sides: int, from_horizontal_deg: float, **more: Any) -> Any:
    """A regular box; boards wide enough that the steepest row still has whole fingers."""
    values = {
        "board_width_mm": 150,
        "thickness_a_mm": 12,
        "thickness_b_mm": 12,
        "length_a_mm": 400,
        "length_b_mm": 400,
        "plan_corner_deg": plan_corner(sides),
        "slope_deg": 90.0 - from_horizontal_deg,
        "finger_count": 5,
    }
    return joint_type("angled_box_joint")(**{**values, **more})


def notches(joint: Any) -> list[StockNotch]:
    return [part.notches[0] for part in parts(joint.drawing)]


def dihedral_deg(joint: Any) -> float:
    """Inside angle between the boards, by their faces."""
    a, b = joint.drawing.bars
    return 180.0 - angle_between(a.face, b.face)


def first_setups(joint: Any, changes: dict[str, float]) -> list[dict[str, Any]]:
    settings = solve(joint, fixture_with(changes)).settings_dict()
    return [part["setups"][0] for part in settings["parts"]]


def test_the_table_is_whole() -> None:
    assert len(ROWS) == 71
    assert len(GOOD) == 70


@pytest.mark.parametrize(("sides", "pitch", "face", "blade"), [r for r in GOOD if r[1] > 0])
def test_printed_compound_angles_in_the_drawing(sides, pitch, face, blade) -> None:
    """Compound-angle table of a saw's operator's manual, no. 315.212050, page 29: swivel M, tilt
    2B - 90."""
    for notch in notches(box(sides, pitch)):
        assert abs(swivel_deg(notch)) == pytest.approx(face, abs=TABLE_DEG)
        assert (90.0 - abs(tilt_deg(notch))) / 2 == pytest.approx(blade, abs=TABLE_DEG)
        assert packing_deg(notch) == pytest.approx(0.0, abs=EXACT_DEG)


@pytest.mark.parametrize(("sides", "pitch", "face", "blade"), GOOD)
def test_printed_compound_angles_in_closed_form(sides, pitch, face, blade) -> None:
    """The same rows by the formulas at the top of the type, lying flat (P = 0) too, which is no
    box and cannot be drawn; that the drawing has those formulas is tried below."""
    swivel, bevel = closed_form_deg(plan_corner(sides), 90.0 - pitch)
    assert swivel == pytest.approx(face, abs=TABLE_DEG)
    assert bevel == pytest.approx(blade, abs=TABLE_DEG)


def closed_form_deg(plan_deg: float, slope_deg: float) -> tuple[float, float]:
    """Swivel and bevel: tan swivel = tan φ · sin s, sin bevel = sin φ · cos s."""
    half, s = math.radians(180.0 - plan_deg) / 2, math.radians(slope_deg)
    swivel = math.atan(math.tan(half) * math.sin(s))
    return math.degrees(swivel), math.degrees(math.asin(math.sin(half) * math.cos(s)))


def test_the_drawing_has_the_closed_form(rng) -> None:
    for plan, slope in zip(rng.uniform(30, 165, 40), rng.uniform(-60, 60, 40), strict=True):
        joint = box(4, 90, plan_corner_deg=plan, slope_deg=slope, board_width_mm=900)
        swivel, bevel = closed_form_deg(plan, slope)
        a, b = notches(joint)
        # Where the sides lean out the corner edge leans away from either board.
        assert swivel_deg(a) == pytest.approx(-swivel, abs=EXACT_DEG)
        assert swivel_deg(b) == pytest.approx(-swivel, abs=EXACT_DEG)
        assert abs(tilt_deg(a)) == pytest.approx(abs(90.0 - 2 * bevel), abs=EXACT_DEG)


@pytest.mark.parametrize(("sides", "pitch", "face", "blade"), [r for r in GOOD if r[1] > 0])
def test_printed_compound_angles_through_the_library(sides, pitch, face, blade) -> None:
    """The same rows from parameters to settings; lying flat (P = 0) is no box."""
    a, b = first_setups(box(sides, pitch), ANY_WAY)
    for setup in (a, b):
        assert abs(setup["swivel_deg"]) == pytest.approx(face, abs=TABLE_DEG)
        assert (90.0 - abs(setup["tilt_deg"])) / 2 == pytest.approx(blade, abs=TABLE_DEG)
        assert setup["packing_deg"] == 0.0


@pytest.mark.parametrize(("sides", "pitch"), [r[:2] for r in ROWS if r[1] > 0])
def test_obtuse_corners_put_the_face_side_on_a_one_way_plate(sides, pitch) -> None:
    """Every box of the table is obtuse; both boards alike, with opposite swivel."""
    a, b = first_setups(box(sides, pitch), ONE_WAY)
    assert (a["against_plate"], b["against_plate"]) == ("face_side", "face_side")
    assert a["tilt_deg"] > 0
    assert a["tilt_deg"] == pytest.approx(b["tilt_deg"], abs=EXACT_DEG)
    assert a["swivel_deg"] == pytest.approx(-b["swivel_deg"], abs=EXACT_DEG)


def test_acute_corners_put_the_back_on_a_one_way_plate() -> None:
    # A tetrahedron's dihedral, 70.53°, is the plainest acute corner.
    a, b = first_setups(box(3, 70.528779), ONE_WAY)
    assert (a["against_plate"], b["against_plate"]) == ("back", "back")
    assert a["tilt_deg"] == pytest.approx(90 - 70.528779, abs=1e-6)
    assert a["swivel_deg"] == pytest.approx(-b["swivel_deg"], abs=EXACT_DEG)


def test_the_one_misprint_deviates_as_stated() -> None:
    """N = 7, P = 25: 23.56 printed, geometry 23.579; its blade tilt is right."""
    (sides, pitch, face, blade) = next(r for r in ROWS if r[:2] == MISPRINT)
    first, _ = notches(box(sides, pitch))
    swivel, tilt = abs(swivel_deg(first)), abs(tilt_deg(first))
    assert face == 23.56
    assert swivel == pytest.approx(23.579, abs=0.0005)  # stated to 0.001°
    assert abs(swivel - face) > TABLE_DEG
    assert (90.0 - tilt) / 2 == pytest.approx(blade, abs=TABLE_DEG)


SOLIDS = [
    ("tetrahedron", 3, 70.528779, math.degrees(math.acos(1 / 3))),
    ("cube", 3, 54.735610, 90.0),
    ("octahedron", 4, 54.735610, math.degrees(math.acos(-1 / 3))),
    ("dodecahedron", 5, 63.434949, 2 * math.degrees(math.atan((1 + 5**0.5) / 2))),
    ("icosahedron", 5, 37.377368, 2 * math.degrees(math.atan(((1 + 5**0.5) / 2) ** 2))),
]


@pytest.mark.parametrize(("solid", "sides", "pitch", "dihedral"), SOLIDS)
def test_regular_solids_as_boxes(solid, sides, pitch, dihedral) -> None:
    """Dihedral angles of the five regular solids: exact, in any table of them."""
    del solid
    # The pitch is given to 1e-6°, and the dihedral moves at most twice as fast.
    slack = 2e-6
    joint = box(sides, pitch)
    assert dihedral_deg(joint) == pytest.approx(dihedral, abs=slack)
    assert f"{dihedral:.4f}" in joint.notes()[0]
    for notch in notches(joint):
        assert abs(tilt_deg(notch)) == pytest.approx(abs(90.0 - dihedral), abs=slack)
    for setup in first_setups(box(sides, pitch), ANY_WAY):
        assert abs(setup["tilt_deg"]) == pytest.approx(abs(90.0 - dihedral), abs=slack)


# rise per 12, length per foot of run of (common, hip) rafter as printed, backing, dihedral,
# jack side cut, source of the lengths. Lengths are printed to 0.01, but for 13 5/12 (Radford),
# which is given to the nearest twelfth. Backing, dihedral and jack cut are exact. The books are
# named from memory: their pages, and editions but where a year stands, were not kept.
ROOFS = [
    (6, (13 + 5 / 12, 1 / 24), (18.00, 0.005), 18.435, 143.130, 41.810, "Radford's Cyclopedia"),
    (8, None, (18.76, 0.005), 23.093, 133.813, 39.762, "NAVEDTRA 14044, Builder"),
    (12, (16.97, 0.005), (20.78, 0.005), 30.000, 120.000, 35.264, "Griffith, Carpentry (1916)"),
    (13, (17.69, 0.005), None, 31.304, 117.391, 34.148, "US Army EN0069"),
    (16, (20.00, 0.005), None, 34.450, 111.100, 30.964, "US Army EN0069"),
]


@pytest.mark.parametrize(("rise", "common", "hip", "backing", "dihedral", "jack", "source"), ROOFS)
def test_roofs_of_equal_pitch_on_a_square_plan(
    rise, common, hip, backing, dihedral, jack, source
) -> None:
    """A hip roof is a four-sided box; tan(backing) = rise / hip (Hodgson, The Steel
    Square, from memory)."""
    slope = 90.0 - math.degrees(math.atan(rise / 12))
    joint = box(4, 90.0 - slope)
    up, hip_way = -joint.drawing.bars[0].edge, joint.drawing.notches[0].across
    common_found, hip_found = rise / up.z, rise / hip_way.z
    for printed, found in ((common, common_found), (hip, hip_found)):
        if printed is not None:
            # An extra 1e-9 for a value that stands exactly half way between two printed ones.
            assert found == pytest.approx(printed[0], abs=printed[1] + 1e-9), source
    printed_deg = 0.0005 + 1e-9  # three places
    assert math.degrees(math.atan(rise / hip_found)) == pytest.approx(backing, abs=printed_deg)
    found = dihedral_deg(joint)
    assert found == pytest.approx(dihedral, abs=printed_deg)
    assert 180.0 - 2 * backing == pytest.approx(found, abs=2 * printed_deg)
    assert abs(swivel_deg(notches(joint)[0])) == pytest.approx(jack, abs=printed_deg)


@pytest.mark.parametrize(
    ("sides", "slope", "swivel", "tilt", "dihedral"),
    [(4, 15, 14.5108, 3.8410, 93.8410), (6, 20, 11.1702, 33.9514, 123.9514)],
)
def test_two_boxes_worked_to_four_places(sides, slope, swivel, tilt, dihedral) -> None:
    """The numbers that ``test_angles_of_solids`` measures on solids cut by manifold3d 3.5.4, to
    four places; the dihedral is 90° and the tilt."""
    four_places = 0.00005 + 1e-9
    joint = box(sides, 90.0 - slope)
    assert dihedral_deg(joint) == pytest.approx(dihedral, abs=four_places)
    for notch in notches(joint):
        assert abs(swivel_deg(notch)) == pytest.approx(swivel, abs=four_places)
        assert abs(tilt_deg(notch)) == pytest.approx(tilt, abs=four_places)
    for setup in first_setups(box(sides, 90.0 - slope), ONE_WAY):
        assert abs(setup["swivel_deg"]) == pytest.approx(swivel, abs=four_places)
        assert setup["tilt_deg"] == pytest.approx(tilt, abs=four_places)


def test_boards_stand_as_the_angles_say(rng) -> None:
    """Outside normals, ways to the right and up the slope, by plain plane geometry."""
    for plan, slope in zip(rng.uniform(30, 165, 12), rng.uniform(-60, 60, 12), strict=True):
        joint = box(4, 90, plan_corner_deg=plan, slope_deg=slope, board_width_mm=900)
        a, b = joint.drawing.bars
        rights: list[tuple[Bar, Vec]] = [(a, -a.grain), (b, b.grain)]
        for board, right in rights:
            assert (right ^ -board.edge) == pytest.approx(board.face, abs=1e-12)
            assert board.face.z == pytest.approx(-math.sin(math.radians(slope)), abs=1e-12)
            assert right.z == pytest.approx(0.0, abs=1e-12)
        # The inside angle between the boards seen from above is that between their plans.
        assert a.grain @ b.grain == pytest.approx(math.cos(math.radians(plan)), abs=1e-12)
        # Inside the corner: either board ends before the other's outside.
        assert b.face @ a.grain < 0
        assert a.face @ b.grain < 0
        edge = (a.face ^ b.face).unit
        assert joint.drawing.notches[0].across == pytest.approx(edge, abs=1e-9)
        assert edge @ Z > 0
