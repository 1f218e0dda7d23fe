"""Which way parts go together, and members whose two ends go two ways.

Knows drawings and members; no joint type, no page.

Theory. A bar's slide is the way it is drawn out of its joint. A bar without one stands still and,
seen from it, the others leave: its way is the opposite of theirs. A member's far frame is its near
frame turned end for end about the thickness axis, so that x and z run the other way: (x, y, z) of
the far end is (-x, y, -z) of the near one. Where the two ways then lie on one line, both
neighbours can be moved together, or the member itself; where they do not, whatever is rigid on one
side keeps the other open. Whether a closed frame can be put together, and in what order, one member
does not show; of a whole piece its assembly knows.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import attrs

from jointgeo.geometry.vectors import Vec, angle_between
from jointgeo.jobs.file import Member, MemberEnd
from jointgeo.joints.drawing import Drawing

__all__ = ["APART_DEG", "Meeting", "grain_angle_deg", "meetings", "way_out"]

#: Two ways nearer than this are one: over 100 mm of sliding it is a tenth of the usual fit.
APART_DEG = 0.005


@attrs.frozen
class Meeting:
    """A member with a joint at either end; apart_deg: angle between its two ways."""

    member: str
    apart_deg: float

    @property
    def awkward(self) -> bool:
        return self.apart_deg > APART_DEG


def way_out(drawing: Drawing, name: str) -> Vec | None:
    """Which way the bar leaves its joint, a unit vector in the world; None if unknown."""
    if name in drawing.slides:
        return drawing.slides[name].unit
    ways = [way.unit for way in drawing.slides.values()]
    if not ways or max(_angle_deg(ways[0], way) for way in ways) > APART_DEG:
        return None
    return -ways[0]


def grain_angle_deg(drawing: Drawing, name: str) -> float | None:
    """Angle between a bar's way out and its own length, 0 to 90; None where it has none."""
    way, bar = way_out(drawing, name), drawing.bar(name)
    return None if way is None else _angle_deg(way, bar.grain)


def meetings(members: Sequence[Member], drawings: Mapping[str, Drawing]) -> tuple[Meeting, ...]:
    """Every member with a joint at both ends whose ways are known; drawings: the joints' as
    drawn, by name."""
    out = []
    for member in members:
        near = _member_way(member, member.near, drawings)
        far = _member_way(member, member.far, drawings)
        if near is not None and far is not None:
            turned = Vec(-far.x, far.y, -far.z)
            out.append(Meeting(member.name, _angle_deg(near, turned)))
    return tuple(out)


def _member_way(member: Member, end: MemberEnd, drawings: Mapping[str, Drawing]) -> Vec | None:
    """In the stock frame of that end."""
    if end.cut != "joint" or end.joint is None or end.part is None:
        return None
    drawing = drawings[end.joint]
    way = way_out(drawing, end.part)
    if way is None:
        return None
    own = drawing.bar(end.part).stock(way)
    return own.mirrored if member.hand != end.hand else own


def _angle_deg(a: Vec, b: Vec) -> float:
    """Angle between two lines, whichever way along them."""
    found = angle_between(a, b)
    return min(found, 180.0 - found)
