"""Which test cut to make next, how many, and what each would bring; no reading is needed to say.

Knows estimates; no fixture and no reading.

A cut foreseen is a row at the scatter of now and one more degree of freedom. What a later cut
at a wanted angle then comes to does not depend on what the new one will read. Test at the
joint's own angle, or beyond it: interpolate, do not extrapolate.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import attrs

from jointgeo.fixtures.estimate import COVERAGE, Estimate
from jointgeo.fixtures.leastsquares import Row

__all__ = ["AxisTask", "NextCut", "cuts_needed", "foreseen", "next_cut"]

MOST_CUTS = 20  # more are not asked for; our choice
ALIKE = 1.02  # what brings less than 2 % more is as good as the best; our choice


@attrs.frozen
class AxisTask:
    """One axis: what is known of it, the true angles wanted with the error at each that by itself
    opens the glue line, and where it may be tested: {scale: standard uncertainty of measuring
    there}."""

    error: Estimate
    wanted: Mapping[float, float]
    places: Mapping[float, float]

    def part(self, error: Estimate, angle: float) -> float:
        """Part of the glue line that a later cut at a wanted angle takes."""
        return error.at(angle).later / self.wanted[angle]

    def worst(self, error: Estimate) -> float:
        """The greatest of those."""
        return max(self.part(error, w) for w in self.wanted)


@attrs.frozen
class NextCut:
    """axis, at_deg: what to set. now_deg, then_deg: a later cut at the worst of the wanted angles
    (for_deg), before and after. figure_deg: what the axis's scale shows where ``at_deg`` is set,
    None where that is the same."""

    axis: str
    at_deg: float
    for_deg: float
    now_deg: float
    then_deg: float
    figure_deg: float | None = None

    @property
    def says(self) -> str:
        shown = "" if self.figure_deg is None else f" (its scale at {self.figure_deg:g}°)"
        return (
            f"next, cut with the {self.axis} at {self.at_deg:g}°{shown}: a later cut at "
            f"{self.for_deg:g}° is then ±{self.then_deg:.3f}° instead of ±{self.now_deg:.3f}°"
        )

    def to_dict(self) -> dict[str, Any]:
        return attrs.asdict(self)


def foreseen(error: Estimate, at: float, u: float, cuts: int = 1) -> Estimate:
    """As it would stand after so many more cuts there."""
    row = Row("foreseen", at, 0.0, u, error.prior.setting_u)
    return error.with_more([row] * cuts)


def next_cut(tasks: Mapping[str, AxisTask]) -> NextCut | None:
    """The cut that helps most: on each axis where its worst wanted angle gains most, and of the
    axes the one where the sum of both parts of the glue line squared falls most. None without an
    axis."""
    best: tuple[float, NextCut] | None = None
    for axis, task in tasks.items():
        if not task.places:
            continue
        places = {at: foreseen(task.error, at, u) for at, u in task.places.items()}
        least = min(task.worst(p) for p in places.values())
        # Of places that bring as good as the same, the first: the joint's own angles stand there.
        at = next(place for place, p in places.items() if task.worst(p) <= ALIKE * least)
        gain = task.worst(task.error) ** 2 - task.worst(places[at]) ** 2
        where = max(task.wanted, key=lambda w: task.part(task.error, w))
        found = NextCut(axis, at, where, task.error.at(where).later, places[at].at(where).later)
        if best is None or gain > best[0]:
            best = gain, found
    return best[1] if best else None


def cuts_needed(
    error: Estimate, wanted: Mapping[float, float], needed: Mapping[float, float]
) -> int | None:
    """How many more cuts, each at the wanted angle that is worst by then, bring a later cut at each
    of them within what is needed; None where no number does, or more than ``MOST_CUTS``.

    wanted: {angle: standard uncertainty of measuring one cut there}; needed: the same angles.
    """
    if COVERAGE * error.repeats > min(needed.values()):
        return None
    rows: list[Row] = []
    now = error
    while any(now.at(w).later > needed[w] for w in wanted):
        if len(rows) == MOST_CUTS:
            return None
        worst = max(wanted, key=lambda w: now.at(w).later / needed[w])
        rows.append(Row("foreseen", worst, 0.0, wanted[worst], error.prior.setting_u))
        now = error.with_more(rows)
    return len(rows)
