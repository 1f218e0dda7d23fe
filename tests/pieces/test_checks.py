"""What the whole piece is judged by, each check at its limit and mended by its remedies."""

from __future__ import annotations

import copy
from math import cos, radians, sin, sqrt, tan
from pathlib import Path

import pytest

import jointgeo.pieces.mortise_checks as mortises
import jointgeo.pieces.room_checks as rooms_
from jointgeo.fixtures.file import load_fixture
from jointgeo.geometry.vectors import Plane, Vec, X, Z
from jointgeo.joints.check import Check
from jointgeo.pieces.model import End, Joined, Piece, PieceJoint, Plain, RoomBar
from jointgeo.pieces.mortise_checks import shallower_by
from jointgeo.pieces.solve import PieceAnswer, solve_piece
from tests.core.check_names import unknown, untried

from .rooms import FLOOR, bench, tenon
from .test_file import bar, data, made, solved

EXACT = 1e-9  # mm or degree: rounding only
FOUR = 0.00005 + EXACT  # mm: printed to four places
PORCH = load_fixture("porch")
LOW, HIGH = Plain(Plane(-Z, 0.0)), Plain(Plane(Z, 500.0))


def checks(found: PieceAnswer, name: str) -> dict[str, Check]:
    return {c.part: c for c in found.checks if c.name == name}


def post(name: str = "post", size: float = 42, x: float = 0.0, turn: float = 0.0) -> RoomBar:
    a = radians(turn)
    run = Vec(x, 0.0, 0.0), Vec(x, 0.0, 500.0)
    return RoomBar(name, size, size, *run, LOW, HIGH, Vec(cos(a), sin(a), 0.0))


def rail(
    name: str = "rail",
    way: Vec = X,
    up: float = 200.0,
    sideways: float = 0.0,
    near: End | None = None,
    length: float = 300.0,
) -> RoomBar:
    """60 × 22, level, out of the post's middle line or beside it."""
    start = Vec(0.0, 0.0, up) + (Z ^ way) * sideways
    end = near or Joined("tenon", "post")
    far = Plain(Plane(way, length))
    return RoomBar(name, 60, 22, start, start + way * length, end, far, Z ^ way)


def solved_piece(*bars: RoomBar, joint: PieceJoint | None = None) -> PieceAnswer:
    own = joint or tenon("tenon", tenon_thickness_mm=8)
    used = {e.joint for b in bars for e in (b.near, b.far) if isinstance(e, Joined)}
    return solve_piece(Piece("Judged", (own,) if used else (), bars), PORCH)


# Mortises that meet ---------------------------------------------------------------------


def corner(length: float) -> PieceAnswer:
    """Two rails at a right angle, level with each other, in a post 42 × 42; tenons 8 thick."""
    joint = tenon("tenon", tenon_length_mm=length, tenon_thickness_mm=8)
    return solved_piece(post(), rail("one"), rail("other", Vec(0.0, 1.0, 0.0)), joint=joint)


@pytest.mark.parametrize(
    ("length", "gap", "status"),
    [
        (14.0, sqrt(2), "pass"),
        (14.5, sqrt(2) / 2, "caution"),
        (15.0, 0.0, "fail"),
        (16, -1, "fail"),
    ],
)
def test_mortises_that_meet(length: float, gap: float, status: str) -> None:
    """2 mm of glue room: at 15 mm the mortises are 17 deep, and 21 - 17 is half of the other. Their
    edges come nearer by √2 for each 1 of both; in each other it is 1 for 1."""
    found = checks(corner(length), "mortises_apart")["post"]
    assert (found.status, found.value) == (status, pytest.approx(gap, abs=1e-8))
    if status == "pass":
        assert found.remedies == ()
        return
    shorten, along = found.remedies
    by = shorten.amounts["shorter_by_mm"]
    # One mm apart: 1/√2 shallower than where they touch.
    assert length - by == pytest.approx(15 - sqrt(0.5), abs=1e-6)
    assert shorten.amounts["mortise_depth_mm"] == pytest.approx(17 - sqrt(0.5), abs=1e-6)
    assert checks(corner(length - by - 1e-6), "mortises_apart")["post"].status == "pass"
    assert along.amounts["move_along_mm"] <= 36 + 1 + 1e-6  # one above the other


