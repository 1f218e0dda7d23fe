"""A whole piece as the dry fit reads it: bars with two cut ends, and the joints between them.

Knows the JSON contract's names and errors; shares nothing with the code that writes them.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import attrs

from jointgeo.proof.drawing import DrawingForm, drawing
from jointgeo.proof.form import PartForm, part_form
from jointgeo.proof.mesh import Array
from jointgeo.proof.reader import Reader

__all__ = ["PieceBarForm", "PieceForm", "PieceJointForm", "read_piece"]


@attrs.frozen(eq=False)
class PieceBarForm:
    """pose: room from blank. near, far: its two ends, each in its own stock frame."""

    name: str
    pose: Array
    near: PartForm
    far: PartForm


@attrs.frozen(eq=False)
class PieceJointForm:
    """bars: {name in the drawing: bar of the piece}. pose: room from the drawing's world."""

    name: str
    bars: dict[str, str]
    pose: Array
    drawing: DrawingForm


@attrs.frozen(eq=False)
class PieceForm:
    bars: tuple[PieceBarForm, ...]
    joints: tuple[PieceJointForm, ...]


def read_piece(piece: object) -> PieceForm:
    """The part of a solved piece that a dry fit needs; InputError naming every path at fault."""
    reader = Reader()
    table = reader.table(piece, "")
    bars = tuple(_bar(reader, t, p) for t, p in reader.tables(table, "bars", ""))
    names = [b.name for b in bars]
    for index, name in enumerate(names):
        if name in names[:index]:
            path, allowed = f"bars[{index}].bar", "a name of its own"
            reader.fault(path, "is given twice", name, allowed)
    joints = tuple(_joint(reader, t, p, names) for t, p in reader.tables(table, "joints", ""))
    reader.done()
    return PieceForm(bars, joints)


def _bar(reader: Reader, table: Mapping[str, Any], path: str) -> PieceBarForm:
    near, far = (
        part_form(reader, reader.table(table.get(end), f"{path}.{end}"), f"{path}.{end}")
        for end in ("near", "far")
    )
    if any(abs(a - b) > 1e-6 for a, b in zip(near.size_mm, far.size_mm, strict=True)):
        says = "is another blank than the near end's"
        reader.fault(f"{path}.far.stock", says, far.size_mm, f"{near.size_mm}", "mm")
    name, pose = reader.text(table, "bar", path), reader.array(table, "pose", path, (4, 4))
    return PieceBarForm(name, pose, near, far)


def _joint(reader: Reader, table: Mapping[str, Any], path: str, names: list[str]) -> PieceJointForm:
    bars = {}
    for role in ("cut", "mate"):
        inner = reader.table(table.get(role), f"{path}.{role}")
        bar = reader.text(inner, "bar", f"{path}.{role}")
        if bar not in names:
            allowed = f"one of {', '.join(names)}"
            reader.fault(f"{path}.{role}.bar", "is no bar of this piece", bar, allowed)
        bars[reader.text(inner, "drawn_as", f"{path}.{role}")] = bar
    return PieceJointForm(
        reader.text(table, "joint", path),
        bars,
        reader.array(table, "pose", path, (4, 4)),
        drawing(reader, table.get("drawing"), f"{path}.drawing"),
    )
