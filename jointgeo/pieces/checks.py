"""What only the whole piece shows: mortises that meet inside a bar, and bars that end in the air.

Knows bars that stand and their layouts; no joint and no fixture.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable

import attrs

from jointgeo.geometry.boxes import Box, box_gap, turned_box
from jointgeo.geometry.vectors import Vec
from jointgeo.joints.check import Check, at_least
from jointgeo.joints.stock import LayoutBox, Part
from jointgeo.pieces.room import Stands

__all__ = ["piece_checks"]

LEAST_WALL_MM = 1.0  # between two mortises; our choice: less breaks through in chopping


def piece_checks(bars: Iterable[tuple[Stands, Part]]) -> tuple[Check, ...]:
    """Checks of all bars; each with the name of its bar as its part."""
    return tuple(c for stands, near in bars for c in _of_bar(stands, near))


def _of_bar(stands: Stands, near: Part) -> Iterable[Check]:
    boxes = [_box(b) for b in near.layout]
    gaps = [box_gap(a, b) for a, b in itertools.combinations(boxes, 2)]
    if gaps:
        why = "wood between two mortises or housings of one bar, glue room included"
        check = at_least("mortises_apart", min(gaps), LEAST_WALL_MM, "mm", why, short="caution")
        if check.value is not None and check.value < 0:
            check = attrs.evolve(check, status="fail")
        yield attrs.evolve(check, part=stands.name)
    outside = [_end_wood(near, b) for b in near.layout]
    if outside:
        why = "wood between a mortise or housing and the nearer end of its bar"
        yield attrs.evolve(at_least("end_wood", min(outside), 0.0, "mm", why), part=stands.name)


def _end_wood(near: Part, box: LayoutBox) -> float:
    """Along the grain, from the box to the nearer of the two datums."""
    half = sum(abs(box.rows[2][i]) * box.size[i] / 2 for i in range(3))
    at = box.rows[2][3]
    return min(at - half, near.length_mm - at - half)


def _box(box: LayoutBox) -> Box:
    middle = Vec(*(row[3] for row in box.rows[:3]))
    x, y, z = (Vec(*(row[i] for row in box.rows[:3])) for i in range(3))
    a, b, c = box.size
    return turned_box(middle, (x, y, z), (a / 2, b / 2, c / 2))
