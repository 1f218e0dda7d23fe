"""What a tape shows on a finished piece, measured on its bars.

Knows bars that stand; cuts nothing and asks no file. Corners are those of the end planes: the
shoulder of a jointed end, the end itself of a plain one.
"""

from __future__ import annotations

from collections.abc import Iterable

from jointgeo.geometry.vectors import Vec
from jointgeo.pieces.cutlist import Member
from jointgeo.pieces.room import Stands

__all__ = ["tape"]

FLOOR_MM = 1e-6


def tape(bars: Iterable[Stands], members: Iterable[Member]) -> dict[str, float]:
    """Distances in mm, by what the tape is laid on."""
    stands = list(bars)
    corners = [p for b in stands for plane in b.planes for p in b.near.arrises(plane)]
    feet = [p for p in corners if abs(p.z) <= FLOOR_MM]
    out = {}
    for what, points in (("feet", feet), ("over all", corners)):
        if points:
            out[f"{what}, left to right"] = _over([p.x for p in points])
            out[f"{what}, front to back"] = _over([p.y for p in points])
    out["height"] = _highest(corners)
    for m in members:
        out[f"{m.name}, length"] = m.length_mm
        out[f"{m.name}, long edge"] = max(m.long_edges_mm)
        out[f"{m.name}, short edge"] = min(m.long_edges_mm)
    return out


def _over(values: list[float]) -> float:
    return max(values) - min(values)


def _highest(corners: list[Vec]) -> float:
    return max(p.z for p in corners)
