"""Alike and mirrored members, marks that let them share settings, and the cut list."""

from __future__ import annotations

import doctest
from collections import Counter
from math import radians, tan

import attrs
import pytest

import jointgeo.pieces
import jointgeo.pieces.solve
from jointgeo.errors import InputError
from jointgeo.fixtures.file import load_fixture
from jointgeo.geometry.vectors import Vec
from jointgeo.pieces.alike import shape, turns
from jointgeo.pieces.model import Piece, RoomBar
from jointgeo.pieces.solve import PieceAnswer, solve_piece

from .rooms import bench, frame

FOUR = 0.00005 + 1e-9  # mm: printed to four places
EXACT = 1e-9

PORCH = load_fixture("porch")


def solved(piece: Piece, marks: str = "alike") -> PieceAnswer:
    return solve_piece(piece, PORCH, marks)  # type: ignore[arg-type]


def hands(found: PieceAnswer) -> dict[str, tuple[str, int]]:
    return {like.bar: (like.first, like.hand) for like in found.likes}


def test_the_legs_of_a_bench_are_two_and_two() -> None:
    """(-, -) and (+, +) are one piece, turned half round; (-, +) and (+, -) its mirror image.
    Rails and stretchers have no hand."""
    found = solved(bench(), "as_drawn")
    of = hands(found)
    assert of["leg, back right"] == ("leg, front left", 1)
    assert of["leg, front right"] == of["leg, back left"] == ("leg, front left", -1)
    assert of["rail, back"] == ("rail, front", 1)
    members = {m.name: (m.count, m.mirrored) for m in found.members}
    assert members == {
        "rail": (2, 0),
        "leg": (4, 2),
        "end stretcher": (2, 0),
        "long stretcher": (1, 0),
    }


def test_a_bar_with_no_image_of_its_own_has_a_hand() -> None:
    """A side rail of a chair, whose two ends differ, and its mirror image."""
    piece = frame()

    def image(bar: RoomBar) -> RoomBar:
        def turned(v: Vec) -> Vec:
            return Vec(-v.x, v.y, v.z)

        ends = {
            w: attrs.evolve(e, mate=f"{e.mate}, left") if hasattr(e, "mate") else e
            for w, e in (("near", bar.near), ("far", bar.far))
        }
        looks = turned(bar.faces) if bar.faces is not None else None
        run = {"start": turned(bar.start), "end": turned(bar.end)}
        return attrs.evolve(bar, name=f"{bar.name}, left", faces=looks, **run, **ends)

    both = attrs.evolve(piece, bars=(*piece.bars, *(image(b) for b in piece.bars)))
    found = solved(both)
    assert hands(found)["side rail, left"] == ("side rail", -1)
    members = {m.name: (m.count, m.mirrored) for m in found.members}
    assert members["side rail"] == (2, 1)
    uses = [u for e in found.settings for u in e.uses if u.member == "side rail"]
    assert Counter((u.end, u.hand) for u in uses) == {
        (end, hand): 1 for end in ("near", "far") for hand in ("as_drawn", "mirrored")
    }


@pytest.mark.parametrize(("leaning", "drawn"), [(True, 10), (False, 10)])
def test_marks_given_alike_save_settings(leaning: bool, drawn: int) -> None:
    """14 cut ends: near and far of two kinds of leg, of one end stretcher and of the long one."""
    piece = bench(leaning=leaning)
    assert len(solved(piece, "as_drawn").settings) == drawn
    alike = solved(piece)
    assert len(alike.settings) == 8
    assert sum(u.count for e in alike.settings for u in e.uses) == 14


def test_marks_change_no_wood() -> None:
    """Every bar lies where it lay, and is cut to the same shape."""
    piece = bench(leaning=False)
    one, other = solved(piece, "as_drawn"), solved(piece)
    firsts = {like.first for like in one.likes}
    for a, b in zip(one.bars, other.bars, strict=True):
        if a.name in firsts:  # whose marks the others are given
            assert a.placed.near.face @ b.placed.near.face == pytest.approx(1, abs=EXACT)
            assert a.placed.near.edge @ b.placed.near.edge == pytest.approx(1, abs=EXACT)
        near = min((a.placed.near.middle - e.middle).length for e in b.placed.ends)
        assert near == pytest.approx(0, abs=EXACT)
        found = turns(shape(*a.parts), shape(*b.parts))
        assert any(hand > 0 for _, hand in found), a.name


def test_a_hundredth_of_a_degree_is_another_piece() -> None:
    """0.01° of splay moves a plane of a leg by about 0.04 mm or more; 0.0001° is one piece."""
    for more, same in ((0.01, False), (0.0001, True)):
        one, other = (
            next(b for b in solved(bench(12 + by), "as_drawn").bars if b.name == "leg, front left")
            for by in (0.0, more)
        )
        # Compared at one length, so that the angle alone differs.
        parts = [attrs.evolve(p, length_mm=one.placed.near.length) for p in other.parts]
        assert bool(turns(shape(*one.parts), shape(*parts))) == same


def test_the_cut_list() -> None:
    """Blanks are finished length and what both trims take: for a leg half of the section's slope
    and 2 mm square to it at either end, as the fixture's practice says."""
    found = solved(bench())
    members = {m.name: m for m in found.members}
    leg, rail = members["leg"], members["rail"]
    assert (leg.width_mm, leg.thickness_mm) == (66, 44)
    assert leg.length_mm == pytest.approx(443.7408, abs=FOUR)
    assert leg.shape == "parallelogram"
    assert (rail.length_mm, rail.blank_mm, rail.shape) == (1000, 1000, "straight")
    assert members["end stretcher"].shape == "trapezoid"
    # A plane square to (tan 12°, tan 8°, 1) of the room; slopes over width and thickness.
    sigma = tan(radians(7.8274))
    lean = tan(radians(12)) / (1 / (1 + sigma**2)) ** 0.5
    reach = (66 * sigma + 44 * lean) / 2
    assert leg.blank_mm - leg.length_mm > 2 * reach
    assert sum(t.pieces for t in found.totals) == 9
    wood = sum(m.count * m.width_mm * m.thickness_mm * m.blank_mm for m in found.members)
    assert sum(t.litres for t in found.totals) == pytest.approx(wood / 1e6, rel=1e-12)


def test_there_are_two_ways_to_mark() -> None:
    with pytest.raises(InputError, match="marks: is not a choice"):
        solved(bench(), "anyhow")


def test_the_front_door_shows_what_it_says() -> None:
    for module in (jointgeo.pieces, jointgeo.pieces.solve):
        done = doctest.testmod(module)
        assert (done.failed, done.attempted) == (0, 5)
