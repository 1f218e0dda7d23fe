"""Ends cut plain: to a level, to another bar's side, or for dowels; and where they meet."""

from __future__ import annotations

import copy
from math import cos, radians, sin, tan
from typing import Any

import attrs
import pytest

from jointgeo.errors import InputError
from jointgeo.fixtures.file import load_fixture
from jointgeo.geometry.vectors import Plane, Vec, Z
from jointgeo.joints.registry import joint_type
from jointgeo.pieces.model import Against, Joined, Piece, PieceJoint, Plain, RoomBar
from jointgeo.pieces.room import placed_bars
from jointgeo.pieces.solve import PieceAnswer, solve_piece
from jointgeo.proof import fit_piece
from jointgeo.solution.end import Use, solve_end
from jointgeo.solution.grouping import by_operation

from .rooms import FLOOR, bench
from .test_file import bar, data, made, solved

EXACT = 1e-9  # mm or degree: rounding only
FOUR = 0.00005 + EXACT  # mm or degree: printed to four places
PORCH = load_fixture("porch")
BUTT = PieceJoint("butt", joint_type("angled_butt"))
RUN_MM = 280.0


def brace(
    climbs_deg: float = 0.0, turned_deg: float = 0.0, end: Any = None, **changes: Any
) -> Piece:
    """A rail of 60 × 22 from the middle of a plumb post, 40 × 40 × 500, at 200 mm, climbing, to a
    plumb end; the post turned about its length."""
    t = radians(turned_deg)
    looks = Vec(cos(t), sin(t), 0.0)
    run = Vec(0.0, 0.0, 0.0), Vec(0.0, 0.0, 500.0)
    post = RoomBar("post", 40, 40, *run, FLOOR, Plain(Plane(Z, 500.0)), looks)
    to = Vec(RUN_MM, 0.0, 200.0 + RUN_MM * tan(radians(climbs_deg)))
    plumb = Plain(Plane(Vec(1.0, 0.0, 0.0), RUN_MM))
    near = Joined("butt", "post") if end is None else end
    rail = RoomBar("rail", 60, 22, Vec(0.0, 0.0, 200.0), to, near, plumb, Vec(0.0, -1.0, 0.0))
    return Piece("Brace", (BUTT,), (post, attrs.evolve(rail, **changes)))


def answer(piece: Piece) -> PieceAnswer:
    return solve_piece(piece, PORCH, "as_drawn")


def marks(found: PieceAnswer, name: str) -> Any:
    return next(b for b in found.bars if b.name == name).marks


@pytest.mark.parametrize("end", [None, Against("post")])
@pytest.mark.parametrize(("climbs", "turned"), [(0.0, 0.0), (30.0, 0.0), (30.0, 20.0), (0.0, 20.0)])
def test_a_plain_end_by_hand(climbs: float, turned: float, end: Any) -> None:
    """The face lies 20 mm out; the rail's line comes to it 20/cos(turn) from the post's middle, so
    its length is (280 - 20/cos turn)/cos(climb). Off square by the climb on the face side; on the
    edge tan t = tan(turn) / cos(climb)."""
    found = answer(brace(climbs, turned, end))
    a, t = radians(climbs), radians(turned)
    length = (RUN_MM - 20 / cos(t)) / cos(a)
    assert placed_bars(brace(climbs, turned, end))["rail"].near.length == pytest.approx(
        length, abs=EXACT
    )
    if end is None:
        said = found.joints[0].joint.to_dict()
        assert abs(said["width_angle_deg"]) == pytest.approx(climbs, abs=EXACT)
        slope = tan(radians(abs(said["thickness_angle_deg"])))
        assert slope == pytest.approx(tan(t) / cos(a), abs=EXACT)
    setups = found.solved_ends["rail", "near"].setups
    assert len(setups) == (1 if end is None or climbs or turned else 0)
    assert fit_piece(found.bars_dict()).faults == ()


