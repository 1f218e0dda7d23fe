"""Where the two bars of a joint bear on each other, read off its drawing.

Knows drawings and vectors; no joint type, no piece. Nobody lists what should touch: faces that
notches and pockets make, and the sides of bars, are held against each other. Two bear on each other
if they look at each other, lie no further apart than the stated gap, and share some area. The bar
may then move only away from such a face or along it: v·n ≤ 0, v the bar's way against its mate and
n the normal of its own face. What leaves nothing but that is the joint's cone.

With its play a wall gives way a little: of two that face each other, g the clearance between them
both and d the depth, a bar that is drawn out leans by up to g/(2·d).
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence

import attrs

from jointgeo.geometry.vectors import INF, Plane, Vec
from jointgeo.joints.drawing import Bar, Block, Drawing, Notch

__all__ = ["Contact", "Contacts", "contacts", "keyed"]

OPPOSITE = 1e-9  # one plus the cosine: 0.003°
NEAR_MM = 1e-6
LEAST_MM2 = 0.01  # faces that share less bear nothing
INTO_MM = 1e-3  # into the wood: whether there is any behind a wall
Polygon = tuple[Vec, ...]


@attrs.frozen
class Contact:
    """normal: of the bar's own face; play_mm: how far the mate's face lies before it."""

    normal: Vec
    play_mm: float


@attrs.frozen
class Contacts:
    """Of a joint, in the drawing's world. walls: each direction once. out: the way in which the bar
    is drawn out; depth_mm: how deep it goes in."""

    walls: tuple[Contact, ...]
    out: Vec
    depth_mm: float

    def lean(self, wall: Contact) -> float:
        """How far past square to a wall the bar may go for 1 that it goes out."""
        facing = [w.play_mm for w in self.walls if w.normal @ wall.normal <= -1.0 + OPPOSITE]
        if not facing:
            return 0.0
        return max(0.0, wall.play_mm + min(facing)) / (2 * self.depth_mm)


@attrs.frozen
class _Face:
    plane: Plane
    corners: Polygon


def contacts(drawing: Drawing) -> Contacts:
    """Of the drawing's first two bars."""
    bar, mate = drawing.bars[:2]
    gaps = [abs(c.gap if c.gap is not None else n.gap) for n in drawing.notches for c in n.channels]
    widest = max([0.0, *gaps]) + NEAR_MM
    theirs = tuple(_faces(drawing, mate))
    found: list[Contact] = []
    for face in _faces(drawing, bar):
        for other in theirs:
            if face.plane.normal @ other.plane.normal > -1.0 + OPPOSITE:
                continue
            apart = -(face.plane.at + other.plane.at)
            if abs(apart) <= widest and _shared(face, other) >= LEAST_MM2:
                found.append(Contact(face.plane.normal, apart))
    return Contacts(_once(found), *_drawn_out(drawing))


def keyed(drawing: Drawing) -> Contacts:
    """The same; where nothing that is cut holds the bar across the way it is drawn out, a dowel or
    a loose tenon does, which no drawing has: then it goes along its slide only."""
    found = contacts(drawing)
    if not found.walls or any(
        (w.normal ^ found.walls[0].normal).length > NEAR_MM for w in found.walls
    ):
        return found
    bar, mate = drawing.bars[:2]
    slide = drawing.slides.get(bar.name)
    if slide is None:
        slide = -drawing.slides[mate.name] if mate.name in drawing.slides else bar.grain
    along = slide.unit
    x = min(bar.axes, key=lambda a: abs(a @ along)).across(along).unit
    y = along ^ x
    loose = tuple(Contact(way * sign, 0.0) for way in (x, y) for sign in (1.0, -1.0))
    return attrs.evolve(found, walls=(*found.walls, *loose))


def _once(found: Sequence[Contact]) -> tuple[Contact, ...]:
    """Each direction with the least play there is."""
    out: list[Contact] = []
    for contact in found:
        for i, known in enumerate(out):
            if known.normal @ contact.normal >= 1.0 - OPPOSITE:
                out[i] = min(known, contact, key=lambda c: c.play_mm)
                break
        else:
            out.append(contact)
    return tuple(out)


def _drawn_out(drawing: Drawing) -> tuple[Vec, float]:
    """Away from the floor of what is cut; along the slide where nothing is."""
    bar, mate = drawing.bars[:2]
    for sign, own in ((1.0, bar), (-1.0, mate)):
        for notch in drawing.notches:
            if notch.bar == own.name and notch.channels:
                return -notch.end.normal * sign, max(c.depth for c in notch.channels)
    for sign, own in ((1.0, bar), (-1.0, mate)):
        if own.name in drawing.slides:
            return drawing.slides[own.name].unit * sign, 1.0
    return bar.grain, 1.0


