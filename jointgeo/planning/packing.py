"""What is planed as a wedge, what is laid in as paper, and what is left.

Knows joints' sides and lengths; no axis, check or setup.

A wedge that hardly rises cannot be told from a parallel strip: slips of paper along the edge that
would be its thick end do the same. What not even one slip comes near to is left.
"""

from __future__ import annotations

from collections.abc import Callable
from math import radians, tan

import attrs

from jointgeo.joints.sides import in_words, opposite

__all__ = [
    "LEAST_ERROR_MM",
    "LEAST_RISE_MM",
    "PAPER_MM",
    "Packing",
    "packing_of",
    "slip_words",
    "slips",
]

#: A sheet of common office paper, 80 g/m². Common practice, no published source.
PAPER_MM = 0.1

#: The least rise a wedge is planed to; below it paper is laid in. Our choice.
LEAST_RISE_MM = 0.5

#: mm over the feed; packing that is for less is rounding, or no shop's business.
LEAST_ERROR_MM = 0.001


def slips(rise_mm: float) -> int:
    """How many slips of paper come nearest to a rise."""
    return round(rise_mm / PAPER_MM)


def slip_words(number: int) -> str:
    """``one slip of paper 0.1 mm thick``."""
    names = ("no slip", "one slip", "two slips", "three slips", "four slips", "five slips")
    return f"{names[number]} of paper {PAPER_MM:g} mm thick"


@attrs.frozen
class Packing:
    """The wedge between stock and backing. thick_end: the marked side its thick end lies at;
    error_if_ignored_mm: over the feed, without it. slips: of paper along the thick end that do
    what so thin a wedge would, 0 to leave it; None where it can be planed. left_mm: error over the
    feed with those slips; 0 with a wedge."""

    thick_end: str
    length_mm: float
    thin_mm: float
    thick_mm: float
    error_if_ignored_mm: float
    slips: int | None
    left_mm: float

    @property
    def paper(self) -> str:
        """What to do instead of planing a wedge, in words; "" where it can be planed."""
        if self.slips is None:
            return ""
        if self.slips == 0:
            return "leave it"
        return f"{slip_words(self.slips)} along the {in_words(self.thick_end)}"

    def what(self, plate: str, mm: Callable[[float], str]) -> str:
        """What to lay where. plate: the marked side on the plate; mm: a length with its unit."""
        if self.slips is not None:
            return f"{self.paper} on the {in_words(plate)}" if self.slips else self.paper
        return (
            f"a wedge under the {in_words(plate)}, {mm(self.length_mm)} across the stock, "
            f"{mm(self.thin_mm)} to {mm(self.thick_mm)} high, thick along the "
            f"{in_words(self.thick_end)}, and a counter-wedge of the same size on the "
            f"{in_words(opposite(plate))}, thick along the {in_words(opposite(self.thick_end))}"
        )

    def says(self, plate: str, mm: Callable[[float], str]) -> str:
        """The same, and what comes of leaving it out."""
        what, off = self.what(plate, mm), mm(self.error_if_ignored_mm)
        if self.slips == 0:
            return f"{what}; the cut is off by {off}"
        with_it = f", with it by {mm(self.left_mm)}" if self.slips else ""
        return f"{what}; left out, the cut is off by {off}{with_it}"


def packing_of(
    packing_deg: float, across_mm: float, feed_mm: float, thin_mm: float, thick_end: str
) -> Packing:
    """What to do for a turn about the stock's own length. across_mm, feed_mm: the stock's size
    across the plate and from plate to you; thin_mm: the least thin end of a wedge."""
    slope = tan(radians(abs(packing_deg)))
    error, rise = feed_mm * slope, across_mm * slope
    number, left = None, 0.0
    if rise < LEAST_RISE_MM:
        number = 0 if error < LEAST_ERROR_MM else slips(rise)
        left = feed_mm * abs(slope - number * PAPER_MM / across_mm)
    return Packing(thick_end, across_mm, thin_mm, thin_mm + rise, error, number, left)
