"""What every group of checks looks at: one setup of one part on one fixture.

Knows plans and stands; judges nothing.
"""

from __future__ import annotations

import math

import attrs
import numpy as np
from numpy.typing import ArrayLike

from jointgeo.fixtures.model import Fixture, FrontBeam
from jointgeo.geometry.clearance import BOX_EDGES, least_in_slab
from jointgeo.geometry.rotations import Array
from jointgeo.joints.sides import clamped_sides
from jointgeo.planning.clamped_stock import front_gap, stand
from jointgeo.planning.orientation import machine_from_stock
from jointgeo.planning.setups import EndPlan, SetupPlan

__all__ = ["Bench", "beam_room", "chord_mm", "stroke"]


@attrs.frozen(eq=False)
class Bench:
    """fixture, the end's plan and one of its setups."""

    fixture: Fixture
    plan: EndPlan
    setup: SetupPlan

    @property
    def sides(self) -> dict[str, str]:
        """Marked sides facing "plate", "you", "left" and "right"."""
        return clamped_sides(self.setup.chosen.side, self.plan.part.x_from)

    @property
    def deep_mm(self) -> float:
        """Size of the stock from plate to you."""
        part = self.plan.part
        return part.width_mm if self.setup.chosen.side % 2 else part.thickness_mm

    @property
    def wide_mm(self) -> float:
        """Size of the stock across the plate."""
        part = self.plan.part
        return part.thickness_mm if self.setup.chosen.side % 2 else part.width_mm

    @property
    def packing_mm(self) -> float:
        """Height of a packing wedge at its thick end, thin end included; 0 for none."""
        kappa = abs(self.setup.chosen.packing_deg)
        if kappa == 0.0:
            return 0.0
        return self.fixture.practice.wedge_thin_mm + self.wide_mm * float(np.tan(np.radians(kappa)))

    @property
    def thin_ends_mm(self) -> float:
        """What the thin ends of wedge and counter-wedge add from plate to you, if any."""
        return 2 * self.fixture.practice.wedge_thin_mm if self.packing_mm else 0.0

    @property
    def end_z_mm(self) -> float:
        """Machine Z of the trimmed end."""
        return float(self.setup.chosen.clamped.lowest_mm + self.setup.trim_mm)


def chord_mm(bench: Bench) -> float:
    """How far the cutter reaches along the feed beyond its centre in this setup."""
    setup = bench.setup
    return setup.cutter.chord_mm(max(setup.depth_mm, setup.trim_mm))


def stroke(bench: Bench) -> tuple[float, float]:
    """Y of the cutter's centre where it is just clear of the wood, before and behind (mm)."""
    corners = bench.setup.chosen.clamped.stock_corners()
    top = bench.end_z_mm + bench.setup.depth_mm
    near = least_in_slab(corners, BOX_EDGES, 1, 2, -math.inf, top)
    away = [(x, -y, z) for x, y, z in corners]
    far = -least_in_slab(away, BOX_EDGES, 1, 2, -math.inf, top)
    chord = chord_mm(bench)
    return near - chord, far + chord


def beam_room(
    bench: Bench,
    beam: FrontBeam,
    *,
    deep_mm: ArrayLike | None = None,
    tilt_deg: ArrayLike | None = None,
    fixture: Fixture | None = None,
) -> Array:
    """Room to ``beam`` (mm) if the stock were that deep, the tilt that, or the fixture other.

    Trim and overhang follow, as they would on the machine. Broadcasts.
    """
    part, chosen = bench.plan.part, bench.setup.chosen
    use = bench.fixture if fixture is None else fixture
    deep = bench.deep_mm if deep_mm is None else deep_mm
    tilt = chosen.tilt_deg if tilt_deg is None else tilt_deg
    width, thickness = (deep, part.thickness_mm) if chosen.side % 2 else (part.width_mm, deep)
    r = machine_from_stock(chosen.swivel_deg, tilt, chosen.packing_deg, chosen.side)
    spread = np.abs(r[..., 2, 0]) * width + np.abs(r[..., 2, 1]) * thickness
    clamped = stand(
        use,
        width,
        thickness,
        bench.plan.blank_mm,
        chosen.swivel_deg,
        tilt,
        chosen.packing_deg,
        chosen.side,
        cut_above_lowest_mm=spread + use.practice.trim_extra_mm + bench.setup.depth_mm,
    )
    return np.asarray(front_gap(beam, clamped) - bench.thin_ends_mm)
