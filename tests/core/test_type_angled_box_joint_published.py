"""Angled box joint against published compound angles, regular solids and roofs."""

from __future__ import annotations

import csv
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from jointgeo.joints.registry import joint_type
from jointgeo.types.angled_box_joint import board_frames, corner_axes, dihedral_deg
from jointgeo.planning.orientation import clampings
from jointgeo.solution.settings import solve_settings

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


def first_setups(joint: Any, changes: dict[str, float]) -> list[dict[str, Any]]:
    settings = solve_settings(joint, fixture_with(changes)).to_dict()
    return [part["setups"][0] for part in settings["parts"]]


def test_the_table_is_whole() -> None:
    assert len(ROWS) == 71
    assert len(GOOD) == 70


@pytest.mark.parametrize(("sides", "pitch", "face", "blade"), GOOD)
def test_printed_compound_angles_through_the_frames(sides, pitch, face, blade) -> None:
    """Compound-angle table of a saw's manual, no. 315.212050, page 29: swivel M, tilt 2B - 90."""
    for frame in board_frames(plan_corner(sides), 90.0 - pitch):
        found = clampings(frame)
        np.testing.assert_allclose(np.abs(found.swivel_deg), face, rtol=0, atol=TABLE_DEG)
        bevel = (90.0 - np.abs(found.tilt_deg)) / 2
        np.testing.assert_allclose(bevel, blade, rtol=0, atol=TABLE_DEG)
        np.testing.assert_allclose(found.packing_deg, 0.0, rtol=0, atol=EXACT_DEG)


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
    found = clampings(board_frames(plan_corner(sides), 90.0 - pitch)[0])
    swivel, tilt = float(abs(found.swivel_deg[0])), float(abs(found.tilt_deg[0]))
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
    slope = 90.0 - pitch
    assert float(dihedral_deg(plan_corner(sides), slope)) == pytest.approx(dihedral, abs=slack)
    v = corner_axes(plan_corner(sides), slope)
    between = math.degrees(math.acos(float(v["n_a"] @ v["n_b"])))
    assert 180.0 - between == pytest.approx(dihedral, abs=slack)
    for setup in first_setups(box(sides, pitch), ANY_WAY):
        assert abs(setup["tilt_deg"]) == pytest.approx(abs(90.0 - dihedral), abs=slack)


# rise per 12, length per foot of run of (common, hip) rafter as printed, backing, dihedral,
# jack side cut, source of the lengths. Lengths are printed to 0.01, but for 13 5/12 (Radford),
# which is given to the nearest twelfth. Backing, dihedral and jack cut are exact.
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
    """A hip roof is a four-sided box; tan(backing) = rise / hip (Hodgson, The Steel Square)."""
    slope = 90.0 - math.degrees(math.atan(rise / 12))
    v = corner_axes(90.0, slope)
    common_found, hip_found = rise / v["up_a"][2], rise / v["e"][2]
    for printed, found in ((common, common_found), (hip, hip_found)):
        if printed is not None:
            # An extra 1e-9 for a value that stands exactly half way between two printed ones.
            assert found == pytest.approx(printed[0], abs=printed[1] + 1e-9), source
    printed_deg = 0.0005 + 1e-9  # three places
    assert math.degrees(math.atan(rise / hip_found)) == pytest.approx(backing, abs=printed_deg)
    found = float(dihedral_deg(90.0, slope))
    assert found == pytest.approx(dihedral, abs=printed_deg)
    assert 180.0 - 2 * backing == pytest.approx(found, abs=2 * printed_deg)
    swivel = clampings(board_frames(90.0, slope)[0]).swivel_deg
    np.testing.assert_allclose(np.abs(swivel), jack, rtol=0, atol=printed_deg)


@pytest.mark.parametrize(
    ("sides", "slope", "swivel", "tilt", "dihedral"),
    [(4, 15, 14.5108, 3.8410, 93.8410), (6, 20, 11.1702, 33.9514, 123.9514)],
)
def test_two_boxes_worked_to_four_places(sides, slope, swivel, tilt, dihedral) -> None:
    """Cut and fitted together as solids with a general boolean kernel; four places."""
    four_places = 0.00005 + 1e-9
    assert float(dihedral_deg(plan_corner(sides), slope)) == pytest.approx(
        dihedral, abs=four_places
    )
    for setup in first_setups(box(sides, 90.0 - slope), ONE_WAY):
        assert abs(setup["swivel_deg"]) == pytest.approx(swivel, abs=four_places)
        assert setup["tilt_deg"] == pytest.approx(tilt, abs=four_places)


def test_corner_axes_broadcast_and_are_what_they_say(rng) -> None:
    """Outside normals, ways to the right and up the slope, by plain plane geometry."""
    plan, slope = rng.uniform(30, 165, size=(4, 3)), rng.uniform(-60, 60, size=3)
    v = corner_axes(plan, slope)
    for board in "ab":
        n, right, up = v[f"n_{board}"], v[f"r_{board}"], v[f"up_{board}"]
        np.testing.assert_allclose(np.cross(right, up), n, rtol=0, atol=1e-12)
        lean = np.broadcast_to(-np.sin(np.radians(slope)), (4, 3))
        np.testing.assert_allclose(n[..., 2], lean, rtol=0, atol=1e-12)
        np.testing.assert_allclose(right[..., 2], 0.0, rtol=0, atol=1e-12)
    # The inside angle between the boards seen from above is the angle between their plans.
    cosine = -np.sum(v["r_a"] * v["r_b"], axis=-1)
    np.testing.assert_allclose(cosine, np.cos(np.radians(plan)), rtol=0, atol=1e-12)
    edge = np.cross(v["n_a"], v["n_b"])
    edge /= np.linalg.norm(edge, axis=-1, keepdims=True)
    np.testing.assert_allclose(v["e"], edge, rtol=0, atol=1e-9)
    assert np.all(v["e"][..., 2] > 0)
