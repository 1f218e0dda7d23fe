"""What mortises and housings leave of the bar that they are cut into.

Knows bars that stand and their layouts; no joint and no fixture. With the mortise's middle c, its
length ℓ and width b, turned by ρ in a side that is w wide, across the grain

    wall = w/2 - |sideways| - (ℓ·|sin ρ| + b·cos ρ)/2        sideways = (c - bar's middle)·(across)
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator

import attrs

from jointgeo.geometry.boxes import Box, box_gap, turned_box
from jointgeo.geometry.search import greatest
from jointgeo.geometry.vectors import Vec
from jointgeo.joints.check import Check, Remedy, at_least
from jointgeo.joints.fit import LEAST_BEHIND_MM, behind_blind
from jointgeo.joints.sides import in_words
from jointgeo.joints.stock import LayoutBox, Part
from jointgeo.pieces.marks import THROUGH_MM
from jointgeo.pieces.room import PlacedBar

__all__ = ["mortise_checks"]

LEAST_APART_MM = 1.0  # between two mortises; our choice: less breaks through in chopping
LEAST_WALL_MM = 6.0  # beside a mortise; common practice, no published source
TOUCHING_MM = 1e-9  # rounding; two that touch have no wood between them, and fail: our choice


def mortise_checks(placed: PlacedBar, near: Part) -> Iterator[Check]:
    """Of one bar; each with its name as its part."""
    found = [*_apart(near), *_walls(placed, near), *_floors(placed, near), *_ends(near)]
    yield from (attrs.evolve(c, part=placed.name) for c in found)


# Apart --------------------------------------------------------------------------------


def _apart(near: Part) -> Iterator[Check]:
    pairs = list(itertools.combinations(near.layout, 2))
    if not pairs:
        return
    gaps = [box_gap(_box(a), _box(b)) for a, b in pairs]
    why = "wood between two mortises or housings of one bar, glue room included"
    check = at_least("mortises_apart", min(gaps), LEAST_APART_MM, "mm", why, short="caution")
    if check.value < TOUCHING_MM:
        check = attrs.evolve(check, status="fail")
    short = [pair for pair, gap in zip(pairs, gaps, strict=True) if gap < LEAST_APART_MM]
    yield attrs.evolve(check, remedies=tuple(_ways_apart(short))) if short else check


def _ways_apart(pairs: Iterable[tuple[LayoutBox, LayoutBox]]) -> Iterator[Remedy]:
    pairs = list(pairs)
    less = [shallower_by(a, b) for a, b in pairs]
    if all(by is not None for by in less):
        by = max(by for by in less if by is not None)
        deep = max(box.size[1] for pair in pairs for box in pair) - by
        says = (
            f"mortises {by:.4f} mm shallower, and their tenons as much shorter: the deepest of "
            f"those that meet {deep:.4f} mm, glue room included"
        )
        amounts = {"shorter_by_mm": by, "mortise_depth_mm": deep}
        yield Remedy("shorten_tenons", says, amounts)
    along = max(_apart_along(a, b) for a, b in pairs)
    says = f"one moved along the bar by {along:.1f} mm, away from the other"
    yield Remedy("move_along", says, {"move_along_mm": along})


def shallower_by(a: LayoutBox, b: LayoutBox, apart_mm: float = LEAST_APART_MM) -> float | None:
    """By how much both must be shallower to be that far apart, mm; None where no depth does it."""

    def room(more: float) -> float:
        return box_gap(_box(a, -more), _box(b, -more)) - apart_mm

    most = min(a.size[1], b.size[1]) - THROUGH_MM
    found = greatest(room, -most, 0.0)
    return None if found is None else -found


def _apart_along(a: LayoutBox, b: LayoutBox) -> float:
    """How far one must be moved along the grain, away from the other."""
    sign = 1.0 if b.rows[2][3] >= a.rows[2][3] else -1.0

    def room(more: float) -> float:
        return box_gap(_box(a), _box(b, along=-more * sign)) - LEAST_APART_MM

    most = sum(a.size) + sum(b.size) + LEAST_APART_MM
    found = greatest(room, -most, 0.0)
    return most if found is None else -found


def _box(box: LayoutBox, shallower: float = 0.0, along: float = 0.0) -> Box:
    """shallower: at its floor; its opening stays. along: moved along the grain."""
    x, y, z = (Vec(*(row[i] for row in box.rows[:3])) for i in range(3))
    middle = Vec(*(row[3] for row in box.rows[:3])) - y * (shallower / 2) + Vec(0, 0, along)
    a, b, c = box.size
    return turned_box(middle, (x, y, z), (a / 2, (b - shallower) / 2, c / 2))


# Walls, floors, ends ------------------------------------------------------------------


def _walls(placed: PlacedBar, near: Part) -> Iterator[Check]:
    bar = placed.near
    found = []
    for box in near.layout:
        number, size = (0, bar.width) if box.side in ("face_side", "back") else (1, bar.thickness)
        half = sum(abs(box.rows[number][i]) * box.size[i] / 2 for i in (0, 2))
        sideways = box.rows[number][3] - size / 2
        if half - abs(sideways) >= size / 2:
            continue  # a housing, which runs right across
        found.append((size / 2 - abs(sideways) - half, sideways, half, box))
    if not found:
        return
    wall, sideways, half, box = min(found, key=lambda f: f[0])
    why = f"wood beside the mortise on the {in_words(box.side)} where it is least"
    check = at_least("mortise_walls", wall, LEAST_WALL_MM, "mm", why, short="caution")
    if wall <= 0.0:
        why = f"the mortise leaves the {in_words(box.side)}"
        check = attrs.evolve(check, status="fail", because=why)
    if check.status != "pass":
        need = LEAST_WALL_MM - wall
        remedies = []
        if abs(sideways) > THROUGH_MM:
            says = f"the bar that comes to it moved by {abs(sideways):.2f} mm, to the side's middle"
            remedies.append(Remedy("aim_at_side", says, {"move_aside_mm": abs(sideways)}))
        says = f"a mortise that takes {2 * need:.2f} mm less across the grain"
        if 2 * need < 2 * half:
            remedies.append(Remedy("narrow_mortise", says, {"less_across_mm": 2 * need}))
        says = f"this bar {2 * need:.2f} mm larger across that side"
        remedies.append(Remedy("larger_bar", says, {"larger_by_mm": 2 * need}))
        check = attrs.evolve(check, remedies=tuple(remedies))
    yield check


def _floors(placed: PlacedBar, near: Part) -> Iterator[Check]:
    bar = placed.near
    left = [
        (size - box.size[1], box)
        for box in near.layout
        for size in (bar.thickness if box.side in ("face_side", "back") else bar.width,)
        if abs(size - box.size[1]) > THROUGH_MM
    ]
    if not left:
        return
    floor, box = min(left, key=lambda f: f[0])
    why = (
        f"wood behind the blind mortise or housing on the {in_words(box.side)}, glue room "
        "included; with none left it breaks through"
    )
    check = at_least("mortise_floors", floor, LEAST_BEHIND_MM, "mm", why, short="caution")
    check = behind_blind(check)
    if check.status != "pass":
        by = LEAST_BEHIND_MM - floor
        says = (
            f"a tenon {by:.2f} mm shorter, or one as long as the bar is there, "
            f"{floor + box.size[1]:.2f} mm, which goes right through"
        )
        remedy = Remedy("shorten_tenon", says, {"shorter_by_mm": by})
        check = attrs.evolve(check, remedies=(remedy,))
    yield check


def _ends(near: Part) -> Iterator[Check]:
    if not near.layout:
        return
    least, box = min(((_end_wood(near, b), b) for b in near.layout), key=lambda f: f[0])
    why = "wood between a mortise or housing and the nearer end of its bar"
    check = at_least("end_wood", least, 0.0, "mm", why)
    if check.status != "pass":
        says = (
            f"the bar left {-least:.2f} mm longer there, or the mortise on the "
            f"{in_words(box.side)} moved by as much"
        )
        remedy = Remedy("from_end", says, {"from_end_by_mm": -least})
        check = attrs.evolve(check, remedies=(remedy,))
    yield check


def _end_wood(near: Part, box: LayoutBox) -> float:
    """Along the grain, from the box to the nearer of the two datums."""
    half = sum(abs(box.rows[2][i]) * box.size[i] / 2 for i in range(3))
    at = box.rows[2][3]
    return min(at - half, near.length_mm - at - half)
