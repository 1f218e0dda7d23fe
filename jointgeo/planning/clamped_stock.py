"""How stock, backing and plate stand in the machine once it is set.

Knows the fixture, rotations and boxes; no joint type, no notch. Plain floats.

Theory. A point p of the stock is turned on the plate about the pivot P and swung with
the plate about the hinge H:

    p_machine = H + Rx(-tilt) · ( P + Ry(swivel) · (Rz(packing + 90°·n)·p + s - P) - H )

The shift s puts the stock's edge against the fence, its back against the backing
(Y = -b), and its lowest corner ``overhang`` below the plate's edge, measured along the
plate. The overhang is what lets a channel right through clear the plate, and it adds to
the drop from the hinge to the corner that fouls the front beam.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cached_property
from math import cos, radians, sin

import attrs

from jointgeo.fixtures.model import Body, Fixture, FrontBeam
from jointgeo.fixtures.scales import Scaled
from jointgeo.fixtures.wedging import held, most_wedge_deg, wedge
from jointgeo.geometry.boxes import Box, box, turned_box
from jointgeo.geometry.clearance import (
    BOX_EDGES,
    RING_EDGES,
    WEDGE_EDGES,
    Edges,
    Outline,
    beam_gap,
)
from jointgeo.geometry.rotations import (
    UNIT_ROWS,
    Rows,
    Vector,
    apply,
    transposed,
    turn_x,
    turn_y,
    unapply,
)
from jointgeo.planning.blank import section
from jointgeo.planning.orientation import machine_rows, plate_rows
from jointgeo.planning.wedged import leaning_backing, wedged_at

__all__ = [
    "ClampedStock",
    "Slab",
    "axis_margins",
    "carried",
    "clamp_stock",
    "foremost",
    "front_gap",
]


@attrs.frozen
class Slab:
    """A board that lies along the plate, its edges along the plate's axes at zero settings; with a
    wedge under it, along axes that lean by ``lean_deg`` about the plate's lower edge, as a tilt
    does."""

    name: str
    half_width_mm: float
    y_mm: tuple[float, float]
    z_mm: tuple[float, float]
    lean_deg: float = 0.0

    def on_plate(self, point: Vector) -> Vector:
        """A point in its own axes, in the plate's."""
        return apply(_tilted(self.lean_deg), point) if self.lean_deg else point