def table(stand: str) -> PieceAnswer:
    """The table with tenons of 30 × 60 × 9, which meet in its legs."""
    piece = copy.deepcopy(data("plain_table"))
    sizes = {"tenon_length_mm": 30, "tenon_width_mm": 60, "tenon_thickness_mm": 9}
    piece["joint"] = [{"name": "long", "type": "angled_tenon", "parameters": sizes}]
    piece["bar"] = piece["bar"][:3]
    del piece["measured_mm"]
    for entry in piece["bar"][1:]:
        entry["near"]["joint"] = "long"
        entry["leans"] = stand
    return solved(made(piece))


@pytest.mark.parametrize(("stand", "longest"), [("with mates", 18.8033), ("upright", 16.2307)])
def test_the_longest_tenon_that_does_not_meet_the_other(stand: str, longest: float) -> None:
    """Found beside this by separating axes; given to four places, the last of them to 1."""
    found = table(stand)
    legs = [b for b in found.bars if b.name.startswith("leg")]
    for leg in legs:
        one, other = leg.parts[0].layout
        by = shallower_by(one, other, 0.0)
        assert by is not None
        assert one.size[1] - by - 2 == pytest.approx(longest, abs=1e-4)
    assert {c.status for c in checks(found, "mortises_apart").values()} == {"fail"}


# Walls, floors, ends --------------------------------------------------------------------


def test_a_turned_mortise_takes_width_from_the_leg() -> None:
    """44/2 - 9/2 = 17.5 of wall beside one along the grain; turned by 11.8914° it is
    22 - (36 sin ρ + 9 cos ρ)/2 = 13.8880."""
    rho = radians(11.8914)
    turned = 22 - (36 * sin(rho) + 9 * cos(rho)) / 2
    assert turned == pytest.approx(13.8880, abs=0.001)
    for leaning, wall in ((True, 17.5), (False, turned)):
        found = checks(solve_piece(bench(leaning=leaning), PORCH), "mortise_walls")
        legs = [c for part, c in found.items() if part.startswith("leg")]
        assert len(legs) == 4
        for check in legs:
            assert (check.status, check.value) == ("pass", pytest.approx(wall, abs=FOUR))


@pytest.mark.parametrize(
    ("sideways", "wall", "status"),
    [(0, 17, "pass"), (11, 6, "pass"), (12, 5, "caution"), (18, -1, "fail")],
)
def test_a_tenon_that_comes_near_its_legs_side_or_leaves_it(
    sideways: float, wall: float, status: str
) -> None:
    """21 - 4 less what it is off the middle."""
    found = checks(solved_piece(post(), rail(sideways=sideways)), "mortise_walls")["post"]
    assert (found.status, found.value) == (status, pytest.approx(wall, abs=EXACT))
    if status == "pass":
        assert found.remedies == ()
        return
    says = {r.do: r.amounts for r in found.remedies}
    by = says["aim_at_side"]["move_aside_mm"]
    mended = solved_piece(post(), rail(sideways=sideways - by))
    assert checks(mended, "mortise_walls")["post"].status == "pass"
    larger = solved_piece(
        post(size=42 + says["larger_bar"]["larger_by_mm"]), rail(sideways=sideways)
    )
    assert checks(larger, "mortise_walls")["post"].margin == pytest.approx(0, abs=EXACT)
    if "narrow_mortise" in says:
        thin = tenon("tenon", tenon_thickness_mm=8 - says["narrow_mortise"]["less_across_mm"])
        narrow = solved_piece(post(), rail(sideways=sideways), joint=thin)
        assert checks(narrow, "mortise_walls")["post"].margin == pytest.approx(0, abs=EXACT)


def test_a_housing_has_no_walls_beside_it() -> None:
    found = checks(solve_piece(bench(), PORCH), "mortise_walls")
    assert not [part for part in found if part.startswith("rail")]


@pytest.mark.parametrize(
    ("length", "floor", "status"), [(37, 3, "pass"), (38, 2, "caution"), (41, -1, "fail")]
)
def test_a_tenon_that_comes_near_the_far_side(length: float, floor: float, status: str) -> None:
    """42 less the tenon and 2 mm of glue room."""
    joint = tenon("tenon", tenon_length_mm=length)
    found = checks(solved_piece(post(), rail(), joint=joint), "mortise_floors")["post"]
    assert (found.status, found.value) == (status, pytest.approx(floor, abs=EXACT))
    if status != "pass":
        (remedy,) = found.remedies
        shorter = tenon("tenon", tenon_length_mm=length - remedy.amounts["shorter_by_mm"])
        mended = solved_piece(post(), rail(), joint=shorter)
        assert checks(mended, "mortise_floors")["post"].margin == pytest.approx(0, abs=EXACT)


