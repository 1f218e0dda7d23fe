"""Where a person strikes every mortise and housing of a bar: on which arris, how far, how deep.

Knows bars that stand and the pockets of their joints; cuts nothing. Everything is measured on the
bar itself, in the room: the pocket's own marks hold for a piece that is only as long as shows the
joint.

Along the grain a point is measured on the arris between its side and the marked face that it is
gauged from, from where the near end's plane meets that arris (a leg trimmed two ways has four
different long points):

    along = (p - D)·z + (a·n)/(z·n)        D: near datum, a: the arris from the centre line,
                                           n: the end plane's normal
"""

from __future__ import annotations

import attrs

from jointgeo.geometry.vectors import Vec
from jointgeo.joints.drawing import Bar, Drawing, Pocket
from jointgeo.joints.sides import opposite
from jointgeo.joints.stock import LayoutBox
from jointgeo.pieces.joining import PlacedJoint
from jointgeo.pieces.room import PlacedBar
from jointgeo.pieces.sides import side_towards

__all__ = ["THROUGH_MM", "Mark", "Struck", "layout", "struck"]

PLACES = 3  # mm; boxes of two alike bars are put in one order, whatever the rounding
FLAT = 1e-9
THROUGH_MM = 1e-6  # rounding; a mortise as deep as its bar is


@attrs.frozen
class Struck:
    """A point on a side. along_mm: on the arris, from the finished near end. datum_mm: from the
    near end's length datum, square to the grain; with the near allowance, from the blank's square
    end, before it is trimmed. gauge_mm: from the marked face."""

    along_mm: float
    datum_mm: float
    gauge_mm: float


@attrs.frozen
class Mark:
    """A mortise or a housing of a bar, or the outline of an end that nothing is cut for.

    joint: whose; what: the pocket's name; side: it is cut into, or met; gauged_from: the marked
    side beside it. points: the ends of a mortise's middle line, or where the two walls of a housing
    meet the marked side's arris. size_mm: length, width, depth; of an outline the depth is 0.
    through: whether it goes right through the bar, and is marked on the opposite side too.
    proud_mm: by how much what goes through it stands out there.
    """

    joint: str
    what: str
    side: str
    gauged_from: str
    points: tuple[Struck, Struck]
    size_mm: tuple[float, float, float]
    through: bool = False
    proud_mm: float = 0.0


def layout(
    placed: PlacedBar, joints: tuple[PlacedJoint, ...]
) -> tuple[tuple[LayoutBox, ...], tuple[Mark, ...]]:
    """Every pocket of one bar: its box in the near end's stock frame, and its mark; in order along
    the grain."""
    found = []
    for joint in joints:
        if joint.mate != placed.name:
            continue
        for pocket in joint.pockets:
            block = pocket.block
            drawn = joint.drawing.bar(pocket.bar).side(pocket.side).normal
            side = side_towards(placed.near, joint.placement.way(drawn))
            middle = joint.placement.place(block.middle)
            ways = [joint.placement.way(a) for a in block.axes]
            box, mark = _one(placed, joint.name, pocket.name, side, middle, ways, block.size)
            if mark.through:
                mark = attrs.evolve(mark, proud_mm=_proud(joint.drawing, pocket))
            found.append((box, mark))
    found.sort(key=lambda pair: _order(pair[0]))
    return tuple(box for box, _ in found), tuple(mark for _, mark in found)


def _proud(drawing: Drawing, pocket: Pocket) -> float:
    """By how much an end that is cut for the joint stands out of the side opposite the pocket's."""
    out = -drawing.bar(pocket.bar).side(pocket.side).normal
    far = drawing.bar(pocket.bar).side(opposite(pocket.side)).at
    ends = (n.end for n in drawing.notches if n.bar != pocket.bar)
    return max((e.at - far for e in ends if e.normal @ out > 1.0 - FLAT), default=0.0)


def _order(box: LayoutBox) -> tuple[float, ...]:
    """Along the grain, then by place and name."""
    x, y, z = (round(row[3], PLACES) + 0.0 for row in box.rows[:3])
    return z, x, y


def _one(
    placed: PlacedBar,
    joint: str,
    what: str,
    side: str,
    middle: Vec,
    ways: list[Vec],
    size: tuple[float, float, float],
) -> tuple[LayoutBox, Mark]:
    bar = placed.near
    into = -bar.side(side).normal
    # Its axes once more, in an order that does not tell by which hand of a joint it came: into
    # the side, its long way along the grain, and the one across.
    by = sorted(range(3), key=lambda i: -abs(ways[i] @ into))
    deep, rest = by[0], sorted(by[1:], key=lambda i: -size[i])
    long, wide = rest
    axis_long = ways[long] * _sign(ways[long], bar)
    axes = (into ^ axis_long, into, axis_long)
    edges = size[wide], size[deep], size[long]
    rows = zip(*(bar.stock(a) for a in axes), bar.place(middle), strict=True)
    gauged = "face_edge" if side in ("face_side", "back") else "face_side"
    opening = middle - into * (size[deep] / 2)
    across = abs(axis_long @ bar.grain) < abs(axes[0] @ bar.grain)
    through = across and size[long] > (bar.width if gauged == "face_edge" else bar.thickness)
    if through:  # a housing: its walls, where they meet the marked arris
        step = axes[0] * (size[wide] / 2)
        face = bar.side(gauged)
        ends = [p + axis_long * face.hit(p, axis_long) for p in (opening - step, opening + step)]
    else:
        ends = [opening + axis_long * (k * size[long] / 2) for k in (-1, 1)]
    both = sorted((struck(placed, side, gauged, p) for p in ends), key=lambda s: s.along_mm)
    box = LayoutBox(what, (*rows, (0.0, 0.0, 0.0, 1.0)), edges, side, {})
    first, last = both
    marks = {
        "start_mm": first.along_mm,
        "end_mm": last.along_mm,
        f"start_from_{gauged}_mm": first.gauge_mm,
        f"end_from_{gauged}_mm": last.gauge_mm,
        "length_mm": size[long],
        "width_mm": size[wide],
        "depth_mm": size[deep],
    }
    thick = bar.thickness if gauged == "face_edge" else bar.width
    sizes, goes = (size[long], size[wide], size[deep]), size[deep] >= thick - THROUGH_MM
    mark = Mark(joint, what, side, gauged, (first, last), sizes, goes)
    return attrs.evolve(box, marks=marks), mark


def _sign(way: Vec, bar: Bar) -> float:
    """1 or -1, so that a direction runs along the grain, or else across it one certain way."""
    for axis in (bar.grain, bar.axes[0], bar.axes[1]):
        if abs(way @ axis) > FLAT:
            return 1.0 if way @ axis > 0 else -1.0
    return 1.0


def struck(placed: PlacedBar, side: str, gauged: str, point: Vec) -> Struck:
    """A point of the side, as a person strikes it from the marked face beside it."""
    bar = placed.near
    a = sum(
        (
            bar.side(s).normal * (bar.side(s).at - bar.side(s).normal @ bar.middle)
            for s in (side, gauged)
        ),
        Vec(0.0, 0.0, 0.0),
    )
    n, z = placed.planes[0].normal, bar.grain
    datum = (point - bar.middle) @ z
    return Struck(datum + (a @ n) / (z @ n), datum, -bar.side(gauged).out(point))
