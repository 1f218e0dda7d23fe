"""Piece files: what is read, what follows from them, and everything that is refused with its way
out."""

from __future__ import annotations

import copy
import tomllib
from pathlib import Path
from typing import Any

import pytest

from jointgeo.errors import InputError, PieceError
from jointgeo.pieces.file import PieceFile, is_piece, load_piece, read_piece_data
from jointgeo.pieces.registry import piece_type
from jointgeo.pieces.solve import PieceAnswer, solve_piece
from jointgeo.pieces.tape import tape
from jointgeo.proof import fit_piece

DATA = Path(__file__).parent / "data"
FALL = 0.0001  # degree: 390.085 is rounded to 0.0005 mm over 380
TAPE_MM = 0.00005 + 1e-6  # figures to four places
NAMES = ("bench", "chair", "stand", "table")


def text(name: str) -> str:
    return (DATA / f"{name}.toml").read_text("utf-8")


def data(name: str) -> dict[str, Any]:
    return tomllib.loads(text(name))


def bar(piece: dict[str, Any], name: str) -> dict[str, Any]:
    return next(b for b in piece["bar"] if b["name"] == name)


def made(piece: dict[str, Any]) -> PieceFile:
    return read_piece_data(piece, DATA, "here.toml")


def solved(piece: PieceFile) -> PieceAnswer:
    return solve_piece(piece.piece, piece.fixture)


@pytest.mark.parametrize("name", NAMES)
def test_a_file_gives_what_a_tape_must_show(name: str) -> None:
    """The figures stand in the files, each worked out elsewhere: bench and table by the formulas of
    their footprints, the chair's rail by its taper, the stand's leg and rails by a drawing in
    solids."""
    piece = load_piece(DATA / f"{name}.toml")
    answer = solved(piece)
    found = tape([b.placed for b in answer.bars], answer.members)
    assert piece.measured
    for what, asked in piece.measured.items():
        assert found[what] == pytest.approx(asked, abs=TAPE_MM), what


@pytest.mark.parametrize("name", NAMES)
def test_a_file_goes_together(name: str) -> None:
    fit = fit_piece(solved(load_piece(DATA / f"{name}.toml")).bars_dict())
    assert fit.faults == ()
    assert fit.overlap_mm3 <= 1e-6
    assert fit.extents_mm[0, 2] == pytest.approx(0, abs=1e-9)


def test_aprons_by_their_middles() -> None:
    """By the middle at 660: 966.3735 and 560.3113."""
    piece = data("table")
    piece["height_mm"]["aprons"] = 660
    for name in ("long apron", "short apron"):
        del bar(piece, name)["near"]["edge"]
    answer = solved(made(piece))
    lengths = {m.name: m.length_mm for m in answer.members}
    assert lengths["long apron"] == pytest.approx(966.3735, abs=TAPE_MM)
    assert lengths["short apron"] == pytest.approx(560.3113, abs=TAPE_MM)


def test_a_seat_that_falls() -> None:
    """From 410 at the front legs to 390.085 at the back ones: 3° over the 380 between them. At the
    far end 5.0601, and a mortise that follows the face side is turned 0.8393."""
    piece = data("chair")
    del piece["height_mm"]["seat rails"]
    piece["fall"] = [
        {
            "name": "seat rails",
            "high": {"front_mm": 190, "height_mm": 410},
            "low": {"back_mm": 190, "height_mm": 390.085},
        }
    ]
    found = next(
        j for j in solved(made(piece)).joints if j.bar.startswith("side rail") and j.end == "far"
    ).joint.to_dict()
    assert abs(found["width_angle_deg"]) == pytest.approx(5.0601, abs=FALL)
    assert abs(found["mortise_turn_deg"]) == pytest.approx(0.8393, abs=FALL)