# Faces ------------------------------------------------------------------------------------


def _faces(drawing: Drawing, bar: Bar) -> Iterator[_Face]:
    notches = [n for n in drawing.notches if n.bar == bar.name]
    ends = [n.end for n in notches] or [bar.near]
    sides = [bar.side(s) for s in ("face_side", "back", "face_edge", "back_edge")]
    body = [*sides, *ends, bar.far]
    for side in sides:
        yield from _cut(bar, side, [p for p in body if p is not side])
    for notch in notches:
        yield from _made(bar, notch, [*sides, bar.far])
    for pocket in drawing.pockets:
        if pocket.bar == bar.name:
            yield from _walls(bar, pocket.block, body)


def _made(bar: Bar, notch: Notch, body: list[Plane]) -> Iterator[_Face]:
    """Cheeks and floors of a notch, and what its channels leave of the end."""
    edge = -INF
    for c in sorted(notch.channels, key=lambda c: c.low):
        floor = notch.end.moved(-c.depth)
        low, high = Plane(notch.across, c.low), Plane(-notch.across, -c.high)
        above = [*body, notch.end, Plane(-floor.normal, -floor.at)]
        for cheek in (low, high):
            if abs(cheek.at) < INF:
                yield from _cut(bar, cheek, above)
        yield from _cut(bar, floor, [*body, *_between(notch.across, c.low, c.high)])
        if edge < c.low:
            yield from _cut(bar, notch.end, [*body, *_between(notch.across, edge, c.low)])
        edge = max(edge, c.high)
    if edge < INF:
        yield from _cut(bar, notch.end, [*body, *_between(notch.across, edge, INF)])


def _between(across: Vec, low: float, high: float) -> list[Plane]:
    """Planes looking out of the slab between two places along a direction."""
    found = Plane(-across, -low), Plane(across, high)
    return [p for p in found if abs(p.at) < INF]


def _walls(bar: Bar, block: Block, body: list[Plane]) -> Iterator[_Face]:
    """What a pocket leaves standing round it; where it is open there is no wood behind."""
    sides = [
        Plane.through(block.middle + axis * (sign * size / 2), axis * sign)
        for axis, size in zip(block.axes, block.size, strict=True)
        for sign in (1.0, -1.0)
    ]
    for side in sides:
        behind = [*body, *(p for p in sides if p is not side)]
        for face in _cut(bar, side.moved(INTO_MM), behind):
            looks = Plane(-side.normal, -side.at)
            yield _Face(looks, tuple(p - side.normal * INTO_MM for p in face.corners))


def _cut(bar: Bar, plane: Plane, body: Sequence[Plane]) -> Iterator[_Face]:
    """The part of a plane that lies inside all of ``body``, if there is any."""
    reach = 4.0 * (bar.length + bar.width + bar.thickness)
    middle = bar.middle - plane.normal * plane.out(bar.middle)
    x = min(bar.axes, key=lambda a: abs(a @ plane.normal)).across(plane.normal).unit * reach
    y = plane.normal ^ x
    corners: Polygon = (middle + x + y, middle - x + y, middle - x - y, middle + x - y)
    for limit in body:
        corners = _clipped(corners, limit)
    if len(corners) > 2:
        yield _Face(plane, corners)


def _clipped(corners: Polygon, limit: Plane) -> Polygon:
    """What of a convex polygon lies inside a plane."""
    out: list[Vec] = []
    for a, b in zip(corners, (*corners[1:], *corners[:1]), strict=True):
        here, there = limit.out(a), limit.out(b)
        if here <= 0.0:
            out.append(a)
        if (here <= 0.0) != (there <= 0.0):
            out.append(a + (b - a) * (here / (here - there)))
    return tuple(out)


def _shared(face: _Face, other: _Face) -> float:
    """Area of what two parallel faces have in common, one seen on the other, mm²."""
    middle = sum(other.corners, Vec(0.0, 0.0, 0.0)) / len(other.corners)
    left = face.corners
    for a, b in zip(other.corners, (*other.corners[1:], *other.corners[:1]), strict=True):
        out = (b - a) ^ face.plane.normal
        if out.length <= NEAR_MM:
            continue
        plane = Plane.through(a, out.unit)
        left = _clipped(left, plane if plane.out(middle) < 0 else Plane(-plane.normal, -plane.at))
    if len(left) < 3:
        return 0.0
    turns = ((b - left[0]) ^ (c - left[0]) for b, c in itertools.pairwise(left[1:]))
    return sum(turns, Vec(0.0, 0.0, 0.0)).length / 2
