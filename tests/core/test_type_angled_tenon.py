"""Angled tenon: settings worked elsewhere, cuts by hand, and its own checks and remedies."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import jointgeo.types.angled_tenon as module
import jointgeo.types.angled_tenon_mortise as mortise
from jointgeo.errors import InputError
from jointgeo.geometry.vectors import Vec, X, Y, Z
from jointgeo.joints.check import Check
from jointgeo.joints.drawing import Bar
from jointgeo.joints.registry import joint_type
from jointgeo.joints.stock import parts
from jointgeo.solution.solution import solve

from .check_names import unknown, untried
from .rebuild import agree_on_the_wood
from .samples import fixture_with

EXACT = 1e-9  # mm or degree: rounding only
STEP = 1e-6  # mm or degree to either side of a limit
FOUR_PLACES = 0.00005 + EXACT


def rail(**changes: Any) -> Any:
    """A rail of 60 × 24 mm with a square tenon of 40 × 8 × 20 mm in its middle."""
    values = {
        "rail_width_mm": 60,
        "rail_thickness_mm": 24,
        "rail_length_mm": 400,
        "tenon_length_mm": 20,
        "tenon_width_mm": 40,
        "tenon_thickness_mm": 8,
        "mortised_thickness_mm": 40,
        "mortised_width_mm": 40,
    }
    return joint_type("angled_tenon")(**{**values, **changes})


def setups(joint: Any) -> list[dict[str, Any]]:
    found = solve(joint, fixture_with()).settings_dict()["parts"]
    return next(p["setups"] for p in found if p["part"] == "rail")


def spans(setup: dict[str, Any]) -> list[tuple[float, ...]]:
    return [(c["left_mm"], c["right_mm"], c["depth_mm"]) for c in setup["cuts"]]


def check(joint: Any, name: str) -> Check:
    return next(c for c in joint.checks() if c.name == name)


# Width angle 5, thickness angle 8: (side on the plate, swivel, tilt, packing) of the setup
# across the width and of that across the thickness. The numbers that ``test_angles_of_solids``
# measures on solids cut by manifold3d 3.5.4, to four places.
TWO_ANGLES = {
    "face_side": [("back", 5.0, 7.9699, 0.0), ("back_edge", -7.9394, 5.0485, -0.6991)],
    "face_edge": [("back", 4.9033, 8.0296, 0.6908), ("back_edge", -8.0, 4.9516, 0.0)],
}


@pytest.mark.parametrize("follows", TWO_ANGLES)
def test_two_angles_worked_to_four_places(follows) -> None:
    joint = rail(width_angle_deg=5, thickness_angle_deg=8, parallel_to=follows)
    for setup, (side, *angles) in zip(setups(joint), TWO_ANGLES[follows], strict=True):
        found = [setup["swivel_deg"], setup["tilt_deg"], setup["packing_deg"]]
        np.testing.assert_allclose(found, angles, rtol=0, atol=FOUR_PLACES)
        assert setup["against_plate"] == side


@pytest.mark.parametrize("follows", TWO_ANGLES)
@pytest.mark.parametrize("angles", [(5, 8), (-20, 15), (30, -25)])
def test_settings_alone_make_the_tenon(follows, angles, rng) -> None:
    """Point by point from the JSON, haunch and all, with both angles at work."""
    joint = rail(
        width_angle_deg=angles[0],
        thickness_angle_deg=angles[1],
        parallel_to=follows,
        haunch_depth_mm=6,
        tenon_width_mm=34,
        fit_mm=0.2,
    )
    part = parts(joint.drawing)[0]
    for fixture in (fixture_with(), fixture_with({"fence.side": "right"})):
        made = solve(joint, fixture).settings_dict()["parts"][0]
        agree_on_the_wood(part, made, rng)


def test_what_ignoring_the_packing_costs() -> None:
    """70 mm · tan 0.6991° = 0.854 mm, to two places 0.85."""
    joint = rail(
        rail_width_mm=70, width_angle_deg=5, thickness_angle_deg=8, parallel_to="face_side"
    )
    packing = setups(joint)[1]["packing"]
    assert packing["error_if_ignored_mm"] == pytest.approx(0.85, abs=0.005)
    assert setups(joint)[0]["packing"] is None
    found = solve(joint, fixture_with()).checks
    (remedy,) = next(c.remedies for c in found if c.name == "packing" and c.setup == 2)
    assert remedy.amounts["error_if_ignored_mm"] == pytest.approx(0.85, abs=0.005)


def test_swivel_equals_the_width_angle_for_the_face_side_only(rng) -> None:
    """tan(tilt) = cos(w)·tan(t) there; in general it is not w for the face edge."""
    for w, t in rng.uniform(5, 40, size=(6, 2)):
        first = setups(rail(width_angle_deg=w, thickness_angle_deg=t))[0]
        assert first["swivel_deg"] == pytest.approx(w, abs=EXACT)
        tilt = math.degrees(math.atan(math.cos(math.radians(w)) * math.tan(math.radians(t))))
        assert first["tilt_deg"] == pytest.approx(tilt, abs=EXACT)
        other = setups(rail(width_angle_deg=w, thickness_angle_deg=t, parallel_to="face_edge"))[0]
        assert abs(other["swivel_deg"] - w) > 0.01


@pytest.mark.parametrize("follows", ["face_side", "face_edge"])
def test_shoulder_lines_rise_as_they_are_drawn(follows, rng) -> None:
    """On the face side along (cos w, 0, sin w), on the edge along (0, cos t, sin t)."""
    for w, t in rng.uniform(-50, 50, size=(30, 2)):
        joint = rail(width_angle_deg=w, thickness_angle_deg=t, parallel_to=follows)
        edges, cheeks = parts(joint.drawing)[0].notches
        normal = edges.rows[2]
        assert -normal.x / normal.z == pytest.approx(math.tan(math.radians(w)), abs=1e-12)
        assert -normal.y / normal.z == pytest.approx(math.tan(math.radians(t)), abs=1e-12)
        # The side that the mortise follows: its line lies along a side of the mortise.
        off = edges.rows[0].y if follows == "face_side" else cheeks.rows[0].x
        assert off == pytest.approx(0.0, abs=1e-15)


def test_a_square_tenon_by_hand() -> None:
    """Shoulders of 10 mm beside the width and 8 mm beside the thickness, 1 mm run past."""
    across_width, across_thickness = setups(rail())
    expected = [(-1, 10, 20), (50, 61, 20)]
    np.testing.assert_allclose(spans(across_width), expected, rtol=0, atol=EXACT)
    expected = [(-1, 8, 20), (16, 25, 20)]
    np.testing.assert_allclose(spans(across_thickness), expected, rtol=0, atol=EXACT)


def test_fit_is_taken_from_the_tenon() -> None:
    """0.2 mm: a tenon of 39.8 × 7.8 mm, and the mortise as drawn."""
    joint = rail(fit_mm=0.2)
    for setup, size in zip(setups(joint), (39.8, 7.8), strict=True):
        left, right = spans(setup)
        assert right[0] - left[1] == pytest.approx(size, abs=EXACT)
    mortise = joint.drawing.pockets[0]
    assert (mortise.marks["length_mm"], mortise.marks["width_mm"]) == (40, 8)


@pytest.mark.parametrize(("offset", "heavy"), [(3.0, "face_edge"), (-3.0, "back_edge")])
def test_a_positive_offset_goes_towards_the_back_edge(offset, heavy) -> None:
    """The wider shoulder, 13 mm, is left at the other edge; 7 mm at the one it went to."""
    first = setups(rail(tenon_offset_width_mm=offset))[0]
    found = [c["right_mm"] - c["left_mm"] - 1 for c in first["cuts"]]
    left_to_right = [13.0, 7.0] if first["against_fence"] == heavy else [7.0, 13.0]
    np.testing.assert_allclose(found, left_to_right, rtol=0, atol=EXACT)


@pytest.mark.parametrize("at", ["back_edge", "face_edge"])
def test_a_haunch_is_a_shallower_cut_at_its_edge(at) -> None:
    """A haunch of 6 mm: 20 - 6 = 14 mm deep over the 10 mm beside the tenon."""
    first = setups(rail(haunch_depth_mm=6, haunch_at=at))[0]
    depths = {(c["left_mm"] > 30): c["depth_mm"] for c in first["cuts"] if c["depth_mm"] < 20}
    on_right = first["against_fence"] != at
    assert depths == {on_right: pytest.approx(14.0, abs=EXACT)}


# Greatest tenon in one plane: (w - l·sin a) / cos a with the best offset, (w - 2 l·sin a) / cos a
# with none. For w = 60, l = 20, a = 10°: 57.3991 and 53.8725 mm.
BEST_OFFSET = -20 * math.tan(math.radians(10)) / 2


@pytest.mark.parametrize(("offset", "widest"), [(BEST_OFFSET, 57.3991), (0.0, 53.8725)])
def test_the_greatest_tenon_that_stays_in_the_rail(offset, widest) -> None:
    def room(width: float) -> Check:
        joint = rail(width_angle_deg=10, tenon_width_mm=width, tenon_offset_width_mm=offset)
        return check(joint, "tenon_in_rail")

    too_wide = room(59)
    assert too_wide.status == "fail"
    (remedy,) = too_wide.remedies
    found = remedy.amounts["tenon_width_mm"]
    assert found == pytest.approx(widest, abs=0.00005 + EXACT)
    assert room(found).status == "pass"
    assert room(found + STEP).status == "fail"


@pytest.mark.parametrize(("wrong_way", "status"), [(False, "pass"), (True, "fail")])
def test_the_best_offset_has_a_direction(wrong_way, status) -> None:
    """The tenon's end wanders to the back edge, so its root had best start nearer the face edge."""
    offset = -BEST_OFFSET if wrong_way else BEST_OFFSET
    joint = rail(width_angle_deg=10, tenon_width_mm=57.3, tenon_offset_width_mm=offset)
    assert check(joint, "tenon_in_rail").status == status


