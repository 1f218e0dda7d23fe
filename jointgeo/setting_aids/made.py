"""A length rounded to what can be made or read, in millimetres and as a fraction of an inch.

Knows one axis to be set; no formula.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from math import degrees
from typing import Any

import attrs

from jointgeo.schema.units import MM_PER_INCH, fraction_words, nearest_parts
from jointgeo.setting_aids.aid import Aid
from jointgeo.setting_aids.task import Task

__all__ = ["Length", "u_parts_deg"]


@attrs.frozen
class Length:
    """A length that sets an angle.

    aids: its names, in millimetres and in inches. key: of the length among the numbers. decimals:
    of a millimetre. least_mm: no less is offered. says: with the {size} it is made to. exact_mm:
    unrounded. angle_deg: that a length gives, without sign. u_deg: the parts of that angle's
    uncertainty. numbers: where it is measured.
    """

    aids: tuple[str, str]
    key: str
    decimals: int
    least_mm: float
    says: str
    exact_mm: float
    angle_deg: Callable[[float], float]
    u_deg: Sequence[float]
    numbers: dict[str, Any]

    def rounded(self, task: Task) -> Iterator[Aid]:
        """One aid for each; none where it is too small to be made or read."""
        metric, inch = self.aids
        rest = self.numbers | {"exact_mm": self.exact_mm}
        made = round(self.exact_mm, self.decimals)
        if made >= self.least_mm:
            says = self.says.format(size=f"{made:.{self.decimals}f} mm")
            numbers = {f"{self.key}_mm": made} | rest
            yield task.aid(metric, says, self.angle_deg(made), self.u_deg, numbers)
        denominator = task.fixture.aids.fraction_denominator
        parts = nearest_parts(self.exact_mm, denominator)
        made = parts / denominator * MM_PER_INCH
        if made >= self.least_mm:
            words = fraction_words(parts, denominator)
            numbers = {f"{self.key}_in": words, f"{self.key}_mm": made} | rest
            says = self.says.format(size=words)
            yield task.aid(inch, says, self.angle_deg(made), self.u_deg, numbers)


def u_parts_deg(
    slopes: tuple[float, float, float], size_u_mm: float, distance_u_mm: float
) -> tuple[float, float, float]:
    """Parts of an angle's uncertainty from those of the size, of the distance and of how far the
    contact lies beside the axis, which is a distance as well. slopes: of the size, see
    ``anglelengths``."""
    by_angle, by_distance, by_beside = slopes
    return (
        degrees(size_u_mm / by_angle),
        degrees(by_distance * distance_u_mm / by_angle),
        degrees(by_beside * distance_u_mm / by_angle),
    )