@attrs.frozen(eq=False, slots=False)
class ClampedStock:
    """Stock as clamped. p_machine = rows · p_stock + at, p measured from the blank's end.

    rows, at: the rotation and the offset (mm). tilted: the plate's own rotation; hinge: a point
    of its axis. size_mm: the stock's width, thickness and length. overhang_mm, lowest_mm: Z of
    the lowest corner of the square end. slabs: what else lies along the plate. packing: the
    wedge's six corners in the machine frame, None where there is none.
    """

    rows: Rows
    at: Vector
    tilted: Rows
    hinge: Vector
    size_mm: Vector
    overhang_mm: float
    lowest_mm: float
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
    def boxes(self) -> dict[str, Box]:
        """Stock, plate and backing, by name."""
        w, t, length = (s / 2 for s in self.size_mm)
        out = {
            "stock": turned_box(self.machine((w, t, length)), transposed(self.rows), (w, t, length))
        }
        upright = transposed(self.tilted)
        for s in self.slabs:
            (y0, y1), (z0, z1) = s.y_mm, s.z_mm
            centre = s.on_plate((0.0, (y0 + y1) / 2, (z0 + z1) / 2))
            middle = _about(self.tilted, self.hinge, centre)
            axes = upright
            if s.lean_deg:
                axes = transposed(turn_x(self.tilted, -radians(s.lean_deg)))
            out[s.name] = turned_box(middle, axes, (s.half_width_mm, (y1 - y0) / 2, (z1 - z0) / 2))
        return out

    def solids(self) -> list[tuple[str, Sequence[Vector], Edges]]:
        """(name, corners, edges) of everything that swings with the plate; the corners of boxes
        in the order of ``boxes.box_corners``."""
        out: list[tuple[str, Sequence[Vector], Edges]] = [("stock", self.stock_corners, BOX_EDGES)]
        for s in self.slabs:
            side = self._side(s)
            both = [(x, y, z) for x in (-s.half_width_mm, s.half_width_mm) for _, y, z in side]
            out.append((s.name, both, BOX_EDGES))
        if self.packing is not None:
            out.append(("packing", self.packing, WEDGE_EDGES))
        return out

    @cached_property
    def outlines(self) -> tuple[Outline, ...]:
        """The same solids for those who ask for Y and Z alone: slabs lie along X, so that one
        side of each is enough."""
        out: list[Outline] = [(self.stock_corners, BOX_EDGES)]
        out += [(self._side(s), RING_EDGES) for s in self.slabs]
        if self.packing is not None:
            out.append((self.packing, WEDGE_EDGES))
        return tuple(out)

    @property
    def names(self) -> tuple[str, ...]:
        """Of the solids, in the order of ``outlines``."""
        names = ("stock", *(s.name for s in self.slabs))
        return names if self.packing is None else (*names, "packing")

    def _side(self, slab: Slab) -> list[Vector]:
        _, (_, a, b), (_, c, d) = self.tilted
        _, h, k = self.hinge
        corners = [slab.on_plate((0.0, y, z)) for y in slab.y_mm for z in slab.z_mm]
        return [
            (0.0, h + a * (y - h) + b * (z - k), k + c * (y - h) + d * (z - k))
            for _, y, z in corners
        ]

    @cached_property
    def stock_corners(self) -> list[Vector]:
        """In the order of ``boxes.box_corners``."""
        corners = [self.at]
        (a, b, c), (d, e, f), (g, h, i) = self.rows
        w, t, length = self.size_mm
        for dx, dy, dz in (
            (a * w, d * w, g * w),
            (b * t, e * t, h * t),
            (c * length, f * length, i * length),
        ):
            corners = [q for x, y, z in corners for q in ((x, y, z), (x + dx, y + dy, z + dz))]
        return corners


def axis_margins(fixture: Fixture, swivel_deg: float, tilt_deg: float) -> tuple[float, float]:
    """Room (deg) inside the ranges of swivel and tilt; negative is outside. An axis that the
    fixture lacks has the room of wedges."""
    set_deg = held(fixture, swivel_deg, tilt_deg).swivel_set_deg
    return _room(fixture, fixture.swivel, set_deg), _room(fixture, fixture.tilt, tilt_deg)


def _room(fixture: Fixture, axis: Scaled, angle_deg: float) -> float:
    if axis.lacking:
        return most_wedge_deg(fixture) - abs(angle_deg)
    return min(axis.max_deg - angle_deg, angle_deg - axis.min_deg)


def _about(rows: Rows, centre: Vector, point: Vector) -> Vector:
    """``point`` turned by ``rows`` about ``centre``."""
    (x, y, z), (u, v, w) = point, centre
    x, y, z = apply(rows, (x - u, y - v, z - w))
    return x + u, y + v, z + w


def _hinge(fixture: Fixture) -> Vector:
    return 0.0, fixture.tilt.hinge_y_mm, fixture.tilt.hinge_z_mm


def _pivot(fixture: Fixture) -> Vector:
    return fixture.swivel.pivot_x_mm, 0.0, fixture.swivel.pivot_z_mm


def _tilted(tilt_deg: float) -> Rows:
    return turn_x(UNIT_ROWS, -radians(tilt_deg))


def carried(fixture: Fixture, body: Body, swivel_deg: float, tilt_deg: float) -> Box:
    """A body that swings with the plate, or turns with the fence as well, once both are set."""
    held_at = held(fixture, swivel_deg, tilt_deg)
    solid, tilted = box(body.low, body.high), _tilted(held_at.plate_deg)
    middle, rows = solid.centre, tilted
    if body.fixed_to == "fence":
        turn = turn_y(UNIT_ROWS, radians(held_at.fence_deg))
        middle = _about(turn, _pivot(fixture), middle)
        rows = turn_x(turn, -radians(held_at.plate_deg))
    return turned_box(_about(tilted, _hinge(fixture), middle), transposed(rows), solid.half)


