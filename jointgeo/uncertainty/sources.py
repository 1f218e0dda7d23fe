"""Which uncertainty of the fixture file acts through which error of the model.

Knows the fixture and the names of the model's errors; computes no geometry.

What calibration found brings its own uncertainty, in place of the scale's, the kerf's or
the lead's own: that is what was known before. A scale is known differently at each angle
(``fixtures.scales``). Zero, play and lock are new with every setting, and larger than the file says
where test cuts scatter more. The roll of the rails stands beside the swivel's scale even where test
cuts measured both together, which errs to the safe side.
"""

from __future__ import annotations

from functools import lru_cache

import attrs

from jointgeo.fixtures.indication import setting_times, shown
from jointgeo.fixtures.model import Fixture
from jointgeo.fixtures.scales import Scaled
from jointgeo.uncertainty.combine import rectangular_u

__all__ = ["Source", "sources"]


@attrs.frozen
class Source:
    """One uncertainty: who contributes, through which error, and its standard uncertainty."""

    contributor: str
    error: str
    u: float


def sources(
    fixture: Fixture, cutter: str, swivel_deg: float, tilt_deg: float
) -> tuple[Source, ...]:
    """Every uncertainty of the fixture; walls and heights that are set twice stand twice.

    cutter: name of the cutter used, whose kerf may have been calibrated. swivel_deg, tilt_deg: true
    angles that the axes are set to.
    """
    return (
        Source(
            _set_by(fixture.swivel, "swivel"),
            "swivel_deg",
            shown(fixture, "swivel", swivel_deg).u_deg,
        ),
        Source(_set_by(fixture.tilt, "tilt"), "tilt_deg", shown(fixture, "tilt", tilt_deg).u_deg),
        *_anywhere(fixture, cutter),
    )


def _set_by(axis: Scaled, name: str) -> str:
    return f"{name}_wedge" if axis.lacking else f"{name}_scale"


@lru_cache(maxsize=64)  # asked for every setup of every joint on one fixture
def _anywhere(fixture: Fixture, cutter: str) -> tuple[Source, ...]:
    """Those that are the same at every angle."""
    u, calibrated, traverse = fixture.uncertainty, fixture.correction, fixture.traverse
    swivel, tilt = setting_times(fixture, "swivel"), setting_times(fixture, "tilt")
    kerf = (
        max((k.kerf_u_mm for k in calibrated.kerf if k.cutter == cutter), default=0.0) or u.kerf_mm
    )
    rounding = rectangular_u(traverse.lead_mm / traverse.divisions / 2)
    return (
        Source("swivel_zero", "swivel_deg", swivel * u.swivel_zero_deg),
        Source("tilt_zero", "tilt_deg", tilt * u.tilt_zero_deg),
        Source("hinge_play", "hinge_play_mm", tilt * u.hinge_play_mm),
        Source("tilt_lock_difference", "lock_difference_mm", tilt * u.tilt_lock_difference_mm),
        Source("rail_height_difference", "rail_difference_mm", u.rail_height_difference_mm),
        Source(
            "traverse_lead", "lead_fraction", calibrated.lead_fraction_u or u.traverse_lead_fraction
        ),
        *(Source("backlash", wall, u.backlash_mm) for wall in ("left_wall_mm", "right_wall_mm")),
        *(Source("handwheel", wall, rounding) for wall in ("left_wall_mm", "right_wall_mm")),
        Source("kerf", "kerf_mm", kerf),
        Source("runout", "runout_mm", u.runout_mm),
        *(Source("cutter_height", h, u.depth_mm) for h in ("trim_height_mm", "cut_height_mm")),
        Source("stock_thickness", "thickness_mm", u.stock_thickness_mm),
        Source("stock_thickness", "mate_mm", u.stock_thickness_mm),
    )
