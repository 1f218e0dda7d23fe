"""Inches in, common fractions out; degrees and minutes.

Knows numbers and text only. Millimetres and degrees are the only units behind
the public edge; an inch exists in what a person types and in what is printed
beside a millimetre, never in a field whose name says ``_mm``.
"""

from __future__ import annotations

import math
import re
from fractions import Fraction
from numbers import Real

__all__ = [
    "DECIMALS",
    "MM_PER_INCH",
    "decimals_apart",
    "degrees_minutes",
    "fixed",
    "fraction_words",
    "nearest_fraction",
    "nearest_parts",
    "read_inches",
]

MM_PER_INCH = 25.4  # exact since the international yard of 1959 (from memory)

INCH_FORMS = 'a number, or text such as "2 1/2", "2-1/2", "1/2" or "2.5"'
_FORM = re.compile(
    r"""\s*(?P<sign>[+-]?)\s*
        (?:(?P<decimal>[0-9]{1,9}(?:\.[0-9]{1,9})?)
           |(?:(?P<whole>[0-9]{1,9})(?:\s+|-))?(?P<over>[0-9]{1,9})\s*/\s*(?P<under>[0-9]{1,9}))
        \s*(?:"|in)?\s*""",
    re.VERBOSE | re.ASCII,
)


def read_inches(value: object) -> float:
    """A length in inches, as millimetres.

    Takes a finite number or one of the forms in ``INCH_FORMS``, with an optional
    leading sign and an optional trailing ``"`` or ``in``.
    Raises ValueError, saying what is allowed, for anything else.
    """
    if isinstance(value, bool):  # a bool is a number to Python and a slip to everyone else
        raise ValueError(f"a length in inches must be {INCH_FORMS}")  # noqa: TRY004 - one error for all
    if isinstance(value, Real):
        try:
            number = float(value)
        except OverflowError:
            number = math.inf
        if math.isfinite(number):
            return number * MM_PER_INCH
    elif isinstance(value, str) and (found := _FORM.fullmatch(value)):
        if found["decimal"]:
            size = Fraction(found["decimal"])
        elif int(found["under"]) == 0:
            raise ValueError("a fraction of an inch needs a denominator that is not zero")
        else:
            size = int(found["whole"] or 0) + Fraction(int(found["over"]), int(found["under"]))
        return float(size * Fraction("25.4")) * (-1.0 if found["sign"] == "-" else 1.0)
    raise ValueError(f"a length in inches must be {INCH_FORMS}")


def nearest_parts(length_mm: float, denominator: int) -> int:
    """How many of those parts of an inch are nearest to a length; halves go away from zero."""
    parts = math.floor(abs(length_mm) / MM_PER_INCH * denominator + 0.5)
    return -parts if length_mm < 0 else parts


def fraction_words(parts: int, denominator: int) -> str:
    """So many parts of an inch as a common fraction, e.g. ``2 1/2 in``."""
    whole, rest = divmod(abs(parts), denominator)
    sign = "-" if parts < 0 else ""
    if not rest:
        return f"{sign}{whole} in"
    common = math.gcd(rest, denominator)
    lead = f"{whole} " if whole else ""
    return f"{sign}{lead}{rest // common}/{denominator // common} in"


def nearest_fraction(length_mm: float, denominator: int = 64) -> str:
    """The nearest common fraction of an inch, in words; halves go away from zero. What is less than
    one such part is a decimal, ``0.006 in``."""
    inches = length_mm / MM_PER_INCH
    if abs(inches) * denominator < 1 - 1e-9:
        decimal = fixed(inches, 3)
        return "0 in" if float(decimal) == 0 else f"{decimal} in"
    return fraction_words(nearest_parts(length_mm, denominator), denominator)


def fixed(value: float, decimals: int, *, signed: bool = False) -> str:
    """A number with so many decimals, never ``-0.00``; signed: with a ``+`` where it is not
    negative."""
    text = f"{value:{'+' if signed else ''}.{decimals}f}"
    if text.startswith("-") and not text.strip("-0."):
        return ("+" if signed else "") + text[1:]
    return text


#: Decimals that a person reads of a value, by its unit; of another unit 1.
DECIMALS = {"mm": 2, "deg": 3}


def decimals_apart(value: float, limit: float, decimals: int) -> int:
    """So many decimals, or up to three more, that two numbers which differ print otherwise, and
    what lies between them not as nought."""
    if value == limit:
        return decimals
    for more in range(decimals, decimals + 3):
        differ = fixed(value, more) != fixed(limit, more)
        if differ and fixed(value - limit, more).strip("-0."):
            return more
    return decimals + 3


def degrees_minutes(angle_deg: float) -> str:
    """An angle as whole degrees and tenths of a minute, e.g. ``-7°49.6′``."""
    tenths = math.floor(abs(angle_deg) * 600 + 0.5)
    degrees, rest = divmod(tenths, 600)
    sign = "-" if angle_deg < 0 and tenths else ""
    return f"{sign}{degrees}°{rest // 10:02d}.{rest % 10}′"
