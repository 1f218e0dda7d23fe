"""Rims of the boards of ``angled_box_joint``, and how its boards stand, measured on drawings.

Knows bars and drawings; no parameter. Each board's section is a rectangle that leans, so one arris
of an edge stands higher than the other; a level rim goes through the one that leaves the other
board its own, both boards together.
"""

from __future__ import annotations

from math import atan2, degrees, sqrt

import attrs

from jointgeo.plugin import Bar, Drawing, Vec

__all__ = ["NOTHING_MM", "Rims", "lean_deg", "long_edge", "rims", "rims_as_drawn", "root_shift"]

NOTHING_MM = 1e-9  # a rim of an upright board is level but for rounding of 1e-13


@attrs.frozen
class Rims:
    """Heights in mm. low, high: of the level rims. boards: the lowest and the highest arris of
    each board."""

    low: float
    high: float
    boards: tuple[tuple[float, float], ...]


def rims(boards: tuple[Bar, ...], up: Vec) -> Rims:
    """The level rims that take least off these boards."""
    lower = [_heights(b, "face_edge", up) for b in boards]
    upper = [_heights(b, "back_edge", up) for b in boards]
    spans = tuple((min(low), max(high)) for low, high in zip(lower, upper, strict=True))
    return Rims(max(map(max, lower)), min(map(min, upper)), spans)


def long_edge(board: Bar, other: Bar) -> float:
    """Along the edge where face side and face edge meet, from the other's face side."""
    arris = board.middle + board.face * (board.thickness / 2) + board.edge * (board.width / 2)
    return board.length - other.side("face_side").hit(arris, board.grain)


def lean_deg(board: Bar, up: Vec) -> float:
    """How far a board leans towards its face side from upright."""
    return degrees(atan2(-(board.face @ up), -(board.edge @ up)))


def root_shift(boards: tuple[Bar, Bar], up: Vec) -> float:
    """How far along the corner edge ``up`` a rim runs between a finger's end and its root."""
    a, b = boards
    c = a.face @ b.face
    runs = []
    for own, other in ((a, b), (b, a)):
        deepest = max(other.thickness - y * c for y in (0.0, own.thickness))
        runs.append(abs((up @ own.grain) / (up @ own.edge)) * deepest)
    return max(runs) / sqrt(1.0 - c * c)


def _heights(board: Bar, edge: str, up: Vec) -> tuple[float, float]:
    """Of an edge's two arrises, the face side's first."""
    half = board.middle + board.side(edge).normal * (board.width / 2)
    face = board.face * (board.thickness / 2)
    return (half + face) @ up, (half - face) @ up


def rims_as_drawn(
    drawing: Drawing, up: Vec, slopes: tuple[float, float]
) -> dict[str, tuple[float, float]]:
    """What must be equal of the bevels, {what: (drawn, asked)}: level, at the height that all
    arrises ask for, at the slope of their board, along all of it; and none where there is nothing
    to take."""
    out = {}
    a, b = drawing.bars
    found = rims((a, b), up)
    for board, slope, (low, high) in zip((a, b), slopes, found.boards, strict=True):
        for edge, name, of, kept, takes in (
            ("face_edge", "lower rim bevel", -1, found.low, low < found.low - NOTHING_MM),
            ("back_edge", "upper rim bevel", 1, found.high, high > found.high + NOTHING_MM),
        ):
            boxes = [p for p in drawing.pockets if (p.bar, p.side) == (board.name, edge)]
            where = f"{name} of {board.name}"
            out[f"number of the {where}"] = float(len(boxes)), float(takes)
            for box in boxes:
                _, y, z = box.block.axes
                height = of * (box.block.middle @ z - box.block.size[2] / 2)
                out[f"{where} level"] = z @ up, of
                out[f"height of the {where}"] = height, kept
                out[f"angle of the {where}"] = box.marks["bevel_deg"], slope
                ends = [n.end for n in drawing.notches if n.bar == board.name] + [board.far]
                tips = [abs((p - box.block.middle) @ y) for e in ends for p in board.arrises(e)]
                out[f"{where} short of a tip"] = max(0.0, max(tips) - box.block.size[1] / 2), 0.0
    return out