def test_a_rail_may_be_aimed_at_the_middles_of_the_sides() -> None:
    """In place of the legs' middles: turned 6.6938 in the plan in place of 6.0090, tan w = tan 8°/
    cos of it, 343.1623 long, and both mortises in the middle of their sides."""
    piece = data("chair")
    rail = bar(piece, "side rail")
    rail["near"]["aim"] = rail["far"]["aim"] = "side"
    del piece["measured_mm"]
    answer = solved(made(piece))
    assert {m.name: m.length_mm for m in answer.members}["side rail"] == pytest.approx(
        343.1623, abs=TAPE_MM
    )
    ends = [j for j in answer.joints if j.bar == "side rail, right"]
    for joint in ends:
        found = joint.joint.to_dict()
        assert found["mortise_offset_mm"] == pytest.approx(0, abs=1e-9)
        assert abs(found["thickness_angle_deg"]) == pytest.approx(6.6938, abs=TAPE_MM)
    far = next(j for j in ends if "back" in j.mate).joint.to_dict()
    assert abs(far["width_angle_deg"]) == pytest.approx(8.0542, abs=TAPE_MM)
    assert fit_piece(answer.bars_dict()).faults == ()


def test_copies_are_called_by_where_they_stand_or_by_number() -> None:
    names = [b.name for b in load_piece(DATA / "bench.toml").piece.bars]
    assert {"leg, back left", "leg, front right", "rail, front", "end stretcher, left"} <= {*names}
    assert "long stretcher" in names
    legs = [b for b in load_piece(DATA / "stand.toml").piece.bars if b.name.startswith("leg")]
    assert [b.name for b in legs] == ["leg", "leg 2", "leg 3"]
    # Anticlockwise from above: from the front to the right.
    assert legs[1].end.x > 0 > legs[2].end.x


def test_a_copy_may_be_named() -> None:
    piece = data("chair")
    rail = bar(piece, "side rail")
    rail["near"]["into"] = "front leg, right"
    assert made(piece).piece.bars == load_piece(DATA / "chair.toml").piece.bars


def test_lengths_may_be_inches() -> None:
    piece = data("bench")
    rail = bar(piece, "rail")
    rail["width_in"] = "2 1/2"
    del rail["width_mm"]
    piece["height_mm"]["seat"] = "17"
    parameters = piece["joint"][1]["parameters"]
    del parameters["tenon_length_mm"]
    parameters["tenon_length_in"] = "5/8"
    found = made(piece).piece
    assert found.bars[0].width == pytest.approx(63.5)
    assert found.bars[0].start.z == pytest.approx(17 * 25.4 - 63.5 / 2)
    assert found.joints[1].sizes["tenon_length_mm"] == pytest.approx(15.875)


def test_heights_and_tape_may_be_tables_in_inches() -> None:
    """1 in = 25.4 mm exactly (international inch, 1959): 17 in are 431.8, 2 1/2 in 63.5 mm."""
    piece = data("bench")
    piece["height_in"] = {"seat": 17, "stretcher": "6"}
    del piece["height_mm"]
    piece["measured_mm"] = {"height": 431.8}
    piece["measured_in"] = {"feet, left to right": "41 1/2", "feet, front to back": 20}
    found = made(piece)
    assert found.measured == pytest.approx(
        {"height": 431.8, "feet, left to right": 1054.1, "feet, front to back": 508.0}, abs=1e-9
    )
    same = data("bench")
    same["height_mm"] = {"seat": 431.8, "stretcher": 152.4}
    both = copy.deepcopy(piece)
    both["height_in"], both["height_mm"] = {"seat": "17"}, {"stretcher": 152.4}
    for given in (piece, both):
        for inches, mm in zip(made(given).piece.bars, made(same).piece.bars, strict=True):
            assert inches.start == pytest.approx(mm.start, abs=1e-9)
            assert inches.end == pytest.approx(mm.end, abs=1e-9)


def test_a_piece_type_takes_the_tape_in_inches() -> None:
    typed = {"piece": 1, "title": "Stool", "fixture": "porch", "type": "three_legged_stool"}
    typed["parameters"] = piece_type("three_legged_stool").examples()[0].to_dict()
    typed["measured_in"] = {"height": "2 1/2"}
    assert made(typed).measured == {"height": 63.5}


