"""The drawing of a joint as the settings JSON carries it: bars in the world, and what is cut.

Knows the reader, plain numbers and arrays; builds nothing (``solids`` does). Everything is in one
world, millimetres, right-handed:

* ``pose`` of a bar: world from stock, with z = 0 at its length datum and the bar's far end at
  z = length; x across the width, y from the face side in.
* ``end``: the plane an end is trimmed to, normal · p = at_mm, normal out of the wood.
* ``channels``: between ``low_mm`` and ``high_mm`` along ``across``, counted from the world's
  origin, as deep as ``depth_mm`` from the end plane; null runs out of the wood. ``gap_mm``:
  clearance at its cheeks, negative for interference.
* ``frame`` of a pocket or of space left empty: world from box, centred.
* ``slides``: the way a bar is drawn out of the joint; of any length but 0.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from functools import cached_property
from typing import Any

import attrs
import numpy as np

from jointgeo.proof.mesh import Array
from jointgeo.proof.reader import Reader

__all__ = ["BarForm", "BoxForm", "ChannelForm", "DrawingForm", "NotchForm", "box", "drawing"]

UNIT = 1e-6  # of the length of a direction; what writers of JSON may have rounded


@attrs.frozen(eq=False)
class BoxForm:
    """A box of edges ``size_mm`` (3,), centred on ``frame`` (4, 4). bar: "" where it is no
    bar's."""

    name: str
    frame: Array
    size_mm: Array
    bar: str = ""


@attrs.frozen(eq=False)
class BarForm:
    """size_mm: width, thickness, length from the datum. pose (4, 4): world from stock."""

    name: str
    size_mm: Array
    pose: Array


@attrs.frozen
class ChannelForm:
    """low_mm, high_mm: -inf and inf where it runs out of the wood."""

    low_mm: float
    high_mm: float
    depth_mm: float
    gap_mm: float


@attrs.frozen(eq=False)
class NotchForm:
    """normal, at_mm: the end plane. across (3,): square to the normal, of length 1."""

    name: str
    bar: str
    normal: Array
    at_mm: float
    across: Array
    channels: tuple[ChannelForm, ...]

    @cached_property
    def rows(self) -> Array:
        """World to notch (3, 3): across, along the feed, from the end into the wood."""
        (a, b, c), (x, y, z) = -self.normal, self.across
        feed = (b * z - c * y, c * x - a * z, a * y - b * x)
        return np.array([self.across, feed, -self.normal])


@attrs.frozen(eq=False)
class DrawingForm:
    """slides: unit vectors (3,) by bar."""

    bars: tuple[BarForm, ...]
    notches: tuple[NotchForm, ...]
    pockets: tuple[BoxForm, ...]
    empty: tuple[BoxForm, ...]
    slides: dict[str, Array]

    def notches_of(self, bar: str) -> tuple[NotchForm, ...]:
        return tuple(n for n in self.notches if n.bar == bar)

    def pockets_of(self, bar: str) -> tuple[BoxForm, ...]:
        return tuple(p for p in self.pockets if p.bar == bar)

    @property
    def widest_gap_mm(self) -> float:
        """The largest clearance or interference stated, in size."""
        return max((abs(c.gap_mm) for n in self.notches for c in n.channels), default=0.0)


def drawing(reader: Reader, value: object, path: str) -> DrawingForm:
    """The drawing at ``path``; what is wrong with it is noted in the reader."""
    table = reader.table(value, path)
    bars = tuple(_bar(reader, t, p) for t, p in reader.tables(table, "bars", path))
    names = tuple(b.name for b in bars)
    for index, name in enumerate(names):
        if name in names[:index]:
            what = "is given twice"
            reader.fault(f"{path}.bars[{index}].name", what, name, "a name of its own")
    return DrawingForm(
        bars,
        tuple(_notch(reader, t, p, names) for t, p in reader.tables(table, "notches", path)),
        tuple(
            attrs.evolve(box(reader, t, p), bar=_named(reader, t, p, names))
            for t, p in reader.tables(table, "pockets", path)
        ),
        tuple(box(reader, t, p) for t, p in reader.tables(table, "empty", path)),
        dict(_slides(reader, reader.table(table.get("slides"), f"{path}.slides"), path, names)),
    )


def box(reader: Reader, table: Mapping[str, Any], path: str) -> BoxForm:
    size = reader.edges(table, path)
    name = reader.text(table, "name", path)
    return BoxForm(name, reader.array(table, "frame", path, (4, 4)), size)


def _named(reader: Reader, table: Mapping[str, Any], path: str, names: tuple[str, ...]) -> str:
    # Without bars there is nothing to choose from, and the fault is theirs.
    return reader.choice(table, "bar", path, names) if names else ""


def _bar(reader: Reader, table: Mapping[str, Any], path: str) -> BarForm:
    size = reader.edges(table, path)
    name = reader.text(table, "name", path)
    return BarForm(name, size, reader.array(table, "pose", path, (4, 4)))


def _notch(
    reader: Reader, table: Mapping[str, Any], path: str, names: tuple[str, ...]
) -> NotchForm:
    end = reader.table(table.get("end"), f"{path}.end")
    normal, across = (
        _unit(reader, end, "normal", f"{path}.end"),
        _unit(reader, table, "across", path),
    )
    if abs(normal @ across) > UNIT:
        allowed = "a direction square to end.normal"
        reader.fault(f"{path}.across", "leans", across.tolist(), allowed, "1")
    return NotchForm(
        reader.text(table, "name", path),
        _named(reader, table, path, names),
        normal,
        reader.number(end, "at_mm", f"{path}.end", "mm"),
        across,
        tuple(_channel(reader, t, p) for t, p in reader.tables(table, "channels", path)),
    )


def _unit(reader: Reader, table: Mapping[str, Any], key: str, path: str) -> Array:
    way = reader.array(table, key, path, (3,))
    long = float(np.linalg.norm(way))
    if not abs(long - 1.0) < UNIT:
        reader.fault(f"{path}.{key}", "is not of length 1", way.tolist(), "a unit vector", "1")
        return np.zeros(3)
    return np.asarray(way / long)


def _channel(reader: Reader, table: Mapping[str, Any], path: str) -> ChannelForm:
    low, high = (
        out if table.get(key, 0) is None else reader.number(table, key, path, "mm")
        for key, out in (("low_mm", -math.inf), ("high_mm", math.inf))
    )
    if low >= high:
        allowed = f"more than low_mm = {low:g} mm"
        reader.fault(f"{path}.high_mm", "is not above low_mm", high, allowed, "mm")
    return ChannelForm(
        low,
        high,
        reader.number(table, "depth_mm", path, "mm", above=0.0),
        reader.number(table, "gap_mm", path, "mm"),
    )


def _slides(
    reader: Reader, table: Mapping[str, Any], path: str, names: tuple[str, ...]
) -> Iterator[tuple[str, Array]]:
    for name in table:
        where = f"{path}.slides.{name}"
        if names and name not in names:
            reader.fault(where, "is no bar of the drawing", name, "one of " + ", ".join(names))
            continue
        way = reader.array(table, name, f"{path}.slides", (3,))
        long = float(np.linalg.norm(way))
        if long < UNIT:
            reader.fault(where, "is no direction", way.tolist(), "not 0 in length", "1")
            continue
        yield name, np.asarray(way / long)
