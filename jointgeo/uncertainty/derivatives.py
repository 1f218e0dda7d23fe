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
    """Of one setup, at no error. Where an outcome has two, they are alternatives of which the
    worse one counts. Millimetres, the corner's in degrees, for each unit that an error's name
    ends in.

    turns: w for each unit of every error that turns. b, c: the corners at full width, without
    and with full thickness, in machine X and Y from the section's middle; the other two lie
    opposite. x_axis, z_axis: rows of R.
    """

    shape: Shape
    turns: dict[str, tuple[float, float, float]]
    x_axis: tuple[float, float, float]
    z_axis: tuple[float, float, float]
    b: tuple[float, float]
    c: tuple[float, float]

    @property
    def shoulder(self) -> tuple[Slopes, Slopes]:
        """Either diagonal of the rise over the end, from the corner of less y to that of more."""
        (xb, yb), (xc, yc) = self.b, self.c
        return (
            {e: 2 * (wy * xc - wx * yc) for e, (wx, wy, _) in self.turns.items()},
            {e: 2 * (wx * yb - wy * xb) for e, (wx, wy, _) in self.turns.items()},
        )

    @property
    def cheek_fit(self) -> Slopes:
        shape = self.shape
        fit = {"kerf_mm": float(shape.wall), "runout_mm": float(shape.wall)}
        if shape.span_mm > 0:
            fit |= {"lead_fraction": shape.span_mm, "left_wall_mm": -1.0, "right_wall_mm": 1.0}
        return fit

    @property
    def cheek_wind(self) -> tuple[Slopes, Slopes]:
        """Either diagonal over a cheek."""
        feed, deep = 2 * max(abs(self.b[1]), abs(self.c[1])), self.shape.depth_mm
        return (
            {e: wz * feed - wy * deep for e, (_, wy, wz) in self.turns.items()},
            {e: wz * feed + wy * deep for e, (_, wy, wz) in self.turns.items()},
        )

    @property
    def depth(self) -> Slopes:
        return {"cut_height_mm": 1.0, "trim_height_mm": -1.0, "mate_mm": -1.0}

    @property
    def place(self) -> Slopes:
        (xb, yb), (xc, yc) = self.b, self.c
        corners = ((-xc, -yc), (xb, yb), (xc, yc), (-xb, -yb))  # as a section is listed
        level = -max(abs(xb), abs(xc)) + SAME_MM
        touched = next(i for i, (x, _) in enumerate(corners) if x <= level)
        x, y = corners[touched]
        lean = self.x_axis[2] / self.z_axis[2]
        out = {e: lean * (wy * x - wx * y) - wz * y for e, (wx, wy, wz) in self.turns.items()}
        if touched >= 2:  # at full thickness
            out["thickness_mm"] = self.x_axis[1] - lean * self.z_axis[1]
        walls = {"left_wall_mm": 0.5, "right_wall_mm": 0.5, "kerf_mm": -0.5}
        return out | walls | {"lead_fraction": self.shape.middle_mm}

    @property
    def corner(self) -> tuple[Slopes, Slopes]:
        """About the feed and about the traverse."""
        return (
            {e: degrees(wy) for e, (_, wy, _) in self.turns.items()},
            {e: degrees(-wx) for e, (wx, _, _) in self.turns.items()},
        )


def derivatives(shape: Shape) -> Derivatives:
    """What the module's text needs of one setup; each outcome's derivatives when asked for."""
    on_plate = plate_rows(shape.packing_deg, shape.side)
    x_axis, (y0, y1, y2), z_axis = machine_rows(shape.swivel_deg, shape.tilt_deg, on_plate)
    x0, x1, x2 = x_axis
    z0, z1, z2 = z_axis
    u, v = shape.width_mm / 2, shape.thickness_mm / 2
    up = -(z0 * u - z1 * v) / z2
    b = (x0 * u - x1 * v + x2 * up, y0 * u - y1 * v + y2 * up)
    up = -(z0 * u + z1 * v) / z2
    c = (x0 * u + x1 * v + x2 * up, y0 * u + y1 * v + y2 * up)
    return Derivatives(shape, _turns(shape), x_axis, z_axis, b, c)


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
