"""One part cut from its blank as the settings say, in the machine's frame.

Knows clamped parts, their tools and the kernel. Shares no line with the solver that made
the settings: what it rebuilds is what a person would get who set these numbers.

Theory. The blank is turned by the setup's angles and stays turned. Trim in the first
setup: everything below the plane ``trim_mm`` above the lowest corner of the square end
goes. A later setup states the same plane again, measured from the same blank, and does
not cut it a second time: the two are compared instead, so that a contradiction is named
and not shaved off. Touch-off corner: the corner of the trimmed end with least X, looked
for on the body as it stands. Then every pass takes what lies between its left and its
right face, below the depth plane, through the whole thickness. Layout boxes come last:
they are cut by other means, after the end.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence

import attrs
import numpy as np

from jointgeo.proof.clamped import Clamped, End
from jointgeo.proof.drawing import BoxForm
from jointgeo.proof.finding import Finding
from jointgeo.proof.form import PartForm
from jointgeo.proof.frames import NO_FRAME, rotation_fault
from jointgeo.proof.kernel import WOOD_MM3, Solid
from jointgeo.proof.mesh import Array
from jointgeo.proof.tool import Tool, let_in, meets_wood

__all__ = ["Cut", "past_the_faces", "rebuild"]

FLUSH_MM = 1e-6  # a layout box ends in a face of the blank
ALONG = 1e-9  # one minus the cosine of what still counts as one direction
LET_OUT_MM = 1.0


@attrs.frozen(eq=False)
class Cut:
    """blank: trimmed, nothing else cut. solid: as cut."""

    blank: Solid
    solid: Solid
    findings: tuple[Finding, ...]


def rebuild(form: PartForm, errors: dict[str, float]) -> Cut:
    """The part as cut; ``errors`` are added to every setup's settings."""
    blank = solid = Solid.box([0, 0, 0], form.size_mm)
    findings: list[Finding] = []
    end: End | None = None
    for number, setup in enumerate(form.setups, 1):
        at = Clamped(form, setup, errors, f"clamping {number}")
        if end is None:
            findings.append(at.clears())
            blank = solid = at.trimmed(blank)
            end = at.end
        else:
            findings.append(at.agrees(end, blank))
        corner, found = at.corner(end, solid)
        findings += found
        tools = [
            Tool(at, corner, cut, f"{at.where}, cut {index}")
            for index, cut in enumerate(setup.cuts, 1)
        ]
        for tool in tools:
            findings += tool.findings(blank)
        taken = at.channels(let_in([span for tool in tools for span in tool.spans]))
        solid = solid if taken is None else solid.minus([taken])
    # Before the layout: rims are bevelled on the assembled joint, where glue holds what is left.
    findings.append(_whole(form.name, solid))
    solid = solid.minus(_waste(form, blank, findings))
    return Cut(blank, solid, tuple(findings))


def _waste(form: PartForm, blank: Solid, findings: list[Finding]) -> Iterator[Solid]:
    """The layout's boxes; a frame that is no place gives none."""
    for item in form.layout:
        fault = rotation_fault(item.frame)
        what = f"layout {item.name}: its frame is a rotation"
        findings.append(Finding.zero(what, (form.name,), fault, 1e-9, "1"))
        if fault > NO_FRAME:
            continue
        box = Solid.centred(*past_the_faces(item, form.size_mm))
        findings.append(meets_wood(f"layout {item.name}", form.name, box, blank))
        yield box


def past_the_faces(item: BoxForm, size: Sequence[float] | Array) -> tuple[Array, Array]:
    """Frame and size of a box in stock coordinates, let out where it ends in a face of the blank.

    size: width, thickness and length of the blank.

    Two faces that agree but for rounding leave a skin of no thickness over the opening,
    which would be taken for a face. What is let out lies outside the wood.
    """
    frame, edges = np.array(item.frame), np.array(item.size_mm)
    for axis, way in itertools.product(range(3), (-1.0, 1.0)):
        out = way * frame[:3, axis]
        side = int(np.argmax(np.abs(out)))
        middle = frame[:3, 3] + out * edges[axis] / 2
        face = size[side] if out[side] > 0 else 0.0
        if abs(out[side]) > 1 - ALONG and abs(middle[side] - face) <= FLUSH_MM:
            edges[axis] += LET_OUT_MM
            frame[:3, 3] += out * LET_OUT_MM / 2
    return frame, edges


def _whole(part: str, solid: Solid) -> Finding:
    count = sum(piece.volume_mm3 > WOOD_MM3 for piece in solid.pieces())
    because = "a part must stay in one piece"
    what = "pieces the part is in after cutting"
    return Finding(what, (part,), float(count), 1.0, "1", count == 1, because)