@pytest.mark.parametrize(("length", "proud"), [(42, 0.0), (43.5, 1.5)])
def test_a_tenon_that_goes_through_leaves_no_floor(length: float, proud: float) -> None:
    found = solved_piece(post(), rail(), joint=tenon("tenon", tenon_length_mm=length))
    assert checks(found, "mortise_floors") == {}
    (mark,) = next(b for b in found.bars if b.name == "post").marks
    assert mark.through
    assert mark.proud_mm == pytest.approx(proud, abs=EXACT)


@pytest.mark.parametrize(
    ("length", "status"),
    [(36.9, "pass"), (37.1, "caution"), (39.9, "caution"), (40.0, "fail"), (41.9, "fail")],
)
def test_joint_and_piece_judge_a_blind_mortise_alike(length: float, status: str) -> None:
    """In a post 42 thick, with 2 mm of glue room. A mortise just as deep as the post is told from
    one for a tenon that goes through by the joint, whose check the piece's verdict counts."""
    found = solved_piece(post(), rail(), joint=tenon("tenon", tenon_length_mm=length))
    every = [c for c in found.every_check if c.name in ("mortise_floor", "mortise_floors")]
    assert {c.limit for c in every} == {3.0}
    assert {c.status for c in every} == {status}


@pytest.mark.parametrize(("up", "status"), [(18 + 1e-6, "pass"), (10.0, "fail")])
def test_a_mortise_over_the_end(up: float, status: str) -> None:
    """36 long, so half of it is 18."""
    found = checks(solved_piece(post(), rail(up=up)), "end_wood")["post"]
    assert (found.status, found.value) == (status, pytest.approx(up - 18, abs=EXACT))
    if status == "fail":
        (remedy,) = found.remedies
        assert remedy.amounts["from_end_by_mm"] == pytest.approx(8, abs=EXACT)


# In one place ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("turn", "sideways", "gap"),
    [
        (0, 25, -7),
        (0, 32, 0),
        (0, 34, 2),
        (45, 35, 35 - 11 - 21 * sqrt(2)),
        (45, 41, 41 - 11 - 21 * sqrt(2)),
    ],
)
def test_bars_that_run_through_each_other(turn: float, sideways: float, gap: float) -> None:
    """A post 42 × 42 reaches 21 to the side, or 21√2 with an arris there; the rail 11 from its
    middle."""
    free = rail(near=Plain(Plane(-X, 100.0)), sideways=sideways)
    (found,) = checks(solved_piece(post(turn=turn), free), "bars_apart").values()
    assert found.part == "post and rail"
    assert found.status == ("fail" if gap < 0 else "pass")
    assert found.value == pytest.approx(gap, abs=1e-6)
    if gap < 0:
        (remedy,) = found.remedies
        clear = rail(near=Plain(Plane(-X, 100.0)), sideways=sideways + remedy.amounts["move_by_mm"])
        (found,) = checks(solved_piece(post(turn=turn), clear), "bars_apart").values()
        assert found.status == "pass"


def test_a_rail_through_a_post_that_it_is_not_joined_to() -> None:
    """Joined to one post it runs through the middle of another: 21 + 11 to come free."""
    found = checks(solved_piece(post(), post("second", x=150.0), rail()), "bars_apart")
    assert set(found) == {"second and rail"}
    assert found["second and rail"].status == "fail"
    assert found["second and rail"].value == pytest.approx(-32, abs=EXACT)
    short = checks(solved_piece(post(), post("second", x=400.0), rail()), "bars_apart")
    assert {c.status for c in short.values()} == {"pass"}


# On the floor ---------------------------------------------------------------------------


def leaning(end: Plain, width: float = 50.0) -> PieceAnswer:
    """A leg 50 wide that leans by 10° in the front view."""
    a = radians(10)
    run = Vec(-400 * sin(a), 0.0, 400 * cos(a)), Vec(0.0, 0.0, 0.0)
    top = Plain(Plane(Z, 300.0))
    return solved_piece(RoomBar("leg", width, 30, *run, top, end, Vec(0.0, 1.0, 0.0)))


def square(up: float) -> Plain:
    """Square to that leg, its lowest corner so high."""
    a = radians(10)
    grain = Vec(sin(a), 0.0, -cos(a))
    middle = up + 25 * sin(a)
    return Plain(Plane.through(Vec(-middle * tan(a), 0.0, middle), grain))


