"""Parameters, lengths and marks that follow from bars in a room, against formulas by hand."""

from __future__ import annotations

from math import atan, cos, degrees, radians, sin, tan

import attrs
import pytest

from jointgeo.errors import InputError
from jointgeo.fixtures.file import load_fixture
from jointgeo.geometry.vectors import Plane, Vec, Z
from jointgeo.joints.registry import joint_type
from jointgeo.pieces.joining import PlacedJoint
from jointgeo.pieces.model import Joined, Piece, PieceJoint, Plain, RoomBar
from jointgeo.pieces.room import placed_bars
from jointgeo.pieces.solve import PieceAnswer, solve_piece

from .rooms import FLOOR, bench, frame, tenon

FOUR = 0.00005 + 1e-9  # mm or degree: printed to four places
EXACT = 1e-9  # mm or degree: rounding only

PORCH = load_fixture("porch")


def answer(piece: Piece, marks: str = "as_drawn") -> PieceAnswer:
    return solve_piece(piece, PORCH, marks)  # type: ignore[arg-type]


def joint(found: PieceAnswer, bar: str, end: str = "near") -> PlacedJoint:
    return next(j for j in found.joints if (j.bar, j.end) == (bar, end))


def said(found: PieceAnswer, bar: str, end: str = "near") -> dict[str, float]:
    return joint(found, bar, end).joint.to_dict()


def test_the_legs_of_a_bench() -> None:
    """tan σ = cos 12° · tan 8°; leg 430/(cos 12° · cos σ) = 443.7408, all four edges alike."""
    found = placed_bars(bench())
    for name in ("leg, front left", "leg, back right"):
        leg = found[name]
        assert leg.near.length == pytest.approx(443.7408, abs=FOUR)
        assert leg.long_edges == pytest.approx([443.7408] * 4, abs=FOUR)
    for bar in ("leg, front left", "leg, back left", "leg, front right", "leg, back right"):
        angles = said(answer(bench()), bar)
        assert abs(angles["splay_along_deg"]) == pytest.approx(12, abs=EXACT)
        assert abs(angles["splay_across_deg"]) == pytest.approx(8, abs=EXACT)


def test_a_stretcher_that_leans_with_its_legs() -> None:
    """w = σ, no turn: 2 (130 + tan 8° · 280 - 66/(2 cos σ)) = 272.0822, edges ± 25 tan σ each."""
    found = answer(bench())
    own = said(found, "end stretcher, right")
    assert own["width_angle_deg"] == pytest.approx(-7.8274, abs=FOUR)
    assert own["thickness_angle_deg"] == pytest.approx(0, abs=EXACT)
    assert own["mortise_turn_deg"] == pytest.approx(0, abs=EXACT)
    bar = placed_bars(bench())["end stretcher, right"]
    assert bar.near.length == pytest.approx(272.0822, abs=FOUR)
    assert sorted(bar.long_edges)[::3] == pytest.approx([265.2087, 278.9556], abs=FOUR)


def test_a_stretcher_that_stands_upright() -> None:
    """tan w = cos² a tan c, tan t = sin a cos a tan c, tan ρ = tan a cos σ: 7.6584, 1.6372,
    11.8914; the turns of the two sides are opposite."""
    found = answer(bench(leaning=False))
    for side, sign in (("left", 1.0), ("right", -1.0)):
        own = said(found, f"end stretcher, {side}")
        assert own["width_angle_deg"] == pytest.approx(sign * 7.6584, abs=FOUR)
        assert own["thickness_angle_deg"] == pytest.approx(1.6372, abs=FOUR)
        assert own["mortise_turn_deg"] == pytest.approx(-sign * 11.8914, abs=FOUR)
    edges = sorted(placed_bars(bench(leaning=False))["end stretcher, left"].long_edges)
    assert edges == pytest.approx([264.7301, 265.9877, 278.1766, 279.4342], abs=FOUR)


