"""Which way to clamp the stock and where to set swivel and tilt.

Knows rotations only; no fixture, no joint, no ranges.

Theory. A notch gives a frame Q whose rows are, in stock coordinates, the way across
the channel (q_x), along the feed (q_y) and from the end into the stock (q_z). The
fixture turns the stock by

    R = Rx(-tilt) · Ry(swivel) · Rz(packing) · Rz(90° · n)        machine from stock

so the cut is made where R = Q. A channel has no front and no back: Q and
diag(-1, -1, 1)·Q describe the same channel with every interval negated. Each of
these two *senses* can be clamped with any of four sides on the plate; turning the
stock by 90° only moves 90° between n and packing, so of each sense the one side with
|packing| ≤ 45° is kept. Two candidates remain, and their swivels and tilts are
opposite: that is why a one-way tilt still serves every single part.

Trap. Angles are recovered with arctangents: acos of a number near 1 loses half the
digits just where small angles live. And at swivel ±90° (gimbal lock) tilt and packing
turn about the same line, so only their sum is known: such a frame is flagged
``degenerate``, packing is set to 0, and frames must be compared as matrices.
"""

from __future__ import annotations

import attrs
import numpy as np
from numpy.typing import ArrayLike, NDArray

from jointgeo.geometry.arith import (
    Number,
    among,
    arctan2,
    column,
    degrees,
    hypot,
    nearest_whole,
    radians,
    sign,
    where,
)
from jointgeo.geometry.rotations import (
    Array,
    Rows,
    rows_of,
    stacked,
    turn_x,
    turn_y,
    turn_z,
)

__all__ = [
    "SENSES",
    "Clamping",
    "Orientation",
    "clamping",
    "clampings",
    "machine_from_stock",
    "machine_rows",
    "plate_rows",
    "quarter_rows",
    "quarter_turns",
]

#: Below this cosine of the swivel (about 0.0002° from 90°) tilt and packing cannot be told
#: apart in double precision to better than the 1e-9 the frames themselves carry.
LOCK = 3e-6
SENSES = (1.0, -1.0)


_COSINES = (1.0, 0.0, -1.0, 0.0)
_SINES = (0.0, 1.0, 0.0, -1.0)


@attrs.frozen(eq=False)
class Clamping:
    """How one sense of a frame is clamped; each value a number or a column.

    side: n, the number of quarter turns; 0 puts the back on the plate (face side
    towards you), 2 the face side, 1 the edge at x = width, 3 the edge at x = 0.
    swivel_deg: positive clockwise as you face the plate.
    tilt_deg: positive when the cut end swings towards you.
    packing_deg: turn about the stock's own length that a wedge must give; 0 where the
    two axes suffice.
    degenerate: at gimbal lock, see the module's text.
    """

    side: Number
    swivel_deg: Number
    tilt_deg: Number
    packing_deg: Number
    degenerate: Number


@attrs.frozen(eq=False)
class Orientation:
    """Two clampings for each frame; every array has shape (..., 2), the last axis the sense.

    The values are those of ``Clamping``.
    """

    side: NDArray[np.int64]
    swivel_deg: Array
    tilt_deg: Array
    packing_deg: Array
    degenerate: NDArray[np.bool_]


def quarter_rows(side: Number) -> Rows:
    """Rz(90°·side) as rows, exact: entries are 0 and ±1. side: an int or a column of them."""
    cosine, sine = among(side % 4, _COSINES), among(side % 4, _SINES)
    return (cosine, -sine, 0.0), (sine, cosine, 0.0), (0.0, 0.0, 1.0)


def quarter_turns(side: ArrayLike) -> Array:
    """Rz(90°·side) as arrays (..., 3, 3)."""
    return stacked(quarter_rows(np.asarray(side, dtype=int)))


def machine_rows(swivel_deg: Number, tilt_deg: Number, on_plate: Rows) -> Rows:
    """R, from the stock as it is turned on the plate (``plate_rows``)."""
    return turn_x(turn_y(on_plate, radians(swivel_deg)), -radians(tilt_deg))


def plate_rows(packing_deg: Number, side: Number) -> Rows:
    """Rz(packing)·Rz(90°·side): the stock as it is turned on the plate."""
    return turn_z(quarter_rows(side), radians(packing_deg))


def machine_from_stock(
    swivel_deg: ArrayLike, tilt_deg: ArrayLike, packing_deg: ArrayLike = 0.0, side: ArrayLike = 0
) -> Array:
    """R of shape (..., 3, 3); its rows are the machine's axes in stock coordinates."""
    on_plate = plate_rows(column(packing_deg), np.asarray(side, dtype=int))
    return stacked(machine_rows(column(swivel_deg), column(tilt_deg), on_plate))


def clamping(frame: Rows, sense: float) -> Clamping:
    """How to clamp for one sense (1 or -1) of a frame Q, given as right-handed rows."""
    (a, b, c), (d, e, f), (g, h, i) = frame
    sensed = (
        (sense * a, sense * b, sense * c),
        (sense * d, sense * e, sense * f),
        (g, h, i),
    )
    *_, packing, locked = _angles(sensed)
    side = where(locked, 0, nearest_whole(packing / 90.0) % 4)
    (cosine, _, _), (sine, _, _), _ = quarter_rows(side)
    # Times the quarter turn's transpose: x and y of every row turned back.
    turned: Rows = tuple(  # type: ignore[assignment]  # three rows
        (x * cosine - y * sine, x * sine + y * cosine, z) for x, y, z in sensed
    )
    swivel, tilt, left, _ = _angles(turned)
    return Clamping(side, swivel, tilt, left, locked)


def _angles(rows: Rows) -> tuple[Number, Number, Number, Number]:
    """Swivel, tilt and packing (degrees) of R with side 0, and whether it is at gimbal lock.

    Packing lies in (-180°, 180°]; at gimbal lock it is 0 and tilt holds the whole turn.
    """
    (xx, xy, xz), (yx, yy, yz), (_, _, zz) = rows
    cosine = hypot(xx, xy)
    swivel = arctan2(xz, cosine)
    locked = cosine < LOCK
    packing = where(locked, 0.0, arctan2(-xy, xx))
    # At lock, row 1 is (-sin(t)·s, cos t, 0) once packing is taken as 0.
    tilt = where(locked, arctan2(-sign(xz) * yx, yy), arctan2(yz, zz))
    # Adding 0.0 turns -0.0 into 0.0, which would read as a direction on a sheet.
    return degrees(swivel) + 0.0, degrees(tilt) + 0.0, degrees(packing) + 0.0, locked


def clampings(frames: ArrayLike) -> Orientation:
    """The two clampings of each frame Q, shape (..., 3, 3).

    Q must be a rotation: rows orthonormal, right-handed (ValueError otherwise,
    tolerance 1e-9, far above rounding and far below any setting).
    """
    q = np.asarray(frames, dtype=float)
    if q.shape[-2:] != (3, 3):
        raise ValueError(f"frames must have shape (..., 3, 3), not {q.shape}")
    product = q @ np.swapaxes(q, -1, -2)
    if not np.all(np.abs(product - np.eye(3)) < 1e-9) or not np.all(np.linalg.det(q) > 0):
        raise ValueError("frames must be right-handed orthonormal rows")
    rows = rows_of(q)
    both = [clamping(rows, sense) for sense in SENSES]
    return Orientation(
        *(np.stack([getattr(c, f.name) for c in both], axis=-1) for f in attrs.fields(Clamping))
    )
