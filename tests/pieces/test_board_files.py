"""Boards in piece files: boxes by where their outsides lie; what is refused with its way out."""

from __future__ import annotations

import copy
import tomllib
from importlib.resources import files
from math import atan, cos, degrees, hypot, radians, sin, tan
from pathlib import Path
from typing import Any

import pytest

from jointgeo.errors import PieceError
from jointgeo.pieces.answerfile import AnsweredPiece, solve_piece_file
from jointgeo.pieces.file import load_piece, read_piece_data
from jointgeo.pieces.registry import piece_type
from jointgeo.pieces.solve import PieceAnswer, solve_piece
from jointgeo.proof import fit_piece

DATA = Path(__file__).parent / "data"
DEMO = Path(str(files("jointgeo"))) / "data" / "pieces" / "porch-set"
FOUR = 0.00005 + 1e-6  # mm or degree: figures to four places
EXACT = 1e-9
NAMES = ("planter", "planter-six", "tray", "trapezoid")
SHIPPED = ("porch-planter", "porch-planter-six", "porch-tray")


def data(name: str) -> dict[str, Any]:
    return tomllib.loads((DATA / f"{name}.toml").read_text("utf-8"))


def board(piece: dict[str, Any], name: str) -> dict[str, Any]:
    return next(b for b in piece["board"] if b["name"] == name)


def answered(piece: dict[str, Any]) -> AnsweredPiece:
    return solve_piece_file(read_piece_data(piece, DATA, "here.toml"))


def shown(answer: PieceAnswer) -> dict[str, tuple[float, float]]:
    """Swivel and tilt of every setting, by what it is for."""
    return {
        f"{u.member} {u.end} {u.hand}": (e.setups[0].swivel_deg, e.setups[0].tilt_deg)
        for e in answer.settings
        for u in e.uses
    }


@pytest.mark.parametrize(
    "path", [*(DATA / f"{n}.toml" for n in NAMES), *(DEMO / f"{n}.toml" for n in SHIPPED)]
)
def test_a_file_measures_as_it_says_and_goes_together(path: Path) -> None:
    """What stands under ``[measured_mm]`` is compared on reading."""
    piece = load_piece(path)
    assert piece.measured
    found = solve_piece_file(piece)
    fit = fit_piece(found.answer.bars_dict())
    assert fit.faults == ()
    assert fit.overlap_mm3 <= 1e-6
    low, high = fit.extents_mm
    assert high[2] - low[2] == pytest.approx(
        found.tape["height"] - (20 if path.stem == "trapezoid" else 0), abs=EXACT
    )


def test_a_six_sided_planter_from_two_distances() -> None:
    """210 at the floor and 260 at 150: slope atan(50/150) = 18.4349, 158.1139 up it, lower edge
    2 · 210 tan 30° = 242.4871, upper 300.2221; each board 18 · tan of the slope = 6 wider."""
    found = answered(data("planter-six"))
    assert found.tape["side, outside across"] == pytest.approx(hypot(150, 50), abs=EXACT)
    assert found.tape["side, outside across"] == pytest.approx(158.1139, abs=FOUR)
    assert found.tape["side, outside along the face edge"] == pytest.approx(242.4871, abs=FOUR)
    assert found.tape["side, outside along the back edge"] == pytest.approx(300.2221, abs=FOUR)
    (member,) = found.answer.members
    assert member.width_mm == pytest.approx(hypot(150, 50) + 6, abs=EXACT)
    (slope,) = {round(j.joint.to_dict()["slope_deg"], 9) for j in found.answer.joints}
    assert slope == pytest.approx(degrees(atan(50 / 150)), abs=1e-8)
    assert slope == pytest.approx(18.4349, abs=FOUR)
    assert all(j.joint.to_dict()["slope_b_deg"] is None for j in found.answer.joints)


def test_a_length_may_stand_for_the_distance() -> None:
    piece = data("planter-six")
    side = board(piece, "side")
    side["lower"] = {"level": "floor"}
    side["lower_edge_mm"] = 2 * 210 * tan(0.5235987755982988)
    side["upper"] = {"level": "rim", "out_mm": 50}
    one, other = answered(data("planter-six")).tape, answered(piece).tape
    assert other == pytest.approx(one, abs=1e-9)