@pytest.mark.parametrize("end", [None, Against("post")])
def test_only_an_end_that_a_bar_comes_to_has_a_joint_to_close(end: Any) -> None:
    """The rail's near end comes to the post; its far one is cut plumb in the air."""
    found = answer(brace(20.0, 5.0, end))
    near, far = (found.solved_ends["rail", name] for name in ("near", "far"))
    assert "joint_closes" in {c.name for c in near.checks}
    assert "joint_closes" not in {c.name for c in far.checks}
    assert near.setups[0].closing is near.setups[0].budget.closing
    (setup,) = far.setups
    assert setup.closing is None
    assert setup.needed_deg("tilt") is None
    assert {a.axis for a in setup.aids} == {"swivel", "tilt"}
    assert {a.needed_deg for a in setup.aids} == {None}


def test_a_plain_end_cut_with_one_that_a_bar_comes_to_is_held_to_the_same() -> None:
    """Two ends cut alike are one operation, in either order."""
    part = answer(brace(20.0, 5.0, Against("post"))).solved_ends["rail", "near"].part
    both = [
        solve_end(attrs.evolve(part, meets=meets), PORCH, (Use("rail", end, "as_drawn", 1),))
        for meets, end in ((True, "near"), (False, "far"))
    ]
    for ends in (both, both[::-1]):
        (operation,) = by_operation(ends)
        assert [use.end for use in operation.uses] == [e.uses[0].end for e in ends]
        assert "joint_closes" in {c.name for c in operation.checks}


@pytest.mark.parametrize("end", [None, Against("post")])
@pytest.mark.parametrize("climbs", [0.0, 30.0])
def test_where_it_meets_is_marked(end: Any, climbs: float) -> None:
    """At 200 mm where the line comes to the side, and what it climbs on the way there: 20 tan; half
    of 60/cos to either side of it, in the middle of 40."""
    (mark,) = marks(answer(brace(climbs, 0.0, end)), "post")
    a = radians(climbs)
    middle, half = 200 + 20 * tan(a), 30 / cos(a)
    assert (mark.what, mark.side) == ("outline", "face_side")
    assert mark.joint == ("butt" if end is None else "rail")
    assert [p.along_mm for p in mark.points] == pytest.approx([middle - half, middle + half])
    assert [p.gauge_mm for p in mark.points] == pytest.approx([20, 20], abs=EXACT)
    assert mark.size_mm == pytest.approx((60 / cos(a), 22, 0), abs=EXACT)
    assert marks(answer(brace(climbs, 0.0, end)), "rail") == ()


def test_a_leg_over_a_rail_that_is_not_housed_is_marked_on_its_top_edge() -> None:
    """Where a housing's walls would meet it: 110 from the rail's end ∓ 22/cos 12°."""
    found = marks(answer(bench(housed=False)), "rail, front")
    assert [m.what for m in found] == ["outline", "outline"]
    along = [p.along_mm for m in found for p in m.points]
    expected = [87.5085, 132.4915, 867.5085, 912.4915]
    assert along == pytest.approx(expected, abs=FOUR)
    for mark in found:
        assert [p.gauge_mm for p in mark.points] == pytest.approx([0, 0], abs=EXACT)


def test_where_it_is_met_tells_one_post_from_another() -> None:
    """Two posts cut alike, whose rails come 10 mm higher on one, are two members."""

    def moved(b: RoomBar, up: float) -> RoomBar:
        by = Vec(0.0, 600.0, up if b.name == "rail" else 0.0)
        ends = {"near": attrs.evolve(b.near, mate="post 2")} if b.name == "rail" else {}
        return attrs.evolve(b, name=f"{b.name} 2", start=b.start + by, end=b.end + by, **ends)

    piece = brace()
    for up, members in ((0.0, 2), (10.0, 3)):
        both = attrs.evolve(piece, bars=(*piece.bars, *(moved(b, up) for b in piece.bars)))
        assert len(solve_piece(both, PORCH).members) == members


def test_a_plain_end_that_is_too_long_is_in_the_way() -> None:
    """Without a joint nothing bears; that it is too long shows all the same."""
    data = answer(brace(end=Against("post"))).bars_dict()
    assert fit_piece(data).goes_together
    rail = next(b for b in data["bars"] if b["bar"] == "rail")
    rail["pose"][0][3] -= 0.5
    fit = fit_piece(data)
    assert fit.overlap_mm3 == pytest.approx(0.5 * 60 * 22, rel=1e-6)
    assert not fit.goes_together


