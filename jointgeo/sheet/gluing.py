"""Which way parts go together, and members whose two ends go two ways.

Knows settings, members and the contract's ``Part.slide``; no joint type, no page.

Theory. A part's slide is the way it is drawn out of its joint, in its own stock frame. A
part without one stands still and, seen from it, the others leave: its way is the opposite
of theirs. A member's far frame is its near frame turned end for end about the thickness
axis, so that x and z run the other way: (x, y, z) of the far end is (-x, y, -z) of the
near one. Where the two ways then lie on one line, both neighbours can be moved together, or
the member itself; where they do not, whatever is rigid on one side keeps the other open.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import attrs
import numpy as np

from jointgeo.geometry.rotations import Array
from jointgeo.jobs.file import Member, MemberEnd
from jointgeo.solution.settings import Settings

__all__ = ["APART_DEG", "Meeting", "grain_angle_deg", "meetings", "way_out"]

#: Two ways nearer than this are one: over 100 mm of sliding it is a tenth of the usual fit.
APART_DEG = 0.005
_FAR = np.array([-1.0, 1.0, -1.0])


@attrs.frozen
class Meeting:
    """A member with a joint at either end; apart_deg: angle between its two ways."""

    member: str
    apart_deg: float

    @property
    def awkward(self) -> bool:
        return self.apart_deg > APART_DEG


def way_out(settings: Settings, name: str) -> Array | None:
    """Which way part ``name`` leaves its joint, (3,) in its own stock frame; None if unknown."""
    parts = {p.part.name: p.part for p in settings.parts}
    own = parts[name].slide
    if own is not None:
        return np.asarray(own / np.linalg.norm(own))
    poses = {p.part: p.pose[:3, :3] for p in settings.assembly}
    ways = [
        poses[p.name] @ (p.slide / np.linalg.norm(p.slide))
        for p in parts.values()
        if p.slide is not None and p.name in poses
    ]
    if name not in poses or not ways or max(_angle_deg(ways[0], w) for w in ways) > APART_DEG:
        return None
    return np.asarray(-(poses[name].T @ ways[0]))


def grain_angle_deg(way: Array) -> float:
    """Angle between a way and the part's own length, 0 to 90."""
    return float(np.degrees(np.arctan2(np.hypot(way[0], way[1]), abs(way[2]))))


def meetings(members: Sequence[Member], settings: Mapping[str, Settings]) -> tuple[Meeting, ...]:
    """Every member with a joint at both ends whose ways are known."""
    out = []
    for member in members:
        near = _member_way(member, member.near, settings)
        far = _member_way(member, member.far, settings)
        if near is not None and far is not None:
            out.append(Meeting(member.name, _angle_deg(near, _FAR * far)))
    return tuple(out)


def _member_way(member: Member, end: MemberEnd, settings: Mapping[str, Settings]) -> Array | None:
    if end.cut != "joint" or end.joint is None or end.part is None:
        return None
    way = way_out(settings[end.joint], end.part)
    if way is not None and member.hand != end.hand:
        way = way * [-1.0, 1.0, 1.0]
    return way


def _angle_deg(a: Array, b: Array) -> float:
    """Angle between two lines, whichever way along them."""
    return float(np.degrees(np.arctan2(np.linalg.norm(np.cross(a, b)), abs(float(a @ b)))))
