"""What a tape shows on a finished piece, measured on its bars.

Knows bars that stand; cuts nothing and asks no file. Corners are those of the end planes: the
shoulder of a jointed end, the end itself of a plain one.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import groupby

from jointgeo.geometry.vectors import Vec
from jointgeo.pieces.cutlist import Member
from jointgeo.pieces.room import Stands

__all__ = ["tape", "tape_of"]

FLOOR_MM = 1e-6


def tape(bars: Iterable[Stands], members: Iterable[Member]) -> dict[str, float]:
    """Distances in mm, by what the tape is laid on."""
    out = _outside(list(bars))
    for m in members:
        out |= _member(m.name, m.length_mm, m.long_edges_mm)
    return out


def tape_of(bars: Iterable[Stands]) -> dict[str, float]:
    """The same of bars that are not solved yet: each kind by what stands before the comma of its
    name, measured on its first."""
    stands = list(bars)
    out = _outside(stands)
    for name, kind in groupby(stands, key=lambda b: b.name.split(",")[0]):
        first = next(kind)
        out |= _member(name, first.near.length, first.long_edges)
    return out


def _outside(stands: list[Stands]) -> dict[str, float]:
    corners = [p for b in stands for plane in b.planes for p in b.near.arrises(plane)]
    feet = [p for p in corners if abs(p.z) <= FLOOR_MM]
    out = {}
    for what, points in (("feet", feet), ("over all", corners)):
        if points:
            out[f"{what}, left to right"] = _over([p.x for p in points])
            out[f"{what}, front to back"] = _over([p.y for p in points])
    out["height"] = _highest(corners)
    return out


def _member(name: str, length: float, edges: tuple[float, ...]) -> dict[str, float]:
    return {
        f"{name}, length": length,
        f"{name}, long edge": max(edges),
        f"{name}, short edge": min(edges),
    }


def _over(values: list[float]) -> float:
    return max(values) - min(values)


def _highest(corners: list[Vec]) -> float:
    return max(p.z for p in corners)
