"""What one setup really cuts when its settings are a little off: exact, for many errors at once.

Knows the shape of a setup and numpy; no uncertainty and no verdict. It shares no arithmetic with
``derivatives``, which has the same to first order and is held against it.

Theory. With the errors of one setup the machine's axes in stock coordinates are the rows of

    R' = Ry(roll) · Rx(-(tilt + …)) · Rz(twist) · Ry(swivel + …) · Rz(packing + 90°·n)

* roll: the rails run along the feed; the left one higher by r turns the whole fixture
  clockwise as you face the plate, by atan(r / spacing).
* twist: the plate is locked on two sides; a spacer thicker by s on the right-hand side
  brings that side forward, a turn of the plate about its own upright of
  -atan(s / spacing), and the middle, where the stock is, by atan(s / 2·arm) of tilt.
* hinge play p opens the tilt by atan(p / arm).

Everything is referred to the trimmed end, which is cut in the same setting: the trim
plane passes through the same point of the stock's centre line, with R' for its frame. All
outcomes (see ``derivatives``) are signed, actual minus nominal, so that they are smooth.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from jointgeo.uncertainty.shape import ERRORS, SAME_MM, Shape

__all__ = ["OUTCOMES", "outcomes"]

Array = NDArray[np.float64]

#: What ``outcomes`` gives, in order. Pairs are alternatives of which the worse one counts.
OUTCOMES = (
    "shoulder_1_mm",
    "shoulder_2_mm",
    "cheek_fit_mm",
    "cheek_wind_1_mm",
    "cheek_wind_2_mm",
    "depth_mm",
    "place_mm",
    "corner_feed_deg",
    "corner_traverse_deg",
)


def outcomes(errors: ArrayLike, shape: Shape) -> Array:
    """What comes out (OUTCOMES), actual minus nominal; no linearisation.

    errors: shape (..., len(ERRORS)), in the unit each name ends in. Returns shape
    (..., len(OUTCOMES)).
    """
    given = np.asarray(errors, dtype=float)
    e = dict(zip(ERRORS, np.moveaxis(given, -1, 0), strict=True))
    none = dict.fromkeys(ERRORS, np.zeros(()))
    was, now = _axes(none, shape), _axes(e, shape)
    before, after = _corners(was, shape), _corners(now, shape)
    rise = (after - before)[..., 2] * was[2, 2]
    shoulder = rise[..., 2] - rise[..., 0], rise[..., 3] - rise[..., 1]

    across, along = before @ was[0], before @ was[1]
    feed = np.ptp(along)
    touched = int(np.argmax(across <= across.min() + SAME_MM))
    as_thick = _corners(now, shape, e["thickness_mm"])[..., touched, :]
    x0, x1 = across[touched], np.sum(as_thick * now[..., 0, :], axis=-1)

    # The walls' normal in nominal machine axes: X part near 1, Y and Z parts the wind.
    normal_x, normal_y, normal_z = np.moveaxis(now[..., 0, :] @ was.T, -1, 0)
    wind_y, wind_z = -normal_y / normal_x * feed, -normal_z / normal_x * shape.depth_mm
    middle = shape.middle_mm * (1 + e["lead_fraction"])
    middle = middle + (e["left_wall_mm"] + e["right_wall_mm"] - e["kerf_mm"]) / 2
    fit = shape.wall * (e["kerf_mm"] + e["runout_mm"]) + e["lead_fraction"] * shape.span_mm
    if shape.span_mm > 0:
        fit = fit + e["right_wall_mm"] - e["left_wall_mm"]
    turned = now @ was.T
    return np.stack(
        [
            *shoulder,
            fit,
            wind_y + wind_z,
            wind_y - wind_z,
            e["cut_height_mm"] - e["trim_height_mm"] - e["mate_mm"],
            (x1 + middle) / normal_x - (x0 + shape.middle_mm),
            np.degrees(turned[..., 0, 2] - turned[..., 2, 0]) / 2,
            np.degrees(turned[..., 1, 2] - turned[..., 2, 1]) / 2,
        ],
        axis=-1,
    )


def _axes(e: dict[str, Array], s: Shape) -> Array:
    """R' of the module's text, shape (..., 3, 3)."""
    lock = e["lock_difference_mm"]
    tilt = np.radians(s.tilt_deg + e["tilt_deg"])
    tilt = tilt + np.arctan(e["hinge_play_mm"] / s.arm_mm) + np.arctan(lock / (2 * s.arm_mm))
    return np.asarray(
        _about(1, np.arctan(e["rail_difference_mm"] / s.rail_spacing_mm))
        @ _about(0, -tilt)
        @ _about(2, -np.arctan(lock / s.lock_spacing_mm))
        @ _about(1, np.radians(s.swivel_deg + e["swivel_deg"]))
        @ _about(2, np.radians(s.packing_deg + 90.0 * s.side))
    )


def _about(axis: int, angle: Any) -> Array:
    """Right-handed rotation about X, Y or Z (0, 1, 2) by radians of shape (...)."""
    first, second = (axis + 1) % 3, (axis + 2) % 3
    out = np.zeros((*np.shape(angle), 3, 3))
    out[..., axis, axis] = 1.0
    out[..., first, first] = out[..., second, second] = np.cos(angle)
    out[..., second, first] = np.sin(angle)
    out[..., first, second] = -np.sin(angle)
    return out


def _corners(axes: Array, s: Shape, thicker_mm: Array | float = 0.0) -> Array:
    """Corners of the trimmed end from the middle of the nominal section, (..., 4, 3): at (0, 0),
    (w, 0), (w, t), (0, t) of stock that is so much thicker at its back."""
    x, y = s.width_mm / 2, s.thickness_mm / 2
    normal = axes[..., 2, :]
    points = []
    for u, v in ((-x, -y), (x, -y), (x, y + thicker_mm), (-x, y + thicker_mm)):
        z = -(normal[..., 0] * u + normal[..., 1] * v) / normal[..., 2]
        points.append(np.stack(np.broadcast_arrays(u, v, z), axis=-1))
    return np.stack(points, axis=-2)