def test_dowelled_ends_in_a_file() -> None:
    """Aprons of the table whose tenons' figures are 7.9699 and -0.7018, and 4.9516 and 0; lengths
    966.3735 and 560.3113. The brace ends on the long aprons' inner faces, which lean 5°."""
    found = solved(made(data("plain_table")))
    said = {j.bar: j.joint.to_dict() for j in found.joints}
    long, short = said["long apron, front"], said["short apron, left"]
    assert abs(long["width_angle_deg"]) == pytest.approx(7.9699, abs=FOUR)
    assert abs(long["thickness_angle_deg"]) == pytest.approx(0.7018, abs=FOUR)
    assert abs(short["width_angle_deg"]) == pytest.approx(4.9516, abs=FOUR)
    assert abs(short["thickness_angle_deg"]) == pytest.approx(0, abs=EXACT)
    members = {m.name: m for m in found.members}
    assert members["long apron"].length_mm == pytest.approx(966.3735, abs=FOUR)
    assert members["short apron"].length_mm == pytest.approx(560.3113, abs=FOUR)
    edges = sorted(members["brace"].long_edges_mm)
    assert edges[-1] - edges[0] == pytest.approx(2 * 22 * tan(radians(5)), abs=EXACT)
    assert fit_piece(found.bars_dict()).faults == ()


@pytest.mark.parametrize("name", ["table", "chair", "bench"])
def test_members_with_two_plain_ends_are_in_every_list(name: str) -> None:
    """Legs of table and chair, rails of the bench: blank, marks, and a setting for every end that
    is not square."""
    found = solved(made(data(name)))
    plain = {"table": ("leg",), "chair": ("back leg", "front leg"), "bench": ("rail",)}[name]
    members = {m.name: m for m in found.members}
    for what in plain:
        member = members[what]
        (first, *_) = member.bars
        assert member.blank_mm >= member.length_mm
        assert marks(found, first)
        for end, plane in zip(("near", "far"), placed_bars(found.piece)[first].planes, strict=True):
            grain = placed_bars(found.piece)[first].near.grain
            square = abs(abs(plane.normal @ grain) - 1) <= 1e-12
            uses = [u for e in found.settings for u in e.uses if (u.member, u.end) == (what, end)]
            assert sum(u.count for u in uses) == (0 if square else member.count)
        if name == "table":
            # The section's reach along the grain: its sides slope by 8° and, cos 8° · tan 5°, by
            # 4.95°, half of it at either end.
            slopes = tan(radians(8)) / cos(radians(4.9516)) + tan(radians(4.9516))
            assert member.blank_mm > member.length_mm + 50 * slopes
            assert member.blank_mm < member.length_mm + 50 * slopes + 10


def file_with(**near: Any) -> dict[str, Any]:
    piece = copy.deepcopy(data("plain_table"))
    bar(piece, "brace")["near"] = {"right_mm": 0, **near}
    return piece


@pytest.mark.parametrize(
    ("near", "says"),
    [
        ({"into": "long apron"}, "needs one of joint and cut"),
        ({"into": "long apron", "cut": "level"}, 'into goes with a joint, or with cut = "side"'),
        ({"cut": "side"}, 'into goes with a joint, or with cut = "side"'),
        ({"into": "long apron", "cut": "plumb"}, "is not a choice"),
        ({"into": "brace", "cut": "side"}, "is the bar itself"),
        ({"into": "short apron", "cut": "side"}, "does not run that way"),
    ],
)
def test_what_cannot_be_is_named(near: dict[str, Any], says: str) -> None:
    with pytest.raises(InputError) as caught:
        solved(made(file_with(**near)))
    assert says in str(caught.value)


def test_an_arris_that_looks_at_a_plain_end_is_named() -> None:
    with pytest.raises(InputError, match="meets an arris of post"):
        answer(brace(turned_deg=45.0, end=Against("post")))
    sided = answer(brace(turned_deg=45.0, end=Against("post", "face_side")))
    assert fit_piece(sided.bars_dict()).goes_together


def test_no_bar_to_end_against() -> None:
    with pytest.raises(InputError, match="is no other bar of this piece"):
        brace(end=Against("pots"))
