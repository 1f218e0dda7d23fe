"""How much each error of one setup shifts what comes out of it: derivatives in closed form.

Knows the shape of a setup and the turns of its clamping; no uncertainty and no verdict. The same
cut, exact and with its errors at any size, is ``cutmodel``; the tests hold the two together.

Theory. The machine's axes in stock coordinates are the rows X, Y, Z of

    R = Rx(-tilt) · Ry(swivel) · Rz(packing + 90°·n)

Every error turns one factor a little further, and a turn within a product is a turn of the
whole about that factor's axis as the factors left of it have turned it. To first order all
errors together are therefore one small turn w, R' = (1 + [w]×)·R, in machine coordinates and
radians; with s, c the sine and cosine of the tilt, for each unit of

    swivel            w = (0, c, -s)              its axis is the plate's normal
    tilt              w = (-1, 0, 0)
    hinge play p      w = (-1, 0, 0)/arm          opens the tilt by atan(p / arm)
    lock difference   w = (-1/(2·arm), -s/lock, -c/lock)   a spacer thicker on the right: the
                      middle tilts, and the plate turns about its own upright (0, s, c)
    rail difference   w = (0, 1/rails, 0)         the left rail higher: clockwise

so dX = w_y·Z - w_z·Y, dY = w_z·X - w_x·Z, dZ = w_x·Y - w_y·X. What comes out, each signed, actual
minus nominal, with (x, y) a corner of the trimmed end in machine X and Y from the middle of
the section (its machine Z is 0, since the trim plane passes through there):

* shoulder: height of the actual plane over the nominal one along the nominal way into the
  stock, -dZ·p = w_y·x - w_x·y at a long edge. A mating face held at the drawing's angle touches
  at the highest corner and gaps most at the lowest: the greater of the two diagonals counts.
* cheek_fit: width of the slot, or of the wood left as a tongue, square across. Turns are of
  second order in it.
* cheek_wind: the walls' normal is X + dX, so over a feed length f and a depth d a wall is out by
  w_z·f and -w_y·d, of either sign across its diagonals.
* depth: floor below the trimmed end, less the mate's size where it was measured wrong.
* place: where the channel or tongue lies across the stock, from the marked edges. The touched
  corner p moves by dX·p = -w_z·y, and along its edge with the trim plane: by X_z/Z_z of the
  shoulder's rise there. Stock thicker by 1 moves a back corner by 1 along stock y and by
  -Z_y/Z_z along the edge. The corner is followed as one corner of the wood.
* corner: turn of the end against the drawing about the feed, w_y, and about the traverse,
  -w_x, in degrees.

Where two corners stand level, rounding must not choose the one that is touched: the first is
taken of those that are level within ``SAME_MM``.
"""

from __future__ import annotations

from math import cos, degrees, radians, sin
from typing import TypeAlias

import attrs

from jointgeo.planning.orientation import machine_rows, plate_rows
from jointgeo.uncertainty.shape import SAME_MM, Shape

__all__ = ["Derivatives", "Slopes", "derivatives"]

#: What one outcome changes by for each unit of an error, by the error's name; an error that is
#: not named does not act.
Slopes: TypeAlias = dict[str, float]

_DEGREE = radians(1.0)


@attrs.frozen(eq=False)
class Derivatives:
    """Of one setup, at no error. Where there are two, they are alternatives of which the worse
    one counts. Millimetres, the corner's in degrees, for each unit that an error's name ends in.
    """

    shoulder: tuple[Slopes, Slopes]
    cheek_fit: Slopes
    cheek_wind: tuple[Slopes, Slopes]
    depth: Slopes
    place: Slopes
    corner: tuple[Slopes, Slopes]


def derivatives(shape: Shape) -> Derivatives:
    """Closed form, see the module's text."""
    turns = _turns(shape)
    on_plate = plate_rows(shape.packing_deg, shape.side)
    axes = machine_rows(shape.swivel_deg, shape.tilt_deg, on_plate)
    (x0, x1, x2), (y0, y1, y2), (z0, z1, z2) = axes
    # The corner at full width and thickness, and the one at full width alone; the other two
    # lie opposite, on the far side of the section's middle.
    u, v = shape.width_mm / 2, shape.thickness_mm / 2
    up_c, up_b = -(z0 * u + z1 * v) / z2, -(z0 * u - z1 * v) / z2
    xc, yc = x0 * u + x1 * v + x2 * up_c, y0 * u + y1 * v + y2 * up_c
    xb, yb = x0 * u - x1 * v + x2 * up_b, y0 * u - y1 * v + y2 * up_b
    feed, deep = 2 * max(abs(yb), abs(yc)), shape.depth_mm
    # In the order of the section's corners; the last two lie at full thickness.
    corners = ((-xc, -yc), (xb, yb), (xc, yc), (-xb, -yb))
    leftmost = -max(abs(xb), abs(xc)) + SAME_MM
    touched = next(i for i, (x, _) in enumerate(corners) if x <= leftmost)
    x, y = corners[touched]
    lean = x2 / z2

    place = {e: lean * (wy * x - wx * y) - wz * y for e, (wx, wy, wz) in turns.items()}
    place |= {"lead_fraction": shape.middle_mm, "left_wall_mm": 0.5, "right_wall_mm": 0.5}
    place["kerf_mm"] = -0.5
    if touched >= 2:
        place["thickness_mm"] = x1 - lean * z1
    fit = {"kerf_mm": float(shape.wall), "runout_mm": float(shape.wall)}
    if shape.span_mm > 0:
        fit |= {"lead_fraction": shape.span_mm, "left_wall_mm": -1.0, "right_wall_mm": 1.0}
    return Derivatives(
        (
            {e: 2 * (wy * xc - wx * yc) for e, (wx, wy, _) in turns.items()},
            {e: 2 * (wx * yb - wy * xb) for e, (wx, wy, _) in turns.items()},
        ),
        fit,
        (
            {e: wz * feed - wy * deep for e, (_, wy, wz) in turns.items()},
            {e: wz * feed + wy * deep for e, (_, wy, wz) in turns.items()},
        ),
        {"cut_height_mm": 1.0, "trim_height_mm": -1.0, "mate_mm": -1.0},
        place,
        (
            {e: degrees(wy) for e, (_, wy, _) in turns.items()},
            {e: degrees(-wx) for e, (wx, _, _) in turns.items()},
        ),
    )


def _turns(shape: Shape) -> dict[str, tuple[float, float, float]]:
    """w for each unit of every error that turns."""
    s, c = sin(radians(shape.tilt_deg)), cos(radians(shape.tilt_deg))
    arm, lock = shape.arm_mm, shape.lock_spacing_mm
    return {
        "swivel_deg": (0.0, c * _DEGREE, -s * _DEGREE),
        "tilt_deg": (-_DEGREE, 0.0, 0.0),
        "hinge_play_mm": (-1.0 / arm, 0.0, 0.0),
        "lock_difference_mm": (-0.5 / arm, -s / lock, -c / lock),
        "rail_difference_mm": (0.0, 1.0 / shape.rail_spacing_mm, 0.0),
    }
