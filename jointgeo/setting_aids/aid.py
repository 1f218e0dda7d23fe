"""One way to set one axis: what to do, what comes of it, and whether that is enough.

Knows numbers and words only; no fixture, no setup.
"""

from __future__ import annotations

from typing import Any

import attrs

from jointgeo.uncertainty.combine import COVERAGE

__all__ = ["Aid"]

#: Trouble each aid takes, least first. Common practice, no published source.
TROUBLE = {
    "zero": 0,
    "end": 0,
    "scale": 1,
    "paper": 2,
    "rule_offset": 2,
    "inch_offset": 2,
    "mark_to_mark": 3,
    "inch_mark_to_mark": 3,
    "two_offsets": 3,
    "inch_two_offsets": 3,
    "pin": 3,
    "inch_pin": 3,
    "wedge": 4,
    "gauge_blocks": 5,
    "sine_bar": 6,
}


@attrs.frozen
class Aid:
    """One way to set one axis.

    says: what to do, one sentence. angle_deg: the true angle it gives, signed as the axis;
    error_deg: that minus the wanted angle; u_deg: its standard uncertainty. needed_deg: how
    near (±) it must come; None where the axis does not matter here. numbers: sizes to make, names
    ending in their unit.
    """

    aid: str
    axis: str
    says: str
    angle_deg: float
    error_deg: float
    u_deg: float
    needed_deg: float | None
    numbers: dict[str, Any] = attrs.field(factory=dict)

    @property
    def reach_deg(self) -> float:
        """What it gives, ±: |error| + 2·u."""
        return abs(self.error_deg) + COVERAGE * self.u_deg

    @property
    def enough(self) -> bool:
        return self.needed_deg is None or self.reach_deg <= self.needed_deg

    @property
    def rank(self) -> tuple[float, ...]:
        """Least comes first: what is enough by its trouble, then the rest by its reach."""
        return (0.0, TROUBLE[self.aid], self.reach_deg) if self.enough else (1.0, self.reach_deg)

    def to_dict(self) -> dict[str, Any]:
        return {
            "aid": self.aid,
            "axis": self.axis,
            "says": self.says,
            "angle_deg": self.angle_deg,
            "error_deg": self.error_deg,
            "u_deg": self.u_deg,
            "needed_deg": self.needed_deg,
            "reach_deg": self.reach_deg,
            "enough": self.enough,
            **self.numbers,
        }
