"""The cut list: every piece of the sheet with its blank, and what is cut in it.

Knows sheets and words; makes no page. What is cut on end is a member with a blank; what is only
laid out (a rail that is let in, a leg that is mortised) is listed as its joints draw it. How many
of those there are a joint does not say, nor how long a piece is of which a joint shows a part.
"""

from __future__ import annotations

from collections.abc import Iterator

import attrs

from jointgeo.joints.sides import in_words
from jointgeo.sheet import words
from jointgeo.sheet.model import JointSheet, Sheet

__all__ = ["Piece", "pieces"]


@attrs.frozen
class Piece:
    """A line of the list; sizes in mm as they are written. cut: what is done to it."""

    name: str
    width: str
    thickness: str
    length: str
    cut: str


def pieces(sheet: Sheet) -> Iterator[Piece]:
    """What is cut on end, each member once, and then what is only laid out."""
    ends: dict[str, list[str]] = {}
    for end in sheet.ends:
        for use in end.solution.uses:
            ends.setdefault(use.member, []).append(f"{use.end} end: operation {end.number}")
    seen: set[str] = set()
    for end in sheet.ends:
        part = end.solution.part
        for use in end.solution.uses:
            if use.member not in seen:
                seen.add(use.member)
                wide, thick = words.mm(part.width_mm), words.mm(part.thickness_mm)
                long, cut = words.mm(end.solution.blank_mm), "; ".join(ends[use.member])
                yield Piece(f"{use.count} × {use.member}", wide, thick, long, cut)
    for joint in sheet.joints:
        yield from _laid_out(joint, alone=len(sheet.joints) == 1)


def _laid_out(joint: JointSheet, *, alone: bool) -> Iterator[Piece]:
    drawing = joint.solution.drawing
    cut = {notch.bar for notch in drawing.notches}
    for bar in drawing.bars:
        if bar.name in cut:
            continue
        sides: dict[tuple[str, str], list[str]] = {}
        for p in (p for p in drawing.pockets if p.bar == bar.name):
            marks = ", ".join(words.mark(k, v) for k, v in p.marks.items())
            sides.setdefault((p.name, marks), []).append(f"the {in_words(p.side)}")
        boxes = [
            f"{name} on {words.listed(where)}: {marks}" for (name, marks), where in sides.items()
        ]
        length = words.mm(bar.length) if bar.name in joint.lengths else "as needed"
        name = bar.name if alone else f"{bar.name} ({joint.name})"
        yield Piece(
            name,
            words.mm(bar.width),
            words.mm(bar.thickness),
            length,
            "; ".join(boxes) or "nothing",
        )
