"""Edges that are planed along a whole bar after assembly: level rims of a box.

Knows bars that stand and the joints between them; no joint type by name. A corner's drawing says to
which plane its two boards are planed, as its own two boards need it. Round a box a rim is one
plane: of all corners that hang together, the one that takes most.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import attrs

from jointgeo.geometry.vectors import Plane, Vec
from jointgeo.joints.pockets import bevel
from jointgeo.joints.stock import LayoutBox, layout_box
from jointgeo.pieces.joining import PlacedJoint
from jointgeo.pieces.room import PlacedBar

__all__ = ["Planed", "corners", "planed", "section"]

ALIKE = 1e-9  # of a direction of length 1
EDGES = ("face_edge", "back_edge")
NOTHING_MM = 1e-9  # what is taken from a board whose edge is level already


@attrs.frozen
class Planed:
    """An edge of a bar, planed.

    what: the name that its joints give it; side: the marked side that is planed. plane: in the
    room, looking out of the wood. bevel_deg: off square, positive where the way from the face edge
    to the back edge leans away from the face side. face_mm, back_mm: what comes off the face side
    and off the back, measured on them from the edge. box: what is taken, in the near end's stock
    frame.
    """

    what: str
    side: str
    plane: Plane
    bevel_deg: float
    face_mm: float
    back_mm: float
    box: LayoutBox


def planed(
    placed: Mapping[str, PlacedBar], joints: Iterable[PlacedJoint]
) -> dict[str, tuple[Planed, ...]]:
    """What is planed off every bar, by its name; nothing for most."""
    joints = tuple(joints)
    out: dict[str, tuple[Planed, ...]] = {}
    for group in _together(joints):
        planes: list[tuple[str, Plane]] = []
        for what, plane in (
            (what, plane) for j in joints for bar, what, plane in j.planed if bar in group
        ):
            for i, (known, there) in enumerate(planes):
                if (there.normal - plane.normal).length <= ALIKE:
                    planes[i] = known, min(there, plane, key=lambda p: p.at)
                    break
            else:
                planes.append((what, plane))
        for name in group:
            bar = placed[name]
            found = [_planed(bar, what, plane) for what, plane in planes if _takes(bar, plane)]
            out[name] = tuple(found)
    return out


def _together(joints: Iterable[PlacedJoint]) -> list[set[str]]:
    """Bars that hang together by joints of which some plane an edge."""
    groups: list[set[str]] = []
    for joint in joints:
        if joint.planed or joint.mate_end is not None:
            own = {joint.bar, joint.mate}
            met = [g for g in groups if g & own]
            groups = [g for g in groups if not g & own]
            groups.append(own.union(*met))
    return groups


def _edges(bar: PlacedBar) -> tuple[Vec, ...]:
    return bar.near.arrises(bar.near.near)


def _takes(bar: PlacedBar, plane: Plane) -> bool:
    """Whether there is wood beyond the plane, along the whole bar."""
    along = abs(plane.normal @ bar.near.grain) <= ALIKE
    return along and max(plane.out(p) for p in _edges(bar)) > NOTHING_MM


def _planed(bar: PlacedBar, what: str, plane: Plane) -> Planed:
    own = bar.near
    side = max(EDGES, key=lambda s: own.side(s).normal @ plane.normal)
    pocket = bevel(own, side, what, plane, bar.planes)
    box = layout_box(own, pocket)
    # On a side of the wood, from the arris that goes to where the plane comes out.
    over = own.side(side).normal
    corner = own.middle + over * (own.width / 2)
    off = []
    for half in (own.thickness / 2, -own.thickness / 2):
        arris = corner + own.face * half
        off.append(max(0.0, plane.out(arris) / (plane.normal @ over)))
    return Planed(what, side, plane, pocket.marks["bevel_deg"], off[0], off[1], box)


def section(bar: PlacedBar, edges: Iterable[Planed]) -> tuple[Vec, ...]:
    """The corners of a bar's section as it is planed, square to the bar through its near datum, in
    the order of ``Bar.arrises``."""
    points = list(_edges(bar))
    for edge in edges:
        kept: list[Vec] = []
        for a, b in zip(points, points[1:] + points[:1], strict=True):
            out_a, out_b = edge.plane.out(a), edge.plane.out(b)
            if out_a <= NOTHING_MM:
                kept.append(a)
            if (out_a > NOTHING_MM) != (out_b > NOTHING_MM):
                kept.append(a + (b - a) * (out_a / (out_a - out_b)))
        points = kept
    return tuple(points)


def corners(bar: PlacedBar, edges: Iterable[Planed]) -> list[Vec]:
    """Of both ends of a bar as it is planed, in their planes."""
    points, grain = section(bar, edges), bar.near.grain
    return [p + grain * plane.hit(p, grain) for plane in bar.planes for p in points]
