"""Laws of volume: settings cut what is drawn, nothing is twice, nothing is lost.

Knows parts in place, drawn bars and the kernel; measures no face (``bearing`` does) and moves
nothing (``apart`` does).
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator

import attrs

from jointgeo.proof.filled import ROUNDING_MM, to_fill
from jointgeo.proof.finding import TOLERANCE_MM3, Finding
from jointgeo.proof.kernel import WOOD_MM3, Solid
from jointgeo.proof.shop import Placed, Shop

__all__ = ["Pair", "as_drawn", "lost", "pairs", "twice"]


@attrs.frozen
class Pair:
    """Two parts, e.g. ("leg", "rail"). Volumes in mm³.

    joint_mm3: what their trimmed blanks both claim. overlap_mm3, interference_mm3: what both fill,
    beyond what is planned and as planned.
    """

    parts: tuple[str, str]
    joint_mm3: float
    overlap_mm3: float
    interference_mm3: float

    @property
    def both_mm3(self) -> float:
        return self.overlap_mm3 + self.interference_mm3


def as_drawn(shop: Shop) -> Iterator[Finding]:
    """Every part against its bar of the drawing, in its place, by volume both ways.

    Worked out from what both fill: the difference of two bodies that agree but for rounding is a
    sheet without thickness, and its volume means nothing.
    """
    for name, bar in shop.drawn.items():
        part = shop.placed.get(name)
        if part is None:
            continue  # that it has no place has been said
        both = part.solid.meet(bar.solid).volume_mm3
        for what, whole in (
            ("wood the settings leave where none is drawn", part.solid.volume_mm3),
            ("wood that is drawn and the settings take", bar.solid.volume_mm3),
        ):
            because = "settings must cut what is drawn"
            off = max(0.0, whole - both)
            yield Finding.zero(f"{name}: {what}", (name,), off, TOLERANCE_MM3, "mm3", because)


def pairs(shop: Shop) -> tuple[Pair, ...]:
    """Every two parts."""
    tight = [
        notch.slab(cheek, ROUNDING_MM)
        for bar in shop.drawn.values()
        for notch in bar.notches
        for cheek in notch.cheeks
        if cheek.gap_mm < 0
    ]
    interference = Solid.joined(tight)
    out = []
    for a, b in itertools.combinations(shop.placed.values(), 2):
        both = a.solid.meet(b.solid)
        # Parts that only touch share a sheet without thickness: nothing to look into.
        filled = both.volume_mm3 if both.volume_mm3 > WOOD_MM3 else 0.0
        meant = both.meet(interference).volume_mm3 if filled and tight else 0.0
        joint = a.blank.meet(b.blank).volume_mm3
        out.append(Pair((a.name, b.name), joint, max(0.0, filled - meant), meant))
    return tuple(out)


def twice(shop: Shop, found: tuple[Pair, ...]) -> Iterator[Finding]:
    """Overlap beyond what is planned, and wood in space left empty."""
    for pair in found:
        what = "overlap of " + " and ".join(pair.parts)
        because = "two parts cannot be in one place"
        yield Finding.zero(what, pair.parts, pair.overlap_mm3, TOLERANCE_MM3, "mm3", because)
    for box in shop.empty:
        room = shop.space(box)
        for part in shop.placed.values():
            volume = max(0.0, room.room_taken(part.solid, TOLERANCE_MM3))
            what = f"wood of {part.name} in {box.name}"
            because = "space left empty on purpose"
            yield Finding.zero(what, (part.name,), volume, TOLERANCE_MM3, "mm3", because)


def lost(shop: Shop, *, drawn: bool) -> tuple[list[Finding], float]:
    """What was cut away from each bar and is not filled; and all of it, mm³, each place once.

    drawn: whether the parts are known to be as drawn, so that nothing of a bar stands in its own
    notches.
    """
    empty = [shop.space(box, ROUNDING_MM) for box in shop.empty]
    findings: list[Finding] = []
    holed: list[tuple[list[Solid], float]] = []
    for name, bar in shop.drawn.items():
        others = [b for b in shop.drawn.values() if b is not bar]
        inside = [p for p in shop.placed.values() if not (drawn and p.name == name)]
        rooms = to_fill(bar, others, empty)
        hole = max(0.0, sum(_unfilled(room, inside) for room in rooms))
        what = f"{name}: open space where it was cut"
        because = "its mate should fill it but for stated gaps"
        findings.append(Finding.zero(what, (name,), hole, TOLERANCE_MM3, "mm3", because))
        holed += [(rooms, hole)] if hole > TOLERANCE_MM3 else []
    everyone = list(shop.placed.values())
    twice_told = sum(
        _unfilled(a.meet(b), everyone)
        for (mine, _), (other, _) in itertools.combinations(holed, 2)
        for a, b in itertools.product(mine, other)
    )
    return findings, max(0.0, sum(hole for _, hole in holed) - twice_told)


def _unfilled(room: Solid, inside: list[Placed]) -> float:
    """What of ``room`` no part fills.

    Worked out from what each part fills, less what two fill together. Not by taking the parts
    away: what is then left has no thickness.
    """
    filled = [room.meet(part.solid) for part in inside]
    there = [body for body in filled if body.volume_mm3 > WOOD_MM3]
    shared = sum(a.meet(b).volume_mm3 for a, b in itertools.combinations(there, 2))
    return room.volume_mm3 - sum(body.volume_mm3 for body in there) + shared
