"""How stock, backing and plate stand in the machine once it is set.

Knows the fixture, rotations and boxes; no joint type, no notch. Angles and stock sizes may
be numbers or columns of shape (...), see ``arith``.

Theory. A point p of the stock is turned on the plate about the pivot P and swung with
the plate about the hinge H:

    p_machine = H + Rx(-tilt) · ( P + Ry(swivel) · (Rz(packing + 90°·n)·p + s - P) - H )

The shift s puts the stock's edge against the fence, its back against the backing
(Y = -b), and its lowest corner ``overhang`` below the plate's edge, measured along the
plate. The overhang is what lets a channel right through clear the plate, and it adds to
the drop from the hinge to the corner that fouls the front beam.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cached_property

import attrs
import numpy as np
from numpy.typing import ArrayLike

from jointgeo.fixtures.model import Fixture, FrontBeam
from jointgeo.geometry.arith import Number, among, column, cos, least, most, radians, where
from jointgeo.geometry.clearance import BOX_EDGES, RING_EDGES, WEDGE_EDGES, Edges, beam_gap
from jointgeo.geometry.rotations import (
    UNIT_ROWS,
    Array,
    Rows,
    Vector,
    apply,
    stacked,
    turn_x,
    turn_y,
    unapply,
)
from jointgeo.planning.blank import section
from jointgeo.planning.orientation import machine_rows, plate_rows

__all__ = ["Stand", "axis_margins", "front_gap", "stand", "swing"]

Box = tuple[Array, Array]
Move = Callable[[Vector], Vector]


@attrs.frozen
class Slab:
    """A board that lies along the plate, its edges along the plate's axes at zero settings."""

    name: str
    half_width_mm: float
    y_mm: tuple[float, float]
    z_mm: tuple[Number, float]


@attrs.frozen(eq=False)
class Stand:
    """Stock as clamped. p_machine = rows · p_stock + at, p measured from the blank's end.

    rows, at: the rotation and the offset (mm). tilted: the plate's own rotation; hinge: a point
    of its axis. size_mm: the stock's width, thickness and length. overhang_mm, lowest_mm: Z of
    the lowest corner of the square end. slabs: what else lies along the plate. packing: the
    wedge's six corners in the machine frame, None where there is none.

    Every value is a number or a column of shape (...). The same as arrays: rotation and
    plate_rotation (..., 3, 3), offset (..., 3), wedge (..., 6, 3), boxes: stock, backing and
    plate as (centre (..., 3), halves (..., 3, 3)).
    """

    rows: Rows
    at: Vector
    tilted: Rows
    hinge: Vector
    size_mm: Vector
    overhang_mm: Number
    lowest_mm: Number
    slabs: tuple[Slab, ...]
    packing: tuple[Vector, ...] | None

    def machine(self, point: Vector) -> Vector:
        """A point of the stock, from the blank's end, in the machine frame."""
        x, y, z = apply(self.rows, point)
        return x + self.at[0], y + self.at[1], z + self.at[2]

    def untilted(self, point: Vector) -> Vector:
        """Where a point of the machine frame would be with the plate upright; what swings with
        the plate is then above its lower edge by its Z."""
        x, y, z = point
        _, h, k = self.hinge
        x, y, z = unapply(self.tilted, (x, y - h, z - k))
        return x, y + h, z + k

    @cached_property
    def rotation(self) -> Array:
        return stacked(self.rows)

    @cached_property
    def plate_rotation(self) -> Array:
        return stacked(self.tilted)

    @cached_property
    def offset(self) -> Array:
        return stacked(self.at)

    @cached_property
    def wedge(self) -> Array | None:
        return None if self.packing is None else stacked(self.packing)

    @cached_property
    def boxes(self) -> dict[str, Box]:
        w, t, length = (s / 2 for s in self.size_mm)
        out = {"stock": self._box(self.rows, self.machine((w, t, length)), (w, t, length))}
        carry = _swinging(self.tilted, self.hinge)
        for s in self.slabs:
            (y0, y1), (z0, z1) = s.y_mm, s.z_mm
            middle = carry((0.0, (y0 + y1) / 2, (z0 + z1) / 2))
            halves = (s.half_width_mm, (y1 - y0) / 2, (z1 - z0) / 2)
            out[s.name] = self._box(self.tilted, middle, halves)
        return out

    @staticmethod
    def _box(rows: Rows, middle: Vector, halves: Vector) -> Box:
        edges = [tuple(row[k] * halves[k] for row in rows) for k in range(3)]
        return stacked(middle), stacked(edges)

    def solids(self) -> list[tuple[str, Array, Edges]]:
        """(name, corners (..., n, 3), edges) of everything that swings with the plate; the
        corners of boxes in the order of ``clearance.box_corners``."""
        out = [("stock", stacked(self.stock_corners()), BOX_EDGES)]
        for s in self.slabs:
            side = self._side(s)
            both = [(x, y, z) for x in (-s.half_width_mm, s.half_width_mm) for _, y, z in side]
            out.append((s.name, stacked(both), BOX_EDGES))
        if self.wedge is not None:
            out.append(("packing", self.wedge, WEDGE_EDGES))
        return out

    def outlines(self) -> list[tuple[Sequence[Vector], Edges]]:
        """(corners, edges) of the same, one by one, for those who ask for Y and Z alone: slabs
        lie along X, so that one side of each is enough."""
        out: list[tuple[Sequence[Vector], Edges]] = [(self.stock_corners(), BOX_EDGES)]
        out += [(self._side(s), RING_EDGES) for s in self.slabs]
        if self.packing is not None:
            out.append((self.packing, WEDGE_EDGES))
        return out

    def _side(self, slab: Slab) -> list[Vector]:
        carry = _swinging(self.tilted, self.hinge)
        return [carry((0.0, y, z)) for y in slab.y_mm for z in slab.z_mm]

    def stock_corners(self) -> list[Vector]:
        """In the order of ``clearance.box_corners``."""
        corners = [self.at]
        for k, size in enumerate(self.size_mm):
            dx, dy, dz = (row[k] * size for row in self.rows)
            corners = [q for x, y, z in corners for q in ((x, y, z), (x + dx, y + dy, z + dz))]
        return corners


