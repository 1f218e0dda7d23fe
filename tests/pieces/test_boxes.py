"""Boxes with sloping sides as pieces: published angles, regular solids, plans by hand, members."""

from __future__ import annotations

import csv
from math import asin, atan, cos, degrees, hypot, pi, radians, sin, tan
from pathlib import Path
from typing import Any

import attrs
import numpy as np
import pytest

from jointgeo.errors import InputError
from jointgeo.pieces.joining import joints_of
from jointgeo.pieces.model import Joined
from jointgeo.pieces.room import placed_bars
from jointgeo.pieces.solve import solve_piece
from jointgeo.proof import fit_piece

from .boxes import BOX, PLANS, PORCH, TRAPEZOID, box, solved

FOUR = 0.00005 + 1e-9  # mm or degree: printed or worked to four places
EXACT = 1e-9  # mm or degree: rounding only
TABLE_DEG = 0.006  # the table is printed to 0.01°; its worst good row is 0.00498° off
NOTHING_MM3 = 1e-6  # rounding of the boolean kernel over a metre
OPEN_MM3 = 1e-4  # of a litre, of volumes that are summed over thousands of triangles

TABLE = Path(__file__).parents[1] / "core" / "data" / "hopper-angles.csv"
ROWS = [
    (int(r["sides"]), *(float(r[k]) for k in list(r)[1:4]))
    for r in csv.DictReader(TABLE.read_text("utf-8").splitlines())
]


def settings(made: Any) -> list[tuple[float, float, float]]:
    """Swivel, tilt and packing of every setting, without signs."""
    found = [s for end in solved(made).settings for s in end.setups]
    return [(abs(s.swivel_deg), abs(s.tilt_deg), abs(s.packing_deg)) for s in found]


# Published ---------------------------------------------------------------------------------

#: Of boxes that this type makes; one row of the table, seven sides at 25°, is misprinted.
STEEP = [row for row in ROWS if row[0] <= 8 and row[1] >= 15 and row[:2] != (7, 25.0)]


@pytest.mark.parametrize(("sides", "pitch", "face", "blade"), STEEP[::3])
def test_printed_compound_angles_as_pieces(
    sides: int, pitch: float, face: float, blade: float
) -> None:
    """Compound-angle table of a saw's operator's manual, no. 315.212050, page 29: swivel M, tilt
    90 - 2B; all corners alike, and no packing."""
    made = box(
        sides=sides, lower_edge_mm=400, slope_deg=90 - pitch, height_mm=150 * sin(radians(pitch))
    )
    found = settings(made)
    assert len(found) == 2
    for swivel, tilt, packing in found:
        assert swivel == pytest.approx(face, abs=TABLE_DEG)
        assert (90 - tilt) / 2 == pytest.approx(blade, abs=TABLE_DEG)
        assert packing == 0.0


@pytest.mark.parametrize(
    ("sides", "pitch", "dihedral"),
    [
        (3, 70.528779, degrees(np.arccos(1 / 3))),
        (3, 54.735610, 90.0),
        (4, 54.735610, degrees(np.arccos(-1 / 3))),
        (5, 63.434949, 2 * degrees(atan((1 + 5**0.5) / 2))),
        (5, 37.377368, 2 * degrees(atan(((1 + 5**0.5) / 2) ** 2))),
    ],
)
def test_regular_solids_as_pieces(sides: int, pitch: float, dihedral: float) -> None:
    """Tetrahedron, cube, octahedron, dodecahedron and icosahedron, their faces round one corner or
    over one face: dihedral angles from any table of them; the pitch is given to 1e-6°."""
    made = box(sides=sides, lower_edge_mm=500, slope_deg=90 - pitch, height_mm=60, finger_count=2)
    for _, tilt, packing in settings(made):
        assert tilt == pytest.approx(abs(90 - dihedral), abs=2e-6)
        assert packing == 0.0


def test_the_edge_of_two_slopes_as_published_in_a_piece() -> None:
    """Machinery's Handbook, 31st ed. (2020), Compound Angles, figure 5: slopes of 27° and 36° off
    level meet in an edge that rises 22° 38.6′; printed to 0.1′."""
    piece = box(length_mm=400, depth_mm=300, height_mm=60, slopes_deg="63 54 63 54").piece()
    joints = joints_of(piece, placed_bars(piece))
    assert len(joints) == 4
    for joint in joints:
        edge = joint.placement.way(joint.drawing.notches[0].across)
        rise = degrees(atan(edge.z / hypot(edge.x, edge.y)))
        assert rise == pytest.approx(22 + 38.6 / 60, abs=0.1 / 60)


