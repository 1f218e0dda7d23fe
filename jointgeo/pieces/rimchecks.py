"""Whether planing a rim leaves the outermost fingers of a corner.

Knows standing joints and planed edges; no joint type by name. The two boards of a corner cross in a
prism with four edges along the corner: each board's outside and back with the other's. On each the
rim must stay clear of the nearest wall of a cut, or the finger there is cut off at its end or at
its root.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping
from math import isfinite

import attrs

from jointgeo.geometry.vectors import Plane, meet
from jointgeo.joints.check import Check, at_least
from jointgeo.pieces.joining import PlacedJoint
from jointgeo.pieces.rims import Planed
from jointgeo.pieces.room import PlacedBar

__all__ = ["rim_checks"]


def rim_checks(
    placed: Mapping[str, PlacedBar],
    joints: Iterable[PlacedJoint],
    edges: Mapping[str, tuple[Planed, ...]],
) -> tuple[Check, ...]:
    """One for each joint of the piece whose corners have planed rims: the least of them; with the
    joint's name as its part."""
    least: dict[str, float] = {}
    for joint in joints:
        if joint.mate_end is None:
            continue
        planes = [e.plane for name in (joint.bar, joint.mate) for e in edges.get(name, ())]
        for plane in planes:
            found = _left(placed, joint, plane)
            if found is not None:
                least[joint.name] = min(found, least.get(joint.name, found))
    why = "wood between a planed rim and the nearest cut: less, and the end finger falls off"
    return tuple(
        attrs.evolve(at_least("rim_wood", value, 0.0, "mm", why), part=name)
        for name, value in least.items()
    )


def _left(placed: Mapping[str, PlacedBar], joint: PlacedJoint, plane: Plane) -> float | None:
    """Along the corner, from a rim to the nearest wall of a cut; None where none faces it."""
    notch = joint.drawing.notches[0]
    up = joint.placement.way(notch.across)
    walls = [
        way * bound
        for n in joint.drawing.notches
        for way in (n.across @ notch.across,)
        for c in n.channels
        for bound in (c.low, c.high)
        if isfinite(bound)
    ]
    if not walls:
        return None
    sides = (
        [placed[name].near.side(s) for s in ("face_side", "back")]
        for name in (joint.bar, joint.mate)
    )
    rims = [meet(a, b, plane) - joint.placement.at for a, b in itertools.product(*sides)]
    if plane.normal @ up > 0:
        return min(up @ p for p in rims) - max(walls)
    return min(walls) - max(up @ p for p in rims)