def test_a_file_says_that_it_is_a_piece(tmp_path: Path) -> None:
    assert is_piece(DATA / "bench.toml")
    other = tmp_path / "job.toml"
    other.write_text('title = "a job"\n', "utf-8")
    assert not is_piece(other)
    assert not is_piece(tmp_path / "no such file.toml")


def changed(name: str, *path: str | int, to: Any = None) -> dict[str, Any]:
    """The file's data with one value set, or taken out where ``to`` is None."""
    piece = copy.deepcopy(data(name))
    at: Any = piece
    for step in path[:-1]:
        at = (
            bar(piece, str(step).removeprefix("bar ")) if str(step).startswith("bar ") else at[step]
        )
    if to is None:
        del at[path[-1]]
    else:
        at[path[-1]] = to
    return piece


INTO_RAIL = {"into": "rail", "joint": "leg over rail"}
TENON = {"into": "rail", "right_mm": 390, "joint": "stretcher tenon"}
INTO_LEG = {"into": "front leg", "right_mm": 9, "joint": "seat tenon"}
NEAR, JOINT = ("bar leg", "near"), ("joint", 0, "parameters")
WRONG: dict[str, tuple[dict[str, Any], str]] = {
    "unknown key": (changed("bench", "colour", to="red"), "colour: is not a known name"),
    "unknown level": (
        changed("bench", "bar rail", "near", "level", to="sky"),
        "is no named",
    ),
    "unknown joint": (
        changed("bench", "bar leg", "near", "joint", to="nail"),
        "is no joint of",
    ),
    "unknown bar": (
        changed("bench", "bar leg", "near", "into", to="beam"),
        "is no bar of this piece",
    ),
    "itself": (changed("bench", "bar leg", "near", "into", to="leg"), "is the bar itself"),
    "right and left": (
        changed("bench", "bar rail", "near", "left_mm", to=3),
        "right_mm: is given together with its opposite",
    ),
    "negative": (changed("bench", "bar rail", "near", "right_mm", to=-500), "is too small"),
    "joint and cut": (
        changed("bench", "bar leg", "near", "cut", to="level"),
        "one of joint and cut",
    ),
    "neither": (changed("bench", "bar leg", "far", "cut"), "one of joint and cut; given neither"),
    "count": (changed("bench", "bar leg", "count", to=3), "the symmetry makes 4 of it; given 3"),
    "on the middle": (
        changed("bench", "bar rail", "near", "front_mm", to=0),
        "bar rail.count: the symmetry makes 1 of it; given 2; allowed: 1, or a bar that is not",
    ),
    "one fact": (changed("chair", "bar back leg", "top_goes"), "1 facts place it (through)"),
    "three facts": (
        changed("bench", "bar leg", "foot_goes", to={"right_deg": 8}),
        "3 facts place it (near, far, lean)",
    ),
    "level of a level bar": (
        changed(
            "bench",
            "bar leg",
            "near",
            to=INTO_RAIL | {"level": "seat"},
        ),
        "rail runs level",
    ),
    "plan of a climbing bar": (
        changed("chair", "bar side rail", "near", to=INTO_LEG),
        "front leg climbs",
    ),
    "the wrong way along": (
        changed("bench", "bar leg", "near", to=INTO_RAIL | {"front_mm": 9}),
        "rail does not run that way",
    ),
    "unused height": (
        changed("bench", "height_mm", "shelf", to=7),
        "shelf: is named and never",
    ),
    "floor": (changed("bench", "height_mm", "floor", to=7), "height_mm.floor: is always 0"),
    "floor in inches": (
        changed("bench", "height_in", to={"floor": 7}),
        "height_in.floor: is always 0",
    ),
    "height given twice": (
        changed("bench", "height_in", to={"seat": 17}),
        "height_in.seat: is given twice, in height_mm and in height_in",
    ),
    "height in inches": (
        changed("bench", "height_in", to={"shelf": "high"}),
        "height_in.shelf: is no length; given 'high'; allowed: 0 to 393.7 in: a number",
    ),
    "decided": (
        changed("bench", "joint", 0, "parameters", "splay_along_deg", to=3),
        "splay_along_deg: is decided by the drawing",
    ),
    "decided, in inches": (
        changed("bench", "joint", 0, "parameters", "leg_width_in", to=3),
        "leg_width_in: is decided by the drawing",
    ),
    "unknown type": (changed("bench", "joint", 0, "type", to="butt"), "is not a known joint type"),
    "unknown size": (
        changed("bench", "joint", 1, "parameters", "tenon_color", to=3),
        "tenon_color: is not a known name",
    ),
    "symmetry": (changed("bench", "symmetry", to=["up_down"]), "symmetry: is no symmetry"),
    "mirrored": (changed("bench", "bar rail", "far", to="mirrored twice"), "is no mirrored end"),
    "no far end": (changed("bench", "bar rail", "far"), "far: is missing"),
    "a roll that a housed bridle cannot have": (
        changed("bench", "bar leg", "true_view", to="side"),
        "near end, leg over rail.leg_turn_deg: goes with a rail that is not housed",
    ),
    "slopes both ways": (
        changed("table", "bar leg", "true_view"),
        "it slopes both ways, and nothing says how it stands about its own length; allowed: true_v",
    ),
    "said twice": (changed("table", "bar leg", "leans", to="upright"), "said twice"),
    "mates apart": (
        changed("chair", "bar side rail", "leans", to="with mates"),
        "front leg and back leg do not lie in one plane with it: they are 0.835° apart",
    ),
    "no mate": (changed("chair", "bar side rail", "leans", to="back rail"), "is no bar that it is"),
    "an end on the way": (
        changed("table", "bar leg", "through", "cut", to="level"),
        "is a place on the line and no end",
    ),
    "no such mark": (
        changed(
            "bench",
            "bar leg",
            "near",
            to=TENON | {"side": "nose"},
        ),
        "side: is not a choice",
    ),
    "fixture": (changed("bench", "fixture", to="cellar"), "cellar"),
    "measured": (changed("bench", "measured_mm", "height", to="high"), "measured_mm.height: is no"),
    "half a place": (
        changed("bench", "bar leg", "far", "front_mm"),
        "no whole place; allowed: front",
    ),
}