def test_a_foot_cut_to_the_floor() -> None:
    found = leaning(FLOOR)
    for name in ("feet_level", "above_floor"):
        check = checks(found, name)["leg"]
        assert (check.status, check.value) == ("pass", pytest.approx(0, abs=EXACT))


def test_a_foot_cut_square_stands_on_a_corner() -> None:
    """50 sin 10° = 8.6824 off the floor at its other side."""
    found = checks(leaning(square(0.0)), "feet_level")["leg"]
    assert (found.status, found.value) == ("caution", pytest.approx(8.6824, abs=FOUR))
    assert 'cut = "level"' in found.remedies[0].says


def test_a_foot_that_does_not_reach_the_floor() -> None:
    found = checks(leaning(Plain(Plane(-Z, -10.0))), "feet_level")["leg"]
    assert (found.status, found.value) == ("fail", pytest.approx(10, abs=EXACT))
    # 30 mm up it is no foot, and nothing is said of it.
    assert checks(leaning(Plain(Plane(-Z, -30.0))), "feet_level") == {}


def test_a_foot_through_the_floor() -> None:
    """Square through the middle: one side lies 25 sin 10° = 4.3412 too low."""
    found = leaning(square(-25 * sin(radians(10))))
    below = checks(found, "above_floor")["leg"]
    assert (below.status, below.value) == ("fail", pytest.approx(-4.3412, abs=FOUR))
    assert below.remedies[0].amounts["raise_by_mm"] == pytest.approx(4.3412, abs=FOUR)


# Proud of the top -----------------------------------------------------------------------


def top_table(stand: str, below: float = 45.0) -> PieceAnswer:
    """The table whose aprons' middles lie so far below its top."""
    piece = copy.deepcopy(data("plain_table"))
    piece["height_mm"]["aprons"] = 720 - below
    piece["bar"] = piece["bar"][:3]
    del piece["measured_mm"]
    for name in ("long apron", "short apron"):
        bar(piece, name)["leans"] = stand
    return solved(made(piece))


def test_leaning_aprons_stand_proud_of_the_top() -> None:
    """45 (cos ℓ - 1) + 11 sin ℓ with ℓ = 5° and 8°: 0.7875 and 1.0930."""
    found = checks(top_table("with mates"), "stands_proud")
    assert len(found) == 4
    for part, check in found.items():
        lean, over = (5, 0.7875) if part.startswith("long") else (8, 1.0930)
        by_hand = 45 * (cos(radians(lean)) - 1) + 11 * sin(radians(lean))
        assert by_hand == pytest.approx(over, abs=FOUR)
        assert (check.status, check.value) == ("caution", pytest.approx(by_hand, abs=EXACT))
        below, bevel = check.remedies
        assert below.amounts["lower_by_mm"] == pytest.approx(by_hand, abs=EXACT)
        assert bevel.amounts["bevel_deg"] == pytest.approx(lean, abs=EXACT)
        lowered = top_table("with mates", 45.0 + below.amounts["lower_by_mm"] + 1e-9)
        assert checks(lowered, "stands_proud")[part].status == "pass"


def test_upright_aprons_are_flush_and_low_ones_say_nothing() -> None:
    flush = checks(top_table("upright"), "stands_proud")
    assert [c.status for c in flush.values()] == ["pass"] * 4
    assert [c.value for c in flush.values()] == pytest.approx([0] * 4, abs=EXACT)
    assert checks(top_table("upright", 200.0), "stands_proud") == {}


# All of them ----------------------------------------------------------------------------


def test_every_check_is_tried_here() -> None:
    files = [Path(m.__file__) for m in (mortises, rooms_)]
    tried = {
        "mortises_apart",
        "mortise_walls",
        "mortise_floors",
        "end_wood",
        "bars_apart",
        "above_floor",
        "feet_level",
        "stands_proud",
    }
    assert untried(files, tried) == set()
    assert unknown(files, tried) == set()


def test_what_is_wrong_with_the_piece_makes_it_fail() -> None:
    found = solved_piece(post(), post("second", x=150.0), rail())
    assert found.status == "fail"
    assert not found.feasible
    told = {c["name"]: c for c in found.to_dict()["checks"] if c["part"] == "second and rail"}
    assert told["bars_apart"]["remedies"][0]["move_by_mm"] == pytest.approx(32, abs=EXACT)
