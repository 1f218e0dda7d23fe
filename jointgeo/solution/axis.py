"""One axis as it is set: the true angle, and the figure that its scale must show for it.

Knows the fixture and what is known of its scales; no plan and no joint. A person sets figures, so
the figure comes first wherever the two differ.
"""

from __future__ import annotations

import attrs

from jointgeo.fixtures.indication import contradicted, scale_room, shown
from jointgeo.fixtures.model import Fixture
from jointgeo.fixtures.wedging import Held, wedge, wedge_place
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
    show it. doubted: whether its test cuts contradict each other, so that no figure is known.
    wedge: what to lay in where the fixture has no such axis, in words, "" where it has; no figure
    is meant then."""

    axis: str
    angle_deg: float
    way: str
    figure_deg: float
    beyond: bool
    doubted: bool
    wedge: str = ""

    @property
    def differs(self) -> bool:
        """Whether a person who sets the true angle by the scale would be wrong, as far as figures
        are printed; whatever is doubted is said to differ."""
        return (
            bool(self.wedge)
            or self.doubted
            or fixed(self.figure_deg, 3) != fixed(self.angle_deg, 3)
        )

    @property
    def to_set_deg(self) -> float | None:
        """The figure to set; None where the scale cannot show it, nobody knows it, or there is no
        such scale."""
        return None if self.beyond or self.doubted or self.wedge else self.figure_deg

    @property
    def figure_words(self) -> str:
        """``-7.760° or -7°45.6′ (true angle -7.827°, anticlockwise)``; no figure if doubted."""
        if self.wedge:
            return f"{self.wedge} ({self.true_words})"
        if self.doubted:
            return f"not known, {DOUBT} ({self.true_words})"
        figure = f"{fixed(self.figure_deg, 3)}° or {degrees_minutes(self.figure_deg)}"
        beyond = ", beyond its range" if self.beyond else ""
        return f"{figure} ({self.true_words}){beyond}"

    @property
    def scale_words(self) -> str:
        """``swivel's scale must show: …``; of an axis that is not there ``no tilt: …``."""
        if self.wedge:
            return f"no {self.axis}: {self.wedge} ({self.true_words})"
        return f"{self.axis}'s scale must show: {self.figure_words}"

    @property
    def true_words(self) -> str:
        """``true angle -7.827°, anticlockwise``."""
        return f"true angle {fixed(self.angle_deg, 3)}°, {self.way or 'at zero'}"


def axis_setting(
    fixture: Fixture, axis: str, angle_deg: float, held_at: Held | None = None
) -> AxisSetting:
    """The "swivel" or "tilt" of that fixture at a true angle of the stock.

    held_at: how the stock is held, where wedges may be among it.
    """
    limits = fixture.swivel if axis == "swivel" else fixture.tilt
    set_deg, wedge_deg = angle_deg, 0.0
    if held_at is not None:
        wedge_deg = held_at.beside_deg if axis == "swivel" else held_at.behind_deg
        set_deg = held_at.fence_deg if axis == "swivel" else held_at.plate_deg
    scale = shown(fixture, axis, set_deg).scale_deg
    positive, negative = _WAYS[axis]
    way = positive if angle_deg > 0 else negative
    return AxisSetting(
        axis,
        angle_deg,
        "" if abs(angle_deg) < SAID_DEG else way,
        limits.figure_deg(scale),
        not limits.lacking and scale_room(fixture, axis, set_deg).beyond,
        contradicted(fixture, axis),
        _wedge_words(fixture, axis, wedge_deg),
    )


def _wedge_words(fixture: Fixture, axis: str, wedge_deg: float) -> str:
    if not wedge_deg:
        return ""
    found = wedge(fixture, wedge_deg)
    where, thick_at = wedge_place(fixture, axis, wedge_deg)
    many = "a wedge" if found.count == 1 else f"{found.count} wedges alike, stacked, each"
    return (
        f"{many} {found.length_mm:g} mm long, {found.thin_mm:.2f} mm to {found.thick_mm:.2f} mm "
        f"high, {where}, thick at the {thick_at}, and as many the other way round on the opposite "
        "side"
    )