# By hand -----------------------------------------------------------------------------------


def test_a_tray_of_two_slopes() -> None:
    """Slopes 10, 20, 10, 20 on 400 × 250, held against cut solids: dihedral 93.4049, swivel 19.7197
    on the boards of 10° and 9.4080 on those of 20°, tilt 3.4049."""
    made = box(length_mm=400, depth_mm=250, height_mm=80, thickness_mm=12, slopes_deg="10 20 10 20")
    answer = solved(made)
    assert [(m.name, m.count, m.mirrored) for m in answer.members] == [
        ("side", 2, 0),
        ("end", 2, 0),
    ]
    swivels = {e.uses[0].member: abs(e.setups[0].swivel_deg) for e in answer.settings}
    assert swivels == {
        "side": pytest.approx(19.7197, abs=FOUR),
        "end": pytest.approx(9.4080, abs=FOUR),
    }
    for end in answer.settings:
        assert abs(end.setups[0].tilt_deg) == pytest.approx(3.4049, abs=FOUR)
        assert [u.count for u in end.uses] == [2]
    assert all("93.4049" in j.joint.notes()[0] for j in answer.joints)
    told = made.measured()
    assert told["feet, left to right"] == pytest.approx(400, abs=EXACT)
    assert told["feet, front to back"] == pytest.approx(250, abs=EXACT)
    assert told["upper rim, left to right"] == pytest.approx(
        400 + 2 * 80 * tan(radians(20)), abs=EXACT
    )


def test_the_upper_rim_of_a_regular_box() -> None:
    """Longer by 2 W sin s · tan(180°/N): 44.8288 mm for six sides, 15° and 150 mm up the slope."""
    made = box(sides=6, lower_edge_mm=300, slope_deg=15, height_mm=150 * cos(radians(15)))
    told = made.measured()
    lower, upper = (told[f"side 1, outside along the {e}"] for e in ("face edge", "back edge"))
    assert lower == pytest.approx(300, abs=EXACT)
    assert upper - lower == pytest.approx(44.8288, abs=FOUR)
    assert told["side 1, outside across"] == pytest.approx(150, abs=EXACT)
    assert told["height"] == pytest.approx(150 * cos(radians(15)), abs=EXACT)
    assert told["side 1, leans out"] == pytest.approx(150 * sin(radians(15)), abs=EXACT)
    # The width of the board before its rims are planed: 14 mm · tan 15° more.
    wide = told["side 1, width before its rims are planed"]
    assert wide == pytest.approx(150 + 14 * tan(radians(15)), abs=EXACT)
    again = box(sides=6, lower_edge_mm=300, upper_edge_mm=upper, height_mm=150 * cos(radians(15)))
    assert again.measured() == pytest.approx(told, abs=1e-9)


def test_a_rectangle_from_the_lengths_of_both_rims() -> None:
    made = box(length_mm=400, depth_mm=250, upper_length_mm=460, upper_depth_mm=280)
    told = made.measured()
    for way, low, high in (("left to right", 400, 460), ("front to back", 250, 280)):
        assert told[f"feet, {way}"] == pytest.approx(low, abs=EXACT)
        assert told[f"upper rim, {way}"] == pytest.approx(high, abs=EXACT)
    assert told["side, front, leans out"] == pytest.approx(15, abs=EXACT)
    assert told["end, right, leans out"] == pytest.approx(30, abs=EXACT)


@pytest.mark.parametrize(("plan", "corners", "sides"), PLANS)
def test_a_plan_that_is_no_regular_one(plan: str, corners: list[float], sides: list[float]) -> None:
    """Inside angles add up to (N - 2) · 180°, and the sides are those of the lower rim."""
    assert sum(corners) == pytest.approx(180 * (len(corners) - 2), abs=5 * FOUR)
    made = box(plan=plan, slope_deg=12)
    piece = made.piece()
    joints = joints_of(piece, placed_bars(piece))
    # The joint at a board's near end is at the next corner of the plan.
    found = [j.joint.to_dict()["plan_corner_deg"] for j in joints]
    assert found == pytest.approx([*corners[1:], corners[0]], abs=FOUR)
    told = made.measured()
    lower = [told[f"{b.name}, outside along the face edge"] for b in piece.bars]
    assert lower == pytest.approx(sides, abs=FOUR)


