"""A bench's legs whose roll is said, and legs that stand off their rail's middle."""

from __future__ import annotations

import copy
from math import asin, degrees

import attrs
import pytest

from jointgeo.errors import InputError
from jointgeo.fixtures.file import load_fixture
from jointgeo.geometry.vectors import Vec, X
from jointgeo.pieces.model import Piece, RoomBar
from jointgeo.pieces.room import placed_bars
from jointgeo.pieces.solve import PieceAnswer, solve_piece
from jointgeo.proof import fit_piece

from .rooms import bench
from .test_file import bar, data, made, solved

EXACT = 1e-9  # mm or degree: rounding only
PORCH = load_fixture("porch")


def only(piece: Piece, **changes: object) -> Piece:
    """The bench's rails and legs, its legs changed."""
    legs = [attrs.evolve(b, **changes) for b in piece.bars[2:6]]  # type: ignore[arg-type]
    return attrs.evolve(piece, bars=(*piece.bars[:2], *legs))


def bridle(answer: PieceAnswer, name: str) -> dict[str, float]:
    return next(j for j in answer.joints if j.bar == name).joint.to_dict()


def test_a_leg_with_a_roll_of_its_own_is_packed() -> None:
    """Its face side looks as nearly along X as it can, and not along the rail: what lies between
    the two is turn and packing."""
    piece = bench(housed=False)
    name = "leg, back right"
    grain = placed_bars(piece)[name].near.grain
    face = X.across(grain).unit
    turn = degrees(asin((placed_bars(piece)[name].near.face ^ face).length))
    bars = [attrs.evolve(b, forced=False, faces=X) if b.name == name else b for b in piece.bars[:6]]
    found = solve_piece(attrs.evolve(piece, bars=tuple(bars)), PORCH, "as_drawn")
    assert abs(bridle(found, name)["leg_turn_deg"]) == pytest.approx(turn, abs=1e-6)
    assert turn > 1.5  # degrees
    packing = found.solved_ends[name, "near"].setups[0].packing_deg
    assert abs(packing) == pytest.approx(abs(bridle(found, name)["leg_turn_deg"]), abs=EXACT)
    assert fit_piece(found.bars_dict()).goes_together


@pytest.mark.parametrize("housed", [True, False])
def test_legs_off_the_middle_of_their_rails(housed: bool) -> None:
    """4 mm outwards on all four: the feet stand 4 mm further apart to either side."""
    piece = bench(housed=housed)

    def moved(b: RoomBar) -> RoomBar:
        by = Vec(0.0, 4.0 if b.start.y > 0 else -4.0, 0.0)
        return attrs.evolve(b, start=b.start + by, end=b.end + by)

    bars = (*piece.bars[:2], *(moved(b) for b in piece.bars[2:6]))
    found = solve_piece(attrs.evolve(piece, bars=bars), PORCH)
    for leg in bars[2:]:
        assert abs(bridle(found, leg.name)["leg_offset_mm"]) == pytest.approx(4, abs=EXACT)
    fit = fit_piece(found.bars_dict())
    assert fit.faults == ()
    # Half the footprint of the bench in ``rooms`` is 224.3858 front to back.
    assert fit.extents_at_mm(0.0)[1][1] == pytest.approx(228.3858, abs=0.00005 + 1e-6)


def test_a_roll_may_be_said_in_a_file_where_the_rail_is_not_housed() -> None:
    piece = copy.deepcopy(data("bench"))
    piece["joint"][0]["parameters"]["tongue_thickness_mm"] = 30
    bar(piece, "leg")["true_view"] = "side"
    found = solved(made(piece))
    assert abs(bridle(found, "leg, back right")["leg_turn_deg"]) > 1  # degrees
    notes = next(j for j in found.joints if j.bar == "leg, back right").joint.notes()
    assert any("needs packing" in note for note in notes)
    assert fit_piece(found.bars_dict()).goes_together


def test_a_roll_that_a_housed_bridle_cannot_have_is_named_with_the_way_out() -> None:
    piece = bench()
    with pytest.raises(InputError) as caught:
        solve_piece(only(piece, forced=False, faces=X), PORCH)
    says = str(caught.value)
    assert "leg, front left, near end, leg over rail.leg_turn_deg" in says
    assert "thickness with no part across the rail" in says
    assert "tongue_thickness_mm = rail_thickness_mm" in says
