"""How much there is to plan, told before any of it is: an upper bound of the passes.

Knows parts in stock coordinates and the fixture; makes no plan. For a service that bounds what it
is asked.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from jointgeo.fixtures.model import Fixture
from jointgeo.joints.stock import Part
from jointgeo.planning.blank import corner_points, section
from jointgeo.planning.frame import bounded

__all__ = ["most_passes"]


def most_passes(parts: Iterable[Part], fixture: Fixture) -> int:
    """No fewer passes than any plan of these parts lists, whichever of its cutters it takes.

    Reckoned with the narrowest kerf; each cut has one pass more than whole steps in its width.
    """
    fixture = fixture.corrected
    practice, kerfs = fixture.practice, [c.kerf_mm for c in fixture.cutter]
    step, count = min(kerfs) - practice.overlap_mm, 0
    for part in parts:
        corners = section(part.width_mm, part.thickness_mm)
        for notch in part.notches:
            end = corner_points(notch, 0.0, corners)
            for channel, _ in bounded(notch, end, practice.run_past_mm, max(kerfs)):
                count += 1 + math.ceil((channel.high - channel.low) / step)
    return count
