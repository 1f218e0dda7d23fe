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

from jointgeo.rotations import Array, about_x, about_y, about_z

__all__ = ["Orientation", "clampings", "machine_from_stock", "swivel_tilt_packing"]

#: Below this cosine of the swivel (about 0.0002° from 90°) tilt and packing cannot be told
#: apart in double precision to better than the 1e-9 the frames themselves carry.
LOCK = 3e-6
SENSES = (1.0, -1.0)


@attrs.frozen(eq=False)
class Orientation:
    """Two clampings for each frame; every array has shape (..., 2), the last axis the sense.

    side: n, the number of quarter turns; 0 puts the back on the plate (face side
    towards you), 2 the face side, 1 the edge at x = width, 3 the edge at x = 0.
    swivel_deg: positive clockwise as you face the plate.
    tilt_deg: positive when the cut end swings towards you.
    packing_deg: turn about the stock's own length that a wedge must give; 0 where the
    two axes suffice.
    degenerate: at gimbal lock, see the module's text.
    """

    side: NDArray[np.int64]
    swivel_deg: Array
    tilt_deg: Array
    packing_deg: Array
    degenerate: NDArray[np.bool_]


def machine_from_stock(
    swivel_deg: ArrayLike, tilt_deg: ArrayLike, packing_deg: ArrayLike = 0.0, side: ArrayLike = 0
) -> Array:
    """R of shape (..., 3, 3); its rows are the machine's axes in stock coordinates."""
    tilt, swivel = np.radians(tilt_deg), np.radians(swivel_deg)
    return np.asarray(
        about_x(-tilt) @ about_y(swivel) @ about_z(np.radians(packing_deg)) @ quarter_turns(side)
    )


def quarter_turns(side: ArrayLike) -> Array:
    """Rz(90°·side), exact: entries are 0 and ±1."""
    n = np.asarray(side, dtype=int) % 4
    cosine = np.array([1.0, 0.0, -1.0, 0.0])[n]
    sine = np.array([0.0, 1.0, 0.0, -1.0])[n]
    out = np.zeros((*n.shape, 3, 3))
    out[..., 0, 0] = out[..., 1, 1] = cosine
    out[..., 1, 0], out[..., 0, 1] = sine, -sine
    out[..., 2, 2] = 1.0
    return out


def swivel_tilt_packing(
    rotation: ArrayLike,
) -> tuple[Array, Array, Array, NDArray[np.bool_]]:
    """Swivel, tilt and packing (degrees, shape (...)) of R (..., 3, 3) with side 0, and the flag.

    Packing lies in (-180°, 180°]; at gimbal lock it is 0 and tilt holds the whole turn.
    """
    r = np.asarray(rotation, dtype=float)
    cosine = np.hypot(r[..., 0, 0], r[..., 0, 1])
    swivel = np.arctan2(r[..., 0, 2], cosine)
    locked = cosine < LOCK
    packing = np.where(locked, 0.0, np.arctan2(-r[..., 0, 1], r[..., 0, 0]))
    # At lock, row 1 is (-sin(t)·s, cos t, 0) once packing is taken as 0.
    tilt_locked = np.arctan2(-np.sign(r[..., 0, 2]) * r[..., 1, 0], r[..., 1, 1])
    tilt = np.where(locked, tilt_locked, np.arctan2(r[..., 1, 2], r[..., 2, 2]))
    # Adding 0.0 turns -0.0 into 0.0, which would read as a direction on a sheet.
    return np.degrees(swivel) + 0.0, np.degrees(tilt) + 0.0, np.degrees(packing) + 0.0, locked


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
    flips = np.array([np.diag([s, s, 1.0]) for s in SENSES])
    sensed = flips @ q[..., None, :, :]
    *_, packing, locked = swivel_tilt_packing(sensed)
    side = np.where(locked, 0, np.rint(packing / 90.0).astype(int) % 4)
    turned = sensed @ np.swapaxes(quarter_turns(side), -1, -2)
    swivel, tilt, left, _ = swivel_tilt_packing(turned)
    return Orientation(side.astype(np.int64), swivel, tilt, left, locked)
