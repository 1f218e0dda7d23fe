"""The values a joint type hands over: notches, parts, poses and what must come true.

Knows rotations and errors only: no machine, no fixture, no joint type. This is all
that a plug-in needs, together with ``jointgeo.schema.fields`` and ``jointgeo.joints.joint_type``.

Frames. *Stock frame*, one for each cut end, right-handed: z along the grain from the
end that is cut into the stock; y through the thickness from the face side (y = 0) to
the back; x across the width. At one end of a board x runs from the face edge to the
back edge, at its other end from the back edge to the face edge: ``Part.x_from`` says
which. *World frame*: whatever the joint type likes, the same for all of its parts.

Where z is 0. A joint type knows where its shoulder is, not how much a shop trims off.
So a part's z = 0 is its **length datum**, the point its finished length is measured
from (a shoulder, a corner edge); the blank's square end lies at some negative z that
the library works out. The rejected alternative, z = 0 at the blank's end, would make
every joint type repeat the trim arithmetic.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import cached_property
from typing import Any, Literal, TypeAlias, cast

import attrs
import numpy as np
from numpy.typing import ArrayLike

from jointgeo.errors import PluginError
from jointgeo.geometry.arith import isfinite, most, number
from jointgeo.geometry.rotations import Array, Rows, Vector

__all__ = [
    "Channel",
    "Contact",
    "Empty",
    "Expectation",
    "Face",
    "Flush",
    "LayoutBox",
    "Notch",
    "Part",
    "Placement",
    "Verify",
    "XFrom",
]

XFrom = Literal["face_edge", "back_edge"]
FRAME_TOLERANCE = 1e-9  # dimensionless; rounding of a product of three rotations is 1e-15

Pose: TypeAlias = tuple[tuple[float, ...], ...]


def _triple(value: ArrayLike) -> Vector:
    """Three finite numbers; PluginError for anything else."""
    try:
        x, y, z = cast(Any, value)
        # The usual case, three times quicker than what follows: anything but a finite number
        # times 0 is not 0.
        if type(x) is type(y) is type(z) is float and x * 0.0 + y * 0.0 + z * 0.0 == 0.0:
            return x, y, z
        triple = number(x), number(y), number(z)
    except (TypeError, ValueError):
        raise _unfit(value, (3,)) from None
    for one in triple:  # a column's rows are looked at when they are written
        if type(one) is float and not isfinite(one):
            raise _unfit(value, (3,))
    return triple


def _unfit(value: object, shape: tuple[int, ...]) -> PluginError:
    return PluginError(f"a finite array of shape {shape} is needed, not {value!r}")


def _turned(rows: Rows) -> Rows:
    """``rows`` if they are a right-handed rotation."""
    (a, b, c), (d, e, f), (g, h, i) = rows
    lengths = (a * a + b * b + c * c, d * d + e * e + f * f, g * g + h * h + i * i)
    skew = (a * d + b * e + c * f, a * g + b * h + c * i, d * g + e * h + f * i)
    off = most([*(abs(v - 1.0) for v in lengths), *map(abs, skew)])
    determinant = a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g)
    if off > FRAME_TOLERANCE or determinant < 0:
        raise PluginError(
            f"a right-handed rotation is needed; this one is off by {off:.3g}, "
            f"determinant {determinant:.6g}"
        )
    return rows


def _frame(value: ArrayLike) -> Rows:
    try:
        x, y, z = cast(Any, value)
    except (TypeError, ValueError):
        raise _unfit(value, (3, 3)) from None
    return _turned((_triple(x), _triple(y), _triple(z)))


def _pose(value: ArrayLike) -> Pose:
    try:
        rows = [tuple(map(number, row)) for row in cast(Any, value)]
        (a, b, c, x), (d, e, f, y), (g, h, i, z), last = rows
    except (TypeError, ValueError):
        raise _unfit(value, (4, 4)) from None
    _triple((x, y, z))
    _turned((_triple((a, b, c)), _triple((d, e, f)), _triple((g, h, i))))
    if last != (0.0, 0.0, 0.0, 1.0):
        raise PluginError(f"a pose's last row must be 0, 0, 0, 1, not {last}")
    return tuple(rows)


def _seen(numbers: Vector | Rows | Pose) -> Array:
    """Plain numbers as a read-only array."""
    array = np.array(numbers, dtype=float)
    array.setflags(write=False)
    return array


def _mirror(pose: Pose, x_from: float) -> Pose:
    """A pose as the mirror image x → x_from - x of its surroundings has it, still right-handed."""
    (a, b, c, x), (d, e, f, y), (g, h, i, z), last = pose
    return (a, -b, -c, x_from - x), (-d, e, f, y), (-g, h, i, z), last


def _channels(value: Iterable[Channel]) -> tuple[Channel, ...]:
    return tuple(value)


@attrs.frozen
class Channel:
    """One straight channel of a notch, square to the notch's q_x.

    low_mm, high_mm: where it begins and ends along q_x from the notch's origin;
    ±inf runs out of the stock on that side.
    depth_mm: how deep, along q_z from the trim plane.
    """

    low_mm: float = attrs.field(converter=number)
    high_mm: float = attrs.field(converter=number)
    depth_mm: float = attrs.field(converter=number)

    def __attrs_post_init__(self) -> None:
        if not (self.low_mm < self.high_mm and 0 < self.depth_mm < math.inf):
            raise PluginError(f"a channel needs low < high and a finite depth above 0: {self}")

    @property
    def closed(self) -> bool:
        """Bounded by wood on both sides."""
        return bool(isfinite(self.low_mm)) and bool(isfinite(self.high_mm))


@attrs.frozen
class Notch:
    """All channels that one clamping cuts.

    frame: Q, shape (3, 3), rows in stock coordinates: q_x across the channels, q_y
    along the feed, q_z from the end into the stock; right-handed orthonormal.
    origin_mm: shape (3,), a point of the trim plane in stock coordinates. Channels are
    measured from it, and the trim plane is the plane through it square to q_z. All
    notches of one end share that plane.
    rows, at: frame and origin in plain numbers, as they are kept.
    """

    rows: Rows = attrs.field(converter=_frame, alias="frame")
    at: Vector = attrs.field(converter=_triple, alias="origin_mm")
    channels: tuple[Channel, ...] = attrs.field(converter=_channels)

    @cached_property
    def frame(self) -> Array:
        return _seen(self.rows)

    @cached_property
    def origin_mm(self) -> Array:
        return _seen(self.at)

    def __attrs_post_init__(self) -> None:
        if self.rows[2][2] <= 0.05:  # within 3° of cutting along the grain
            raise PluginError("a notch's q_z must point from the end into the stock (q_z·z > 0.05)")

    def mirrored(self, width_mm: float) -> Notch:
        """The same notch in the mirror image of the stock (x reflected)."""
        (a, b, c), (d, e, f), (g, h, i) = self.rows
        x, y, z = self.at
        channels = [Channel(-k.high_mm, -k.low_mm, k.depth_mm) for k in self.channels]
        rows = (a, -b, -c), (-d, e, f), (-g, h, i)
        return Notch(rows, (width_mm - x, y, z), channels)


@attrs.frozen
class _Box:
    """A box **centred** on its frame.

    frame: shape (4, 4), surroundings from box. size_mm: shape (3,), the box's whole edges
    along its own x, y and z. rows, edges: the same in plain numbers, as they are kept.
    """

    name: str
    rows: Pose = attrs.field(converter=_pose, alias="frame")
    edges: Vector = attrs.field(converter=_triple, alias="size_mm")

    @cached_property
    def frame(self) -> Array:
        return _seen(self.rows)

    @cached_property
    def size_mm(self) -> Array:
        return _seen(self.edges)


@attrs.frozen
class LayoutBox(_Box):
    """What is removed by other means than this fixture, with what a person marks out.

    frame: shape (4, 4), stock from box; the box is **centred** on it.
    size_mm: shape (3,), the box's whole edges along its own x, y and z.
    side: the marked side it is laid out on.
    marks: {name: number}, the dimensions a person marks out, names ending in the unit.
    """

    side: str = "face_side"
    marks: dict[str, float] = attrs.field(factory=dict)

    def mirrored(self, width_mm: float) -> LayoutBox:
        return attrs.evolve(self, frame=_mirror(self.rows, width_mm))


@attrs.frozen
class Verify:
    """What to measure on the finished part."""

    what: str
    expected_mm: float
    instrument: str


@attrs.frozen
class Part:
    """One part of a joint, in its own stock frame.

    length_mm: finished length from the length datum z = 0 to the other end (square, or
    the other end's own datum).
    notches: cut on this fixture, in the order they are cut; empty for a mating part that
    is only laid out.
    slide: shape (3,), the direction in stock coordinates in which this part is drawn out
    of the joint; None for the part that stands still. way: the same in plain numbers.
    turns_over: True where a left-hand and a right-hand end may carry this end alike, so
    that ``x_from`` is free; False where a marked edge must lie on a certain side.
    show: the marked sides that are seen on the finished piece.
    """

    name: str
    width_mm: float
    thickness_mm: float
    length_mm: float
    x_from: XFrom = "face_edge"
    notches: tuple[Notch, ...] = ()
    layout: tuple[LayoutBox, ...] = ()
    verify: tuple[Verify, ...] = ()
    way: Vector | None = attrs.field(
        default=None, converter=attrs.converters.optional(_triple), alias="slide"
    )
    turns_over: bool = True
    show: tuple[str, ...] = ("face_side", "face_edge")

    @cached_property
    def slide(self) -> Array | None:
        return None if self.way is None else _seen(self.way)

    def mirrored(self) -> Part:
        """The part of the opposite hand: x reflected, so the face edge changes sides too."""
        return attrs.evolve(
            self,
            x_from="back_edge" if self.x_from == "face_edge" else "face_edge",
            notches=tuple(n.mirrored(self.width_mm) for n in self.notches),
            layout=tuple(box.mirrored(self.width_mm) for box in self.layout),
            slide=None if self.way is None else (-self.way[0], *self.way[1:]),
        )


@attrs.frozen
class Placement:
    """One instance of a part in the assembled joint.

    pose: shape (4, 4), world from stock, row-major, millimetres, determinant +1.
    rows: the same in plain numbers, as they are kept.
    """

    part: str
    instance: int
    rows: Pose = attrs.field(converter=_pose, alias="pose")

    @cached_property
    def pose(self) -> Array:
        return _seen(self.rows)

    def mirrored(self, width_mm: float) -> Placement:
        # World and stock are both mirrored, the stock about its own middle.
        moved = tuple((*row[:3], row[3] + width_mm * row[0]) for row in self.rows)
        return attrs.evolve(self, pose=_mirror(moved, 0.0))


@attrs.frozen
class Face:
    """A flat face of one instance, in world coordinates.

    point_mm: shape (3,), a point well inside the face. normal: shape (3,), out of the wood.
    part "" is a datum plane of the drawing (a floor, a seat) and belongs to no part.
    at, way: point and normal in plain numbers, as they are kept.
    """

    part: str
    instance: int
    name: str
    at: Vector = attrs.field(converter=_triple, alias="point_mm")
    way: Vector = attrs.field(converter=_triple, alias="normal")

    @cached_property
    def point_mm(self) -> Array:
        return _seen(self.at)

    @cached_property
    def normal(self) -> Array:
        return _seen(self.way)

    def mirrored(self) -> Face:
        (x, *at), (u, *way) = self.at, self.way
        return attrs.evolve(self, point_mm=(-x, *at), normal=(-u, *way))

    def as_dict(self) -> dict[str, Any]:
        return {
            "part": self.part,
            "instance": self.instance,
            "name": self.name,
            "point_mm": list(self.at),
            "normal": list(self.way),
        }


@attrs.frozen
class Flush:
    """Two faces that lie in one plane and look the same way."""

    a: Face
    b: Face

    def mirrored(self) -> Flush:
        return Flush(self.a.mirrored(), self.b.mirrored())

    def as_dict(self) -> dict[str, Any]:
        return {"flush": [self.a.as_dict(), self.b.as_dict()]}


@attrs.frozen
class Contact:
    """Two faces that look at each other across ``gap_mm`` (negative: interference)."""

    a: Face
    b: Face
    gap_mm: float = 0.0

    def mirrored(self) -> Contact:
        return Contact(self.a.mirrored(), self.b.mirrored(), self.gap_mm)

    def as_dict(self) -> dict[str, Any]:
        return {"contact": [self.a.as_dict(), self.b.as_dict()], "gap_mm": self.gap_mm}


@attrs.frozen
class Empty(_Box):
    """A box in the world that no wood may enter; centred on ``frame`` (4, 4), world from box."""

    def mirrored(self) -> Empty:
        return attrs.evolve(self, frame=_mirror(self.rows, 0.0))

    def as_dict(self) -> dict[str, Any]:
        frame = [list(row) for row in self.rows]
        return {"empty": {"name": self.name, "frame": frame, "size_mm": list(self.edges)}}


Expectation = Flush | Contact | Empty
