"""One axis to be set: the angle wanted, what it is set to for that, and what is known of its zero.

Knows the fixture; no setup and no single aid.

Corrections. An aid is measured from the stop or the zero mark, so it gives wanted +
correction, that where the scale reads 0. The scale's own figure is that of its own angle
(``fixtures.indication``). An aid's ``angle_deg`` is the true angle that comes of it. An axis's
range is that of its scale, so it is what the scale must show that must lie in it, not what is
wanted.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import attrs

from jointgeo.fixtures.indication import Shown, setting_times, shown
from jointgeo.fixtures.model import Fixture, Swivel, Tilt
from jointgeo.setting_aids.aid import Aid

__all__ = ["Task", "task"]

_ROUNDING_DEG = 1e-9


@attrs.frozen
class Task:
    """axis: "swivel" or "tilt". set_deg: what an aid sets it to, correction_deg more than wanted.
    distance_mm: from the axis to where it is measured. setting_u_deg: new with every setting;
    correction_u_deg: of what is known of the stop or mark that an aid is measured from. scale:
    what the scale must show, and how well that is known. swivel_deg: the true swivel that goes
    with a tilt. gap_mm_per_deg: what the joint gaps for each degree of error, None where no joint
    is known. room_mm: for wedges behind the stock, as the clamp opens."""

    fixture: Fixture
    axis: str
    wanted_deg: float
    needed_deg: float | None
    correction_deg: float
    distance_mm: float
    setting_u_deg: float
    correction_u_deg: float
    scale: Shown
    swivel_deg: float
    gap_mm_per_deg: float | None
    room_mm: float

    @property
    def set_deg(self) -> float:
        return self.wanted_deg + self.correction_deg

    @property
    def size_deg(self) -> float:
        """What is set, without sign."""
        return abs(self.set_deg)

    @property
    def near_mm(self) -> float:
        """The lesser of two heights at which the fence is measured."""
        return self.fixture.aids.fence_rule_near_mm

    @property
    def face_beside_mm(self) -> float:
        """How far to the right of the pivot the fence's face stands at zero."""
        return self.fixture.fence.x_mm - self.fixture.swivel.pivot_x_mm

    @property
    def in_range(self) -> bool:
        """Whether the scale can show what it must."""
        return abs(self.within_range(self.scale.scale_deg) - self.scale.scale_deg) <= _ROUNDING_DEG

    def within_range(self, shown_deg: float) -> float:
        """What the scale can show nearest to an angle."""
        axis = self.scaled
        return min(max(shown_deg, axis.min_deg), axis.max_deg)

    @property
    def scaled(self) -> Swivel | Tilt:
        """The axis itself, with the way its scale is numbered."""
        return self.fixture.swivel if self.axis == "swivel" else self.fixture.tilt

    def aid(
        self,
        name: str,
        says: str,
        given_deg: float,
        u_deg: Sequence[float],
        numbers: dict[str, Any],
    ) -> Aid:
        """given_deg: what the aid opens, without sign; u_deg: its own parts, all uncorrelated."""
        true = math.copysign(given_deg, self.set_deg) - self.correction_deg
        return self._aid(name, says, true, (*u_deg, self.correction_u_deg), numbers)

    def at_zero(self, says: str, numbers: dict[str, Any]) -> Aid:
        """The axis left at its stop or mark."""
        return self._aid("zero", says, -self.correction_deg, (self.correction_u_deg,), numbers)

    def by_scale(self, name: str, says: str, shown_deg: float, numbers: dict[str, Any]) -> Aid:
        """What comes of it where the scale shows ``shown_deg``, which is near what it must."""
        true = self.wanted_deg + shown_deg - self.scale.scale_deg
        return self._aid(name, says, true, (self.scale.u_deg,), numbers)

    def _aid(
        self, name: str, says: str, true: float, u_deg: Sequence[float], numbers: dict[str, Any]
    ) -> Aid:
        u = math.hypot(*u_deg, self.setting_u_deg)
        return Aid(name, self.axis, says, true, true - self.wanted_deg, u, self.needed_deg, numbers)


def task(
    fixture: Fixture,
    axis: str,
    wanted_deg: float,
    needed_deg: float | None,
    swivel_deg: float,
    gap_mm_per_deg: float | None = None,
    room_mm: float = math.inf,
) -> Task:
    """One axis ("swivel" or "tilt") of a fixture, to be set to a true angle; see ``Task``."""
    u, calibrated, aids = fixture.uncertainty, fixture.correction, fixture.aids
    if axis == "swivel":
        correction, known = calibrated.swivel_zero_deg, calibrated.swivel_zero_u_deg
        setting, distance = u.swivel_zero_deg, aids.fence_rule_mm
    else:
        correction, known = calibrated.tilt_zero_deg, calibrated.tilt_zero_u_deg
        play = math.degrees(math.atan(u.hinge_play_mm / u.tilt_lock_arm_mm))
        setting, distance = math.hypot(u.tilt_zero_deg, play), aids.stop_distance_mm
    return Task(
        fixture,
        axis,
        wanted_deg,
        needed_deg,
        correction,
        distance,
        setting * setting_times(fixture, axis),
        known,
        shown(fixture, axis, wanted_deg),
        swivel_deg,
        gap_mm_per_deg,
        room_mm,
    )
