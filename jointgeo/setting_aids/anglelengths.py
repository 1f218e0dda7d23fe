"""Angles as lengths: what a spacer, a sine bar, an offset or a wedge measures.

Knows ``math`` only. Angles in degrees, lengths in millimetres.

    spacer between hinge and stop    chord   t = 2·d·sin(a / 2)
    sine bar                         height  h = d·sin(a)
    offset on a rule at the fence    offset  o = d·tan(a)
    wedge of length d                rise    r = d·tan(a)
"""

from __future__ import annotations

from math import asin, atan2, degrees, nan, radians, sin, tan

__all__ = [
    "chord_angle_deg",
    "chord_mm",
    "offset_angle_deg",
    "offset_mm",
    "sine_angle_deg",
    "sine_height_mm",
]


def chord_mm(distance_mm: float, angle_deg: float) -> float:
    """Spacer that opens a leaf of that length by that angle: 2·d·sin(a/2)."""
    return 2 * distance_mm * sin(radians(angle_deg) / 2)


def chord_angle_deg(distance_mm: float, spacer_mm: float) -> float:
    """Angle that a spacer opens; nan where it is longer than twice the distance."""
    return degrees(2 * _arcsine(spacer_mm / (2 * distance_mm)))


def sine_height_mm(length_mm: float, angle_deg: float) -> float:
    """Height under one roller of a sine bar of that length: d·sin(a)."""
    return length_mm * sin(radians(angle_deg))


def sine_angle_deg(length_mm: float, height_mm: float) -> float:
    """Angle of a sine bar raised by that height; nan where it is more than the length."""
    return degrees(_arcsine(height_mm / length_mm))


def offset_mm(distance_mm: float, angle_deg: float) -> float:
    """Offset square to a line at that distance along it: d·tan(a). Also a wedge's rise."""
    return distance_mm * tan(radians(angle_deg))


def offset_angle_deg(distance_mm: float, offset: float) -> float:
    """Angle of that offset at that distance, and of a wedge of that rise and length."""
    return degrees(atan2(offset, distance_mm))


def _arcsine(ratio: float) -> float:
    return asin(ratio) if -1.0 <= ratio <= 1.0 else nan