def test_both_ends_of_a_bar_say_the_same_of_its_marked_sides() -> None:
    """A far end is the image of a near one where the bar is symmetrical: one joint, two hands."""
    found = answer(bench(leaning=False))
    near, far = (joint(found, "end stretcher, left", end) for end in ("near", "far"))
    assert (near.hand, far.hand) == ("as_drawn", "mirrored")
    for name, value in near.joint.to_dict().items():
        same = value if isinstance(value, str) else pytest.approx(value, abs=EXACT)
        assert far.joint.to_dict()[name] == same


def test_a_stretcher_into_a_leaning_face() -> None:
    """The face of the end stretchers leans 12° and stands 22 mm in: 876.5402, a mortise across."""
    found = answer(bench())
    own = said(found, "long stretcher")
    # Between the two inner faces: 2 (390 + 280 tan 12° - 11/cos 12°).
    length = 2 * (390 + 280 * tan(radians(12)) - 11 / cos(radians(12)))
    assert length == pytest.approx(876.5402, abs=FOUR)
    assert placed_bars(bench())["long stretcher"].near.length == pytest.approx(length, abs=EXACT)
    assert abs(own["mortise_turn_deg"]) == pytest.approx(90, abs=EXACT)


def test_a_rail_from_a_plumb_leg_to_a_raked_one() -> None:
    """tan γ = half the taper / depth; at the back tan w = tan r/cos γ and t = γ, and the mortise
    that follows the face edge is not turned; else tan ρ = sin r · tan γ."""
    piece = frame()
    gamma, rake = atan(40 / 380), radians(8)
    looks = Vec(380.0, 40.0, 0.0)  # square to the rail
    rail = attrs.evolve(piece.bars[2], faces=looks)
    found = answer(attrs.evolve(piece, bars=(*piece.bars[:2], rail)))
    back = said(found, "side rail", "far")
    assert back["parallel_to"] == "face_edge"
    assert abs(back["width_angle_deg"]) == pytest.approx(8.0436, abs=FOUR)
    assert degrees(atan(tan(rake) / cos(gamma))) == pytest.approx(8.0436, abs=FOUR)
    assert abs(back["thickness_angle_deg"]) == pytest.approx(degrees(gamma), abs=EXACT)
    assert back["mortise_turn_deg"] == pytest.approx(0, abs=EXACT)
    sizes = {**tenon("tenon").sizes, "parallel_to": "face_side"}
    face = attrs.evolve(
        piece,
        joints=(PieceJoint("tenon", joint_type("angled_tenon"), sizes),),
        bars=(*piece.bars[:2], rail),
    )
    turned = said(answer(face), "side rail", "far")
    assert abs(turned["mortise_turn_deg"]) == pytest.approx(
        degrees(atan(sin(rake) * tan(gamma))), abs=EXACT
    )
    bar = placed_bars(piece)["side rail"]
    assert placed_bars(face)["side rail"].near.length == pytest.approx(342.7061, abs=FOUR)
    # 850/cos 8°: the back leg's length does not depend on where it stands.
    assert placed_bars(piece)["back leg"].near.length == pytest.approx(858.3534, abs=FOUR)
    # Aimed at the legs' centres the mortises lie 2.2105 and 1.9134 mm off their middles.
    offsets = [
        abs(said(answer(face), "side rail", e)["mortise_offset_mm"]) for e in ("near", "far")
    ]
    assert offsets == pytest.approx([2.2105, 1.9134], abs=FOUR)
    assert bar.sides == ("back", "face_side")


def test_marks_are_found_on_the_bar_itself() -> None:
    """A leg 44 thick at 12°: ± 22/cos 12° about 110 and 890 on the rail's top edge."""
    found = {b.name: b.marks for b in answer(bench()).bars}
    at = [[p.along_mm for p in m.points] for m in found["rail, front"] if m.side == "back"]
    assert at == [
        pytest.approx([87.5085, 132.4915], abs=FOUR),
        pytest.approx([867.5085, 912.4915], abs=FOUR),
    ]
    (mortise,) = found["leg, front left"]
    # In the middle of 44 mm, and as long as the tenon is wide; 280/(cos 12° cos σ) from the floor.
    assert [p.gauge_mm for p in mortise.points] == pytest.approx([22.0, 22.0], abs=EXACT)
    along = [p.along_mm for p in mortise.points]
    assert along == pytest.approx([266.2273, 302.2273], abs=FOUR)


