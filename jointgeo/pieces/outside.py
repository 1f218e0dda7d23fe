"""Bars drawn by their outside: where the middle line runs so that a tape shows what was asked.

Knows bars that stand; no file and no piece type. A foot's outermost corner depends on how the bar
leans and stands about its length, which depends on where its middle line runs. So the piece is
stood, measured and moved by what is missing, until nothing is; each round leaves a few hundredths
of the last one's error.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from math import isfinite

import attrs

from jointgeo.errors import InputError
from jointgeo.geometry.vectors import Plane, Vec
from jointgeo.pieces.model import Piece
from jointgeo.pieces.room import placed_bars

__all__ = ["Want", "fitted"]

NEAR_MM = 1e-11
MOST_ROUNDS = 80
NOTHING = Vec(0.0, 0.0, 0.0)


@attrs.frozen
class Want:
    """What a tape must show of one bar.

    at: the plane in which it is measured; None for a section square to the bar. reach: directions,
    each with how far along it the bar's furthest corner must lie, mm from the room's origin.
    """

    bar: str
    at: Plane | None
    reach: tuple[tuple[Vec, float], ...]


def fitted(make: Callable[[Mapping[str, Vec]], Piece], wants: Mapping[str, Want]) -> Piece:
    """The piece that ``make`` gives with the moves that fulfil every want.

    make: a piece from moves of its points, by the wants' names. InputError where no move does.
    """
    moves = dict.fromkeys(wants, NOTHING)
    for _ in range(MOST_ROUNDS):
        piece = make(moves)
        placed = placed_bars(piece) if wants else {}
        worst, name = 0.0, ""
        for key, want in wants.items():
            bar = placed[want.bar].near
            points = bar.arrises(bar.near if want.at is None else want.at)
            for way, asked in want.reach:
                missing = asked - max(way @ p for p in points)
                moves[key] = moves[key] + way * missing
                if not isfinite(missing) or abs(missing) > worst:
                    worst, name = abs(missing), want.bar
        if worst <= NEAR_MM:
            return piece
    says = "cannot be brought to where its outside is to lie"
    raise InputError.of(name, says, worst, "another place, or a smaller lean", "mm")
