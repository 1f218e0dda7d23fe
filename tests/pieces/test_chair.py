"""The side chair against the taper and the rake by hand, and figures found on cut solids.

Legs' middles 440 and 360 apart left to right and 380 deep at 400 mm, raked 8°; front legs 42 × 42,
back legs 42 × 36, rails 60 × 22. tan γ = half the taper over the depth = 20·2/380.
"""

from __future__ import annotations

from math import atan, cos, degrees, radians, sin, tan
from typing import Any

import attrs
import pytest

from jointgeo.errors import InputError
from jointgeo.fixtures.file import load_fixture
from jointgeo.pieces.model import Piece
from jointgeo.pieces.registry import piece_type
from jointgeo.pieces.room import placed_bars
from jointgeo.pieces.solve import PieceAnswer, solve_piece

FOUR = 0.00005 + 1e-9  # mm or degree: printed to four places
EXACT = 1e-9  # mm or degree: rounding only

PORCH = load_fixture("porch")
CHAIR = piece_type("side_chair")
GAMMA, RAKE = atan(40 / 380), radians(8)


def drawn(**changes: Any) -> Any:
    return attrs.evolve(CHAIR.examples()[0], **changes)


def follows(piece: Piece, side: str) -> Piece:
    """The same, every mortise said to follow that side of its rail."""
    joints = (attrs.evolve(j, sizes={**j.sizes, "parallel_to": side}) for j in piece.joints)
    return attrs.evolve(piece, joints=tuple(joints))


def solved(piece: Piece, marks: str = "as_drawn") -> PieceAnswer:
    return solve_piece(piece, PORCH, marks)  # type: ignore[arg-type]


def said(answer: PieceAnswer, bar: str, end: str = "near") -> dict[str, Any]:
    return next(j for j in answer.joints if (j.bar, j.end) == (bar, end)).joint.to_dict()


def angles(answer: PieceAnswer, bar: str, end: str = "near") -> tuple[float, float, float]:
    own = said(answer, bar, end)
    return own["width_angle_deg"], own["thickness_angle_deg"], own["mortise_turn_deg"]


@pytest.mark.parametrize(("side", "sign"), [("right", 1.0), ("left", -1.0)])
def test_a_side_rail_into_a_raked_leg(side: str, sign: float) -> None:
    """tan w = tan r/cos γ, t = γ; the mortise that follows the face edge is not turned, the other
    by tan ρ = sin r · tan γ. By the frame of the far end, whose face edge is up on the right rail
    and down on the left one: -8.0436 and 8.0436, both -6.0090, ρ the other way from w."""
    w, t = degrees(atan(tan(RAKE) / cos(GAMMA))), degrees(GAMMA)
    turn = degrees(atan(sin(RAKE) * tan(GAMMA)))
    assert (w, t, turn) == pytest.approx((8.0436, 6.0090, 0.8393), abs=FOUR)
    piece = drawn().piece()
    for face, expected in (("face_edge", 0.0), ("face_side", turn)):
        answer = solved(follows(piece, face))
        bar = f"side rail, {side}"
        hand = next(j.hand for j in answer.joints if (j.bar, j.end) == (bar, "far"))
        assert hand == "mirrored"  # of the joint that has these numbers, w and ρ the other way
        found = angles(answer, bar, "far")
        assert found == pytest.approx((sign * w, -t, -sign * expected), abs=EXACT)
    assert said(solved(piece), f"side rail, {side}", "far")["parallel_to"] == "face_edge"


def test_a_seat_that_falls() -> None:
    """3° over the 380 mm between the legs' middles: 410 to 390.0850. 5.0601, 5.9734, and neither
    side's mortise lies along the leg: 0.8393 and 0.3134, found on cut solids."""
    fall = 380 * tan(radians(3))
    piece = drawn(rail_height_mm=410, rail_height_back_mm=410 - fall).piece()
    for face, turn in (("face_side", 0.8393), ("face_edge", 0.3134)):
        found = [abs(v) for v in angles(solved(follows(piece, face)), "side rail, right", "far")]
        assert found == pytest.approx([5.0601, 5.9734, turn], abs=FOUR)


