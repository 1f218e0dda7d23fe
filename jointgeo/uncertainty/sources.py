"""Which uncertainty of the fixture file acts through which error of the model.

Knows the fixture and the names of the model's errors; computes no geometry.

A correction that was learnt brings its own uncertainty, which stands in place of the
scale's (or the kerf's, or the lead's) own: that is what was known before.
"""

from __future__ import annotations

from functools import lru_cache

import attrs

from jointgeo.fixtures.corrections import Correction
from jointgeo.fixtures.model import Fixture, Traverse, Uncertainty
from jointgeo.uncertainty.combine import rectangular_u

__all__ = ["Source", "sources"]


@attrs.frozen
class Source:
    """One uncertainty: who contributes, through which error, and its standard uncertainty."""

    contributor: str
    error: str
    u: float


def sources(fixture: Fixture, cutter: str = "") -> tuple[Source, ...]:
    """Every uncertainty of the fixture file; walls and heights that are set twice stand twice.

    cutter: name of the cutter used, whose kerf may have been learnt.
    """
    return _sources(fixture.uncertainty, fixture.correction, fixture.traverse, cutter)


@lru_cache(maxsize=64)  # asked for every setup of every joint on one fixture
def _sources(
    u: Uncertainty, learnt: Correction, traverse: Traverse, cutter: str
) -> tuple[Source, ...]:
    kerf = max((k.kerf_u_mm for k in learnt.kerf if k.cutter == cutter), default=0.0) or u.kerf_mm
    rounding = rectangular_u(traverse.lead_mm / traverse.divisions / 2)
    return (
        Source("swivel_scale", "swivel_deg", learnt.swivel_zero_u_deg or u.swivel_deg),
        Source("swivel_zero", "swivel_deg", u.swivel_zero_deg),
        Source("tilt_scale", "tilt_deg", learnt.tilt_zero_u_deg or u.tilt_deg),
        Source("tilt_zero", "tilt_deg", u.tilt_zero_deg),
        Source("hinge_play", "hinge_play_mm", u.hinge_play_mm),
        Source("tilt_lock_difference", "lock_difference_mm", u.tilt_lock_difference_mm),
        Source("rail_height_difference", "rail_difference_mm", u.rail_height_difference_mm),
        Source(
            "traverse_lead", "lead_fraction", learnt.lead_fraction_u or u.traverse_lead_fraction
        ),
        *(Source("backlash", wall, u.backlash_mm) for wall in ("left_wall_mm", "right_wall_mm")),
        *(Source("handwheel", wall, rounding) for wall in ("left_wall_mm", "right_wall_mm")),
        Source("kerf", "kerf_mm", kerf),
        Source("runout", "runout_mm", u.runout_mm),
        *(Source("cutter_height", h, u.depth_mm) for h in ("trim_height_mm", "cut_height_mm")),
        Source("stock_thickness", "thickness_mm", u.stock_thickness_mm),
        Source("stock_thickness", "mate_mm", u.stock_thickness_mm),
    )
