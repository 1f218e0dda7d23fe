"""A solved bar: where it stands, its two ends, what is struck on it.

Knows parts and marks; solves nothing.
"""

from __future__ import annotations

import attrs

from jointgeo.joints.drawing import Pose
from jointgeo.joints.stock import Part
from jointgeo.pieces.marks import Mark
from jointgeo.pieces.rims import Planed
from jointgeo.pieces.room import PlacedBar

__all__ = ["SolvedBar"]


@attrs.frozen(eq=False)
class SolvedBar:
    """A bar of the answer. placed: in the room; parts: its near and far end; marks: what is struck
    on it; allowances_mm: what either end needs beyond its datum; planed: edges that are planed
    after assembly."""

    placed: PlacedBar
    parts: tuple[Part, Part]
    marks: tuple[Mark, ...]
    allowances_mm: tuple[float, float]
    planed: tuple[Planed, ...] = ()

    @property
    def name(self) -> str:
        return self.placed.name

    @property
    def blank_mm(self) -> float:
        return self.placed.near.length + sum(self.allowances_mm)

    @property
    def pose(self) -> Pose:
        """Room from blank: the near end's frame, z = 0 at the blank's square near end."""
        *rows, last = self.placed.near.pose
        more = self.allowances_mm[0]
        return (*((x, y, z, at - more * z) for x, y, z, at in rows), last)
