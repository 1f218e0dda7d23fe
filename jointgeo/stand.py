"""How stock, backing and plate stand in the machine once it is set.

Knows the fixture, rotations and boxes; no joint type, no notch. Broadcasts over a
leading axis: angles and stock sizes may be arrays of shape (...).

Theory. A point p of the stock is turned on the plate about the pivot P and swung with
the plate about the hinge H:

    p_machine = H + Rx(-tilt) · ( P + Ry(swivel) · (Rz(packing + 90°·n)·p + s - P) - H )

The shift s puts the stock's edge against the fence, its back against the backing
(Y = -b), and its lowest corner ``overhang`` below the plate's edge, measured along the
plate. The overhang is what lets a channel right through clear the plate, and it adds to
the drop from the hinge to the corner that fouls the front beam.
"""

from __future__ import annotations

import attrs
import numpy as np
from numpy.typing import ArrayLike

from jointgeo.clearance import BOX_EDGES, WEDGE_EDGES, beam_gap, box_corners
from jointgeo.fixture import Fixture, FrontBeam
from jointgeo.orientation import quarter_turns
from jointgeo.rotations import Array, about_x, about_y, about_z

__all__ = ["Stand", "axis_margins", "front_gap", "stand"]

Box = tuple[Array, Array]
#: Rows of ``box_corners`` of the two long edges of the side on the plate, for n = 0 to 3.
_REAR = np.array([[2, 3, 6, 7], [4, 5, 6, 7], [0, 1, 4, 5], [0, 1, 2, 3]])


@attrs.frozen(eq=False)
class Stand:
    """Stock as clamped. p_machine = rotation · p_stock + offset, p measured from the blank's end.

    rotation: (..., 3, 3); offset: (..., 3), mm; overhang_mm, lowest_mm (Z of the lowest
    corner of the square end): (...).
    boxes: stock, backing and plate as (centre, halves) in the machine frame; wedge:
    (..., 6, 3) corners of the packing, None where there is none.
    """

    rotation: Array
    offset: Array
    overhang_mm: Array
    lowest_mm: Array
    plate_rotation: Array
    boxes: dict[str, Box]
    wedge: Array | None

    def at(self, index: int) -> Stand:
        """One of a batch with a single leading axis."""
        return Stand(
            self.rotation[index],
            self.offset[index],
            self.overhang_mm[index],
            self.lowest_mm[index],
            self.plate_rotation[index],
            {name: (c[index], h[index]) for name, (c, h) in self.boxes.items()},
            None if self.wedge is None else self.wedge[index],
        )

    def solids(self) -> list[tuple[str, Array, Array]]:
        """(name, corners, edges) of everything that swings with the plate."""
        out = [(n, box_corners(*b), BOX_EDGES) for n, b in self.boxes.items()]
        if self.wedge is not None:
            out.append(("packing", self.wedge, WEDGE_EDGES))
        return out


def axis_margins(
    fixture: Fixture, swivel_deg: ArrayLike, tilt_deg: ArrayLike
) -> tuple[Array, Array]:
    """Room (deg, shape (...)) inside the ranges of swivel and tilt; negative is outside."""
    out = []
    for axis, angle in ((fixture.swivel, swivel_deg), (fixture.tilt, tilt_deg)):
        a = np.asarray(angle, float)
        out.append(np.minimum(axis.max_deg - a, a - axis.min_deg))
    return out[0], out[1]


def _hinge(fixture: Fixture) -> Array:
    return np.array([0.0, fixture.tilt.hinge_y_mm, fixture.tilt.hinge_z_mm])


