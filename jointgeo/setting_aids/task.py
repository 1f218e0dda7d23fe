"""One axis to be set: the angle wanted, what it is set to for that, and what is known of its zero.

Knows the fixture; no setup and no single aid.

Corrections. An aid is measured from the closed stop or the zero mark, as the scale is, so
it gives wanted + correction; an aid's ``angle_deg`` is the true angle that comes of it. An axis's
range is that of its scale, so it is what is set that must lie in it, not what is wanted.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import attrs

from jointgeo.fixtures.model import Fixture
from jointgeo.setting_aids.aid import Aid

__all__ = ["SETTABLE_DEG", "Task", "task"]

#: Degrees; half of the last digit that a scale is set to. What is less no shop can set.
SETTABLE_DEG = 0.005

_ROUNDING_DEG = 1e-9


@attrs.frozen
class Task:
    """axis: "swivel" or "tilt". set_deg: what it is set to, correction_deg more than is wanted.
    distance_mm: from the axis to where it is measured. zero_u_deg: of the stop or mark that an
    aid is measured from, and of what is known of its correction; scale_u_deg: of the scale's own
    figure. swivel_deg: the true swivel that goes with a tilt. gap_mm_per_deg: what the joint gaps
    for each degree of error, None where no joint is known. room_mm: for wedges behind the stock,
    as the clamp opens."""

    fixture: Fixture
    axis: str
    wanted_deg: float
    needed_deg: float | None
    correction_deg: float
    distance_mm: float
    zero_u_deg: float
    scale_u_deg: float
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
        """Whether the scale can show what is set."""
        return abs(self.within_range(self.set_deg) - self.set_deg) <= _ROUNDING_DEG

    def within_range(self, shown_deg: float) -> float:
        """What the scale can show nearest to an angle."""
        axis = self.fixture.swivel if self.axis == "swivel" else self.fixture.tilt
        return min(max(shown_deg, axis.min_deg), axis.max_deg)

    def aid(
        self,
        name: str,
        says: str,
        given_deg: float,
        u_deg: Sequence[float],
        numbers: dict[str, Any],
    ) -> Aid:
        """given_deg: what the aid opens, without sign; u_deg: its own parts, all uncorrelated."""
        return self.aid_at(name, says, math.copysign(given_deg, self.set_deg), u_deg, numbers)

    def aid_at(
        self,
        name: str,
        says: str,
        shown_deg: float,
        u_deg: Sequence[float],
        numbers: dict[str, Any],
    ) -> Aid:
        """The same where the axis then stands at ``shown_deg`` by its scale."""
        true = shown_deg - self.correction_deg
        u = math.hypot(*u_deg, self.zero_u_deg)
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
    u, learnt, aids = fixture.uncertainty, fixture.correction, fixture.aids
    # Once the scale's offset was learnt, what is known of it stands for the scale.
    if axis == "swivel":
        correction, distance = learnt.swivel_zero_deg, aids.fence_rule_mm
        zero_u = math.hypot(u.swivel_zero_deg, learnt.swivel_zero_u_deg)
        scale_u = 0.0 if learnt.swivel_zero_u_deg else u.swivel_deg
    else:
        correction, distance = learnt.tilt_zero_deg, aids.stop_distance_mm
        play = math.degrees(math.atan(u.hinge_play_mm / u.tilt_lock_arm_mm))
        zero_u = math.hypot(u.tilt_zero_deg, learnt.tilt_zero_u_deg, play)
        scale_u = 0.0 if learnt.tilt_zero_u_deg else u.tilt_deg
    return Task(
        fixture,
        axis,
        wanted_deg,
        needed_deg,
        correction,
        distance,
        zero_u,
        scale_u,
        swivel_deg,
        gap_mm_per_deg,
        room_mm,
    )
