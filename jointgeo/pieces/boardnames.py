"""The names that the boards of a piece file use, and joints of the wrong kind.

Knows entries and how a joint type's bars meet; places nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from jointgeo.errors import Problem, shown
from jointgeo.pieces.boardentries import BoardEntry
from jointgeo.pieces.entries import BarEntry
from jointgeo.pieces.model import PieceJoint
from jointgeo.pieces.sides import meeting

__all__ = ["names_of", "wrong_kinds", "wrong_names"]


def names_of(board: BoardEntry) -> dict[str, str]:
    """Levels and joints of a board, by where they are said."""
    return {
        "lower.level": board.lower.level,
        "upper.level": board.upper.level,
        "near.joint": board.near.joint,
        "far.joint": board.far.joint,
    }


def wrong_names(
    boards: Iterable[BoardEntry], levels: Sequence[str], joints: Sequence[str]
) -> Iterator[Problem]:
    """Names that stand for nothing."""
    for board in boards:
        for field, name in names_of(board).items():
            of_level = field.endswith("level")
            known = levels if of_level else joints
            if name not in known:
                says = "is no named height" if of_level else "is no joint of this file"
                path, allowed = f"board {board.name}.{field}", f"one of {', '.join(known)}"
                yield Problem(path, says, shown(name), allowed)


def wrong_kinds(
    bars: Iterable[BarEntry], boards: Iterable[BoardEntry], joints: Iterable[PieceJoint]
) -> Iterator[Problem]:
    """Boards meet at corners, whose joints cut an end of either; bars come to a side."""
    corner = {j.name: meeting(j.type).corner for j in joints}
    for bar in bars:
        for where, spot in (("near", bar.near), ("far", bar.far)):
            if spot is not None and spot.joint is not None and corner.get(spot.joint, False):
                path, given = f"bar {bar.name}.{where}.joint", shown(spot.joint)
                allowed = "a joint of a bar's end into a side; or [[board]]"
                yield Problem(path, "joins boards at a corner", given, allowed)
    for board in boards:
        for where, end in (("near", board.near), ("far", board.far)):
            if not corner.get(end.joint, True):
                path, given = f"board {board.name}.{where}.joint", shown(end.joint)
                says = "joins a bar's end to a side of another"
                yield Problem(path, says, given, "a joint of two boards at a corner")