def test_the_shipped_set_fits_but_for_the_planter_that_is_meant_not_to() -> None:
    found = {n: solve_piece_file(load_piece(n)) for n in SHIPPED}
    assert [found[n].feasible for n in SHIPPED] == [True, False, True]
    failed = {c.name for c in found["porch-planter-six"].checks if c.status == "fail"}
    assert failed == {"tilt_range", "front_beam"}
    for n in SHIPPED:
        assert "rim_wood" in {c.name for c in found[n].checks}


def test_the_same_box_as_a_piece_type_and_as_a_file() -> None:
    made = piece_type("sloping_box")(
        length_mm=400,
        depth_mm=250,
        height_mm=80,
        thickness_mm=12,
        slopes_deg="10 20 10 20",
        finger_count=5,
        alternate=True,
    )
    file = answered(data("tray"))
    other = solve_piece(made.piece(), file.answer.fixture)
    # The file is drawn by a quarter: its front board is the first of both its corners.
    assert shown(file.answer) == {
        k: (pytest.approx(s, abs=EXACT), pytest.approx(t, abs=EXACT))
        for k, (s, t) in shown(other).items()
    }
    assert [m.blank_mm for m in file.answer.members] == pytest.approx(
        [m.blank_mm for m in other.members], abs=EXACT
    )


def test_a_piece_type_by_its_file() -> None:
    piece = {
        "piece": 1,
        "title": "Tray",
        "fixture": "porch",
        "type": "sloping_box",
        "parameters": {"lower_edge_in": "12 1/2", "height_mm": 100, "thickness_mm": 12, "sides": 5},
        "measured_mm": {"side, outside along the face edge": "12 1/2", "height": 100},
    }
    (member,) = answered(piece).answer.members
    assert (member.count, member.length_mm) == (5, pytest.approx(317.5, abs=EXACT))


def test_a_mirrored_piece_is_mirrored_in_its_fingers() -> None:
    """Drawn by half, the two slanting boards are each other's mirror image, and the ends of the
    boards that cross the middle are too."""
    found = answered(data("trapezoid")).answer
    assert {m.name: (m.count, m.mirrored) for m in found.members} == {
        "front": (1, 0),
        "side": (2, 1),
        "back": (1, 0),
    }
    angles = shown(found)
    for name in ("front", "back"):
        near, far = (angles[f"{name} {end} as_drawn"] for end in ("near", "far"))
        assert near == (pytest.approx(-far[0], abs=EXACT), pytest.approx(far[1], abs=EXACT))
    for end in ("near", "far"):
        one, other = (angles[f"side {end} {hand}"] for hand in ("as_drawn", "mirrored"))
        assert one == (pytest.approx(-other[0], abs=EXACT), pytest.approx(other[1], abs=EXACT))
    first = {j.bar for j in found.joints}
    assert first == {"front", "side, right", "side, left"}


def test_boards_of_unlike_thickness() -> None:
    """The ends 20 mm thick at 20°, the sides 12 at 10°: all rims are planed to the thicker ones'
    need, and the fingers are as long as the other board is thick."""
    piece = data("tray")
    board(piece, "end")["thickness_mm"] = 20
    found = answered(piece)
    fit = fit_piece(found.answer.bars_dict())
    assert fit.faults == ()
    low, high = fit.extents_mm
    assert (low[2], high[2]) == (pytest.approx(0, abs=EXACT), pytest.approx(80, abs=EXACT))
    for joint in found.answer.joints:
        thick = {b.name: b.thickness for b in joint.drawing.bars}
        for notch in joint.drawing.notches:
            (other,) = (t for name, t in thick.items() if name != notch.bar)
            assert {c.depth for c in notch.channels} == {other}
    widths = {m.name: m.width_mm for m in found.answer.members}
    below = 20 * sin(radians(20))
    assert widths["side"] == pytest.approx((80 + below) / cos(radians(10)), abs=EXACT)
    assert widths["end"] == pytest.approx((80 + below) / cos(radians(20)), abs=EXACT)


def test_ends_may_be_named_either_way_where_their_places_are_said() -> None:
    piece = data("trapezoid")
    side = board(piece, "side")
    side["near"], side["far"] = side["far"], side["near"]
    one, other = answered(data("trapezoid")), answered(piece)
    assert other.tape == pytest.approx(one.tape, abs=EXACT)
    assert fit_piece(other.answer.bars_dict()).faults == ()


