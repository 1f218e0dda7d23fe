"""One setup as the error model needs it, and the names of what may be wrong with it.

Knows plans; knows no rotation, no uncertainty and no verdict.
"""

from __future__ import annotations

import attrs

from jointgeo.fixtures.model import Fixture
from jointgeo.planning.end_plan import SetupPlan

__all__ = ["ERRORS", "SAME_MM", "Shape", "setup_shape"]

#: The errors of one setup; each name ends in its unit.
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

#: Lengths that differ by less are one as good as the other, and the first of them is taken:
#: rounding must not choose among corners that stand level or fingers that are all alike.
SAME_MM = 1e-9


@attrs.frozen(eq=False)
class Shape:
    """One setup as the error model needs it.

    side, swivel_deg, tilt_deg, packing_deg: as it is clamped. span_mm: between the two cutter
    positions that make the two walls of the fit; 0 where one pass makes both. wall: +1 a slot
    (kerf widens it), -1 a tongue (kerf narrows it), 0 where no two walls belong together.
    middle_mm: middle of the fit from the touch-off corner. arm, lock and rails: distances of
    the fixture's error sources.
    """

    swivel_deg: float
    tilt_deg: float
    packing_deg: float
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


def setup_shape(
    setup: SetupPlan,
    fixture: Fixture,
    swivel_deg: float | None = None,
    tilt_deg: float | None = None,
) -> Shape:
    """The shape of one setup, at its own angles or at others."""
    chosen, u = setup.chosen, fixture.uncertainty
    span, wall, middle = _fit_walls(setup)
    width, thickness, _ = chosen.clamped.size_mm
    return Shape(
        chosen.swivel_deg if swivel_deg is None else swivel_deg,
        chosen.tilt_deg if tilt_deg is None else tilt_deg,
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
    longest = max([span for span, _, _ in found], default=0.0)
    return next((walls for walls in found if walls[0] >= longest - SAME_MM), (0.0, 0, 0.0))
