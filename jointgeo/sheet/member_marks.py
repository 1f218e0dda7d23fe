"""What is struck on a whole member, where a person can strike it, in a maker's words.

Knows solved bars; makes no page and no drawing. Everything along the length is measured from the
square near end of the blank, before it is trimmed, to a tenth of a millimetre: on a corner edge
between two marked sides, or with the marking gauge against one of them.
"""

from __future__ import annotations

from collections.abc import Iterator

import attrs

from jointgeo.geometry.vectors import Vec
from jointgeo.joints.sides import in_words, opposite
from jointgeo.joints.stock import LayoutBox, Part
from jointgeo.pieces.marks import Mark
from jointgeo.schema.units import fixed
from jointgeo.sheet.piece_model import MemberSheet

__all__ = ["Housing", "corner_edge", "mark_words", "planed_words", "struck_at", "tenth"]

STRAIGHT_MM = 0.05  # of a gauge: less is no slant to one who reads tenths


def tenth(value: float) -> str:
    """``281.4``."""
    return fixed(value, 1)


def corner_edge(side: str, other: str) -> str:
    """``corner edge between back edge and face side``."""
    return f"corner edge between {in_words(side)} and {in_words(other)}"


@attrs.frozen
class Housing:
    """Where the walls of a housing cross both corner edges of its side: for each the other side
    there, and two places from the blank's square near end, mm."""

    at: tuple[tuple[str, float, float], tuple[str, float, float]]


def struck_at(member: MemberSheet, index: int) -> Housing | tuple[float, float]:
    """Places along the blank of a mark of the member: those of a housing, or of the ends of a
    mortise's middle line on the corner edge that it is gauged from."""
    mark, more = member.bar.marks[index], member.bar.allowances_mm[0]
    box = _box(mark, member.bar.parts[0])
    if _through(mark) and box is not None:
        return _housing(box, mark, member.bar.parts[0], more)
    first, last = mark.points
    return first.datum_mm + more, last.datum_mm + more


def _box(mark: Mark, part: Part) -> LayoutBox | None:
    """What is taken at a mark; None for an outline, where nothing is."""
    first, last = mark.points
    own = {
        "start_mm": first.along_mm,
        "end_mm": last.along_mm,
        f"start_from_{mark.gauged_from}_mm": first.gauge_mm,
    }
    alike = (b for b in part.layout if b.name == mark.what and b.side == mark.side)
    return next((b for b in alike if all(b.marks.get(k) == v for k, v in own.items())), None)


def _through(mark: Mark) -> bool:
    """Whether it runs across the whole side: both its ends lie on the side's own corner edge."""
    return all(abs(p.gauge_mm) < STRAIGHT_MM for p in mark.points)


def _housing(box: LayoutBox, mark: Mark, part: Part, more: float) -> Housing:
    axis = [Vec(*(row[k] for row in box.rows[:3])) for k in range(3)]
    middle = Vec(*(row[3] for row in box.rows[:3]))
    across, into, along = axis
    opening = middle - into * (box.size[1] / 2)
    step = across * (box.size[0] / 2)

    def at(side: str) -> tuple[str, float, float]:
        normal, place = _side(part, side)
        places = [
            p.z + along.z * (place - normal @ p) / (normal @ along)
            for p in (opening - step, opening + step)
        ]
        return side, min(places) + more, max(places) + more

    return Housing((at(mark.gauged_from), at(opposite(mark.gauged_from))))


def _side(part: Part, side: str) -> tuple[Vec, float]:
    """A side in the stock frame: all points p with normal @ p = place."""
    if side in ("face_side", "back"):
        return Vec(0.0, 1.0, 0.0), 0.0 if side == "face_side" else part.thickness_mm
    return Vec(1.0, 0.0, 0.0), 0.0 if side == part.x_from else part.width_mm


def mark_words(member: MemberSheet) -> Iterator[str]:
    """One sentence for each mark, alike ones on opposite sides as one."""
    said: dict[tuple[str, str, str], list[str]] = {}
    for index, mark in enumerate(member.bar.marks):
        where, sizes = _where(member, index), _sizes(mark)
        said.setdefault((f"{mark.what} for {mark.joint}", where, sizes), []).append(mark.side)
    for (what, where, sizes), sides in said.items():
        names = " and on the ".join(in_words(s) for s in sides)
        yield f"{what[:1].upper()}{what[1:]}, on the {names}: {where}; {sizes}."


def planed_words(member: MemberSheet) -> Iterator[str]:
    """What is planed off when it is together."""
    for edge in member.bar.planed:
        yield (
            f"When it is together plane the {in_words(edge.side)}: {tenth(edge.face_mm)} off the "
            f"face side and {tenth(edge.back_mm)} off the back, measured on them from that edge, a "
            f"bevel of {fixed(abs(edge.bevel_deg), 2)}°. By hand, clamped, from the corners "
            "inwards: end grain splits off where a plane leaves it."
        )


def _sizes(mark: Mark) -> str:
    _, width, depth = mark.size_mm
    if mark.through:
        other = in_words(opposite(mark.side))
        proud = f"; what goes through stands {tenth(mark.proud_mm)} proud there"
        more = proud if mark.proud_mm >= STRAIGHT_MM else ""
        return f"{tenth(width)} wide, right through: mark it on the {other} too{more}"
    deep = f"{tenth(depth)} deep" if depth else "nothing is cut there"
    return f"{tenth(width)} wide, {deep}"


def _where(member: MemberSheet, index: int) -> str:
    mark, found = member.bar.marks[index], struck_at(member, index)
    beside = in_words(mark.gauged_from)
    if isinstance(found, Housing):
        (_, a, b), (other, c, d) = found.at
        near = f"strike its walls at {tenth(a)} and {tenth(b)} on the corner edge with the {beside}"
        if max(abs(a - c), abs(b - d)) < STRAIGHT_MM:
            return f"{near}, square across"
        return f"{near}, at {tenth(c)} and {tenth(d)} on that with the {in_words(other)}"
    a, b = found
    if _through(mark):
        return f"between {tenth(a)} and {tenth(b)} on the corner edge with the {beside}"
    first, last = (p.gauge_mm for p in mark.points)
    if abs(a - b) < STRAIGHT_MM:
        gauges = f"{tenth(min(first, last))} to {tenth(max(first, last))} in from the {beside}"
        return f"square across at {tenth(a)} along, from {gauges}"
    if abs(first - last) < STRAIGHT_MM:
        edge = f"the corner edge with the {beside}"
        gauge = f"set the marking gauge to {tenth(first)} against the {beside} for its middle line"
        return f"from {tenth(a)} to {tenth(b)} on {edge}; {gauge}"
    points = f"{tenth(a)} along and {tenth(first)} in from the {beside}"
    other = f"{tenth(b)} along and {tenth(last)} in"
    return f"askew: its middle line runs from the point {points} to the point {other}"