# Members -----------------------------------------------------------------------------------


def test_all_boards_of_a_regular_box_are_one() -> None:
    for sides in (3, 5, 6):
        answer = solved(box(sides=sides, lower_edge_mm=300, slope_deg=10))
        (member,) = answer.members
        assert (member.count, member.mirrored) == (sides, 0)
        assert [sum(u.count for u in e.uses) for e in answer.settings] == [sides, sides]


@pytest.mark.parametrize(("alternate", "kinds"), [(False, 4), (True, 3)])
def test_slanting_boards_of_a_trapezoid(alternate: bool, kinds: int) -> None:
    """With the lowest finger on the first board of every corner the two are not each other's
    mirror image; with the lowest finger by turns they are, and the others are symmetrical."""
    answer = solved(box(plan=TRAPEZOID, slope_deg=12, alternate=alternate))
    assert len(answer.members) == kinds
    mirrored = {m.name: (m.count, m.mirrored) for m in answer.members if m.mirrored}
    assert mirrored == ({"2nd side and 4th side": (2, 1)} if alternate else {})
    assert fit_piece(answer.bars_dict()).faults == ()


def test_fingers_by_turns_make_two_kinds_of_board() -> None:
    answer = solved(box(sides=4, lower_edge_mm=300, slope_deg=10, alternate=True))
    assert [(m.name, m.count, m.mirrored) for m in answer.members] == [
        ("side 1", 2, 0),
        ("side 2", 2, 0),
    ]
    assert fit_piece(answer.bars_dict()).faults == ()


def test_what_is_planed_is_said() -> None:
    """18 mm at 10°: 18 tan 10° = 3.1739 mm off the face side below and off the back above."""
    answer = solved(BOX.examples()[0])
    lower, upper = answer.bars[0].planed
    assert (lower.side, upper.side) == ("face_edge", "back_edge")
    for edge in (lower, upper):
        assert edge.bevel_deg == pytest.approx(10, abs=EXACT)
    assert (lower.face_mm, lower.back_mm) == pytest.approx((3.1739, 0.0), abs=FOUR)
    assert (upper.face_mm, upper.back_mm) == pytest.approx((0.0, 3.1739), abs=FOUR)
    told = answer.to_dict()["bars"][0]["planed"]
    assert [e["what"] for e in told] == ["lower rim bevel", "upper rim bevel"]
    assert told[0]["plane"]["normal"] == pytest.approx([0, 0, -1], abs=EXACT)


def test_a_rim_that_takes_the_end_finger_is_found() -> None:
    """30 mm at 40° take 30 sin 40° = 19.284 mm of height, beside fingers of 100/7 and more."""
    made = box(sides=4, lower_edge_mm=400, slope_deg=40, thickness_mm=30, finger_count=7)
    (check,) = [c for c in solved(made).checks if c.name == "rim_wood"]
    assert (check.part, check.status) == ("corner", "fail")
    fine = attrs.evolve(made, finger_count=2)
    (check,) = [c for c in solved(fine).checks if c.name == "rim_wood"]
    assert check.status == "pass"


def test_the_wood_left_at_a_rim_by_hand() -> None:
    """The end finger is a seventh of the corner edge, (150 + 18 sin s) / (cos σ · cos s). Across
    the corner's prism, from outside to inside, a level rim climbs along it by 2 · 18 tan σ / sin D,
    D the dihedral, sin of half of its supplement sin 45° · cos s: the upper end finger is shortest
    inside. The clearance moves a wall by a quarter of the fit."""
    made = BOX.examples()[0]
    (check,) = [c for c in solved(made).checks if c.name == "rim_wood"]
    s = radians(10)
    sigma = atan(tan(pi / 4) * sin(s))
    whole = (150 + 18 * sin(s)) / (cos(sigma) * cos(s))
    dihedral = pi - 2 * asin(sin(pi / 4) * cos(s))
    inside = 2 * 18 * tan(sigma) / sin(dihedral)
    assert check.value == pytest.approx(whole / 7 - inside - 0.1 / 4, abs=EXACT)
    assert check.value == pytest.approx(16.2658, abs=FOUR)