# Each makes a joint whose check has that margin in mm.
FILES = [Path(module.__file__), Path(mortise.__file__)]
CASES = {
    # The tenon as wide as the rail at zero angle; half of what is over stands out each side.
    "tenon_in_rail": (lambda m: rail(tenon_width_mm=60 - 2 * m), "fail"),
    # Shoulders of 3 mm: common practice, no published source.
    "least_shoulder": (lambda m: rail(tenon_width_mm=54 - 2 * m), "caution"),
    # A third of the mortised piece: older joinery texts.
    "mortise_third": (lambda m: rail(mortised_width_mm=24 + 3 * m), "caution"),
    # 20 mm and 2 mm of glue room (common practice, no published source) in a blind mortise, and
    # 3 mm of wood behind it: our choice.
    "mortise_floor": (lambda m: rail(mortised_thickness_mm=25 + m), "caution"),
    # 20 - 4 - 10 = 6 mm beside a mortise 10 mm off the middle: common practice, none published.
    "mortise_wall": (lambda m: rail(mortise_offset_mm=10 - m), "caution"),
    # More across the grain than along it: our choice.
    "mortise_turn": (lambda m: rail(mortise_turn_deg=45 - m), "caution"),
    "haunch_width": (lambda m: rail(haunch_depth_mm=5, tenon_width_mm=54 - 2 * m), "caution"),
}


