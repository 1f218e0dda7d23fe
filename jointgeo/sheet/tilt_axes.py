"""Axes on which thickness runs to the right and tilt upwards, with their figures.

Knows drawings; no sheet, no fixture.
"""

from __future__ import annotations

import math

import attrs
import numpy as np

from jointgeo.sheet.svg import Drawing

__all__ = ["Axes", "round_up"]


@attrs.frozen(eq=False)
class Axes:
    """thick: the greatest thickness, mm; tilt: the greatest tilt, degrees; wide, high: the plane on
    the page, mm."""

    thick: float
    tilt: float
    wide: float
    high: float

    def at(self, thick: float, tilt: float) -> tuple[float, float]:
        """A place on the page; (0, 0) is the corner of the axes."""
        return self.wide * thick / self.thick, -self.high * tilt / self.tilt

    def draw(self, d: Drawing) -> None:
        """Both axes with figures."""
        gap = d.measure.of
        d.lines([(0, -self.high), (0, 0), (self.wide, 0)], "outline")
        for thick in np.arange(0.0, self.thick + 1e-9, _step(self.thick, 6)):
            x, y = self.at(thick, 0.0)
            d.line((x, y), (x, y + gap(1.5)), "thin")
            d.text((x, y + gap(5)), f"{thick:g}", anchor="middle")
        for tilt in np.arange(0.0, self.tilt + 1e-9, _step(self.tilt, 7)):
            x, y = self.at(0.0, tilt)
            d.line((x - gap(1.5), y), (x, y), "thin")
            d.text((x - gap(2.5), y), f"{tilt:g}°", anchor="end")
        d.text(
            (self.wide / 2, gap(5) + d.measure.line_mm),
            "thickness from plate to you, mm",
            anchor="middle",
        )
        d.text((-gap(20), -self.high / 2), "tilt", anchor="middle", turned=True)


def round_up(value: float, step: float) -> float:
    return math.ceil(value / step) * step


def _step(reach: float, most: int) -> float:
    return next(s for s in (5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0) if reach / s <= most)