CHANGES: list[tuple[str, dict[str, Any], str]] = [
    ("side", {"lower": {"level": "flor", "front_mm": 125}}, "board side.lower.level: is no named"),
    ("side", {"lower": {"level": "floor"}}, "its place is said by nothing"),
    (
        "side",
        {"lower": {"level": "floor", "front_mm": 125, "right_mm": 3}},
        "its place is said by lower",
    ),
    (
        "side",
        {"lower": {"level": "floor", "front_mm": 125, "back_mm": 3}},
        "is given together with its opposite",
    ),
    ("side", {"lower": {"level": "floor", "front_mm": 0}}, "lies in the middle"),
    ("side", {"lower_edge_mm": 400}, "its place is said by lower and lower_edge_mm"),
    (
        "side",
        {"lower": {"level": "floor"}, "lower_edge_mm": 400},
        "lower_edge_mm: goes with a turned piece only",
    ),
    ("side", {"upper": {"level": "rim"}}, "says 0 times how far out it lies"),
    ("side", {"upper": {"level": "rim", "out_mm": 5, "in_deg": 3}}, "says 2 times"),
    ("side", {"upper": {"level": "rim", "right_mm": 230}}, "is no distance square to this board"),
    ("side", {"upper": {"level": "floor", "out_mm": 5}}, "lies no higher than the lower rim"),
    ("side", {"near": {"meets": "ned, right", "joint": "corner"}}, "is no bar of this piece"),
    ("side", {"near": {"meets": "side", "joint": "corner"}}, "near.meets: is the bar itself"),
    ("side", {"near": {"meets": "end, right", "joint": "cornr"}}, "is no joint of this file"),
    (
        "side",
        {"near": {"meets": "end, right", "joint": "corner", "right_mm": 200}},
        "is no whole place",
    ),
    ("side", {"count": 3}, "board side.count: the symmetry makes 2 of it"),
    ("side", {"width_mm": 80}, "width_mm: is not a known name"),
    ("side", {"thickness_mm": -12}, "thickness_mm: is too small"),
    ("end", {"name": "side"}, "is used twice"),
    (
        "side",
        {
            "near": {"meets": "end, left", "joint": "corner"},
            "far": {"meets": "end, right", "joint": "corner"},
        },
        "side, front.near: meets a board that stands at its other end",
    ),
]


@pytest.mark.parametrize(("name", "change", "says"), CHANGES, ids=[c[2] for c in CHANGES])
def test_what_is_no_board_is_named(name: str, change: dict[str, Any], says: str) -> None:
    piece = copy.deepcopy(data("tray"))
    board(piece, name).update(change)
    with pytest.raises(PieceError) as caught:
        answered(piece)
    assert says in str(caught.value)


def test_a_board_needs_a_joint_of_two_boards_and_a_bar_one_of_a_side() -> None:
    piece = data("tray")
    sizes = {"tenon_length_mm": 10, "tenon_width_mm": 20, "tenon_thickness_mm": 5}
    piece["joint"].append({"name": "tenon", "type": "angled_tenon", "parameters": sizes})
    board(piece, "side")["near"]["joint"] = "tenon"
    end = {"into": "side", "level": "rim", "joint": "corner"}
    piece["bar"] = [
        {"name": "foot", "count": 1, "width_mm": 20, "thickness_mm": 20, "near": end, "far": end}
    ]
    with pytest.raises(PieceError) as caught:
        answered(piece)
    told = str(caught.value)
    assert "board side.near.joint: joins a bar's end to a side of another" in told
    assert "bar foot.near.joint: joins boards at a corner" in told


def test_a_piece_needs_bars_or_boards() -> None:
    piece = data("tray")
    del piece["board"]
    with pytest.raises(PieceError, match=r"\[\[bar\]\] or of \[\[board\]\]"):
        answered(piece)


def test_a_joint_decides_no_slope_of_its_own() -> None:
    piece = data("tray")
    piece["joint"][0]["parameters"]["slope_b_deg"] = 12
    with pytest.raises(PieceError, match="slope_b_deg: is decided by the drawing"):
        answered(piece)


def test_a_rim_that_falls_is_refused() -> None:
    piece = data("tray")
    del piece["height_mm"]["rim"]
    high, low = {"left_mm": 200, "height_mm": 90}, {"right_mm": 200, "height_mm": 80}
    piece["fall"] = [{"name": "rim", "high": high, "low": low}]
    with pytest.raises(PieceError, match="falls, and a rim is level"):
        answered(piece)
