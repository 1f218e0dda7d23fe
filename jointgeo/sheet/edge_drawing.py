"""Bars as edges on paper: full where they are seen, dashed where wood stands before them.

Knows solids, hidden lines and drawings on paper; no joint type.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot

import attrs
import numpy as np

from jointgeo.geometry.vectors import Vec
from jointgeo.joints.sides import in_words
from jointgeo.sheet.outline import Edge, View, hidden, split
from jointgeo.sheet.plane import Array
from jointgeo.sheet.svg import Drawing
from jointgeo.sheet.wood import Line, Wood, edges

__all__ = ["Shown", "draw_edges", "named_at", "shown"]


@attrs.frozen(eq=False)
class Shown:
    """A bar as it is seen, at full size: divided edges, and its marked sides in view."""

    name: str
    edges: list[Edge]
    sides: list[tuple[str, Array]]


def shown(
    woods: Sequence[Wood], view: View, sharp: Sequence[Sequence[Line]] | None = None
) -> list[Shown]:
    """Every bar as the others leave it to be seen; sharp: its edges, if they are known."""
    own = [edges(wood) for wood in woods] if sharp is None else sharp
    return [
        Shown(wood.name, found, sides)
        for wood, found, sides in zip(
            woods, split(own, woods, view), _sides(woods, view), strict=True
        )
    ]


def _sides(woods: Sequence[Wood], view: View) -> list[list[tuple[str, Array]]]:
    """Of each bar the marked sides that are towards the viewer, named where no wood hides the
    name's place."""
    found: list[tuple[int, str, Vec]] = []
    for i, bar in enumerate(wood.bar for wood in woods):
        # Most of the way from the joint, where the side is still whole.
        middle = bar.middle + bar.grain * (0.7 * bar.length)
        for name in ("face_side", "face_edge"):
            plane = bar.side(name)
            if plane.normal @ view.towards > 0.1:
                found.append((i, in_words(name), middle - plane.normal * plane.out(middle)))
    out: list[list[tuple[str, Array]]] = [[] for _ in woods]
    behind = hidden([at for _, _, at in found], woods, view)
    for (i, name, at), lost in zip(found, behind, strict=True):
        if not lost:
            out[i].append((name, np.array(view.flat(at))))
    return out


def draw_edges(d: Drawing, found: Sequence[Shown], scale: float, *, behind: bool = True) -> None:
    """Hidden edges dashed, if ``behind`` asks for them, and over them those that are seen."""
    for seen in (False, True) if behind else (True,):
        for edge in (e for bar in found for e in bar.edges):
            for stretch in edge.seen if seen else edge.hidden:
                (x, y), (x1, y1) = edge.between(stretch)
                a, b = (x * scale, -y * scale), (x1 * scale, -y1 * scale)
                if hypot(b[0] - a[0], b[1] - a[1]) > 0.15:
                    style = "outline" if seen else "hidden"
                    d.line(a, b, style, mark="seen" if seen else "behind")


def named_at(bar: Shown, scale: float, middle: float) -> Array:
    """A point on a seen edge far from the picture's middle, where a label reaches it."""
    seen = [(e.ends.tolist(), (s[0] + s[1]) / 2) for e in bar.edges for s in e.seen]
    if not seen:
        seen = [(e.ends.tolist(), 0.5) for e in bar.edges]
    page = [
        (scale * (x + t * (x1 - x)), -scale * (y + t * (y1 - y))) for ((x, y), (x1, y1)), t in seen
    ]
    return np.array(max(page, key=lambda point: abs(point[0] - middle)))