def test_a_mark_is_measured_on_the_arris_that_it_is_gauged_from() -> None:
    """With the face side looking in, the arris between it and the mortised side is another one,
    and the leg's top slopes: 9.4404 mm more, found as a corner of the cut solid."""
    piece = bench()
    inwards = attrs.evolve(piece.bars[2], faces=Vec(1.0, 0.0, 0.0))
    bars = (*piece.bars[:2], inwards, *piece.bars[3:])
    found = {b.name: b.marks for b in answer(attrs.evolve(piece, bars=bars)).bars}
    (mortise,) = found["leg, front left"]
    along = [p.along_mm for p in mortise.points]
    assert along == pytest.approx([275.6677, 311.6677], abs=FOUR)


def test_a_forced_roll_must_be_left_to_its_joint() -> None:
    piece = bench()
    leg = attrs.evolve(piece.bars[2], forced=False, faces=Vec(-1.0, 0.2, 0.0))
    with pytest.raises(InputError, match=r"leg, front left, near end, leg over rail"):
        answer(attrs.evolve(piece, bars=(*piece.bars[:2], leg)))


def upright(name: str = "post", turn: float = 0.0) -> RoomBar:
    looks = Vec(cos(radians(turn)), sin(radians(turn)), 0.0)
    run = Vec(0.0, 0.0, 0.0), Vec(0.0, 0.0, 500.0)
    return RoomBar(name, 40, 40, *run, FLOOR, Plain(Plane(Z, 500.0)), looks)


END = Vec(300.0, 0.0, 200.0)


def rail(end: Vec = END, **changes: object) -> RoomBar:
    square = Plain(Plane(Vec(1.0, 0.0, 0.0), 300.0))
    bar = RoomBar(
        "rail", 60, 22, Vec(0.0, 0.0, 200.0), end, Joined("tenon", "post"), square, Vec(0, 1.0, 0)
    )
    return attrs.evolve(bar, **changes)  # type: ignore[arg-type]


def small(*bars: RoomBar) -> Piece:
    return Piece("small", (tenon("tenon"),), bars)


def test_an_arris_that_looks_at_the_rail_is_named() -> None:
    with pytest.raises(InputError) as caught:
        answer(small(upright(turn=45.0), rail()))
    assert "meets an arris of post: face edge and face side look at it alike" in str(caught.value)
    assert "turned on its length" in str(caught.value)
    assert said(answer(small(upright(turn=44.0), rail())), "rail")["width_angle_deg"] == (
        pytest.approx(0, abs=EXACT)
    )


def test_a_side_may_be_said() -> None:
    sided = rail(near=Joined("tenon", "post", "face_side"))
    own = said(answer(small(upright(turn=45.0), sided)), "rail")
    assert abs(own["thickness_angle_deg"]) == pytest.approx(45, abs=EXACT)


@pytest.mark.parametrize(
    ("bars", "says"),
    [
        ((upright(), rail(near=Joined("tenon", "pots"))), "is no other bar of this piece"),
        ((upright(), rail(near=Joined("tennon", "post"))), "is no joint of this piece"),
        ((upright(), rail(faces=Vec(1.0, 0.001, 0.0))), "would look along its own length"),
        ((upright(), upright()), "is used twice"),
        ((upright(), rail(faces=None)), "no joint settles it"),
        ((upright(), rail(end=Vec(4.0, 0.0, 400.0))), "does not come to what it is to end at"),
        ((upright(), rail(far=Plain(Plane(Vec(1.0, 0, 0), 19.0)))), "before its near one"),
    ],
)
def test_what_cannot_be_is_named(bars: tuple[RoomBar, ...], says: str) -> None:
    with pytest.raises(InputError) as caught:
        answer(small(*bars))
    assert says in str(caught.value)
