"""What one setup really cuts when its settings are a little off.

Knows plans, rotations and plain geometry; knows no uncertainty and no verdict.

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
differences below are signed, actual minus nominal, so that they are smooth (see
``combine``).

* shoulder: height of the actual plane over the nominal one at the four long edges, along
  the nominal way into the stock. A mating face held at the drawing's angle touches at the
  highest corner and gaps most at the lowest: that is the greater of the two diagonals.
* cheek_fit: width of the slot, or of the wood left as a tongue, square across.
* cheek_wind: the same pair of diagonals over a cheek (feed length × depth): how far it is
  out of true against the mate's cheek.
* depth: floor below the trimmed end, less the mate's size where it was measured wrong.
* place: where the channel or tongue lies across the stock, from the marked edges. The
  touch-off corner is followed as one corner of the wood even where two stand level.
* corner: turn of the end against the drawing, about the feed (seen along it, in the plane
  of the swivel) and about the traverse (in the plane of the tilt).
"""

from __future__ import annotations

from collections.abc import Mapping

import attrs
import numpy as np
from numpy.typing import ArrayLike

from jointgeo.fixtures.model import Fixture
from jointgeo.geometry.arith import (
    Number,
    among,
    arctan,
    column,
    degrees,
    least,
    most,
    place_of_least,
    radians,
    snapped,
)
from jointgeo.geometry.rotations import Array, Rows, dot, stacked, turn_x, turn_y, turn_z
from jointgeo.planning.blank import heights, section
from jointgeo.planning.orientation import machine_rows, plate_rows
from jointgeo.planning.setups import SetupPlan

__all__ = ["ERRORS", "OUTCOMES", "Shape", "outcomes", "setup_shape", "shoulder_slope"]

#: The errors of one setup, in the order ``outcomes`` takes them; each name ends in its unit.
ERRORS = (
    "swivel_deg",
    "tilt_deg",
    "hinge_play_mm",
    "lock_difference_mm",
    "rail_difference_mm",
    "lead_fraction",
    "left_wall_mm",
    "right_wall_mm",
    "kerf_mm",
    "runout_mm",
    "trim_height_mm",
    "cut_height_mm",
    "thickness_mm",
    "mate_mm",
)

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


@attrs.frozen(eq=False)
class Shape:
    """One setup as the error model needs it; angles may be columns of shape (...).

    span_mm: between the two cutter positions that make the two walls of the fit; 0 where
    one pass makes both. wall: +1 a slot (kerf widens it), -1 a tongue (kerf narrows it),
    0 where no two walls belong together. middle_mm: middle of the fit from the touch-off
    corner. arm, lock and rails: distances of the fixture's error sources.
    """

    swivel_deg: Number
    tilt_deg: Number
    packing_deg: Number
    side: int
    width_mm: float
    thickness_mm: float
    depth_mm: float
    span_mm: float
    wall: int
    middle_mm: float
    arm_mm: float
    lock_spacing_mm: float
    rail_spacing_mm: float

    @property
    def across_mm(self) -> float:
        """Size of the stock along the traverse at zero settings."""
        return self.thickness_mm if self.side % 2 else self.width_mm

    @property
    def deep_mm(self) -> float:
        """Size of the stock from plate to you."""
        return self.width_mm if self.side % 2 else self.thickness_mm


def setup_shape(
    setup: SetupPlan,
    fixture: Fixture,
    swivel_deg: ArrayLike | None = None,
    tilt_deg: ArrayLike | None = None,
) -> Shape:
    """The shape of one setup, at its own angles or at others (arrays broadcast)."""
    chosen, u = setup.chosen, fixture.uncertainty
    span, wall, middle = _fit_walls(setup)
    width, thickness, _ = chosen.clamped.size_mm
    return Shape(
        chosen.swivel_deg if swivel_deg is None else column(swivel_deg),
        chosen.tilt_deg if tilt_deg is None else column(tilt_deg),
        chosen.packing_deg,
        chosen.side,
        width,
        thickness,
        setup.depth_mm,
        span,
        wall,
        middle,
        u.tilt_lock_arm_mm,
        u.tilt_lock_spacing_mm,
        u.rail_spacing_mm,
    )


def _fit_walls(setup: SetupPlan) -> tuple[float, int, float]:
    """Span, wall and middle of the slot or tongue with the longest travel between its walls."""
    found = []
    kerf = setup.cutter.kerf_mm
    for cut in setup.cuts:
        if not cut.outer:
            span = cut.passes[-1].travel_mm - cut.passes[0].travel_mm
            found.append((span, 1, (cut.left_mm + cut.right_mm) / 2))
    for before, after in zip(setup.cuts, setup.cuts[1:], strict=False):
        if after.left_mm > before.right_mm:
            span = after.left_mm + kerf - before.right_mm
            found.append((span, -1, (before.right_mm + after.left_mm) / 2))
    # Rounded, lest rounding choose among fingers that are all alike.
    return max(found, key=lambda walls: snapped(walls[0]), default=(0.0, 0, 0.0))


