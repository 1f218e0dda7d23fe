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

import attrs
import numpy as np
from numpy.typing import ArrayLike

from jointgeo.blank import edge_heights, section_corners
from jointgeo.fixture import Fixture
from jointgeo.orientation import machine_from_stock, quarter_turns
from jointgeo.plan import SetupPlan
from jointgeo.rotations import Array, about_x, about_y, about_z

__all__ = ["ERRORS", "OUTCOMES", "Shape", "outcomes", "setup_shape", "stock_size_mm"]

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
    """One setup as the error model needs it; angles may be arrays of shape (...).

    span_mm: between the two cutter positions that make the two walls of the fit; 0 where
    one pass makes both. wall: +1 a slot (kerf widens it), -1 a tongue (kerf narrows it),
    0 where no two walls belong together. middle_mm: middle of the fit from the touch-off
    corner. arm, lock and rails: distances of the fixture's error sources.
    """

    swivel_deg: Array
    tilt_deg: Array
    packing_deg: Array
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


def stock_size_mm(setup: SetupPlan) -> tuple[float, float]:
    """Width and thickness of the stock of one setup, from how it stands in the machine."""
    _, halves = setup.chosen.clamped.boxes["stock"]
    width, thickness, _ = 2 * np.linalg.norm(halves, axis=-1)
    return float(width), float(thickness)


def setup_shape(
    setup: SetupPlan,
    fixture: Fixture,
    swivel_deg: ArrayLike | None = None,
    tilt_deg: ArrayLike | None = None,
) -> Shape:
    """The shape of one setup, at its own angles or at others (arrays broadcast)."""
    chosen, u = setup.chosen, fixture.uncertainty
    swivel, tilt = np.broadcast_arrays(
        np.asarray(chosen.swivel_deg if swivel_deg is None else swivel_deg, float),
        np.asarray(chosen.tilt_deg if tilt_deg is None else tilt_deg, float),
    )
    span, wall, middle = _fit_walls(setup)
    width, thickness = stock_size_mm(setup)
    return Shape(
        swivel,
        tilt,
        np.full(swivel.shape, chosen.packing_deg),
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
    return max(found, default=(0.0, 0, 0.0))


def _machine(e: dict[str, Array], s: Shape) -> Array:
    tilt = s.tilt_deg + e["tilt_deg"]
    tilt = tilt + np.degrees(np.arctan(e["hinge_play_mm"] / s.arm_mm))
    tilt = tilt + np.degrees(np.arctan(e["lock_difference_mm"] / (2 * s.arm_mm)))
    twist = -np.arctan(e["lock_difference_mm"] / s.lock_spacing_mm)
    roll = np.arctan(e["rail_difference_mm"] / s.rail_spacing_mm)
    swivel = np.radians(s.swivel_deg + e["swivel_deg"])
    return np.asarray(
        about_y(roll)
        @ about_x(-np.radians(tilt))
        @ about_z(twist)
        @ about_y(swivel)
        @ about_z(np.radians(s.packing_deg))
        @ quarter_turns(s.side)
    )


def outcomes(errors: ArrayLike, shape: Shape) -> Array:
    """What comes out (OUTCOMES), actual minus nominal.

    errors: shape (k, len(ERRORS)), in the unit each name ends in. shape: angles of shape
    (...). Returns shape (k, ..., len(OUTCOMES)). Exact geometry, no linearisation.
    """
    given = np.asarray(errors, float)
    lead = given.shape[:-1] + (1,) * shape.swivel_deg.ndim
    e = {name: given[..., i].reshape(lead) for i, name in enumerate(ERRORS)}
    r0 = machine_from_stock(shape.swivel_deg, shape.tilt_deg, shape.packing_deg, shape.side)
    r1 = _machine(e, shape)
    corners = section_corners(shape.width_mm, shape.thickness_mm)
    actual = section_corners(shape.width_mm, shape.thickness_mm + e["thickness_mm"])
    centre = np.array([shape.width_mm / 2, shape.thickness_mm / 2, 0.0])
    high0 = edge_heights(r0, centre, 0.0, corners)
    high1 = edge_heights(r1, centre, 0.0, corners)
    rise = (high1 - high0) * r0[..., 2, 2, None]

    p0 = np.concatenate([np.broadcast_to(corners, (*high0.shape, 2)), high0[..., None]], -1)
    nominal = (p0 - centre) @ np.swapaxes(r0, -1, -2)  # corners in machine axes
    feed = np.ptp(nominal[..., 1], axis=-1)
    touched = np.argmin(np.round(nominal[..., 0], 9), axis=-1)
    x0 = np.take_along_axis(nominal[..., 0], touched[..., None], -1)[..., 0]
    high1 = edge_heights(r1, centre, 0.0, actual)
    p1 = np.concatenate([np.broadcast_to(actual, (*high1.shape, 2)), high1[..., None]], -1)
    across1 = np.einsum("...ij,...j->...i", p1 - centre, r1[..., 0, :])
    touched = np.broadcast_to(touched, across1.shape[:-1])
    x1 = np.take_along_axis(across1, touched[..., None], -1)[..., 0]

    # The walls' normal in nominal machine axes: X part near 1, Y and Z parts the wind.
    normal = np.einsum("...j,...ij->...i", r1[..., 0, :], r0)
    wind_y, wind_z = -normal[..., 1] / normal[..., 0], -normal[..., 2] / normal[..., 0]
    wide = e["kerf_mm"] + e["runout_mm"]
    middle1 = shape.middle_mm * (1 + e["lead_fraction"])
    middle1 = middle1 + (e["left_wall_mm"] + e["right_wall_mm"] - e["kerf_mm"]) / 2
    place = (x1 + middle1) / normal[..., 0] - (x0 + shape.middle_mm)
    turn = r1 @ np.swapaxes(r0, -1, -2)
    fit = shape.wall * wide + e["lead_fraction"] * shape.span_mm
    if shape.span_mm > 0:
        fit = fit + e["right_wall_mm"] - e["left_wall_mm"]
    columns = [
        rise[..., 2] - rise[..., 0],
        rise[..., 3] - rise[..., 1],
        fit,
        wind_y * feed + wind_z * shape.depth_mm,
        wind_y * feed - wind_z * shape.depth_mm,
        e["cut_height_mm"] - e["trim_height_mm"] - e["mate_mm"],
        place,
        np.degrees(turn[..., 0, 2] - turn[..., 2, 0]) / 2,
        np.degrees(turn[..., 1, 2] - turn[..., 2, 1]) / 2,
    ]
    return np.stack(np.broadcast_arrays(*columns), axis=-1)
