"""A whole member in true views, its near end at the left, with every place that is struck on it.

Knows members as solids, marks and drawings on paper; no joint type. Each view looks square at one
marked side; the blank is drawn round it as it is before it is trimmed, since that is what is
measured from.
"""

from __future__ import annotations

import attrs
import numpy as np

from jointgeo.joints.sides import in_words, opposite
from jointgeo.sheet.canvas import Room, fitted, scale_words
from jointgeo.sheet.dimension import ordinates
from jointgeo.sheet.edge_drawing import Shown, draw_edges, shown
from jointgeo.sheet.lettering import Measure
from jointgeo.sheet.member_marks import Housing, corner_edge, struck_at, tenth
from jointgeo.sheet.outline import View
from jointgeo.sheet.piece_model import MemberSheet, PieceSheet
from jointgeo.sheet.plane import Array
from jointgeo.sheet.svg import Drawing

__all__ = ["member_drawing"]

_ORDER = ("face_side", "face_edge", "back", "back_edge")
_BETWEEN = 5.0
SAME_MM = 0.05


@attrs.frozen(eq=False)
class _Side:
    """A marked side looked at: its edges, (u, v) at full size, u from the blank's square near end
    and v up from the middle. upper, lower: the sides that it meets there; struck: on the corner
    edge with either, places along the blank."""

    side: str
    bar: Shown
    half: float
    upper: str
    lower: str
    struck: dict[str, list[float]]


def member_drawing(sheet: PieceSheet, member: MemberSheet, room: Room) -> Drawing:
    """Its face side, every side that something is struck on, and else its face edge."""
    sides = [_looked_at(sheet, member, side) for side in _wanted(member)]
    high = sum(2 * s.half for s in sides)
    blank = member.bar.blank_mm
    return fitted(lambda scale: _drawn(member, sides, scale, room.measure), room, (blank, high))


def _wanted(member: MemberSheet) -> list[str]:
    struck = {m.side for m in member.bar.marks} | {"face_side"}
    if len(struck) == 1:
        struck.add("face_edge")
    return [side for side in _ORDER if side in struck]


def _looked_at(sheet: PieceSheet, member: MemberSheet, side: str) -> _Side:
    near, more = member.bar.placed.near, member.bar.allowances_mm[0]
    normal = near.side(side).normal
    view = View(near.grain, normal ^ near.grain, normal)
    (found,) = shown([sheet.woods[near.name]], view, [sheet.sharp[near.name]])
    u, v = view.flat(near.middle)
    moved = [attrs.evolve(e, ends=e.ends - np.array([u - more, v])) for e in found.edges]
    beside = [s for s in _ORDER if s not in (side, opposite(side))]
    upper = next(s for s in beside if near.side(s).normal @ view.up > 0)
    half = (near.width if side in ("face_side", "back") else near.thickness) / 2
    struck = _struck(member, side)
    return _Side(side, attrs.evolve(found, edges=moved), half, upper, opposite(upper), struck)


def _struck(member: MemberSheet, side: str) -> dict[str, list[float]]:
    """Places of its marks by the other side of the corner edge they are struck on."""
    out: dict[str, list[float]] = {}
    for index, mark in enumerate(member.bar.marks):
        if mark.side != side:
            continue
        found = struck_at(member, index)
        edges = found.at if isinstance(found, Housing) else ((mark.gauged_from, *found),)
        for other, *places in edges:
            known = out.setdefault(other, [])
            for place in places:
                if all(abs(place - k) > SAME_MM for k in known):
                    known.append(place)
    return out


def _drawn(member: MemberSheet, sides: list[_Side], scale: float, measure: Measure) -> Drawing:
    names = " and ".join(in_words(s.side) for s in sides)
    d = Drawing(
        f"{member.name}, {scale_words(scale)}",
        f"{member.name}: {names} looked at square, the near end at the left; the blank as it is "
        "before it is trimmed is drawn round it. Figures are millimetres from its square near end.",
        measure,
    )
    y = 0.0
    for side in sides:
        view = _view(member, side, scale, measure)
        d.add(view, [0.0, y - view.box[1]])
        y += view.size_mm[1] + measure.of(_BETWEEN) / 2
    return d


def _view(member: MemberSheet, side: _Side, scale: float, measure: Measure) -> Drawing:
    d, gap = Drawing(in_words(side.side), in_words(side.side), measure), measure.of
    half, long = side.half * scale, member.bar.blank_mm * scale
    corners: Array = np.array([[0, -half], [long, -half], [long, half], [0, half]])
    d.lines(corners, "phantom", closed=True, mark="blank")
    draw_edges(d, [side.bar], scale)
    room = -gap(4), long + gap(4)
    top, bottom = -half, half
    for other, up in ((side.upper, True), (side.lower, False)):
        places = side.struck.get(other, [])
        if places:
            at = top - gap(1) if up else bottom + gap(1)
            wanted = [(p * scale, tenth(p)) for p in places]
            ordinates(d, wanted, at, *room, up=up)
    head = [f"{in_words(side.side)}"]
    head += [f"above: {corner_edge(side.side, side.upper)}"]
    y = d.box[1] - gap(2)
    d.text([0.0, y], head[0], bold=True)
    d.text([measure.width(head[0], bold=True) + gap(4), y], head[1])
    return d
