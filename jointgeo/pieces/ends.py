"""Both ends of a bar in their stock frames, as planning works on them.

Knows bars that stand, their joints and parts; no fixture.
"""

from __future__ import annotations

from math import hypot

import attrs

from jointgeo.geometry.vectors import Plane
from jointgeo.joints.drawing import Bar
from jointgeo.joints.stock import LayoutBox, Part, trimmed
from jointgeo.pieces.joining import PlacedJoint
from jointgeo.pieces.room import PlacedBar

__all__ = ["end_parts"]

SQUARE = 1e-9  # sine; an end plane nearer to square than this is square


def end_parts(
    placed: PlacedBar,
    joints: tuple[PlacedJoint, ...],
    layout: tuple[LayoutBox, ...],
    plain: tuple[bool, bool],
) -> tuple[Part, Part]:
    """The bar's near and far end, each in its own stock frame; the layout stands with the near.
    plain: whether either is cut to a plane alone and comes to no other bar."""
    own = (j for j in joints if placed.name in (j.bar, j.mate))
    cut = {end: part for j in own for (bar, end), part in j.ends.items() if bar == placed.name}
    near = _part(placed.near, placed.planes[0], cut.get("near"), not plain[0])
    far = _part(placed.far, placed.planes[1], cut.get("far"), not plain[1])
    return attrs.evolve(near, layout=layout), far


def _part(bar: Bar, plane: Plane, cut: Part | None, meets: bool) -> Part:
    if cut is not None:
        return attrs.evolve(cut, name=bar.name, length_mm=bar.length, x_from=bar.x_from, layout=())
    inward = bar.stock(-plane.normal)
    square = hypot(inward.x, inward.y) <= SQUARE
    notches = () if square else (trimmed(bar.width, bar.thickness, inward),)
    section = bar.width, bar.thickness
    return Part(bar.name, *section, bar.length, bar.x_from, notches, meets=meets)
