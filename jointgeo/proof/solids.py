"""Bars cut by the planes of their drawing, and the faces that their notches make.

Knows the drawing's form and the kernel; no setting, no pose of the assembly. What is built here is
what the settings must cut; the laws are held of both.

Theory. A channel is a box in its notch's own frame: x across, y along the feed, z from the end
into the wood, all from the world's origin. Where a channel's neighbour is as deep, there is no
wood between them and so no cheek; where it is less deep, the cheek begins at its floor.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import cached_property

import attrs
import numpy as np

from jointgeo.proof.drawing import BarForm, BoxForm, ChannelForm, DrawingForm, NotchForm
from jointgeo.proof.kernel import Solid
from jointgeo.proof.mesh import Array
from jointgeo.proof.rebuild import past_the_faces

__all__ = ["Cheek", "DrawnBar", "DrawnChannel", "DrawnNotch", "Face"]

MARGIN_MM = 10.0  # tools reach that far past the wood; any length would do
SAME_MM = 1e-6  # two channels that close leave no wall


@attrs.frozen(eq=False)
class Face:
    """What a notch leaves: a cheek or a floor.

    normal (3,), at_mm: its plane, normal out of the wood. axes (2, 3): anticlockwise seen from
    outside the wood. low, high (2,): bounds along them. gap_mm: clearance wanted before it.
    floor: whether another notch of the bar may cut the same face.
    """

    bar: str
    name: str
    normal: Array
    at_mm: float
    axes: Array
    low: Array
    high: Array
    gap_mm: float
    floor: bool

    @property
    def triangles(self) -> Array:
        """Its bounds as two triangles (2, 3, 2) in its axes."""
        (a, c), (b, d) = self.low, self.high
        return np.array([[[a, c], [b, c], [b, d]], [[a, c], [b, d], [a, d]]])


@attrs.frozen
class Cheek:
    """One side of a channel. sign: 1 where the channel lies above ``at_mm`` along ``across``.

    top_mm, bottom_mm: depths between which it is wood.
    """

    at_mm: float
    sign: float
    top_mm: float
    bottom_mm: float
    gap_mm: float


@attrs.frozen
class DrawnChannel:
    """low, high: its cheeks; None where there is no wood beside it."""

    form: ChannelForm
    low: Cheek | None
    high: Cheek | None

    @property
    def cheeks(self) -> tuple[Cheek, ...]:
        return tuple(c for c in (self.low, self.high) if c is not None)


@attrs.frozen(eq=False)
class DrawnNotch:
    """A notch of a bar, with how far the bar reaches: low, high (3,) in the notch's frame."""

    form: NotchForm
    low: Array
    high: Array

    @property
    def end_z(self) -> float:
        return -self.form.at_mm

    @cached_property
    def channels(self) -> tuple[DrawnChannel, ...]:
        channels = self.form.channels
        low, high, deep = (
            np.array([getattr(c, name) for c in channels])
            for name in ("low_mm", "high_mm", "depth_mm")
        )

        def cheek(index: int, at: float, sign: float) -> Cheek | None:
            beside = at - sign * SAME_MM
            shared = (low <= beside) & (beside <= high)
            shared[index] = False
            top, own = float(deep[shared].max(initial=0.0)), channels[index]
            if math.isinf(at) or top >= own.depth_mm:
                return None
            return Cheek(at, sign, top, own.depth_mm, own.gap_mm)

        return tuple(
            DrawnChannel(c, cheek(i, c.low_mm, 1.0), cheek(i, c.high_mm, -1.0))
            for i, c in enumerate(channels)
        )

    @property
    def cheeks(self) -> Iterator[Cheek]:
        return (cheek for channel in self.channels for cheek in channel.cheeks)

    def tool(self, channels: Sequence[DrawnChannel], *, clear: bool = False) -> Solid:
        """What the channels take, through the whole bar and past its end.

        clear: without the clearances at their cheeks.
        """
        boxes = []
        for c in channels:
            low, high = self.low - MARGIN_MM, self.high + MARGIN_MM
            by = [max(0.0, k.gap_mm) if k and clear else 0.0 for k in (c.low, c.high)]
            low[0] = max(low[0], c.form.low_mm + by[0])
            high[0] = min(high[0], c.form.high_mm - by[1])
            high[2] = self.end_z + c.form.depth_mm
            if low[0] < high[0]:
                boxes.append(Solid.box(low, high))
        return self._placed(Solid.joined(boxes))

    def slab(self, cheek: Cheek, round_mm: float) -> Solid:
        """Between a cheek and where its mate's face is meant to be, no further than the bar."""
        low, high = self.low - round_mm, self.high + round_mm
        mate = cheek.at_mm + cheek.sign * cheek.gap_mm
        low[0], high[0] = min(cheek.at_mm, mate) - round_mm, max(cheek.at_mm, mate) + round_mm
        low[1:2] -= abs(cheek.gap_mm)  # round the corner, where the next cheek has its gap
        high[1:2] += abs(cheek.gap_mm)
        low[2] = self.end_z + cheek.top_mm - round_mm
        high[2] = self.end_z + cheek.bottom_mm + round_mm
        return self._placed(Solid.box(low, high))

    def _placed(self, solid: Solid) -> Solid:
        frame = np.eye(4)
        frame[:3, :3] = self.form.rows.T
        return solid.moved(frame)

    def faces(self) -> Iterator[Face]:
        """The cheeks and floors that lie in the bar, or the end where nothing more is cut."""
        x, y, z = self.form.rows
        low, high = self.low - MARGIN_MM, self.high + MARGIN_MM
        if not self.channels:  # an end that is trimmed and no more bears as a whole
            axes, bounds = np.stack([y, x]), np.array([[low[1], low[0]], [high[1], high[0]]])
            end = f"{self.form.name}, end"
            at = self.form.at_mm
            yield Face(self.form.bar, end, -z, at, axes, bounds[0], bounds[1], 0.0, floor=True)
        for number, c in enumerate(self.channels, 1):
            many = f", channel {number}" if len(self.channels) > 1 else ""
            name = f"{self.form.name}{many}"
            for cheek in c.cheeks:
                if not self.low[0] < cheek.at_mm < self.high[0]:
                    continue
                bounds = np.array(
                    [
                        [low[1], self.end_z + cheek.top_mm],
                        [high[1], self.end_z + cheek.bottom_mm],
                    ]
                )
                axes = np.stack([y, z])
                if cheek.sign < 0:
                    axes, bounds = axes[::-1], bounds[:, ::-1]
                side = "low" if cheek.sign > 0 else "high"
                yield Face(
                    self.form.bar,
                    f"{name}, {side} cheek",
                    x * cheek.sign,
                    cheek.sign * cheek.at_mm,
                    axes,
                    bounds[0],
                    bounds[1],
                    cheek.gap_mm,
                    floor=False,
                )
            across = max(c.form.low_mm, low[0]), min(c.form.high_mm, high[0])
            if across[0] < across[1]:
                bounds = np.array([[low[1], across[0]], [high[1], across[1]]])
                at = self.form.at_mm - c.form.depth_mm
                axes = np.stack([y, x])
                yield Face(
                    self.form.bar,
                    f"{name}, floor",
                    -z,
                    at,
                    axes,
                    bounds[0],
                    bounds[1],
                    0.0,
                    floor=True,
                )


