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

from math import atan2, degrees, hypot, radians

import attrs

from jointgeo.geometry.rotations import Rows, turn_x, turn_y, turn_z

__all__ = [
    "SENSES",
    "Clamping",
    "clamping",
    "machine_from_stock",
    "machine_rows",
    "plate_rows",
    "quarter_rows",
]

#: Below this cosine of the swivel (about 0.0002° from 90°) tilt and packing cannot be told
#: apart in double precision to better than the 1e-9 the frames themselves carry.
LOCK = 3e-6
SENSES = (1.0, -1.0)


_COSINES = (1.0, 0.0, -1.0, 0.0)
_SINES = (0.0, 1.0, 0.0, -1.0)


@attrs.frozen(eq=False)
class Clamping:
    """How one sense of a frame is clamped.

    side: n, the number of quarter turns; 0 puts the back on the plate (face side
    towards you), 2 the face side, 1 the edge at x = width, 3 the edge at x = 0.
    swivel_deg: positive clockwise as you face the plate.
    tilt_deg: positive when the cut end swings towards you.
    packing_deg: turn about the stock's own length that a wedge must give; 0 where the
    two axes suffice.
    degenerate: at gimbal lock, see the module's text.
    """

    side: int
    swivel_deg: float
    tilt_deg: float
    packing_deg: float
    degenerate: bool


def quarter_rows(side: int) -> Rows:
    """Rz(90°·side), exact: entries are 0 and ±1."""
    cosine, sine = _COSINES[side % 4], _SINES[side % 4]
    return (cosine, -sine, 0.0), (sine, cosine, 0.0), (0.0, 0.0, 1.0)


def machine_rows(swivel_deg: float, tilt_deg: float, on_plate: Rows) -> Rows:
    """R, from the stock as it is turned on the plate (``plate_rows``)."""
    return turn_x(turn_y(on_plate, radians(swivel_deg)), -radians(tilt_deg))


def plate_rows(packing_deg: float, side: int) -> Rows:
    """Rz(packing)·Rz(90°·side): the stock as it is turned on the plate."""
    return turn_z(quarter_rows(side), radians(packing_deg))


def machine_from_stock(
    swivel_deg: float, tilt_deg: float, packing_deg: float = 0.0, side: int = 0
) -> Rows:
    """R; its rows are the machine's axes in stock coordinates."""
    return machine_rows(swivel_deg, tilt_deg, plate_rows(packing_deg, side))


def clamping(frame: Rows, sense: float) -> Clamping:
    """How to clamp for one sense (1 or -1) of a frame Q, given as right-handed rows."""
    (a, b, c), (d, e, f), (g, h, i) = frame
    sensed = (
        (sense * a, sense * b, sense * c),
        (sense * d, sense * e, sense * f),
        (g, h, i),
    )
    *_, packing, locked = _angles(sensed)
    side = 0 if locked else round(packing / 90.0) % 4
    (cosine, _, _), (sine, _, _), _ = quarter_rows(side)
    # Times the quarter turn's transpose: x and y of every row turned back.
    turned: Rows = tuple(  # type: ignore[assignment]  # three rows
        (x * cosine - y * sine, x * sine + y * cosine, z) for x, y, z in sensed
    )
    swivel, tilt, left, _ = _angles(turned)
    return Clamping(side, swivel, tilt, left, locked)


def _angles(rows: Rows) -> tuple[float, float, float, bool]:
    """Swivel, tilt and packing (degrees) of R with side 0, and whether it is at gimbal lock.

    Packing lies in (-180°, 180°]; at gimbal lock it is 0 and tilt holds the whole turn.
    """
    (xx, xy, xz), (yx, yy, yz), (_, _, zz) = rows
    cosine = hypot(xx, xy)
    swivel = atan2(xz, cosine)
    locked = cosine < LOCK
    if locked:
        # Row 1 is (-sin(t)·s, cos t, 0) once packing is taken as 0.
        packing, tilt = 0.0, atan2(-yx if xz > 0 else yx, yy)
    else:
        packing, tilt = atan2(-xy, xx), atan2(yz, zz)
    # Adding 0.0 turns -0.0 into 0.0, which would read as a direction on a sheet.
    return degrees(swivel) + 0.0, degrees(tilt) + 0.0, degrees(packing) + 0.0, locked