def axis_margins(fixture: Fixture, swivel_deg: Number, tilt_deg: Number) -> tuple[Number, Number]:
    """Room (deg) inside the ranges of swivel and tilt; negative is outside."""
    swivel, tilt = (
        least([axis.max_deg - angle, angle - axis.min_deg])
        for axis, angle in ((fixture.swivel, swivel_deg), (fixture.tilt, tilt_deg))
    )
    return swivel, tilt


def _hinge(fixture: Fixture) -> Vector:
    return 0.0, fixture.tilt.hinge_y_mm, fixture.tilt.hinge_z_mm


def _swinging(tilted: Rows, hinge: Vector) -> Move:
    """Where the tilt carries a point of the plate."""
    _, (_, a, b), (_, c, d) = tilted
    _, h, k = hinge

    def carry(point: Vector) -> Vector:
        x, y, z = point
        return x, h + a * (y - h) + b * (z - k), k + c * (y - h) + d * (z - k)

    return carry


def swing(fixture: Fixture, tilt_deg: ArrayLike, points: Array) -> Array:
    """Points of the plate (..., n, 3) where the tilt (...) carries them."""
    hinge = np.array(_hinge(fixture))
    r = stacked(turn_x(UNIT_ROWS, -radians(column(tilt_deg))))
    return np.asarray((points - hinge) @ np.swapaxes(r, -1, -2) + hinge)


