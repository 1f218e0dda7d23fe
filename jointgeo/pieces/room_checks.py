"""How the bars of a piece stand to each other, to the floor, and to the top that lies on them.

Knows a piece, bars that stand and their joints; no fixture. A bar of depth D and thickness t that
leans by ℓ, its middle where an upright one's would lie, stands proud of the level of its top by

    D/2·(cos ℓ - 1) + t/2·sin ℓ
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence

import attrs

from jointgeo.geometry.prisms import Prism, prism_gap
from jointgeo.geometry.vectors import INF, Plane, Vec, Z, angle_between
from jointgeo.joints.check import Check, Remedy, at_least, at_most
from jointgeo.joints.drawing import Block
from jointgeo.pieces.joining import PlacedJoint
from jointgeo.pieces.model import Joined, Piece, Plain
from jointgeo.pieces.rims import corners, planed
from jointgeo.pieces.room import PlacedBar
from jointgeo.pieces.sides import side_towards

__all__ = ["room_checks"]

TOUCHING_MM = 1e-6  # rounding of bars that lie against each other, of ends that stand on the floor
FLAT_MM = 0.05  # a foot that is off by less is planed flat; the least that a tape shows
FOOT_MM = 25.0  # a plain lower end further off the floor is none of its feet; our choice
CLIMBS = 0.5  # sine; a bar that stands steeper than 30° may have a foot
LEVEL = 0.05  # sine; a bar within 3° of a plane lies along it
UPRIGHT_DEG = 1e-6


def room_checks(
    piece: Piece, bars: Sequence[PlacedBar], joints: Sequence[PlacedJoint]
) -> Iterator[Check]:
    """Each with the name of its bar, or of both, as its part."""
    yield from _bars_apart(piece, bars)
    yield from _on_floor(bars, joints)
    yield from _feet(piece, bars)
    yield from _proud(piece, bars)


# Bars that run through each other -------------------------------------------------------


def _bars_apart(piece: Piece, bars: Sequence[PlacedBar]) -> Iterator[Check]:
    joined = {
        frozenset((bar.name, end.mate))
        for bar in piece.bars
        for end in (bar.near, bar.far)
        if isinstance(end, Joined)
    }
    solids = {b.name: _prism(b) for b in bars}
    nearest, pair, told = INF, ("", ""), False
    for one, other in itertools.combinations(solids, 2):
        if frozenset((one, other)) in joined:
            continue
        gap = prism_gap(solids[one], solids[other], nearest)
        if gap < -TOUCHING_MM:
            told = True
            yield _crossing(gap, one, other)
        elif gap < nearest:
            nearest, pair = gap, (one, other)
    if not told and nearest < INF:
        yield _crossing(max(nearest, 0.0), *pair)


def _crossing(gap: float, one: str, other: str) -> Check:
    why = "bars without a joint between them must not be in one place; the two that come nearest"
    if gap < 0:
        why = "they run through each other, and no joint is cut for it"
    check = at_least("bars_apart", gap, 0.0, "mm", why)
    if check.status != "pass":
        says = f"one of the two moved by {-gap:.2f} mm or more, or a joint between them"
        check = attrs.evolve(check, remedies=(Remedy("move_bar", says, {"move_by_mm": -gap}),))
    return attrs.evolve(check, part=f"{one} and {other}")


def _prism(placed: PlacedBar) -> Prism:
    bar = placed.near
    x, y, z = bar.axes
    normals = tuple(p.normal for p in placed.planes)
    corners = tuple(p for plane in placed.planes for p in bar.arrises(plane))
    edges = (z, *(n ^ side for n in normals for side in (x, y)))
    return Prism(corners, (x, y, *normals), edges)


# On the floor ---------------------------------------------------------------------------


def _on_floor(bars: Sequence[PlacedBar], joints: Sequence[PlacedJoint]) -> Iterator[Check]:
    """Of the lowest corner that is still wood once the joints are cut."""
    gone: dict[str, list[Block]] = {}
    for joint in joints:
        cut = joint.drawing.bars[0]
        for pocket in (p for p in joint.drawing.pockets if p.planed is None):
            name = joint.bar if pocket.bar == cut.name else joint.mate
            block, way = pocket.block, joint.placement
            a, b, c = (way.way(axis) for axis in block.axes)
            placed = attrs.evolve(block, middle=way.place(block.middle), axes=(a, b, c))
            gone.setdefault(name, []).append(placed)
    edges = planed({b.name: b for b in bars}, joints)
    lowest = [
        (min((p.z for p in there if not _inside(gone.get(b.name, ()), p)), default=INF), b)
        for b in bars
        for there in (corners(b, edges.get(b.name, ())),)
    ]
    low, bar = min(lowest, key=lambda f: f[0])
    if low == INF:
        return
    low = 0.0 if abs(low) <= TOUCHING_MM else low
    why = "nothing of the piece may lie below the floor; its lowest corner"
    check = at_least("above_floor", low, 0.0, "mm", why)
    if check.status != "pass":
        says = f"the piece raised by {-low:.2f} mm, or this bar ended at the floor"
        check = attrs.evolve(check, remedies=(Remedy("raise", says, {"raise_by_mm": -low}),))
    yield attrs.evolve(check, part=bar.name)


def _corners(placed: PlacedBar) -> list[Vec]:
    return [p for plane in placed.planes for p in placed.near.arrises(plane)]


def _inside(blocks: Sequence[Block], point: Vec) -> bool:
    """Whether it lies in one of the boxes."""
    return any(
        all(
            abs(axis @ (point - b.middle)) <= size / 2 + TOUCHING_MM
            for axis, size in zip(b.axes, b.size, strict=True)
        )
        for b in blocks
    )


def _feet(piece: Piece, bars: Sequence[PlacedBar]) -> Iterator[Check]:
    """Of the foot whose corner is furthest off the floor."""
    feet = []
    for bar in bars:
        given = piece.bar(bar.name)
        for end, plane in zip((given.near, given.far), bar.planes, strict=True):
            if not isinstance(end, Plain) or plane.normal.z >= 0 or abs(bar.near.grain.z) < CLIMBS:
                continue
            at = [p.z for p in bar.near.arrises(plane)]
            if abs(min(at)) <= FOOT_MM:
                feet.append((max(map(abs, at)), min(map(abs, at)), bar.name))
    if not feet:
        return
    off, least, name = max(feet)
    why = f"every corner of every foot stands on the floor, to {FLAT_MM:g} mm"
    check = at_most("feet_level", off, FLAT_MM, "mm", why)
    if check.status != "pass":
        if least <= FLAT_MM:  # it touches, and stands on an arris or a corner
            why = "it would stand on an edge or a corner, and not on the whole of its foot"
            check = attrs.evolve(check, status="caution", because=why)
        says = 'the end cut to the floor: level = "floor", cut = "level"'
        check = attrs.evolve(check, remedies=(Remedy("cut_to_floor", says, {"off_mm": off}),))
    yield attrs.evolve(check, part=name)


# Proud of the top -----------------------------------------------------------------------


def _proud(piece: Piece, bars: Sequence[PlacedBar]) -> Iterator[Check]:
    """Of every bar that comes, near its top, to bars which end in a plane above: the top lies on
    those ends."""
    placed = {b.name: b for b in bars}
    for bar in bars:
        given = piece.bar(bar.name)
        mates = [e.mate for e in (given.near, given.far) if not isinstance(e, Plain)]
        tops = [top for name in mates for top in _tops(piece, placed[name])]
        along = [top for top in tops if abs(top.normal @ bar.near.grain) <= LEVEL]
        if not along:
            continue
        over, top = max(
            ((max(top.out(p) for p in _corners(bar)), top) for top in along), key=lambda f: f[0]
        )
        if abs(over) > max(bar.near.width, bar.near.thickness):
            continue  # another level, and no bar that carries the top
        yield attrs.evolve(_over(bar, over, top), part=bar.name)


def _tops(piece: Piece, bar: PlacedBar) -> list[Plane]:
    given = piece.bar(bar.name)
    ends = zip((given.near, given.far), bar.planes, strict=True)
    return [plane for end, plane in ends if isinstance(end, Plain) and plane.normal @ Z > CLIMBS]


def _over(placed: PlacedBar, over: float, top: Plane) -> Check:
    over = 0.0 if abs(over) <= TOUCHING_MM else over
    bar = placed.near
    leans = angle_between(bar.side(side_towards(bar, top.normal)).normal, top.normal)
    why = "its highest corner over the plane in which the bars that it joins end: a top lies there"
    check = at_most("stands_proud", over, 0.0, "mm", why, short="caution")
    if check.status == "pass":
        return check
    says = f'lowered by {over:.4f} mm: its level is that of its highest corner (edge = "top")'
    remedies = [Remedy("stay_below", says, {"lower_by_mm": over})]
    if leans > UPRIGHT_DEG:
        says = f"its upper edge planed to a bevel of {leans:.4f}°, {over:.4f} mm off the high arris"
        amounts = {"bevel_deg": leans, "off_arris_mm": over}
        remedies.append(Remedy("bevel_edge", says, amounts))
    return attrs.evolve(check, remedies=tuple(remedies))