@pytest.mark.parametrize("name", CASES)
def test_a_check_flips_exactly_at_its_limit(name) -> None:
    make, short = CASES[name]
    inside, outside = check(make(STEP), name), check(make(-STEP), name)
    assert (inside.status, outside.status) == ("pass", short)
    assert inside.margin == pytest.approx(STEP, abs=1e-9)
    assert outside.margin == pytest.approx(-STEP, abs=1e-9)


@pytest.mark.parametrize(
    ("long", "status"),
    [(54.9, "pass"), (55.1, "caution"), (57.9, "caution"), (58.0, "fail"), (58.5, "fail")],
)
def test_a_blind_mortise_by_one_rule_as_its_tenon_grows(long: float, status: str) -> None:
    """60 thick, less 2 mm of glue room: 3 mm are left behind 55, and none behind 58."""
    found = check(rail(tenon_length_mm=long, mortised_thickness_mm=60), "mortise_floor")
    assert (found.status, found.limit) == (status, 3.0)
    assert found.value == pytest.approx(58 - long, abs=EXACT)
    assert "a tenon of 60 mm or more goes right through" in found.because
    if status != "pass":
        (remedy,) = found.remedies
        shorter = long - remedy.amounts["shorter_by_mm"] - STEP
        mended = rail(tenon_length_mm=shorter, mortised_thickness_mm=60)
        assert check(mended, "mortise_floor").status == "pass"


@pytest.mark.parametrize(
    ("long", "says"),
    [
        (60.0, "goes right through: mark it on the face side and on the back"),
        (61.5, "and on the back; the tenon stands 1.50 mm proud of the back"),
    ],
)
def test_a_tenon_that_goes_through_says_so(long: float, says: str) -> None:
    joint = rail(tenon_length_mm=long, mortised_thickness_mm=60)
    assert "mortise_floor" not in [c.name for c in joint.checks()]
    assert joint.notes()[1].endswith(says)
    assert len(rail().notes()) == 1


def test_a_mortise_that_leaves_its_piece_fails() -> None:
    assert check(rail(mortise_offset_mm=16.1), "mortise_wall").status == "fail"


@pytest.mark.parametrize(("turn", "wall"), [(0.0, 17.5), (11.89, 13.89), (90.0, 0.0)])
def test_a_turned_mortise_takes_width_from_its_piece(turn, wall) -> None:
    """Half of 44 less (36/2) sin + (9/2) cos of the turn; a mortise across the grain takes 36."""
    changes = {"tenon_width_mm": 36, "tenon_thickness_mm": 9, "mortised_width_mm": 44}
    joint = rail(**changes, mortise_turn_deg=turn, mortise_offset_mm=-4 if turn == 90 else 0)
    if turn:
        assert check(joint, "mortise_wall").value == pytest.approx(wall, abs=0.005)
    else:
        assert "mortise_wall" not in [c.name for c in joint.checks()]


