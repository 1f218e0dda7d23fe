"""What every group of checks looks at: one setup of one part on one fixture.

Knows plans and stands; judges nothing. What several checks ask for is worked out once.
"""

from __future__ import annotations

import math
from functools import cached_property

import attrs

from jointgeo.fixtures.model import Fixture, FrontBeam
from jointgeo.geometry.boxes import Box
from jointgeo.geometry.clearance import BOX_EDGES, extent_in_slab
from jointgeo.joints.sides import clamped_sides
from jointgeo.planning.clamped_stock import carried, clamp_stock, front_gap
from jointgeo.planning.end_plan import EndPlan, SetupPlan
from jointgeo.planning.orientation import machine_from_stock

__all__ = ["Context", "beam_room"]


@attrs.frozen(eq=False, slots=False)
class Context:
    """fixture, the end's plan and one of its setups."""

    fixture: Fixture
    plan: EndPlan
    setup: SetupPlan

    @cached_property
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
        return self.fixture.practice.wedge_thin_mm + self.wide_mm * math.tan(math.radians(kappa))

    @property
    def thin_ends_mm(self) -> float:
        """What the thin ends of wedge and counter-wedge add from plate to you, if any."""
        return 2 * self.fixture.practice.wedge_thin_mm if self.packing_mm else 0.0

    @property
    def end_z_mm(self) -> float:
        """Machine Z of the trimmed end."""
        return self.setup.chosen.clamped.lowest_mm + self.setup.trim_mm

    @cached_property
    def chord_mm(self) -> float:
        """How far the cutter reaches along the feed beyond its centre in this setup."""
        setup = self.setup
        return setup.cutter.chord_mm(max(setup.depth_mm, setup.trim_mm))

    @cached_property
    def stroke(self) -> tuple[float, float]:
        """Y of the cutter's centre where it is just clear of the wood, before and behind (mm)."""
        corners = self.setup.chosen.clamped.stock_corners
        top = self.end_z_mm + self.setup.depth_mm
        near, far = extent_in_slab(corners, BOX_EDGES, 1, 2, -math.inf, top)
        return near - self.chord_mm, far + self.chord_mm

    @cached_property
    def travel_x_mm(self) -> tuple[float, float]:
        """See ``SetupPlan.travel_x_mm``."""
        return self.setup.travel_x_mm

    @cached_property
    def carried(self) -> dict[str, Box]:
        """Bodies that swing with the plate or turn with the fence, by name, where they now are."""
        return self.carried_at(self.setup.chosen.tilt_deg)

    def carried_at(self, tilt_deg: float) -> dict[str, Box]:
        """The same bodies at another tilt."""
        swivel = self.setup.chosen.swivel_deg
        return {
            body.name: carried(self.fixture, body, swivel, tilt_deg)
            for body in self.fixture.body
            if body.fixed_to in ("tilt", "fence")
        }


def beam_room(
    context: Context,
    beam: FrontBeam,
    *,
    deep_mm: float | None = None,
    tilt_deg: float | None = None,
    backing_mm: float | None = None,
) -> float:
    """Room to ``beam`` (mm) if the stock were that deep, the tilt that, or the backing so thick.

    Trim and overhang follow, as they would on the machine.
    """
    part, chosen, fixture = context.plan.part, context.setup.chosen, context.fixture
    deep = context.deep_mm if deep_mm is None else deep_mm
    tilt = chosen.tilt_deg if tilt_deg is None else tilt_deg
    width, thickness = (deep, part.thickness_mm) if chosen.side % 2 else (part.width_mm, deep)
    _, _, (a, b, _) = machine_from_stock(chosen.swivel_deg, tilt, chosen.packing_deg, chosen.side)
    trim = abs(a) * width + abs(b) * thickness + fixture.practice.trim_extra_mm
    clamped = clamp_stock(
        fixture,
        width,
        thickness,
        context.plan.blank_mm,
        chosen.swivel_deg,
        tilt,
        chosen.packing_deg,
        chosen.side,
        cut_above_lowest_mm=trim + context.setup.depth_mm,
        backing_mm=backing_mm,
    )
    return front_gap(beam, clamped, context.thin_ends_mm)