@pytest.mark.parametrize(("how", "turn"), [("upright", 8.0), ("leaning", 0.0)])
def test_rails_between_the_back_legs(how: str, turn: float) -> None:
    answer = solved(drawn(back_rails_stand=how).piece())
    for bar in ("back rail", "crest rail"):
        w, t, found = angles(answer, bar)
        assert (w, t, abs(found)) == pytest.approx((0, 0, turn), abs=EXACT)


def test_lengths() -> None:
    """The rail less half a leg at either end, square to the seat's depth; 850/cos 8°."""
    told = drawn().measured()
    assert told["side rail, length"] == pytest.approx(342.7061, abs=FOUR)
    assert told["side rail, short edge"] == pytest.approx(338.4666, abs=FOUR)
    assert told["side rail, long edge"] == pytest.approx(346.9456, abs=FOUR)
    assert told["back leg, length"] == pytest.approx(858.3534, abs=FOUR)
    by_hand = (380 - 21 - 18 / cos(RAKE)) / cos(GAMMA)
    assert told["side rail, length"] == pytest.approx(by_hand, abs=EXACT)


def test_two_aims() -> None:
    """At the legs' middles the mortises are 2.2105 and 1.9134 off the middles of their sides: half
    a leg times tan γ, at the back 18/cos 8°. At the middles of the sides they are not, and the
    rail is turned by tan γ = 20·2/(380 - 21 - 18/cos 8°)."""
    middles = solved(follows(drawn().piece(), "face_side"))
    off = [abs(said(middles, "side rail, right", e)["mortise_offset_mm"]) for e in ("near", "far")]
    assert off == pytest.approx([2.2105, 1.9134], abs=FOUR)
    assert off[0] == pytest.approx(21 * tan(GAMMA), abs=EXACT)
    piece = drawn(aimed_at="side_middles")
    sides = solved(piece.piece())
    gamma = atan(40 / (380 - 21 - 18 / cos(RAKE)))
    assert degrees(gamma) == pytest.approx(6.6938, abs=FOUR)
    w, t, _ = (abs(v) for v in angles(sides, "side rail, left", "far"))
    assert (w, t) == pytest.approx((8.0542, degrees(gamma)), abs=FOUR)
    for end in ("near", "far"):
        own = said(sides, "side rail, left", end)
        assert own["mortise_offset_mm"] == pytest.approx(0, abs=EXACT)
    assert piece.measured()["side rail, length"] == pytest.approx(343.1623, abs=FOUR)


def test_packing_of_both_setups() -> None:
    """Along the face side 0 and 0.8356, along the face edge 0.8429 and 0: found on cut solids."""
    for face, packing in (("face_side", (0.0, 0.8356)), ("face_edge", (0.8429, 0.0))):
        answer = solved(follows(drawn().piece(), face))
        for side in ("left", "right"):
            setups = answer.solved_ends[f"side rail, {side}", "far"].setups
            assert [abs(s.packing_deg) for s in setups] == pytest.approx(packing, abs=FOUR)


@pytest.mark.parametrize(
    ("side", "gauges"), [("right", (19.3796, 18.7937)), ("left", (22.6204, 23.2063))]
)
def test_marks_on_the_back_leg(side: str, gauges: tuple[float, float]) -> None:
    """From the top, on the arris between the front and the marked edge; a mortise that is turned
    0.8393° is struck by two points. Found again as corners of the cut solids."""
    answer = solved(follows(drawn().piece(), "face_side"))
    marks = {b.name: b.marks for b in answer.bars}[f"back leg, {side}"]
    (mark,) = [m for m in marks if m.side == "face_side"]
    assert [p.along_mm for p in mark.points] == pytest.approx([434.4246, 474.4203], abs=FOUR)
    assert [p.gauge_mm for p in mark.points] == pytest.approx(gauges, abs=FOUR)


def test_mortises_that_meet_in_the_front_leg() -> None:
    """Depth and 2 mm of glue room to half the leg less half the other: 21 - 4 - 2 = 15."""
    for long, gap in ((14.0, 1.0), (15.0, 0.0), (16.0, -1.0)):
        checks = solved(drawn(tenon_length_mm=long).piece()).checks
        legs = {c.part: c for c in checks if c.name == "mortises_apart"}
        for side in ("left", "right"):
            check = legs[f"front leg, {side}"]
            assert check.value == pytest.approx(gap, abs=EXACT)
            assert check.status == ("pass" if gap > 0 else "fail")


