"""General tolerances for angles as named presets, and what an angle's error opens.

Knows numbers only.

Source. ISO 2768-1:1989, Table 3, classes f, m and c, by the length of the shorter leg; read
in a secondary copy, not in the standard itself. Class v was not in that copy and is left
out. The vernier's figure, 5′, is that of a common bevel protractor (US
Army OD1642; edition and page not kept, so from memory).
"""

from __future__ import annotations

from bisect import bisect_left
from math import radians, tan

from jointgeo.errors import InputError, Problem, shown

__all__ = ["ANGLE_CLASSES", "VERNIER_DEG", "angle_tolerance_deg", "gap_mm"]

#: Upper ends of the ranges of the shorter leg, mm; the last range has none.
LEGS_MM = (10.0, 50.0, 120.0, 400.0)

#: Permissible deviation ± in minutes of arc, for each range of the shorter leg.
ANGLE_CLASSES: dict[str, tuple[int, ...]] = {
    "iso2768_f": (60, 30, 20, 10, 5),
    "iso2768_m": (60, 30, 20, 10, 5),
    "iso2768_c": (90, 60, 30, 15, 10),
}

VERNIER_DEG = 5 / 60


def angle_tolerance_deg(preset: str, shorter_leg_mm: float) -> float:
    """Permissible deviation ± in degrees for an angle whose shorter leg is that long.

    A leg just at the end of a range belongs to it (10 mm: "up to 10").
    """
    if preset not in ANGLE_CLASSES:
        allowed = "one of " + ", ".join(ANGLE_CLASSES)
        raise InputError(Problem("preset", "is not a tolerance class", shown(preset), allowed))
    if not shorter_leg_mm > 0:
        given = shown(shorter_leg_mm)
        raise InputError(Problem("shorter_leg_mm", "is too small", given, "more than 0 mm", "mm"))
    return ANGLE_CLASSES[preset][bisect_left(LEGS_MM, shorter_leg_mm)] / 60


def gap_mm(length_mm: float, error_deg: float) -> float:
    """Gap an angle's error opens at the far end of a length: length · tan(error)."""
    return length_mm * tan(radians(error_deg))
