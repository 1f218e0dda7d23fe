"""One clamping as solids in the machine frame: what the drawings look at.

Knows a setup on its fixture (``checks.context``), stands and plain geometry; draws nothing.
Everything here is solved geometry: no joint type is asked for.

Frame: the machine's, see ``fixture``. A plane view is a pair of its axes: ``FACING`` (X to
the right, Z up: you look along +Y at the plate), ``FROM_SIDE`` (Y to the right, Z up: you look
along -X, and you would stand at the left) and ``ABOVE`` (X to the right, Y up: from above).
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator
from functools import cached_property

import attrs
import numpy as np

from jointgeo.checks.context import Context
from jointgeo.fixtures.model import Fixture, FrontBeam
from jointgeo.fixtures.wedging import Held, held
from jointgeo.geometry.clearance import BOX_EDGES, Edges
from jointgeo.geometry.vectors import Vec
from jointgeo.planning.blank import corner_points
from jointgeo.sheet.plane import Array, between, hull, turned

__all__ = ["ABOVE", "FACING", "FROM_SIDE", "Piece", "Scene", "corners_between"]

FACING, FROM_SIDE, ABOVE = (0, 2), (1, 2), (0, 1)
THIN_MM = 1e-8


@attrs.frozen(eq=False)
class Piece:
    """A convex solid: corners (n, 3) and edges, the rows of corners that are joined."""

    name: str
    corners: Array
    edges: Edges
    _outlines: dict[tuple[int, int], Array] = attrs.field(factory=dict, init=False, repr=False)

    def outline(self, view: tuple[int, int]) -> Array:
        """As it is seen in a view: (n, 2), counter-clockwise. It is kept, not to be changed."""
        if view not in self._outlines:
            self._outlines[view] = hull(self.corners[:, view])
        return self._outlines[view]


@attrs.frozen(eq=False)
class Scene:
    """Stock, plate and all that moves with them, once swivel and tilt are set."""

    bench: Context

    @property
    def fixture(self) -> Fixture:
        return self.bench.fixture

    @cached_property
    def pieces(self) -> dict[str, Piece]:
        """Plate, backing, packing and stock, then the fixture's own bodies that go along."""
        clamped = self.bench.setup.chosen.clamped
        out = {name: Piece(name, np.array(c), e) for name, c, e in clamped.solids()}
        for body in self.fixture.body:
            if body.fixed_to in ("tilt", "fence"):
                corners = self.carried(
                    corners_between(body.low, body.high), swivelled=body.fixed_to == "fence"
                )
                out[body.name] = Piece(body.name, corners, BOX_EDGES)
        return out

    def carried(self, points: Array, *, swivelled: bool) -> Array:
        """Where the tilt, and the swivel too if ``swivelled``, take points given at zero settings.

        Seen in ``FACING`` the swivel turns clockwise about its pivot; seen in ``FROM_SIDE`` the
        tilt turns clockwise about the hinge.
        """
        out, held_at = np.array(points, dtype=float), self.held
        if swivelled:
            out[:, FACING] = turned(
                out[:, FACING], self.pivot_at_zero[list(FACING)], -held_at.fence_deg
            )
        hinge = self.hinge[list(FROM_SIDE)]
        out[:, FROM_SIDE] = turned(out[:, FROM_SIDE], hinge, -held_at.plate_deg)
        return out

    @cached_property
    def held(self) -> Held:
        """Where plate and fence stand."""
        chosen = self.bench.setup.chosen
        return held(self.fixture, chosen.swivel_deg, chosen.tilt_deg)

    @property
    def pivot_at_zero(self) -> Array:
        swivel = self.fixture.swivel
        return np.array([swivel.pivot_x_mm, 0.0, swivel.pivot_z_mm])

    @property
    def hinge(self) -> Array:
        return np.array([0.0, self.fixture.tilt.hinge_y_mm, self.fixture.tilt.hinge_z_mm])

    @cached_property
    def fence(self) -> Array:
        """The ends, lower and upper, of the fence's working face along the backing, (2, 3)."""
        x, b = self.fixture.fence.x_mm, self.fixture.backing.thickness_mm
        ends = np.array([[x, -b, 0.0], [x, -b, self.fixture.plate.height_mm]])
        return self.carried(ends, swivelled=True)

    @property
    def trim_z(self) -> float:
        return self.bench.end_z_mm

    @cached_property
    def end(self) -> Array:
        """The trimmed end as (X, Y) of its corners, (4, 2)."""
        corners = corner_points(self.bench.setup.notch, 0.0, self.bench.plan.corners)
        return np.array([self._machine(c) for c in corners])[:, :2]

    def _machine(self, point: tuple[float, float, float]) -> Vec:
        """A point of the stock, from the blank's end."""
        return Vec(*self.bench.setup.chosen.clamped.machine(point))

    @cached_property
    def gone(self) -> list[Array]:
        """Parts of the end that earlier setups have taken, as (X, Y) polygons."""
        found = (
            between(self.end, axis, low, high)
            for axis, bands in self._earlier
            for low, high in bands
        )
        return [p for p in found if len(p) > 2]

    @cached_property
    def _earlier(self) -> list[tuple[Array, list[tuple[float, float]]]]:
        """For each earlier setup its way across as (X, Y), and the bands it took, ascending."""
        setups = self.bench.plan.setups
        out = []
        for before in setups[: setups.index(self.bench.setup)]:
            notch = before.notch
            at = self._machine(notch.at)
            axis = self._machine(notch.at + notch.rows[0]) - at
            # Setups of one end share its plane, where Z is the same everywhere.
            base = at @ axis - axis.z * self.trim_z
            bands = [(base + c.low, base + c.high) for c in notch.channels]
            out.append((np.array(axis[:2]), bands))
        return out

    @cached_property
    def waste(self) -> list[Array]:
        """For each cut of this setup, in order, what it takes of the end, as (X, Y) polygons."""
        x, axis = self.bench.setup.corner_x_mm, np.array([1.0, 0.0])
        cuts = self.bench.setup.cuts
        return [between(self.end, axis, x + c.left_mm, x + c.right_mm) for c in cuts]

    @cached_property
    def touch_off(self) -> Array:
        """The touch-off corner, (3,): the leftmost point of what is left of the end."""
        left = [self.end]
        for axis, bands in self._earlier:
            pieces = (between(p, axis, lo, hi) for p in left for lo, hi in _gaps(bands))
            # A strip of no width is no wood: a cut that ends at the very side leaves none there.
            left = [p for p in pieces if len(p) > 2 and float(np.ptp(p @ axis)) > THIN_MM]
        points = np.concatenate(left or [self.end])
        x, y = points[int(np.argmin(points[:, 0]))]
        return np.array([x, y, self.trim_z])

    def foremost(self, beam: FrontBeam) -> tuple[str, Array] | None:
        """What stands nearest to ``beam`` at its height, and where as (Y, Z); None for nothing."""
        best: tuple[str, Array] | None = None
        for name, piece in self.pieces.items():
            outline = piece.outline(FROM_SIDE)
            part = between(outline, np.array([0.0, 1.0]), beam.z_min_mm, beam.z_max_mm)
            if len(part):
                point = np.array(part[int(np.argmin(part[:, 0]))])
                if name == "stock":  # a counter-wedge and the wedge's thin end come before it
                    point[0] -= self.bench.thin_ends_mm
                if best is None or point[0] < best[1][0]:
                    best = (name, point)
        return best


def corners_between(low: Iterable[float], high: Iterable[float]) -> Array:
    """The corners of an upright box (8, 3), joined as ``BOX_EDGES`` says."""
    return np.array(list(itertools.product(*zip(low, high, strict=True))))


def _gaps(bands: list[tuple[float, float]]) -> Iterator[tuple[float, float]]:
    """What bands leave of an endless line; they may overlap or lie in one another."""
    at = -np.inf
    for low, high in sorted(bands):
        if low > at:
            yield at, low
        at = max(at, high)
    if at < np.inf:
        yield at, np.inf
