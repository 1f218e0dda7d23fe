"""What a tape will show on a piece that is drawn and not yet solved.

Knows bars that stand and the tape; for piece types, whose members are not found from geometry yet.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import groupby

from jointgeo.pieces.cutlist import Member
from jointgeo.pieces.room import PlacedBar
from jointgeo.pieces.tape import tape

__all__ = ["tape_of"]


def tape_of(bars: Iterable[PlacedBar]) -> dict[str, float]:
    """Distances in mm, by what the tape is laid on, as ``tape`` names them. Of bars that follow
    each other and have one name before the comma the first is measured."""
    placed = list(bars)
    kinds = groupby(placed, key=lambda b: b.name.split(",")[0])
    return tape(placed, [_member(name, next(kind)) for name, kind in kinds])


def _member(name: str, bar: PlacedBar) -> Member:
    near, edges = bar.near, bar.long_edges
    size = near.width, near.thickness, near.length, near.length
    return Member(name, (bar.name,), 1, 0, *size, edges, "")
