"""What a tape shows on a finished piece, measured on its bars.

Knows bars that stand; cuts nothing and asks no file. Corners are those of the end planes: the
shoulder of a jointed end, the end itself of a plain one; at a box's corner the other board's
outside. Edges that are planed after assembly are measured as they are planed.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from jointgeo.geometry.vectors import Vec, Z
from jointgeo.pieces.cutlist import Member
from jointgeo.pieces.rims import Planed, corners, section
from jointgeo.pieces.room import PlacedBar

__all__ = ["board_figures", "tape"]

FLOOR_MM = 1e-6


def tape(
    bars: Iterable[PlacedBar],
    members: Iterable[Member],
    planed: Mapping[str, tuple[Planed, ...]] | None = None,
) -> dict[str, float]:
    """Distances in mm, by what the tape is laid on. planed: of boards that meet at corners, by
    their names; it may be empty for some."""
    placed, edges = {b.name: b for b in bars}, planed or {}
    every = [p for b in placed.values() for p in corners(b, edges.get(b.name, ()))]
    feet = [p for p in every if abs(p.z) <= FLOOR_MM]
    out = {}
    for what, points in (("feet", feet), ("over all", every)):
        if points:
            out[f"{what}, left to right"] = _over([p.x for p in points])
            out[f"{what}, front to back"] = _over([p.y for p in points])
    out["height"] = _highest(every)
    if edges:
        top = [p for p in every if abs(p.z - out["height"]) <= FLOOR_MM]
        out["upper rim, left to right"] = _over([p.x for p in top])
        out["upper rim, front to back"] = _over([p.y for p in top])
    for m in members:
        out[f"{m.name}, length"] = m.length_mm
        out[f"{m.name}, long edge"] = max(m.long_edges_mm)
        out[f"{m.name}, short edge"] = min(m.long_edges_mm)
        first = placed[m.bars[0]]
        if first.name in edges:
            figures = board_figures(first, edges[first.name])
            out |= {f"{m.name}, {what}": value for what, value in figures.items()}
    return out


def board_figures(bar: PlacedBar, edges: tuple[Planed, ...]) -> dict[str, float]:
    """Of a board on its face side, as planed: along its two edges from corner to corner, across
    between them, and how far out the back edge lies over the face edge, level, the way that the
    face side looks."""
    own = bar.near
    on_face = [p for p in section(bar, edges) if abs(own.side("face_side").out(p)) <= FLOOR_MM]
    lower, upper = (max(on_face, key=lambda p: p @ way) for way in (own.edge, -own.edge))
    out = {}
    for what, point in (("face edge", lower), ("back edge", upper)):
        at = [plane.hit(point, own.grain) for plane in bar.planes]
        out[f"outside along the {what}"] = at[1] - at[0]
    across = (upper - lower).across(own.grain)
    out["outside across"] = across.length
    out["leans out"] = across.across(Z) @ own.face.across(Z).unit
    return out


def _over(values: list[float]) -> float:
    return max(values) - min(values)


def _highest(points: list[Vec]) -> float:
    return max(p.z for p in points)