def test_no_setting_depends_on_how_the_mortise_lies() -> None:
    plain = rail(width_angle_deg=5, thickness_angle_deg=8)
    turned = rail(
        width_angle_deg=5, thickness_angle_deg=8, mortise_turn_deg=11.9, mortise_offset_mm=3
    )
    assert setups(turned) == setups(plain)


def test_a_haunch_without_any_room_fails() -> None:
    joint = rail(haunch_depth_mm=5, tenon_width_mm=60)
    assert check(joint, "haunch_width").status == "fail"


def test_every_check_of_this_type_is_tried() -> None:
    assert untried(FILES, set(CASES)) == set()
    assert unknown(FILES, set(CASES)) == set()


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"tenon_width_mm": 0.1, "fit_mm": 0.1}, "tenon_width_mm"),
        ({"tenon_thickness_mm": 0.05, "fit_mm": 0.1}, "tenon_thickness_mm"),
        ({"haunch_depth_mm": 20}, "haunch_depth_mm"),
        ({"parallel_to": "back"}, "parallel_to"),
        ({"width_angle_deg": -60.5}, "width_angle_deg"),
    ],
)
def test_parameters_that_make_no_tenon_are_refused(changes, field) -> None:
    with pytest.raises(InputError) as caught:
        rail(**changes)
    (problem,) = caught.value.problems
    assert problem.field == field
    assert problem.given
    assert problem.allowed


def test_bars_that_never_cross_are_refused() -> None:
    tenon = joint_type("angled_tenon")
    end = Bar("rail", 100, 20, 300, Y, -X, -Z, Vec(0, 0, 0))
    beside = Bar("post", 40, 40, 900, Z, X, -Y, Vec(30, 0, 0))
    with pytest.raises(InputError, match="rail: cannot be measured against its mate; given post"):
        tenon.between(end, beside, tenon_length_mm=20)


def test_a_rail_against_a_raked_leg_has_no_angle_written() -> None:
    """A leg of 40 × 40 mm whose foot goes out by 10°, a rail of 60 × 22 mm level against it.

    By hand, in the rail's face: the leg's face comes to the rail's middle, at Z = 600, at
    300 + 100·tan 10° - 20/cos 10°, and leans 10° from square. Higher up it is further into
    the rail; with the cut end down and the face side to be seen the rail's back edge, here
    the upper, is on the right, so it rises to the right.
    """
    lean = math.radians(10)
    grain = Vec(math.sin(lean), 0.0, -math.cos(lean))  # down the leg
    inwards = Vec(-math.cos(lean), 0.0, -math.sin(lean))  # its face side, towards the rail
    post = Bar("leg", 40, 40, 450, grain, inwards, Y, Vec(300.0, 12.0, 700.0))
    end = Bar("rail", 60, 22, 280, -X, -Y, -Z, Vec(280.0, 10.0, 600.0))
    size = {"tenon_length_mm": 20, "tenon_width_mm": 40, "tenon_thickness_mm": 8}
    joint, room = joint_type("angled_tenon").between(end, post, **size, parallel_to="face_side")
    at_face = 300 + 100 * math.tan(lean) - 20 / math.cos(lean)
    found = joint.to_dict()
    assert found["width_angle_deg"] == pytest.approx(10, abs=EXACT)
    assert found["thickness_angle_deg"] == pytest.approx(0, abs=EXACT)
    # The leg's middle is 2 mm nearer to the rail's back, which looks to +Y: the mortise is that
    # much on the other side of it, or in its middle if the tenon may be out of the rail's.
    assert found["tenon_offset_thickness_mm"] == 0
    assert found["mortise_offset_mm"] == pytest.approx(-2, abs=EXACT)
    moved, _ = joint_type("angled_tenon").between(end, post, **size, tenon_offset_thickness_mm=3)
    assert moved.to_dict()["mortise_offset_mm"] == pytest.approx(1, abs=EXACT)
    middle, _ = joint_type("angled_tenon").between(end, post, **size, mortise_offset_mm=0)
    assert middle.to_dict()["tenon_offset_thickness_mm"] == pytest.approx(2, abs=EXACT)
    assert found["rail_length_mm"] == pytest.approx(at_face, abs=EXACT)
    assert room.way(joint.drawing.bars[0].grain) == pytest.approx((-1, 0, 0), abs=EXACT)
    assert room.place(Vec(0.0, 0.0, 0.0)) == pytest.approx((at_face, 10, 600), abs=EXACT)


def test_a_tenon_far_too_thick_is_a_caution() -> None:
    """1 mm of interference is more than 2 % of any tenon here (our choice)."""
    assert check(rail(fit_mm=-1), "tight_fit").status == "caution"
    assert check(rail(fit_mm=0.1), "tight_fit").status == "pass"