def clamp_stock(
    fixture: Fixture,
    width_mm: float,
    thickness_mm: float,
    length_mm: float,
    swivel_deg: float,
    tilt_deg: float,
    packing_deg: float = 0.0,
    side: int = 0,
    cut_above_lowest_mm: float = 0.0,
    overhang_mm: float | None = None,
    backing_mm: float | None = None,
) -> ClampedStock:
    """Clamp a blank and set the machine.

    side: n, the quarter turn (see ``orientation``). cut_above_lowest_mm: depth of trim
    and deepest cut together, above the lowest corner; the overhang is the least that
    keeps that plane ``practice.clearance_mm`` below plate (and backing, where it is kept
    whole). Give ``overhang_mm`` to set it by hand. backing_mm: thickness of another backing board
    than the fixture's own.
    """
    backing = fixture.backing.thickness_mm if backing_mm is None else backing_mm
    on_plate = plate_rows(packing_deg, side)
    held_at = held(fixture, swivel_deg, tilt_deg)
    rows, tilted = machine_rows(swivel_deg, tilt_deg, on_plate), _tilted(held_at.plate_deg)
    hinge, pivot = _hinge(fixture), _pivot(fixture)
    edges = section(width_mm, thickness_mm)
    (a, b, _), (c, d, _), _ = on_plate
    local = [(a * x + b * y, c * x + d * y) for x, y in edges]
    across = [x for x, _ in local]
    fence = fixture.fence
    shift_x = fence.x_mm - (min(across) if fence.side == "left" else max(across))
    shift_y = -backing - max([y for _, y in local])

    # Sliding the stock along the fence by s moves its corner down the plate by s·cos(swivel).
    cosine, sine = cos(radians(swivel_deg)), sin(radians(swivel_deg))
    middle = pivot[2] - cosine * pivot[2]
    down = [middle - sine * (x + shift_x - pivot[0]) for x in across]
    plate_low = min(down)
    need = overhang_mm
    if need is None:
        _, h, k = hinge
        _, (_, _, _), (_, e, f) = tilted
        hanging = [
            k + e * (y + shift_y - h) + f * (z - plate_low - k)
            for (_, y), z in zip(local, down, strict=True)
        ]
        need = _overhang(fixture, backing, tilted, min(hanging) + cut_above_lowest_mm)
    turn = turn_y(UNIT_ROWS, radians(swivel_deg))
    shift = (shift_x, shift_y, (-need - plate_low) / cosine)
    at = _about(tilted, hinge, _about(turn, pivot, shift))
    if held_at.wedged:
        leaning = machine_rows(swivel_deg, held_at.behind_deg, on_plate)
        lies = wedged_at(fixture, held_at, leaning, edges, backing, need, length_mm)
        at = _about(tilted, hinge, lies)
    a, b, _ = rows[2]
    lowest = at[2] + min([a * x + b * y for x, y in edges])

    plate, half = fixture.plate, fixture.plate.width_mm / 2
    slabs = [Slab("plate", half, (0.0, plate.thickness_mm), (0.0, plate.height_mm))]
    if backing > 0 and held_at.behind_deg != 0.0:
        ends = [_sum(lies, apply(leaning, (x, y, 0.0))) for x, y in edges]
        depth, height = leaning_backing(fixture, held_at.behind_deg, ends, backing)
        slabs.append(Slab("backing", half, depth, height, held_at.behind_deg))
    elif backing > 0:
        low = -need if fixture.backing.sacrificial else 0.0
        slabs.append(Slab("backing", half, (-backing, 0.0), (low, plate.height_mm)))
    if held_at.behind_deg != 0.0:
        deep = backing + max(y for _, y in local) - min(y for _, y in local)
        slabs.append(_counter_wedge(fixture, held_at.behind_deg, deep))
    packing = None
    if packing_deg != 0.0:
        from_plate = turn_x(turn, -radians(tilt_deg))
        packing = tuple(
            (x + at[0], y + at[1], z + at[2])
            for x, y, z in (apply(from_plate, p) for p in _wedge(local, length_mm, side))
        )
    size = (width_mm, thickness_mm, length_mm)
    return ClampedStock(rows, at, tilted, hinge, size, need, lowest, tuple(slabs), packing)


