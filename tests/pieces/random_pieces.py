"""Random pieces of every type that ships, within the sizes of real furniture, and their dry fit.

Test helper. A piece is drawn again where its type refuses it, or where its joints or its members
fail a check of their own (mortises that meet, a tenon that leaves its rail); what the fixture
cannot cut is kept, since whether things go together does not depend on it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from typing import Any

import attrs
import numpy as np

from jointgeo.errors import InputError
from jointgeo.fixtures.file import load_fixture
from jointgeo.pieces.piece_type import PieceType
from jointgeo.pieces.registry import piece_type
from jointgeo.pieces.solve import PieceAnswer, solve_piece
from jointgeo.proof import fit_piece

from .random_boxes import random_box

__all__ = ["RANDOM", "Fitted", "Tally", "fitted", "random_pieces"]

PORCH = load_fixture("porch")
Generator = np.random.Generator


def _bench(rng: Generator) -> dict[str, Any]:
    length, depth = rng.uniform(800, 1200), rng.uniform(200, 320)
    from_end, apart = rng.uniform(80, 150), depth
    by_feet = rng.random() < 0.5
    over = length - 2 * from_end + rng.uniform(60, 320)
    across = apart + rng.uniform(80, 260)
    width, thick = rng.uniform(50, 70), rng.uniform(38, 50)
    rail = rng.uniform(26, 34)
    return {
        "seat_height_mm": rng.uniform(380, 480),
        "footprint_length_mm": over if by_feet else 0.0,
        "footprint_depth_mm": across if by_feet else 0.0,
        "splay_along_deg": 0.0 if by_feet else rng.uniform(-6, 16),
        "splay_across_deg": 0.0 if by_feet else rng.uniform(-4, 12),
        "rail_length_mm": length,
        "rail_depth_mm": rng.uniform(50, 75),
        "rail_thickness_mm": rail,
        "rails_apart_mm": apart,
        "leg_from_end_mm": from_end,
        "leg_width_mm": width,
        "leg_thickness_mm": thick,
        "tongue_thickness_mm": rail - rng.choice([0.0, 4.0, 8.0]),
        "stretcher_height_mm": rng.choice([0.0, rng.uniform(120, 240)]),
        "stretcher_width_mm": rng.uniform(42, 58),
        "stretcher_thickness_mm": rng.uniform(20, 26),
        "stretchers_stand": _one(rng, "leaning", "upright"),
        "long_stretcher": bool(rng.integers(2)),
        "tenon_width_mm": rng.uniform(24, 34),
        "fit_mm": rng.choice([0.0, 0.1, 0.2]),
    }


def _chair(rng: Generator) -> dict[str, Any]:
    rail, seat = rng.uniform(45, 70), rng.uniform(400, 470)
    front = rng.uniform(380, 520)
    height = seat - rail / 2 - rng.uniform(2, 20)
    return {
        "seat_height_mm": seat,
        "back_height_mm": rng.uniform(780, 1000),
        "seat_width_front_mm": front,
        "seat_width_back_mm": front - rng.uniform(-20, 120),
        "seat_depth_mm": rng.uniform(360, 460),
        "drawn_to": _one(rng, "outsides", "middles"),
        "rake_deg": rng.uniform(0, 14),
        "rail_height_mm": height,
        "rail_height_back_mm": rng.choice([0.0, height - rng.uniform(0, 30)]),
        "crest_height_mm": rng.choice([0.0, rng.uniform(650, 740)]),
        "stretcher_height_mm": rng.choice([0.0, rng.uniform(120, 240)]),
        "front_leg_width_mm": rng.uniform(38, 48),
        "front_leg_thickness_mm": rng.uniform(38, 48),
        "back_leg_width_mm": rng.uniform(38, 46),
        "back_leg_thickness_mm": rng.uniform(34, 44),
        "rail_width_mm": rail,
        "rail_thickness_mm": rng.uniform(18, 24),
        "back_rails_stand": _one(rng, "leaning", "upright"),
        "aimed_at": _one(rng, "leg_middles", "side_middles"),
        "tenon_length_mm": rng.uniform(8, 13),
        "tenon_width_mm": 0.6 * rail,
        "tenon_thickness_mm": rng.uniform(6, 8),
        "fit_mm": rng.choice([0.0, 0.1, 0.2]),
    }


def _table(rng: Generator) -> dict[str, Any]:
    length, depth = rng.uniform(600, 1600), rng.uniform(450, 900)
    by_feet, by_middle = rng.random() < 0.5, rng.random() < 0.5
    high, apron = rng.uniform(420, 760), rng.uniform(60, 110)
    below = rng.uniform(0, 40)
    return {
        "height_mm": high,
        "top_length_mm": length,
        "top_depth_mm": depth,
        "drawn_to": _one(rng, "outsides", "middles"),
        "footprint_length_mm": length + rng.uniform(0, 250) if by_feet else 0.0,
        "footprint_depth_mm": depth + rng.uniform(0, 200) if by_feet else 0.0,
        "splay_long_deg": 0.0 if by_feet else rng.uniform(-4, 14),
        "splay_short_deg": 0.0 if by_feet else rng.uniform(-4, 12),
        "leg_width_mm": rng.uniform(44, 62),
        "leg_thickness_mm": rng.uniform(44, 62),
        "apron_width_mm": apron,
        "apron_thickness_mm": rng.uniform(18, 25),
        "aprons_below_mm": 0.0 if by_middle else below,
        "apron_height_mm": high - below - 0.6 * apron if by_middle else 0.0,
        "aprons_stand": _one(rng, "leaning", "upright"),
        "aimed_at": _one(rng, "leg_middles", "side_middles"),
        "tenon_length_mm": rng.uniform(9, 14),
        "tenon_width_mm": 0.6 * apron,
        "tenon_thickness_mm": rng.uniform(6, 9),
        "fit_mm": rng.choice([0.0, 0.1, 0.2]),
    }


def _stool(rng: Generator) -> dict[str, Any]:
    by_feet, stretchers = rng.random() < 0.5, _one(rng, "none", "triangle", "tee")
    circle, rail = rng.uniform(230, 340), rng.uniform(34, 46)
    leg = rng.uniform(46, 56) if stretchers == "tee" else rng.uniform(36, 48)
    return {
        "height_mm": rng.uniform(420, 720),
        "tops_circle_mm": circle,
        "feet_circle_mm": circle + rng.uniform(80, 240) if by_feet else 0.0,
        "splay_deg": 0.0 if by_feet else rng.uniform(-2, 14),
        "leg_size_mm": leg,
        "rails_below_mm": rng.uniform(5, 60),
        "rail_width_mm": rail,
        "rail_thickness_mm": rng.uniform(16, 20),
        "rails_stand": _one(rng, "leaning", "upright"),
        "stretchers": stretchers,
        "stretcher_height_mm": 0.0 if stretchers == "none" else rng.uniform(120, 240),
        "aimed_at": _one(rng, "leg_middles", "side_middles"),
        "tenon_length_mm": rng.uniform(5, 7),
        "tenon_width_mm": 0.65 * rail,
        "tenon_thickness_mm": rng.uniform(5, 6),
        "fit_mm": rng.choice([0.0, 0.1]),
    }


def _one(rng: Generator, *words: str) -> str:
    return words[int(rng.integers(len(words)))]


def _of(name: str, draw: Callable[[Generator], dict[str, Any]]) -> Callable[[Generator], PieceType]:
    def made(rng: Generator) -> PieceType:
        drawn = draw(rng)
        values = {k: v if isinstance(v, str | bool) else float(v) for k, v in drawn.items()}
        return piece_type(name).from_dict(values)

    return made


#: Piece type → one within the sizes of real furniture; InputError where it is to be drawn again.
RANDOM: dict[str, Callable[[Generator], PieceType]] = {
    "side_chair": _of("side_chair", _chair),
    "sloping_box": random_box,
    "splayed_bench": _of("splayed_bench", _bench),
    "splayed_table": _of("splayed_table", _table),
    "three_legged_stool": _of("three_legged_stool", _stool),
}


@attrs.define
class Tally:
    """What became of other draws: refused by the type or a joint, or failing a check of its own."""

    refused: int = 0
    failing: Counter[str] = attrs.field(factory=Counter)


def random_pieces(
    name: str, count: int, seed: int, tally: Tally | None = None
) -> Iterator[tuple[PieceType, PieceAnswer]]:
    """So many pieces of a type that can be made, with their answers."""
    rng, tally = np.random.default_rng([seed, len(name)]), tally or Tally()
    made = 0
    while made < count:
        try:
            piece = RANDOM[name](rng)
            answer = solve_piece(piece.piece(), PORCH)
        except InputError:
            tally.refused += 1
            continue
        bad = {c.name for c in answer.checks if c.status == "fail"}
        tally.failing.update(bad)
        if not bad:
            made += 1
            yield piece, answer


@attrs.frozen
class Fitted:
    """A dry fit in figures: mm³ and mm. feet, height: by how much ``measured()`` is off."""

    faults: tuple[str, ...]
    overlap: float
    gap: float
    press: float
    lowest: float
    feet: float
    height: float


def fitted(piece: PieceType, answer: PieceAnswer) -> Fitted:
    """Cut by its settings alone, put up, and measured."""
    fit, told = fit_piece(answer.bars_dict()), piece.measured()
    low, high = fit.extents_mm
    (wide, deep) = (fit.extents_at_mm(0.0)[1] - fit.extents_at_mm(0.0)[0]).tolist()
    return Fitted(
        tuple(f.what for f in fit.faults),
        fit.overlap_mm3,
        fit.gap_mm,
        fit.press_mm,
        abs(float(low[2])),
        max(abs(told["feet, left to right"] - wide), abs(told["feet, front to back"] - deep)),
        abs(told["height"] - float(high[2])),
    )