# Refused -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("values", "field"),
    [
        ({}, "lower_edge_mm"),
        ({"lower_edge_mm": 300, "length_mm": 200, "depth_mm": 200}, "lower_edge_mm"),
        ({"length_mm": 300}, "depth_mm"),
        ({"lower_edge_mm": 300, "slope_deg": 5, "upper_edge_mm": 320}, "upper_edge_mm"),
        ({"lower_edge_mm": 300, "slopes_deg": "10 10"}, "slopes_deg"),
        ({"lower_edge_mm": 300, "slopes_deg": "10 10 ten 10"}, "slopes_deg"),
        ({"lower_edge_mm": 300, "slopes_deg": "10 10 10 85"}, "slopes_deg"),
        ({"lower_edge_mm": 300, "upper_length_mm": 320, "upper_depth_mm": 9}, "upper_length_mm"),
        ({"length_mm": 300, "depth_mm": 200, "upper_length_mm": 320}, "upper_depth_mm"),
        ({"plan": "0 0, 400 0"}, "plan"),
        ({"plan": "0 0, 400 0, 300"}, "plan"),
        ({"plan": "0 0, 400 0, nan 200"}, "plan"),
        ({"plan": "0 0, 100 150, 300 150, 400 0"}, "plan"),
        ({"plan": "0 0, 400 0, 200 50, 400 300, 0 300"}, "plan"),
        ({"sides": 5, "lower_edge_mm": 300, "alternate": True}, "alternate"),
        ({"sides": 2, "lower_edge_mm": 300}, "sides"),
    ],
)
def test_what_is_no_box_is_named(values: dict[str, Any], field: str) -> None:
    with pytest.raises(InputError) as caught:
        box(**values)
    (problem,) = caught.value.problems
    assert problem.field == field


def test_sides_that_meet_before_they_are_as_high_are_named() -> None:
    """A pyramid of 200 mm at 45° is 100 mm high."""
    assert box(sides=4, lower_edge_mm=200, slope_deg=-45, height_mm=90, thickness_mm=5).measured()
    with pytest.raises(InputError, match="side 1: has no length along one edge"):
        box(sides=4, lower_edge_mm=200, slope_deg=-45, height_mm=110, thickness_mm=5).measured()


def test_a_corner_needs_both_boards() -> None:
    piece = box(sides=4, lower_edge_mm=300).piece()
    more = attrs.evolve(piece.joints[0], name="another")
    first = attrs.evolve(piece.bars[0], near=Joined("another", "side 2"))
    wrong = attrs.evolve(piece, joints=(*piece.joints, more), bars=(first, *piece.bars[1:]))
    with pytest.raises(InputError, match="no end of that meets it in the same joint"):
        solve_piece(wrong, PORCH)


def test_boards_marked_from_unlike_rims_are_named() -> None:
    piece = box(sides=4, lower_edge_mm=300).piece()
    first = attrs.evolve(piece.bars[0], x_from="back_edge")
    with pytest.raises(InputError, match="face edges on unlike sides of the corner"):
        solve_piece(attrs.evolve(piece, bars=(first, *piece.bars[1:])), PORCH)


def test_a_board_of_another_height_is_named() -> None:
    piece = box(sides=4, lower_edge_mm=300, slope_deg=10).piece()
    first = attrs.evolve(piece.bars[0], width=piece.bars[0].width + 1)
    with pytest.raises(InputError, match="has another width"):
        solve_piece(attrs.evolve(piece, bars=(first, *piece.bars[1:])), PORCH)


@pytest.mark.parametrize("what", ["pose", "rim", "ends"])
def test_a_wrong_box_is_found(what: str) -> None:
    data = solved(box(sides=4, lower_edge_mm=300, slope_deg=10)).bars_dict()
    first = data["bars"][0]
    if what == "pose":
        first["pose"][0][3] += 0.5
    elif what == "rim":
        first["near"]["layout"][0]["frame"][2][3] -= 60.0
        first["near"]["layout"][0]["frame"][0][3] += 60.0
    else:
        first["near"], first["far"] = first["far"], first["near"]
    assert not fit_piece(data).goes_together