def swing(fixture: Fixture, tilt_deg: ArrayLike, points: Array) -> Array:
    """Points of the plate (..., n, 3) where the tilt carries them."""
    r = about_x(-np.radians(tilt_deg))
    return np.asarray((points - _hinge(fixture)) @ np.swapaxes(r, -1, -2) + _hinge(fixture))


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
    w, t, length, swivel, tilt, packing, cut = np.broadcast_arrays(
        *(
            np.asarray(a, float)
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
    )
    turn_z = about_z(np.radians(packing)) @ quarter_turns(side)
    turn_y = about_y(np.radians(swivel))
    turn_x = about_x(-np.radians(tilt))
    pivot = np.array([fixture.swivel.pivot_x_mm, 0.0, fixture.swivel.pivot_z_mm])
    hinge = _hinge(fixture)
    zero = np.zeros_like(w)

    size = np.stack([w, t, length], axis=-1)
    halves = size[..., None, :] / 2 * np.eye(3)
    local = box_corners(size / 2, halves) @ np.swapaxes(turn_z, -1, -2)  # (..., 8, 3)
    if fixture.fence.side == "left":
        shift_x = fixture.fence.x_mm - local[..., 0].min(-1)
    else:
        shift_x = fixture.fence.x_mm - local[..., 0].max(-1)
    shift_y = -fixture.backing.thickness_mm - local[..., 1].max(-1)
    shift = np.stack([shift_x, shift_y, zero], axis=-1)

    def on_plate(shift: Array) -> Array:
        return np.asarray(pivot + np.einsum("...ij,...j->...i", turn_y, shift - pivot))

    # Sliding the stock along the fence by s moves its corner down the plate by s·cos(swivel).
    square = box_corners(size / 2, halves)[..., [0, 2, 4, 6], :]  # rows with z = 0
    down = square @ np.swapaxes(turn_y @ turn_z, -1, -2) + on_plate(shift)[..., None, :]
    plate_low = down[..., 2].min(-1)
    if overhang_mm is None:
        need = _overhang(fixture, tilt, down, plate_low, cut)
    else:
        need = np.broadcast_to(np.asarray(overhang_mm, float), w.shape)
    along = (-need - plate_low) / np.cos(np.radians(swivel))
    shift = shift + np.stack([zero, zero, along], axis=-1)

    rotation = turn_x @ turn_y @ turn_z
    offset = hinge + np.einsum("...ij,...j->...i", turn_x, on_plate(shift) - hinge)
    lowest = (square @ np.swapaxes(rotation, -1, -2) + offset[..., None, :])[..., 2].min(-1)
    centre = offset + np.einsum("...ij,...j->...i", rotation, size / 2)
    boxes = {"stock": (centre, halves @ np.swapaxes(rotation, -1, -2))}
    plate = fixture.plate
    backing_low = -need if fixture.backing.sacrificial else zero
    slabs = [("plate", zero, 0.0, plate.thickness_mm)]
    if fixture.backing.thickness_mm > 0:
        slabs.append(("backing", backing_low, -fixture.backing.thickness_mm, 0.0))
    for name, low_z, y0, y1 in slabs:
        half_w = zero + plate.width_mm / 2
        lo = np.stack([-half_w, zero + y0, low_z], axis=-1)
        hi = np.stack([half_w, zero + y1, zero + plate.height_mm], axis=-1)
        middle = swing(fixture, tilt, ((lo + hi) / 2)[..., None, :])[..., 0, :]
        boxes[name] = (
            middle,
            ((hi - lo) / 2)[..., None, :] * np.eye(3) @ np.swapaxes(turn_x, -1, -2),
        )
    wedge = None
    if np.any(packing != 0.0):
        wedge = _wedge(fixture, local, shift, turn_y, tilt, side)
    return Stand(rotation, offset, need, lowest, turn_x, boxes, wedge)


def _overhang(fixture: Fixture, tilt: Array, down: Array, plate_low: Array, cut: Array) -> Array:
    """The least overhang, never negative, that keeps the deepest cut clear of the plate."""
    at_zero = down - np.stack([np.zeros_like(plate_low)] * 2 + [plate_low], -1)[..., None, :]
    stock_low = swing(fixture, tilt, at_zero)[..., 2].min(-1)
    ys = [0.0, fixture.plate.thickness_mm]
    if fixture.backing.thickness_mm > 0 and not fixture.backing.sacrificial:
        ys.append(-fixture.backing.thickness_mm)
    lower_edge = np.array([[0.0, y, 0.0] for y in ys])
    plate_z = swing(fixture, tilt, np.broadcast_to(lower_edge, (*tilt.shape, *lower_edge.shape)))
    rise = stock_low + cut + fixture.practice.clearance_mm - plate_z[..., 2].min(-1)
    return np.asarray(np.maximum(0.0, rise / np.cos(np.radians(tilt))))


def _wedge(
    fixture: Fixture,
    local: Array,
    shift: Array,
    turn_y: Array,
    tilt: Array,
    side: ArrayLike,
) -> Array:
    """Corners of the packing between stock and backing: a prism as long as the stock."""
    pivot = np.array([fixture.swivel.pivot_x_mm, 0.0, fixture.swivel.pivot_z_mm])
    # The rear side's two long edges by the side that lies there; the nearer one touches. Taking
    # the two edges of greatest Y instead goes wrong once the stock is turned past its diagonal.
    rows = np.broadcast_to(_REAR[np.asarray(side) % 4], (*local.shape[:-2], 4))
    edges = np.take_along_axis(local, rows[..., None], axis=-2)
    first, second = edges[..., :2, :], edges[..., 2:, :]
    nearer = first[..., :1, 1:2] >= second[..., :1, 1:2]
    touching, lifted = np.where(nearer, first, second), np.where(nearer, second, first)
    foot = np.array(lifted)
    foot[..., 1] = touching[..., :1, 1]
    prism = np.stack([touching, lifted, foot], axis=-2)  # (..., 2 ends, 3, 3)
    prism = prism.reshape(*prism.shape[:-3], 6, 3)
    plate = pivot + (prism + shift[..., None, :] - pivot) @ np.swapaxes(turn_y, -1, -2)
    return swing(fixture, tilt, plate)


def front_gap(beam: FrontBeam, clamped: Stand) -> Array:
    """Least room (mm, shape (...)) between ``beam`` and all that swings with the plate.

    Inf where nothing stands at the beam's height.
    """
    gaps = [
        beam_gap(corners, edges, beam.face_distance_mm, beam.z_min_mm, beam.z_max_mm)
        for _, corners, edges in clamped.solids()
    ]
    return np.asarray(np.min(np.stack(np.broadcast_arrays(*gaps)), axis=0))
