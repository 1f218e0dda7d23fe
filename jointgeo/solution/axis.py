"""One axis as it is set: the true angle, and the figure that its scale must show for it.

Knows the fixture and what is known of its scales; no plan and no joint. A person sets figures, so
the figure comes first wherever the two differ.
"""

from __future__ import annotations

import attrs

from jointgeo.fixtures.indication import contradicted, scale_room, shown
from jointgeo.fixtures.model import Fixture
from jointgeo.schema.units import degrees_minutes, fixed

__all__ = ["DOUBT", "AxisSetting", "axis_setting"]

#: Degrees; half of the last digit that is printed of an angle. What is less has no direction.
SAID_DEG = 0.0005

#: Why no figure is given.
DOUBT = "its test cuts contradict each other"

_WAYS = {
    "swivel": ("clockwise", "anticlockwise"),
    "tilt": ("cut end towards you", "cut end away from you"),
}


@attrs.frozen
class AxisSetting:
    """axis: "swivel" or "tilt". angle_deg: the true angle; way: where that is, in words, "" at
    zero. figure_deg: what the scale must show, as it is numbered. beyond: whether the scale cannot
    show it. doubted: whether its test cuts contradict each other, so that no figure is known."""

    axis: str
    angle_deg: float
    way: str
    figure_deg: float
    beyond: bool
    doubted: bool

    @property
    def differs(self) -> bool:
        """Whether a person who sets the true angle by the scale would be wrong, as far as figures
        are printed; whatever is doubted is said to differ."""
        return self.doubted or fixed(self.figure_deg, 3) != fixed(self.angle_deg, 3)

    @property
    def figure_words(self) -> str:
        """``-7.760° or -7°45.6′ (true angle -7.827°, anticlockwise)``; no figure if doubted."""
        if self.doubted:
            return f"not known, {DOUBT} ({self.true_words})"
        figure = f"{fixed(self.figure_deg, 3)}° or {degrees_minutes(self.figure_deg)}"
        beyond = ", beyond its range" if self.beyond else ""
        return f"{figure} ({self.true_words}){beyond}"

    @property
    def true_words(self) -> str:
        """``true angle -7.827°, anticlockwise``."""
        return f"true angle {fixed(self.angle_deg, 3)}°, {self.way or 'at zero'}"


def axis_setting(fixture: Fixture, axis: str, angle_deg: float) -> AxisSetting:
    """The "swivel" or "tilt" of that fixture at a true angle."""
    limits = fixture.swivel if axis == "swivel" else fixture.tilt
    scale = shown(fixture, axis, angle_deg).scale_deg
    positive, negative = _WAYS[axis]
    way = positive if angle_deg > 0 else negative
    return AxisSetting(
        axis,
        angle_deg,
        "" if abs(angle_deg) < SAID_DEG else way,
        limits.figure_deg(scale),
        scale_room(fixture, axis, angle_deg).beyond,
        contradicted(fixture, axis),
    )
