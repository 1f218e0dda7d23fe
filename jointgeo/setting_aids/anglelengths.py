"""Angles as lengths: what a spacer, a sine bar, an offset or a wedge measures.

Knows ``arith`` only. Angles in degrees, lengths in millimetres; every function takes numbers
or arrays, which broadcast.

    spacer between hinge and stop    chord   t = 2·d·sin(a / 2)
    sine bar                         height  h = d·sin(a)
    offset on a rule at the fence    offset  o = d·tan(a)
    wedge of length d                rise    r = d·tan(a)
"""

from __future__ import annotations

from numpy.typing import ArrayLike

from jointgeo.geometry.arith import Number, arcsin, arctan2, column, degrees, radians, sin, tan

__all__ = [
    "chord_angle_deg",
    "chord_mm",
    "offset_angle_deg",
    "offset_mm",
    "sine_angle_deg",
    "sine_height_mm",
]


def chord_mm(distance_mm: ArrayLike, angle_deg: ArrayLike) -> Number:
    """Spacer that opens a leaf of that length by that angle: 2·d·sin(a/2)."""
    return 2 * column(distance_mm) * sin(radians(column(angle_deg)) / 2)


def chord_angle_deg(distance_mm: ArrayLike, spacer_mm: ArrayLike) -> Number:
    """Angle that a spacer opens; nan where it is longer than twice the distance."""
    return degrees(2 * arcsin(column(spacer_mm) / (2 * column(distance_mm))))


def sine_height_mm(length_mm: ArrayLike, angle_deg: ArrayLike) -> Number:
    """Height under one roller of a sine bar of that length: d·sin(a)."""
    return column(length_mm) * sin(radians(column(angle_deg)))


def sine_angle_deg(length_mm: ArrayLike, height_mm: ArrayLike) -> Number:
    """Angle of a sine bar raised by that height; nan where it is more than the length."""
    return degrees(arcsin(column(height_mm) / column(length_mm)))


def offset_mm(distance_mm: ArrayLike, angle_deg: ArrayLike) -> Number:
    """Offset square to a line at that distance along it: d·tan(a). Also a wedge's rise."""
    return column(distance_mm) * tan(radians(column(angle_deg)))


def offset_angle_deg(distance_mm: ArrayLike, offset: ArrayLike) -> Number:
    """Angle of that offset at that distance, and of a wedge of that rise and length."""
    return degrees(arctan2(column(offset), column(distance_mm)))