def _actual(e: Mapping[str, Number], s: Shape, on_plate: Rows) -> Rows:
    """R' of the module's text, from the stock as turned on the plate; an error that is not
    named is none."""
    tilt = radians(s.tilt_deg + e.get("tilt_deg", 0.0))
    rows = turn_y(on_plate, radians(s.swivel_deg + e.get("swivel_deg", 0.0)))
    if "hinge_play_mm" in e:
        tilt = tilt + arctan(e["hinge_play_mm"] / s.arm_mm)
    if "lock_difference_mm" in e:
        lock = e["lock_difference_mm"]
        tilt = tilt + arctan(lock / (2 * s.arm_mm))
        rows = turn_z(rows, -arctan(lock / s.lock_spacing_mm))
    rows = turn_x(rows, -tilt)
    if "rail_difference_mm" in e:
        rows = turn_y(rows, arctan(e["rail_difference_mm"] / s.rail_spacing_mm))
    return rows


def _diagonals(rows: Rows, s: Shape) -> tuple[Number, Number]:
    """Rise of the end along the blank, across either diagonal of the section."""
    x, y = s.width_mm / 2, s.thickness_mm / 2
    a, b, c, d = heights(rows[2], (x, y, 0.0), 0.0, section(s.width_mm, s.thickness_mm))
    return c - a, d - b


def shoulder_slope(shape: Shape, error: str, step: float) -> Number:
    """Gap at the shoulder's worst corner for each unit of one error (``ERRORS``), by central
    difference: what ``combine.sensitivities`` makes of ``outcomes``, for the shoulder alone."""
    on_plate = plate_rows(shape.packing_deg, shape.side)
    upright = machine_rows(shape.swivel_deg, shape.tilt_deg, on_plate)[2][2]
    more, less = (_diagonals(_actual({error: h}, shape, on_plate), shape) for h in (step, -step))
    return most([abs(b - a) * upright / (2 * step) for a, b in zip(less, more, strict=True)])


def outcomes(errors: ArrayLike, shape: Shape) -> Array:
    """What comes out (OUTCOMES), actual minus nominal.

    errors: shape (k, len(ERRORS)), in the unit each name ends in. shape: angles of shape
    (...). Returns shape (k, ..., len(OUTCOMES)). Exact geometry, no linearisation.
    """
    given = np.asarray(errors, float)
    lead = given.shape[:-1] + (1,) * np.ndim(shape.swivel_deg + shape.tilt_deg)
    e = {name: given[..., i].reshape(lead) for i, name in enumerate(ERRORS)}
    on_plate = plate_rows(shape.packing_deg, shape.side)
    r0 = machine_rows(shape.swivel_deg, shape.tilt_deg, on_plate)
    r1 = _actual(e, shape, on_plate)
    was, now = _diagonals(r0, shape), _diagonals(r1, shape)
    shoulder = [(b - a) * r0[2][2] for a, b in zip(was, now, strict=True)]

    x, y = shape.width_mm / 2, shape.thickness_mm / 2
    centre = (x, y, 0.0)
    corners = section(shape.width_mm, shape.thickness_mm)
    up = heights(r0[2], centre, 0.0, corners)
    around = [(u - x, v - y, z) for (u, v), z in zip(corners, up, strict=True)]
    across, along = ([dot(row, p) for p in around] for row in r0[:2])  # corners in machine axes
    feed = most(along) - least(along)
    # Corners that stand level are one as good as the other; rounding must not choose.
    touched = place_of_least([snapped(a) for a in across])
    x0 = among(touched, across)
    actual = section(shape.width_mm, shape.thickness_mm + e["thickness_mm"])
    up = heights(r1[2], centre, 0.0, actual)
    x1 = among(
        touched, [dot(r1[0], (u - x, v - y, z)) for (u, v), z in zip(actual, up, strict=True)]
    )

    # The walls' normal in nominal machine axes: X part near 1, Y and Z parts the wind.
    normal_x, normal_y, normal_z = (dot(r1[0], row) for row in r0)
    wind_y, wind_z = -normal_y / normal_x, -normal_z / normal_x
    wide = e["kerf_mm"] + e["runout_mm"]
    middle1 = shape.middle_mm * (1 + e["lead_fraction"])
    middle1 = middle1 + (e["left_wall_mm"] + e["right_wall_mm"] - e["kerf_mm"]) / 2
    place = (x1 + middle1) / normal_x - (x0 + shape.middle_mm)
    fit = shape.wall * wide + e["lead_fraction"] * shape.span_mm
    if shape.span_mm > 0:
        fit = fit + e["right_wall_mm"] - e["left_wall_mm"]
    columns = [
        *shoulder,
        fit,
        wind_y * feed + wind_z * shape.depth_mm,
        wind_y * feed - wind_z * shape.depth_mm,
        e["cut_height_mm"] - e["trim_height_mm"] - e["mate_mm"],
        place,
        degrees(normal_z - dot(r1[2], r0[0])) / 2,
        degrees(dot(r1[1], r0[2]) - dot(r1[2], r0[1])) / 2,
    ]
    return stacked(columns)
