"""The values a joint type hands over: notches, parts, poses and what must come true.

Knows rotations and errors only: no machine, no fixture, no joint type. This is all
that a plug-in needs, together with ``jointgeo.fields`` and ``jointgeo.joint``.

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
from typing import Any, Literal

import attrs
import numpy as np
from numpy.typing import ArrayLike

from jointgeo.errors import PluginError
from jointgeo.rotations import Array, Rows, Vector, rows_of

__all__ = [
    "MIRROR",
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
MIRROR = np.diag([-1.0, 1.0, 1.0])
FRAME_TOLERANCE = 1e-9  # dimensionless; rounding of a product of three rotations is 1e-15


def _array(value: ArrayLike, *shape: int) -> Array:
    """A read-only copy of ``value``; PluginError unless finite and of that shape."""
    array = np.array(value, dtype=float)
    # Anything but a finite number times 0 is not 0; on a few numbers three times quicker than
    # isfinite and all.
    if array.shape != shape or any(v * 0.0 != 0.0 for v in array.ravel().tolist()):
        raise PluginError(f"a finite array of shape {shape} is needed, not {array!r}")
    array.setflags(write=False)
    return array


def _vector(value: ArrayLike) -> Array:
    array = np.array(value, dtype=float)
    if array.shape == (3,):
        x, y, z = array.tolist()
        if x * 0.0 + y * 0.0 + z * 0.0 == 0.0:
            array.setflags(write=False)
            return array
    return _array(value, 3)


def _turned(array: Array) -> Array:
    """``array`` if its upper left 3×3 is a right-handed rotation."""
    # Plain arithmetic: on nine numbers it is ten times quicker than products of arrays.
    (a, b, c), (d, e, f), (g, h, i) = array[:3, :3].tolist()
    lengths = (a * a + b * b + c * c, d * d + e * e + f * f, g * g + h * h + i * i)
    skew = (a * d + b * e + c * f, a * g + b * h + c * i, d * g + e * h + f * i)
    off = max(*(abs(v - 1.0) for v in lengths), *map(abs, skew))
    determinant = a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g)
    if off > FRAME_TOLERANCE or determinant < 0:
        raise PluginError(
            f"a right-handed rotation is needed; this one is off by {off:.3g}, "
            f"determinant {determinant:.6g}"
        )
    return array


def _frame(value: ArrayLike) -> Array:
    return _turned(_array(value, 3, 3))


def _pose(value: ArrayLike) -> Array:
    return _turned(_array(value, 4, 4))


def _channels(value: Iterable[Channel]) -> tuple[Channel, ...]:
    return tuple(value)


_SAME = attrs.cmp_using(eq=np.array_equal)


@attrs.frozen
class Channel:
    """One straight channel of a notch, square to the notch's q_x.

    low_mm, high_mm: where it begins and ends along q_x from the notch's origin;
    ±inf runs out of the stock on that side.
    depth_mm: how deep, along q_z from the trim plane.
    """

    low_mm: float = attrs.field(converter=float)
    high_mm: float = attrs.field(converter=float)
    depth_mm: float = attrs.field(converter=float)

    def __attrs_post_init__(self) -> None:
        if not (self.low_mm < self.high_mm and 0 < self.depth_mm < math.inf):
            raise PluginError(f"a channel needs low < high and a finite depth above 0: {self}")

    @property
    def closed(self) -> bool:
        """Bounded by wood on both sides."""
        return math.isfinite(self.low_mm) and math.isfinite(self.high_mm)


@attrs.frozen
class Notch:
    """All channels that one clamping cuts.

    frame: Q, shape (3, 3), rows in stock coordinates: q_x across the channels, q_y
    along the feed, q_z from the end into the stock; right-handed orthonormal.
    origin_mm: shape (3,), a point of the trim plane in stock coordinates. Channels are
    measured from it, and the trim plane is the plane through it square to q_z. All
    notches of one end share that plane.
    """

    frame: Array = attrs.field(converter=_frame, eq=_SAME)
    origin_mm: Array = attrs.field(converter=_vector, eq=_SAME)
    channels: tuple[Channel, ...] = attrs.field(converter=_channels)

    @cached_property
    def rows(self) -> Rows:
        """``frame`` in plain numbers."""
        return rows_of(self.frame)

    @cached_property
    def at(self) -> Vector:
        """``origin_mm`` in plain numbers."""
        x, y, z = self.origin_mm.tolist()
        return x, y, z

    def __attrs_post_init__(self) -> None:
        if self.frame[2, 2] <= 0.05:  # within 3° of cutting along the grain
            raise PluginError("a notch's q_z must point from the end into the stock (q_z·z > 0.05)")

    def mirrored(self, width_mm: float) -> Notch:
        """The same notch in the mirror image of the stock (x reflected)."""
        frame = self.frame @ MIRROR
        frame[0] *= -1.0
        origin = self.origin_mm * [-1.0, 1.0, 1.0] + [width_mm, 0.0, 0.0]
        channels = [Channel(-c.high_mm, -c.low_mm, c.depth_mm) for c in self.channels]
        return Notch(frame, origin, channels)


@attrs.frozen
class LayoutBox:
    """What is removed by other means than this fixture, with what a person marks out.

    frame: shape (4, 4), stock from box; the box is **centred** on it.
    size_mm: shape (3,), the box's whole edges along its own x, y and z.
    side: the marked side it is laid out on.
    marks: {name: number}, the dimensions a person marks out, names ending in the unit.
    """

    name: str
    frame: Array = attrs.field(converter=_pose, eq=_SAME)
    size_mm: Array = attrs.field(converter=_vector, eq=_SAME)
    side: str = "face_side"
    marks: dict[str, float] = attrs.field(factory=dict)

    def mirrored(self, width_mm: float) -> LayoutBox:
        frame = np.array(self.frame)
        frame[:3, :3] = MIRROR @ frame[:3, :3] @ MIRROR
        frame[:3, 3] = frame[:3, 3] * [-1.0, 1.0, 1.0] + [width_mm, 0.0, 0.0]
        return attrs.evolve(self, frame=frame)


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
    of the joint; None for the part that stands still.
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
    slide: Array | None = attrs.field(
        default=None, converter=attrs.converters.optional(_vector), eq=_SAME
    )
    turns_over: bool = True
    show: tuple[str, ...] = ("face_side", "face_edge")

    def mirrored(self) -> Part:
        """The part of the opposite hand: x reflected, so the face edge changes sides too."""
        return attrs.evolve(
            self,
            x_from="back_edge" if self.x_from == "face_edge" else "face_edge",
            notches=tuple(n.mirrored(self.width_mm) for n in self.notches),
            layout=tuple(box.mirrored(self.width_mm) for box in self.layout),
            slide=None if self.slide is None else MIRROR @ self.slide,
        )


@attrs.frozen
class Placement:
    """One instance of a part in the assembled joint.

    pose: shape (4, 4), world from stock, row-major, millimetres, determinant +1.
    """

    part: str
    instance: int
    pose: Array = attrs.field(converter=_pose, eq=_SAME)

    def mirrored(self, width_mm: float) -> Placement:
        back = np.diag([-1.0, 1.0, 1.0, 1.0])
        back[0, 3] = width_mm
        return attrs.evolve(self, pose=np.diag([-1.0, 1.0, 1.0, 1.0]) @ self.pose @ back)


@attrs.frozen
class Face:
    """A flat face of one instance, in world coordinates.

    point_mm: shape (3,), a point well inside the face. normal: shape (3,), out of the wood.
    part "" is a datum plane of the drawing (a floor, a seat) and belongs to no part.
    """

    part: str
    instance: int
    name: str
    point_mm: Array = attrs.field(converter=_vector, eq=_SAME)
    normal: Array = attrs.field(converter=_vector, eq=_SAME)

    def mirrored(self) -> Face:
        return attrs.evolve(self, point_mm=MIRROR @ self.point_mm, normal=MIRROR @ self.normal)

    def as_dict(self) -> dict[str, Any]:
        return {
            "part": self.part,
            "instance": self.instance,
            "name": self.name,
            "point_mm": self.point_mm.tolist(),
            "normal": self.normal.tolist(),
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
class Empty:
    """A box in the world that no wood may enter; centred on ``frame`` (4, 4), world from box."""

    name: str
    frame: Array = attrs.field(converter=_pose, eq=_SAME)
    size_mm: Array = attrs.field(converter=_vector, eq=_SAME)

    def mirrored(self) -> Empty:
        frame = np.array(self.frame)
        frame[:3, :3] = MIRROR @ frame[:3, :3] @ MIRROR
        frame[:3, 3] = MIRROR @ frame[:3, 3]
        return attrs.evolve(self, frame=frame)

    def as_dict(self) -> dict[str, Any]:
        box = {"name": self.name, "frame": self.frame.tolist(), "size_mm": self.size_mm.tolist()}
        return {"empty": box}


Expectation = Flush | Contact | Empty