def stand(
    fixture: Fixture,
    width_mm: ArrayLike,
    thickness_mm: ArrayLike,
    length_mm: ArrayLike,
    swivel_deg: ArrayLike,
    tilt_deg: ArrayLike,
    packing_deg: ArrayLike = 0.0,
    side: ArrayLike = 0,
    cut_above_lowest_mm: ArrayLike = 0.0,
    overhang_mm: ArrayLike | None = None,
) -> Stand:
    """Clamp a blank and set the machine.

    side: n, the quarter turn (see ``orientation``). cut_above_lowest_mm: depth of trim
    and deepest cut together, above the lowest corner; the overhang is the least that
    keeps that plane ``practice.clearance_mm`` below plate (and backing, where it is kept
    whole). Give ``overhang_mm`` to set it by hand.
    """
    w, t, length, swivel, tilt, packing, cut = (
        column(a)
        for a in (
            width_mm,
            thickness_mm,
            length_mm,
            swivel_deg,
            tilt_deg,
            packing_deg,
            cut_above_lowest_mm,
        )
    )
    turns = side if isinstance(side, int) else np.asarray(side, dtype=int)
    on_plate = plate_rows(packing, turns)
    rows = machine_rows(swivel, tilt, on_plate)
    turn, tilted = turn_y(UNIT_ROWS, radians(swivel)), turn_x(UNIT_ROWS, -radians(tilt))
    hinge = _hinge(fixture)
    carry = _swinging(tilted, hinge)
    pivot_x, pivot_z = fixture.swivel.pivot_x_mm, fixture.swivel.pivot_z_mm

    def swivel_round(point: Vector) -> Vector:
        x, y, z = apply(turn, (point[0] - pivot_x, point[1], point[2] - pivot_z))
        return x + pivot_x, y, z + pivot_z

    edges = section(w, t)
    local = [apply(on_plate, (x, y, 0.0)) for x, y in edges]
    across = [x for x, _, _ in local]
    fence = fixture.fence
    shift_x = fence.x_mm - (least(across) if fence.side == "left" else most(across))
    shift_y = -fixture.backing.thickness_mm - most([y for _, y, _ in local])

    # Sliding the stock along the fence by s moves its corner down the plate by s·cos(swivel).
    down = [swivel_round((x + shift_x, y + shift_y, z)) for x, y, z in local]
    plate_low = least([z for _, _, z in down])
    if overhang_mm is None:
        hanging = [carry((x, y, z - plate_low)) for x, y, z in down]
        need = _overhang(fixture, carry, tilt, least([z for _, _, z in hanging]) + cut)
    else:
        need = column(overhang_mm)
    along = (-need - plate_low) / cos(radians(swivel))
    shift = (shift_x, shift_y, along)
    at = carry(swivel_round(shift))
    a, b, _ = rows[2]
    lowest = at[2] + least([a * x + b * y for x, y in edges])

    plate, backing = fixture.plate, fixture.backing
    high, half = plate.height_mm, plate.width_mm / 2
    slabs = [Slab("plate", half, (0.0, plate.thickness_mm), (0.0, high))]
    if backing.thickness_mm > 0:
        low = -need if backing.sacrificial else 0.0
        slabs.append(Slab("backing", half, (-backing.thickness_mm, 0.0), (low, high)))
    wedge = None
    if np.any(packing != 0.0) if isinstance(packing, np.ndarray) else packing != 0.0:
        wedge = tuple(
            carry(swivel_round((x + shift_x, y + shift_y, z + along)))
            for x, y, z in _wedge(local, length, turns)
        )
    return Stand(rows, at, tilted, hinge, (w, t, length), need, lowest, tuple(slabs), wedge)


def _overhang(fixture: Fixture, carry: Move, tilt: Number, deepest_z: Number) -> Number:
    """The least overhang, never negative, that keeps the deepest cut clear of the plate.

    deepest_z: machine Z of that cut if there were no overhang.
    """
    ys = [0.0, fixture.plate.thickness_mm]
    if fixture.backing.thickness_mm > 0 and not fixture.backing.sacrificial:
        ys.append(-fixture.backing.thickness_mm)
    plate_z = least([carry((0.0, y, 0.0))[2] for y in ys])
    rise = deepest_z + fixture.practice.clearance_mm - plate_z
    return most([0.0, rise / cos(radians(tilt))])


def _wedge(local: Sequence[Vector], length: Number, side: Number) -> list[Vector]:
    """Corners of the packing between stock and backing: a prism as long as the stock.

    local: the section's corners as turned on the plate.
    """
    # The rear side's two long edges by the side that lies there; the nearer one touches. Taking
    # the two edges of greatest Y instead goes wrong once the stock is turned past its diagonal.
    first, second = (
        tuple(among(side % 4, [local[place][k] for place in places]) for k in range(2))
        for places in ((3, 1, 0, 0), (2, 2, 1, 3))
    )
    nearer = first[1] >= second[1]
    touching = [where(nearer, a, b) for a, b in zip(first, second, strict=True)]
    lifted = [where(nearer, b, a) for a, b in zip(first, second, strict=True)]
    triangle = ((touching[0], touching[1]), (lifted[0], lifted[1]), (lifted[0], touching[1]))
    return [(x, y, z) for z in (0.0, length) for x, y in triangle]


def front_gap(beam: FrontBeam, clamped: Stand) -> Number:
    """Least room (mm) between ``beam`` and all that swings with the plate.

    Inf where nothing stands at the beam's height.
    """
    at = (beam.face_distance_mm, beam.z_min_mm, beam.z_max_mm)
    return least([beam_gap(corners, edges, *at) for corners, edges in clamped.outlines()])