@pytest.mark.parametrize("what", WRONG)
def test_what_cannot_be_is_named_with_the_way_out(what: str) -> None:
    piece, says = WRONG[what]
    with pytest.raises(InputError) as caught:
        solved(made(piece))
    assert says in str(caught.value)


def test_a_height_in_centimetres_is_hinted_at() -> None:
    """A seat 38 mm up on rails of 60, where 38 cm were meant: a leg ends above its top; and
    stretchers in the legs at 150, which then run the wrong way."""
    bench = changed("bench", "height_mm", "seat", to=38)
    legs = copy.deepcopy(bench)
    legs["bar"], legs["joint"] = legs["bar"][:2], legs["joint"][:1]
    del legs["height_mm"]["stretcher"], legs["measured_mm"]
    for piece in (bench, legs):
        with pytest.raises(InputError, match="; look at the heights and places given, in mm"):
            solved(made(piece))


def test_every_problem_is_told_at_once_with_the_file() -> None:
    piece = changed("bench", "bar leg", "near", "joint", to="nail")
    bar(piece, "rail")["near"]["level"] = "sky"
    piece["symmetry"] = ["sideways"]
    with pytest.raises(PieceError) as caught:
        made(piece)
    assert len(caught.value.problems) >= 3
    assert str(caught.value).startswith("here.toml: ")


def test_bars_placed_by_each_other_are_named() -> None:
    piece = data("bench")
    bar(piece, "rail")["near"] = {"into": "leg", "level": "seat", "joint": "stretcher tenon"}
    with pytest.raises(PieceError, match="placed by each other: rail and leg"):
        made(piece)
