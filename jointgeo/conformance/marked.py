"""Whether what a person marks out is where the pocket is cut.

Knows pockets and the functions that make them. Marks are worked out from the geometry by those
functions; a ``Pocket`` put together by hand can say anything, and whoever marks it out by that
cuts somewhere else. So every pocket is made once more from its block, and must be that one.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial

from jointgeo.conformance.report import Notes
from jointgeo.conformance.subject import Subject
from jointgeo.errors import PluginError
from jointgeo.geometry.vectors import Plane, Vec
from jointgeo.joints.drawing import Bar, Block, Pocket
from jointgeo.joints.pockets import bevel, groove, housing, mortise
from jointgeo.schema.fields import plain

__all__ = ["marks"]

SAME = 1e-9  # mm or degree; rounding is 1e-12
SAME_BLOCK_MM = 1e-6

Again = Callable[[Bar, str, Block, Vec], Pocket]


def marks(subject: Subject, notes: Notes) -> None:
    """every pocket is marked out where it is cut"""
    seen = 0
    for joint in subject.cases:
        for drawing in (joint.drawing, joint.drawing.mirrored):
            for pocket in drawing.pockets:
                seen += 1
                ends = tuple(n.end for n in drawing.notches if n.bar == pocket.bar)
                made = _made_again(drawing.bar(pocket.bar), pocket, ends)
                if not any(_same_marks(pocket, other) for other in made):
                    right = "; ".join(str(other.marks) for other in made) or "none of them"
                    notes.fault(
                        f"{pocket.bar}/{pocket.name}: its marks {pocket.marks} are not those of "
                        f"what is cut, {right}; let mortise, groove, housing or bevel make it, "
                        "groove and bevel with the planes that the bar is cut to "
                        f"({plain(joint)})"
                    )
    notes.did(f"{seen} pockets of {len(subject.cases)} joints, both hands")


def _made_again(bar: Bar, pocket: Pocket, ends: tuple[Plane, ...]) -> list[Pocket]:
    """What the library's functions make of the pocket's block, those that make that very block."""
    block = pocket.block
    face = bar.side(pocket.side)
    on_side = block.middle - face.normal * face.out(block.middle)
    found = []
    ways: tuple[Again, ...] = (
        _mortise,
        partial(_groove, ends=ends),
        _housing,
        partial(_bevel, ends=ends),
    )
    for again in ways:
        try:
            made = again(bar, pocket.side, block, on_side)
        except (PluginError, ZeroDivisionError, ValueError):  # not a thing of that kind
            continue
        if _same_block(made.block, block):
            found.append(made)
    return found


def _mortise(bar: Bar, side: str, block: Block, middle: Vec) -> Pocket:
    wide, deep, long = block.size
    return mortise(bar, side, block.name, middle, long, wide, deep, along=block.axes[2])


def _groove(bar: Bar, side: str, block: Block, middle: Vec, *, ends: tuple[Plane, ...]) -> Pocket:
    wide, deep, _ = block.size
    return groove(bar, side, block.name, middle, wide, deep, ends)


def _housing(bar: Bar, side: str, block: Block, middle: Vec) -> Pocket:
    _, deep, wide = block.size
    way = block.axes[0]  # of a mirror image it runs from the back edge to the face edge
    return housing(bar, side, middle, way if way @ bar.edge < 0 else -way, wide, deep)


def _bevel(bar: Bar, side: str, block: Block, _: Vec, *, ends: tuple[Plane, ...]) -> Pocket:
    normal = block.axes[2]
    plane = Plane(normal, normal @ block.middle - block.size[2] / 2)
    return bevel(bar, side, block.name, plane, ends)


def _same_block(a: Block, b: Block) -> bool:
    """One box in the world, whichever way its axes run."""
    off = (a.middle - b.middle).length
    for axis, size in zip(a.axes, a.size, strict=True):
        near = max(range(3), key=lambda i: abs(b.axes[i] @ axis))
        off = max(off, abs(size - b.size[near]), (1 - abs(b.axes[near] @ axis)) * size)
    return off <= SAME_BLOCK_MM


def _same_marks(a: Pocket, b: Pocket) -> bool:
    return a.marks.keys() == b.marks.keys() and all(
        math.isclose(a.marks[n], b.marks[n], rel_tol=SAME, abs_tol=SAME) for n in a.marks
    )