def _sum(a: Vector, b: Vector) -> Vector:
    return a[0] + b[0], a[1] + b[1], a[2] + b[2]


def _counter_wedge(fixture: Fixture, wedge_deg: float, deep: float) -> Slab:
    """What stands foremost on the plate with a wedge behind backing and stock, which are so deep:
    the front of the counter-wedge, which is upright. As wide as the plate, which errs to the safe
    side; how deep it is does not count."""
    pair, plate = wedge(fixture, wedge_deg), fixture.plate
    front = pair.together_mm + deep / cos(radians(wedge_deg))
    high = min(pair.length_mm, plate.height_mm)
    depth = (-front, -front + pair.thin_ends_mm)
    return Slab("counter-wedge", plate.width_mm / 2, depth, (0.0, high))


def _overhang(fixture: Fixture, backing_mm: float, tilted: Rows, deepest_z: float) -> float:
    """The least overhang, never negative, that keeps the deepest cut clear of the plate.

    deepest_z: machine Z of that cut if there were no overhang.
    """
    ys = [0.0, fixture.plate.thickness_mm]
    if backing_mm > 0 and not fixture.backing.sacrificial:
        ys.append(-backing_mm)
    _, h, k = _hinge(fixture)
    _, _, (_, a, b) = tilted
    plate_z = min([k + a * (y - h) - b * k for y in ys])
    rise = deepest_z + fixture.practice.clearance_mm - plate_z
    return max(0.0, rise / b)


def _wedge(local: Sequence[tuple[float, float]], length: float, side: int) -> list[Vector]:
    """Corners of the packing between stock and backing: a prism as long as the stock.

    local: the section's corners as turned on the plate.
    """
    # The rear side's two long edges by the side that lies there; the nearer one touches. Taking
    # the two edges of greatest Y instead goes wrong once the stock is turned past its diagonal.
    touching, lifted = (local[places[side % 4]] for places in ((3, 1, 0, 0), (2, 2, 1, 3)))
    if touching[1] < lifted[1]:
        touching, lifted = lifted, touching
    triangle = (touching, lifted, (lifted[0], touching[1]))
    return [(x, y, z) for z in (0.0, length) for x, y in triangle]


def front_gap(beam: FrontBeam, clamped: ClampedStock, before_stock_mm: float = 0.0) -> float:
    """Least room (mm) between ``beam`` and all that swings with the plate.

    Inf where nothing stands at the beam's height. before_stock_mm: what stands out before the
    stock, as the thin ends of its wedges do.
    """
    return _foremost(beam, clamped, before_stock_mm)[0]


def foremost(
    beam: FrontBeam, clamped: ClampedStock, before_stock_mm: float = 0.0
) -> tuple[float, str | None]:
    """``front_gap``, and the name of the solid it belongs to, the first of those that have it;
    None where nothing stands at the beam's height."""
    gap, index = _foremost(beam, clamped, before_stock_mm)
    return gap, None if index is None else clamped.names[index]


def _foremost(
    beam: FrontBeam, clamped: ClampedStock, before_stock_mm: float
) -> tuple[float, int | None]:
    low, high = beam.z_min_mm, beam.z_max_mm
    # The stock is the first of the outlines.
    face = beam.face_distance_mm - before_stock_mm
    least, nearest = math.inf, None
    for index, solid in enumerate(clamped.outlines):
        # What lies behind the foremost wood so far is no nearer at any height.
        if min([y for _, y, _ in solid[0]]) + face < least:
            gap = beam_gap(solid, face, low, high)
            if gap < least:
                least, nearest = gap, index
        face = beam.face_distance_mm
    return least, nearest