def test_legs_and_side_rails_are_mirrored_pairs() -> None:
    answer = solved(drawn(crest_height_mm=0).piece(), "alike")
    members = {m.name: (m.count, m.mirrored) for m in answer.members}
    assert members == {
        "front leg": (2, 1),
        "back leg": (2, 1),
        "front rail": (1, 0),
        "back rail": (1, 0),
        "side rail": (2, 1),
    }
    # A pair's settings are each other's mirror images: swivel and packing the other way.
    ends = answer.solved_ends
    for bar, end in (("back leg", "near"), ("back leg", "far"), ("side rail", "far")):
        for one, other in zip(
            ends[f"{bar}, left", end].setups, ends[f"{bar}, right", end].setups, strict=True
        ):
            assert one.swivel_deg == pytest.approx(-other.swivel_deg, abs=EXACT)
            assert one.tilt_deg == pytest.approx(other.tilt_deg, abs=EXACT)
            assert one.packing_deg == pytest.approx(-other.packing_deg, abs=EXACT)


def test_alike_rails_share_a_line_of_the_cut_list_under_both_names() -> None:
    """Back rail and crest rail are one piece of wood between plumb-standing back legs."""
    members = {m.name: m.count for m in solved(drawn().piece()).members}
    assert members["back rail and crest rail"] == 2


def test_the_pose_of_a_blank() -> None:
    """x and y from face edge and face side, z from the blank's square near end: the middle of the
    section, past the near allowance, lies where the back leg's middle line meets the top."""
    answer = solved(drawn().piece())
    (leg,) = [b for b in answer.bars if b.name == "back leg, right"]
    *rows, last = leg.pose
    assert tuple(last) == (0, 0, 0, 1)
    point = 42 / 2, 36 / 2, leg.allowances_mm[0]
    room = [sum(a * b for a, b in zip(row, point, strict=False)) + row[3] for row in rows]
    assert room == pytest.approx([180, 190 + 450 * tan(RAKE), 850], abs=EXACT)
    assert [row[2] for row in rows] == pytest.approx([0, -sin(RAKE), -cos(RAKE)], abs=EXACT)
    # Its face side, y = 0, looks to the front and up.
    assert [-row[1] for row in rows] == pytest.approx([0, -cos(RAKE), sin(RAKE)], abs=EXACT)


def test_a_seat_drawn_to_its_outsides() -> None:
    """To the middles less half a leg each: 440 + 42, 360 + 42, 380 + 21 + 18/cos 8°."""
    depth = 380 + 21 + 18 / cos(RAKE)
    outsides = drawn(
        drawn_to="outsides", seat_width_front_mm=482, seat_width_back_mm=402, seat_depth_mm=depth
    )
    # The seat's middle lies 18/cos 8° - 21 nearer to the front, so everything else agrees.
    one, other = outsides.measured(), drawn().measured()
    assert one == pytest.approx(other, abs=EXACT)
    assert one["seat at the front, over the legs"] == pytest.approx(482, abs=EXACT)
    assert one["seat at the back, over the legs"] == pytest.approx(402, abs=EXACT)
    assert one["seat, front to back over the legs"] == pytest.approx(depth, abs=EXACT)
    assert one["height"] == pytest.approx(850, abs=EXACT)
    found = placed_bars(outsides.piece())["back leg, left"].near
    assert degrees(atan(found.grain.y / -found.grain.z)) == pytest.approx(-8, abs=EXACT)


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"rail_height_mm": 411}, "rail_height_mm"),
        ({"rail_height_back_mm": 821}, "rail_height_back_mm"),
        ({"crest_height_mm": 821}, "crest_height_mm"),
        ({"stretcher_height_mm": 371}, "stretcher_height_mm"),
        ({"rake_deg": 31}, "rake_deg"),
        ({"aimed_at": "anywhere"}, "aimed_at"),
    ],
)
def test_what_cannot_be_is_named(changes: dict[str, Any], field: str) -> None:
    with pytest.raises(InputError) as caught:
        drawn(**changes)
    assert [p.field for p in caught.value.problems] == [field]
