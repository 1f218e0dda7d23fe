"""The boards of a piece file, stood up: from their levels and plan to bars in the room.

Knows a file's board entries and levels; copies nothing and joins nothing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import pi, radians, tan

import attrs

from jointgeo.errors import PieceError, Problem, shown
from jointgeo.geometry.vectors import Plane, Vec, Z
from jointgeo.joints.drawing import XFrom
from jointgeo.pieces.boardentries import BoardEntry, plan_of
from jointgeo.pieces.boards import Outside, PlacedBoard, placed_boards

__all__ = ["DrawnBoard", "drawn_boards"]

LEVEL = 1e-12
AWAY = {"x": Vec(1.0, 0.0, 0.0), "y": Vec(0.0, 1.0, 0.0)}


@attrs.frozen
class DrawnBoard:
    """board: over its lower line, near end first. x_from: where x is 0 at its near end."""

    entry: BoardEntry
    board: PlacedBoard
    x_from: XFrom


@attrs.frozen
class _Lower:
    """The outside's lower line, right to left as seen from outside; near_is_left: whether the near
    end is its left-hand one."""

    right: Vec
    left: Vec
    near_is_left: bool = False


def drawn_boards(
    entries: Sequence[BoardEntry], levels: Mapping[str, Plane], turned: int | None
) -> tuple[DrawnBoard, ...]:
    """Every board that is drawn, in order. turned: N of a piece whose one symmetry is "turned N".

    PieceError with every problem where one has no place.
    """
    problems: list[Problem] = []
    lines: dict[str, tuple[_Lower, Outside]] = {}
    for entry in entries:
        try:
            low, high = (_level(w, levels) for w in (entry.lower.level, entry.upper.level))
            if high - low <= 0.0:
                says = "lies no higher than the lower rim"
                raise PieceError.of("upper.level", says, shown(entry.upper.level), "a higher one")
            lower = _lower(entry, turned)
            out = _out(entry, lower, high - low)
            lines[entry.name] = lower, Outside(lower.right, lower.left, out, entry.thickness_mm)
        except PieceError as error:
            problems += error.under(f"board {entry.name}").problems
    if problems:
        raise PieceError(*problems)
    placed: dict[str, PlacedBoard] = {}
    # All boards of one pair of rims are one box: they share the corners of their rims.
    for pair in {(e.lower.level, e.upper.level) for e in entries}:
        names = [e.name for e in entries if (e.lower.level, e.upper.level) == pair]
        low, high = (_level(w, levels) for w in pair)
        boards = placed_boards([lines[n][1] for n in names], high - low)
        for name, board in zip(names, boards, strict=True):
            up = Z * low
            placed[name] = attrs.evolve(board, start=board.start + up, end=board.end + up)
    return tuple(_drawn(entry, lines[entry.name][0], placed[entry.name]) for entry in entries)


def _drawn(entry: BoardEntry, lower: _Lower, board: PlacedBoard) -> DrawnBoard:
    if lower.near_is_left:
        return DrawnBoard(entry, attrs.evolve(board, start=board.end, end=board.start), "back_edge")
    return DrawnBoard(entry, board, "face_edge")


def _level(name: str, levels: Mapping[str, Plane]) -> float:
    plane = levels[name]
    if abs(plane.normal.z - 1.0) > LEVEL:
        says = "falls, and a rim is level"
        raise PieceError.of("level", says, shown(name), "a level of height_mm, or floor")
    return plane.at


def _lower(entry: BoardEntry, turned: int | None) -> _Lower:
    line, near, far = plan_of(entry.lower), plan_of(entry.near), plan_of(entry.far)
    ways = {
        "lower": bool(line),
        "near and far": bool(near or far),
        "lower_edge_mm": entry.lower_edge_mm is not None,
    }
    said = [name for name, there in ways.items() if there]
    if len(said) != 1 or bool(near) != bool(far) or len(line) > 1:
        says = f"its place is said by {' and '.join(said) or 'nothing'}"
        allowed = (
            "one plan distance of lower; or a place of near and one of far; or lower_edge_mm, in "
            'a piece that is "turned N"'
        )
        raise PieceError.of("lower", says, None, allowed)
    if near:
        return _between(Vec(near["x"], near["y"], 0.0), Vec(far["x"], far["y"], 0.0))
    if entry.lower_edge_mm is not None:
        if turned is None or turned < 3:
            allowed = 'symmetry = ["turned N"] with N of 3 or more, and nothing else'
            raise PieceError.of("lower_edge_mm", "goes with a turned piece only", None, allowed)
        half = entry.lower_edge_mm / 2
        axis, at = "y", -half / tan(pi / turned)
    else:
        ((axis, at),) = line.items()
        half = abs(at)
    if at == 0.0:
        says = "lies in the middle, and has no outside"
        raise PieceError.of("lower", says, "0", "above 0 mm", "mm")
    out = AWAY[axis] * (1.0 if at > 0 else -1.0)
    right = Z ^ out
    return _Lower(out * abs(at) + right * half, out * abs(at) - right * half)


def _between(near: Vec, far: Vec) -> _Lower:
    if (near - far).length <= 1e-3:
        raise PieceError.of("near", "is the place of far, too", None, "another place")
    # Seen from outside, which is away from the upright middle, right lies along Z ^ out.
    out = (near - far) ^ Z
    if abs(out @ near) <= LEVEL * out.length * max(1.0, near.length):
        says = "runs through the middle, and has no outside"
        raise PieceError.of("near", says, None, "a board beside the middle")
    return _Lower(near, far) if out @ near > 0 else _Lower(far, near, near_is_left=True)


def _out(entry: BoardEntry, lower: _Lower, climb: float) -> float:
    """How far out the outside goes for each 1 that it climbs."""
    upper = entry.upper
    for sign, lean, sideways in (
        (1.0, upper.out_deg, upper.out_mm),
        (-1.0, upper.in_deg, upper.in_mm),
    ):
        if lean is not None:
            return sign * tan(radians(lean))
        if sideways is not None:
            return sign * sideways / climb
    ((axis, at),) = plan_of(upper).items()
    out = ((lower.right - lower.left) ^ Z).unit
    if abs(abs(out @ AWAY[axis]) - 1.0) > LEVEL:
        says = "is no distance square to this board"
        allowed = "the same way of plan as lower, or out_mm, in_mm, out_deg, in_deg"
        raise PieceError.of("upper", says, f"{abs(at):g}", allowed)
    return (out @ AWAY[axis] * at - out @ lower.right) / climb
