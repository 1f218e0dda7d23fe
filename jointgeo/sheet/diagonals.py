"""The diagonals to measure on a piece that is together: over its feet.

Knows pieces as they stand; makes no page. Of every bar that comes to the floor the corner furthest
from the middle is taken, and its distance to the one that is furthest from it; of three, all.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator

import attrs

from jointgeo.geometry.vectors import Vec
from jointgeo.sheet.piece_model import PieceSheet

__all__ = ["Diagonal", "diagonals"]

LEVEL_MM = 0.01


@attrs.frozen
class Diagonal:
    """says: from where to where."""

    says: str
    mm: float


def diagonals(sheet: PieceSheet) -> Iterator[Diagonal]:
    """Those over the feet; none for a piece that does not stand on three or more of them."""
    outer: dict[str, Vec] = {}
    corners: dict[str, list[Vec]] = {}
    for bar in sheet.solved.answer.bars:
        placed = bar.placed
        points = [p for plane in placed.planes for p in placed.near.arrises(plane)]
        low = [p for p in points if abs(p.z) < LEVEL_MM]
        if low:
            corners[bar.name] = low
    if len(corners) < 3:
        return
    every = [p for low in corners.values() for p in low]
    middle = sum(every, Vec(0.0, 0.0, 0.0)) / len(every)
    for name, low in corners.items():
        outer[name] = max(low, key=lambda p: (p - middle).length)
    furthest = {
        frozenset((a, max(outer, key=lambda b: (outer[b] - p).length))) for a, p in outer.items()
    }
    for (a, p), (b, q) in itertools.combinations(outer.items(), 2):
        if len(outer) == 3 or frozenset((a, b)) in furthest:
            yield Diagonal(f"outer corner of {a} to that of {b}, at the floor", (p - q).length)
