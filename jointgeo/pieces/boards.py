"""Boards that stand as the sides of a box: from where their outsides lie to bars in the room.

Knows vectors only. A side is given by the line in which its outside meets the level lower rim, and
by how far it goes out as it climbs. A board's section is a rectangle that leans, so its back is
higher or lower than its outside; for level rims each board is made wider by what is planed off, and
all boards of one box by as much in height, so that they share the corners of their rims.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot

import attrs

from jointgeo.geometry.vectors import Vec, Z

__all__ = ["Outside", "PlacedBoard", "placed_boards"]


@attrs.frozen
class Outside:
    """right, left: points of the lower line, as seen from outside. out: how far (mm) the outside
    goes out for each 1 mm that it climbs; negative leans in."""

    right: Vec
    left: Vec
    out: float
    thickness: float

    @property
    def level(self) -> Vec:
        """Out of the box, level; unit vector."""
        return ((self.right - self.left) ^ Z).unit


@attrs.frozen
class PlacedBoard:
    """width: before the rims are planed. start, end: of its middle line, right to left as seen
    from outside. face: out of its outside."""

    width: float
    thickness: float
    start: Vec
    end: Vec
    face: Vec


def placed_boards(sides: Sequence[Outside], height: float) -> tuple[PlacedBoard, ...]:
    """Boards whose rims, planed level, lie at the given lines and so far (mm) above them."""
    lifts = [s.thickness * s.out / hypot(1.0, s.out) for s in sides]
    below, above = max(0.0, *lifts), max(0.0, *(-lift for lift in lifts))
    out = []
    for side in sides:
        steep = hypot(1.0, side.out)  # 1 / cos of the slope
        p = side.level
        face, up = (p - Z * side.out) / steep, (p * side.out + Z) / steep
        width = (height + below + above) * steep
        sideways = up * (width / 2 - below * steep) - face * (side.thickness / 2)
        ends = side.right + sideways, side.left + sideways
        out.append(PlacedBoard(width, side.thickness, *ends, face))
    return tuple(out)
