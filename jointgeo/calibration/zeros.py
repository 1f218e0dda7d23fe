"""Readings of an axis's zero, and what changes with every setting of it.

Knows readings and the fixture; ``checkup`` and ``learning`` use it.
"""

from __future__ import annotations

import numpy as np

from jointgeo.calibration.fitting import Observation
from jointgeo.calibration.readings import TurnedOver
from jointgeo.fixtures.model import Fixture

__all__ = ["setting_u_deg", "turned_over_observation"]


def turned_over_observation(reading: TurnedOver, fixture: Fixture) -> Observation:
    """A turned-over cut as a reading of its axis's zero (true angle when the scale shows 0)."""
    return Observation(
        f"{reading.axis} cut {reading.cut}, {reading.place}",
        reading.angle_deg - reading.scale_deg,
        reading.u_deg,
        {reading.axis: 1.0},
        f"{reading.axis} {reading.cut}",
        setting_u_deg(fixture, reading.axis),
    )


def setting_u_deg(fixture: Fixture, axis: str) -> float:
    """What changes anew with every setting of an axis: zero, and for the tilt hinge and lock."""
    u = fixture.uncertainty
    if axis == "swivel":
        return u.swivel_zero_deg
    play = np.degrees(np.arctan(u.hinge_play_mm / u.tilt_lock_arm_mm))
    lock = np.degrees(np.arctan(u.tilt_lock_difference_mm / (2 * u.tilt_lock_arm_mm)))
    return float(np.sqrt(u.tilt_zero_deg**2 + play**2 + lock**2))
