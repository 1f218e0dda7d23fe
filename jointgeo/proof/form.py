"""The settings JSON as the dry fit reads it.

Knows the JSON contract's names and errors; shares nothing with the code that writes
settings. Keys that no cut and no fit depends on (aids, candidates, handwheel turns,
marks, notes) are not looked at.

What each number means here:

* ``stock``: a box; z = 0 is the blank's square end, along the grain into the stock;
  y = 0 the face side; x across the width.
* ``trim_mm``: height of the trim plane above the lowest corner of the square end, as
  clamped.
* ``wedges``: null, or where plate and fence stand and which wedges lie behind the stock
  and beside it; ``swivel_deg`` and ``tilt_deg`` are then not believed.
* ``left_mm``, ``right_mm``, ``travel_mm``: machine X from the touch-off corner.
* ``depth_mm``: above the trim plane.
* ``pose``: world from stock. ``layout`` frames: stock from box, boxes centred on them.
* ``drawing``: see ``drawing``.

What can be read but is wrong (a pose that is no rotation, a part without a pose) is for
the dry fit to find; what cannot be read is an InputError that names every path at fault.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import attrs

from jointgeo.proof.drawing import BoxForm, DrawingForm, box, drawing
from jointgeo.proof.mesh import Array
from jointgeo.proof.reader import LEAST_EDGE_MM, Reader

__all__ = [
    "ERRORS",
    "CutForm",
    "Form",
    "PartForm",
    "PoseForm",
    "SetupForm",
    "WedgesForm",
    "part_form",
    "read_errors",
    "read_settings",
]

ERRORS = {
    "swivel_deg": "deg",
    "tilt_deg": "deg",
    "packing_deg": "deg",
    "depth_mm": "mm",
    "travel_mm": "mm",
    "kerf_mm": "mm",
}
SIDES = ("face_side", "face_edge", "back", "back_edge")
EDGES = ("face_edge", "back_edge")


@attrs.frozen
class CutForm:
    left_mm: float
    right_mm: float
    depth_mm: float
    travels_mm: tuple[float, ...]


@attrs.frozen
class WedgesForm:
    """How stock stands on wedges: where plate and fence stand, and the wedge behind the stock and
    the one between it and the fence (degrees, signed as tilt and swivel)."""

    plate_deg: float
    fence_deg: float
    behind_deg: float
    beside_deg: float


@attrs.frozen
class SetupForm:
    """wedges: with them the stock stands as they make it, whatever swivel and tilt say.
    quarter_turns: n, how many times 90° the stock is turned about its length."""

    quarter_turns: int
    swivel_deg: float
    tilt_deg: float
    packing_deg: float
    wedges: WedgesForm | None
    trim_mm: float
    kerf_mm: float
    cuts: tuple[CutForm, ...]


@attrs.frozen
class PartForm:
    name: str
    size_mm: tuple[float, float, float]
    layout: tuple[BoxForm, ...]
    setups: tuple[SetupForm, ...]


@attrs.frozen(eq=False)
class PoseForm:
    part: str
    pose: Array


@attrs.frozen(eq=False)
class Form:
    parts: tuple[PartForm, ...]
    poses: tuple[PoseForm, ...]
    drawing: DrawingForm


def read_settings(settings: object) -> Form:
    """The part of ``settings`` that a dry fit needs; InputError naming every path at fault."""
    reader = Reader()
    table = reader.table(settings, "")
    form = Form(
        tuple(part_form(reader, t, p) for t, p in reader.tables(table, "parts", "")),
        tuple(_pose(reader, t, p) for t, p in reader.tables(table, "assembly", "")),
        drawing(reader, table.get("drawing"), "drawing"),
    )
    _doubled(reader, [p.name for p in form.parts], "parts[{}].part")
    _doubled(reader, [p.part for p in form.poses], "assembly[{}].part")
    reader.done()
    return form


def read_errors(errors: object) -> dict[str, float]:
    """Every name of ``ERRORS`` with its error, 0 where none is given."""
    reader = Reader()
    given = {} if errors is None else reader.table(errors, "errors")
    for name in given:
        if name not in ERRORS:
            allowed = "one of " + ", ".join(ERRORS)
            reader.fault(f"errors.{name}", "is not an error that can be set", name, allowed)
    out = {
        name: reader.number(given, name, "errors", unit) if name in given else 0.0
        for name, unit in ERRORS.items()
    }
    reader.done()
    return out


def _doubled(reader: Reader, names: list[str], path: str) -> None:
    for index, name in enumerate(names):
        if name in names[:index]:
            reader.fault(path.format(index), "is given twice", name, "a name of its own")


def part_form(reader: Reader, table: Mapping[str, Any], path: str) -> PartForm:
    """One end of a bar at ``path``; what is wrong with it is noted in the reader."""
    stock = reader.table(table.get("stock"), f"{path}.stock")
    at = f"{path}.stock"
    width, thickness, length = (
        reader.number(stock, name, at, "mm", above=LEAST_EDGE_MM)
        for name in ("width_mm", "thickness_mm", "length_mm")
    )
    x_from = reader.choice(stock, "x_from", at, EDGES)
    return PartForm(
        reader.text(table, "part", path),
        (width, thickness, length),
        tuple(box(reader, t, p) for t, p in reader.tables(table, "layout", path)),
        tuple(_setup(reader, t, p, x_from) for t, p in reader.tables(table, "setups", path)),
    )


def _setup(reader: Reader, table: Mapping[str, Any], path: str, x_from: str) -> SetupForm:
    side = reader.choice(table, "against_plate", path, SIDES)
    # n = 1 lays the edge at x = width on the plate, n = 3 the one at x = 0.
    turns = {"back": 0, "face_side": 2}.get(side, 3 if side == x_from else 1)
    swivel, tilt, packing = (
        reader.number(table, name, path, "deg", most=360.0)
        for name in ("swivel_deg", "tilt_deg", "packing_deg")
    )
    return SetupForm(
        turns,
        swivel,
        tilt,
        packing,
        _wedges(reader, table, path),
        reader.number(table, "trim_mm", path, "mm"),
        reader.number(table, "kerf_mm", path, "mm", above=0.0),
        tuple(_cut(reader, t, p) for t, p in reader.tables(table, "cuts", path)),
    )


def _wedges(reader: Reader, table: Mapping[str, Any], path: str) -> WedgesForm | None:
    if table.get("wedges") is None:
        return None
    at = f"{path}.wedges"
    found = reader.table(table["wedges"], at)
    plate, fence = (
        reader.number(found, name, at, "deg", most=360.0)
        for name in ("plate_tilt_deg", "fence_swivel_deg")
    )
    angles = []
    for name in ("tilt_wedge", "swivel_wedge"):
        one = found.get(name)
        if one is None:
            angles.append(0.0)
            continue
        inner = reader.table(one, f"{at}.{name}")
        angles.append(reader.number(inner, "wedge_deg", f"{at}.{name}", "deg", most=89.0))
    return WedgesForm(plate, fence, *angles)


def _cut(reader: Reader, table: Mapping[str, Any], path: str) -> CutForm:
    left, right = (reader.number(table, n, path, "mm") for n in ("left_mm", "right_mm"))
    if left >= right:
        allowed = f"more than left_mm = {left:g} mm"
        reader.fault(f"{path}.right_mm", "is not right of left_mm", right, allowed, "mm")
    return CutForm(
        left,
        right,
        reader.number(table, "depth_mm", path, "mm", above=0.0),
        tuple(
            reader.number(t, "travel_mm", p, "mm") for t, p in reader.tables(table, "passes", path)
        ),
    )


def _pose(reader: Reader, table: Mapping[str, Any], path: str) -> PoseForm:
    return PoseForm(
        reader.text(table, "part", path),
        reader.array(table, "pose", path, (4, 4)),
    )
