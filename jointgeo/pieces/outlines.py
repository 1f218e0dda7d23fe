"""Where another bar's end meets a bar in which nothing is cut for it: marks, and no layout.

Knows bars that stand, their joints and the marks of ``marks``; cuts nothing. A plain end that comes
to a side, or a slot that is let down over an edge, leaves no wall to measure from, and must be put
somewhere all the same.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from jointgeo.geometry.vectors import Vec
from jointgeo.joints.drawing import Bar
from jointgeo.joints.stock import LayoutBox
from jointgeo.pieces.joining import PlacedJoint
from jointgeo.pieces.marks import Mark, struck
from jointgeo.pieces.model import Against, Piece
from jointgeo.pieces.room import PlacedBar

__all__ = ["outlines"]

OVER_MM = 1e-6  # rounding; an outline that ends on an arris does not run over it


def outlines(
    piece: Piece, all_placed: Mapping[str, PlacedBar], joints: tuple[PlacedJoint, ...], name: str
) -> tuple[tuple[LayoutBox, Mark], ...]:
    """Every outline on one bar, its mark and a box without depth that says where it lies; in order
    along the grain."""
    here = all_placed[name]
    found = []
    for what, placed, number in _ends(piece, all_placed, joints, name):
        corners = placed.near.arrises(placed.planes[number])
        found.append(_outline(here, what, placed.sides[number], corners))
    return tuple(sorted(found, key=lambda pair: pair[1].points[0].datum_mm))


def _ends(
    piece: Piece, all_placed: Mapping[str, PlacedBar], joints: tuple[PlacedJoint, ...], name: str
) -> Iterator[tuple[str, PlacedBar, int]]:
    """Who comes to the bar and leaves nothing to strike: whose outline, and which end of it."""
    for joint in joints:
        # At a corner the mate's end is cut, and nothing comes to its side.
        if joint.mate == name and not joint.pockets and joint.mate_end is None:
            yield joint.name, all_placed[joint.bar], 0 if joint.end == "near" else 1
    for bar in piece.bars:
        for number, end in enumerate((bar.near, bar.far)):
            if isinstance(end, Against) and end.mate == name:
                yield bar.name, all_placed[bar.name], number


def _outline(
    placed: PlacedBar, what: str, side: str, corners: tuple[Vec, Vec, Vec, Vec]
) -> tuple[LayoutBox, Mark]:
    bar, (a, b, c, d) = placed.near, corners
    gauged = "face_edge" if side in ("face_side", "back") else "face_side"
    wide, thick = (b + c - a - d) / 2, (c + d - a - b) / 2
    middle, into = (a + b + c + d) / 4, -bar.side(side).normal
    long, short = (wide, thick) if wide.length >= thick.length else (thick, wide)
    if _runs_over(bar, gauged, corners):  # its two lines across, where they meet the marked arris
        lean = sorted((wide, thick), key=lambda way: abs(way @ bar.grain) / way.length)
        long, short = lean
        face = bar.side(gauged)
        at = [middle + short * k for k in (-0.5, 0.5)]
        ends = [p + long * face.hit(p, long) for p in at]
    else:
        ends = [middle + long * k for k in (-0.5, 0.5)]
    axis = long.unit
    size = long.length, short.across(axis).length, 0.0
    first, last = sorted((struck(placed, side, gauged, p) for p in ends), key=lambda s: s.along_mm)
    mark = Mark(what, "outline", side, gauged, (first, last), size)
    rows = zip(*(bar.stock(v) for v in (into ^ axis, into, axis)), bar.place(middle), strict=True)
    box = LayoutBox("outline", (*rows, (0.0, 0.0, 0.0, 1.0)), (size[1], 0.0, size[0]), side, {})
    return box, mark


def _runs_over(bar: Bar, gauged: str, corners: tuple[Vec, ...]) -> bool:
    """Whether an outline covers the side over its whole width."""
    out = [bar.side(gauged).out(p) for p in corners]
    whole = bar.width if gauged == "face_edge" else bar.thickness
    return max(out) > OVER_MM and min(out) < -whole - OVER_MM
