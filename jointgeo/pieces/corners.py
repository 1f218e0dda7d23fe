"""Which board of a corner is cut as the first one drawn, where a piece is drawn by half.

Knows bars, images of a symmetry, and how a joint type's bars meet; stands nothing up. A corner's
two boards are not alike: one has the lowest finger. Of a piece that is its own mirror image the
corner across from another must be that one's mirror image, its fingers too.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TypeAlias

import attrs

from jointgeo.geometry.vectors import Vec
from jointgeo.joints.joint_type import JointType
from jointgeo.joints.sides import other_edge
from jointgeo.pieces.model import Joined, PieceJoint, RoomBar
from jointgeo.pieces.sides import meeting
from jointgeo.pieces.symmetry import Image

__all__ = ["mirrored_corners"]

SAME_MM = 1e-6
ENDS = ("near", "far")
Place: TypeAlias = tuple[str, str]  # a bar and its end


def mirrored_corners(
    bars: Sequence[RoomBar], joints: Iterable[PieceJoint], images: Iterable[Image]
) -> tuple[RoomBar, ...]:
    """The bars, their corners said first and second as the symmetry carries them; as they are
    where no image mirrors."""
    mirrors = [image for image in images if image.mirrors]
    corners = {j.name: j.type for j in joints if meeting(j.type).corner}
    if not mirrors or not corners:
        return tuple(bars)
    named = {bar.name: bar for bar in bars}
    first: dict[Place, bool] = {}
    for bar in bars:
        for end in ENDS:
            own, other = (bar.name, end), _across(named, bar, end, corners)
            if other is None or own in first:
                continue
            whole = _by_marks(named, own, corners)
            first[own], first[other] = whole, not whole
            for image in mirrors:
                there, across = (_image(named, place, image) for place in (own, other))
                if there is not None and across is not None and there not in first:
                    first[there], first[across] = whole, not whole
    return tuple(_said(bar, first) for bar in bars)


def _across(
    bars: Mapping[str, RoomBar], bar: RoomBar, end: str, corners: Mapping[str, type[JointType]]
) -> Place | None:
    """The mate's end at a corner; None for what is none."""
    own = getattr(bar, end)
    if not isinstance(own, Joined) or own.joint not in corners:
        return None
    for there in ENDS:
        met = getattr(bars[own.mate], there)
        if isinstance(met, Joined) and (met.mate, met.joint) == (bar.name, own.joint):
            return own.mate, there
    return None


def _by_marks(
    bars: Mapping[str, RoomBar], place: Place, corners: Mapping[str, type[JointType]]
) -> bool:
    """Whether an end is marked as the first board drawn."""
    bar, end = bars[place[0]], place[1]
    x_from = bar.x_from if end == "near" else other_edge(bar.x_from)
    return x_from == meeting(corners[getattr(bar, end).joint]).x_from


def _image(bars: Mapping[str, RoomBar], place: Place, image: Image) -> Place | None:
    """The end that an image carries an end to; None where there is no such bar."""
    bar = bars[place[0]]
    run = [image.way(p) for p in (bar.start, bar.end)]
    for name, other in bars.items():
        if _near(run, (other.start, other.end)):
            return name, place[1]
        if _near(run, (other.end, other.start)):
            return name, ENDS[1 - ENDS.index(place[1])]
    return None


def _near(run: Sequence[Vec], other: Sequence[Vec]) -> bool:
    return all((a - b).length <= SAME_MM for a, b in zip(run, other, strict=True))


def _said(bar: RoomBar, first: Mapping[Place, bool]) -> RoomBar:
    ends = [
        attrs.evolve(end, first=first[bar.name, where])
        if isinstance(end, Joined) and (bar.name, where) in first
        else end
        for where, end in zip(ENDS, (bar.near, bar.far), strict=True)
    ]
    return attrs.evolve(bar, near=ends[0], far=ends[1])