class DrawnBar:
    """One bar. blank: trimmed to its end planes, nothing else cut. solid: as drawn.

    Everything stands in the world. Raises ZeroDivisionError where an end plane runs along the
    grain.
    """

    def __init__(self, form: BarForm, drawing: DrawingForm) -> None:
        self.form, self.name = form, form.name
        self.notches = tuple(self._notch(n) for n in drawing.notches_of(form.name))
        self.pockets = drawing.pockets_of(form.name)
        near = 0.0
        for notch in self.notches:
            at = self._arrises(notch.form.rows[2], notch.end_z) - form.pose[:3, 3]
            near = min(near, float((at @ form.pose[:3, 2]).min()) - MARGIN_MM)
        # Before it is trimmed: from ``near``, which lies outside any trimmed end, to the far end.
        self._pose = np.array(form.pose)
        self._pose[:3, 3] += near * form.pose[:3, 2]
        self._size = form.size_mm - (0.0, 0.0, near)
        blank = Solid.box([0, 0, 0], self._size).moved(self._pose)
        for normal, at_mm in self._ends:
            blank = blank.trimmed(normal, at_mm)
        self.blank = blank
        tools = [n.tool(n.channels) for n in self.notches]
        self.solid = blank.minus([*tools, *(self.pocket(p) for p in self.pockets)])

    @property
    def _ends(self) -> list[tuple[Array, float]]:
        """End planes, each once: all notches of one end share theirs."""
        out: list[tuple[Array, float]] = []
        for n in self.notches:
            plane = np.array([*n.form.normal, n.form.at_mm])
            if not any(np.abs(plane - [*normal, at]).max() < SAME_MM for normal, at in out):
                out.append((n.form.normal, n.form.at_mm))
        return out

    @cached_property
    def points(self) -> Array:
        """The blank's corners (n, 3)."""
        return self.blank.mesh().vertices

    def holds(self, polygon: Array) -> bool:
        """Whether any of a plane polygon (n, 3) lies inside the trimmed blank."""
        normals, heights = self._sides
        out = polygon @ normals.T - heights
        if (out >= 0).all(axis=0).any():
            return False
        if (out < 0).all(axis=1).any():
            return True
        left = polygon
        for normal, height in zip(normals, heights, strict=True):
            left = _clipped(left, left @ normal - height)
        return len(left) > 2

    @cached_property
    def _sides(self) -> tuple[Array, Array]:
        """The trimmed blank's planes: normals (n, 3) out of the wood, and heights (n,)."""
        axes, at = self._pose[:3, :3].T, self._pose[:3, 3]
        far = list(zip(axes, axes @ at + self._size, strict=True))
        near = list(zip(-axes, -axes @ at, strict=True))
        planes = [*far, *near, *self._ends]
        return np.array([p[0] for p in planes]), np.array([p[1] for p in planes])

    def pocket(self, box: BoxForm) -> Solid:
        """What a pocket takes, let out where it ends in a side of the bar."""
        in_stock = attrs.evolve(box, frame=np.linalg.inv(self._pose) @ box.frame)
        frame, size = past_the_faces(in_stock, self._size)
        return Solid.centred(self._pose @ frame, size)

    def _arrises(self, inward: Array, height: float) -> Array:
        """Where the plane inward · p = height meets the four long edges, (4, 3)."""
        w, t, _ = self.form.size_mm
        turn, at = self.form.pose[:3, :3], self.form.pose[:3, 3]
        feet = np.array([[0, 0, 0], [w, 0, 0], [w, t, 0], [0, t, 0]], dtype=float) @ turn.T + at
        climb = float(inward @ turn[:, 2])
        if abs(climb) < 1e-6:
            raise ZeroDivisionError(f"an end plane of {self.name} runs along its grain")
        return np.asarray(feet + ((height - feet @ inward) / climb)[:, None] * turn[:, 2])

    def _notch(self, form: NotchForm) -> DrawnNotch:
        rows = form.rows
        deep = max((c.depth_mm for c in form.channels), default=0.0)
        planes = (-form.at_mm, -form.at_mm + deep)
        corners = np.concatenate([self._arrises(rows[2], h) for h in planes]) @ rows.T
        return DrawnNotch(form, corners.min(axis=0), corners.max(axis=0))


def _clipped(polygon: Array, out: Array) -> Array:
    """What of a polygon (n, 3) lies where ``out`` (n,), a linear function of it, is below 0."""
    corners = []
    for i, height in enumerate(out):
        j = (i + 1) % len(out)
        if height < 0:
            corners.append(polygon[i])
        if (height < 0) != (out[j] < 0):
            corners.append(polygon[i] + (polygon[j] - polygon[i]) * (height / (height - out[j])))
    return np.array(corners).reshape(-1, 3)
