"""Positions of the cutter for one cut, and what the handwheel shows for each.

Knows the fixture's traverse and cutter; no notch, no stock. Millimetres along X from
the touch-off corner; a position is that of the cutter's right-hand face.
"""

from __future__ import annotations

import math

import attrs

from jointgeo.fixtures.model import Cutter, Traverse

__all__ = ["Cut", "Pass", "Sweep", "handwheel", "passes", "sweep"]


@attrs.frozen
class Pass:
    """travel_mm: unrounded. turns, divisions: signed alike, of the rounded position.

    rounding_mm: rounded position minus travel_mm.
    """

    travel_mm: float
    turns: int
    divisions: int
    rounding_mm: float


@attrs.frozen
class Cut:
    """One channel, from left_mm to right_mm of the touch-off corner, depth_mm below the end.

    outer: it runs out of the stock on one side, so its width is not a measure of anything.
    """

    left_mm: float
    right_mm: float
    depth_mm: float
    outer: bool
    passes: tuple[Pass, ...]


@attrs.frozen
class Sweep:
    """Passes over a whole width: how many, how far apart at most, and the width they clear, from
    the first one's left-hand face to the last one's right-hand face."""

    count: int
    most_mm: float
    over_mm: float


def handwheel(traverse: Traverse, travel_mm: float) -> Pass:
    """Whole turns and divisions nearest to ``travel_mm``; halves go away from zero."""
    exact = abs(travel_mm) / traverse.lead_mm * traverse.divisions
    steps = math.floor(exact + 0.5)
    sign = -1 if travel_mm < 0 else 1
    turns, divisions = divmod(steps, traverse.divisions)
    rounded = sign * steps * traverse.lead_mm / traverse.divisions
    return Pass(travel_mm, sign * turns, sign * divisions, rounded - travel_mm)


def passes(
    left_mm: float, right_mm: float, cutter: Cutter, traverse: Traverse, overlap_mm: float
) -> tuple[Pass, ...]:
    """Evenly spread positions that leave nothing standing between left and right.

    They run from left to right, so every one of them is approached from the same side
    and backlash does not enter. A cut narrower than the kerf gets one pass at its right
    end; that it is too narrow is for a feasibility check to say.
    """
    spare = right_mm - left_mm - cutter.kerf_mm
    if spare <= 1e-9:
        return (handwheel(traverse, right_mm),)
    more = sweep((left_mm + cutter.kerf_mm, right_mm), cutter, overlap_mm).count - 1
    positions = [left_mm + cutter.kerf_mm + spare * i / more for i in range(more + 1)]
    return tuple(handwheel(traverse, p) for p in positions)


def sweep(travel_mm: tuple[float, float], cutter: Cutter, overlap_mm: float) -> Sweep:
    """The passes that leave nothing standing between the cutter's right-hand face at the first
    travel and at the last; one at the last where that does not lie to the right of the first."""
    spare, most = travel_mm[1] - travel_mm[0], cutter.kerf_mm - overlap_mm
    count = 1 if spare <= 1e-9 else 1 + math.ceil(spare / most - 1e-9)
    return Sweep(count, most, cutter.kerf_mm + max(0.0, spare))
