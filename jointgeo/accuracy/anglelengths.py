"""Angles as lengths: what a spacer, a sine bar, an offset or a wedge measures.

Knows numpy only. Angles in degrees, lengths in millimetres; every function broadcasts.

    spacer between hinge and stop    chord   t = 2·d·sin(a / 2)
    sine bar                         height  h = d·sin(a)
    offset on a rule at the fence    offset  o = d·tan(a)
    wedge of length d                rise    r = d·tan(a)
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from jointgeo.rotations import Array

__all__ = [
    "chord_angle_deg",
    "chord_mm",
    "offset_angle_deg",
    "offset_mm",
    "sine_angle_deg",
    "sine_height_mm",
]


def chord_mm(distance_mm: ArrayLike, angle_deg: ArrayLike) -> Array:
    """Spacer that opens a leaf of that length by that angle: 2·d·sin(a/2). Broadcasts."""
    return np.asarray(2 * np.asarray(distance_mm) * np.sin(np.radians(angle_deg) / 2))


def chord_angle_deg(distance_mm: ArrayLike, spacer_mm: ArrayLike) -> Array:
    """Angle that a spacer opens; nan where it is longer than twice the distance."""
    ratio = np.asarray(spacer_mm) / (2 * np.asarray(distance_mm))
    with np.errstate(invalid="ignore"):
        return np.asarray(np.degrees(2 * np.arcsin(ratio)))


def sine_height_mm(length_mm: ArrayLike, angle_deg: ArrayLike) -> Array:
    """Height under one roller of a sine bar of that length: d·sin(a). Broadcasts."""
    return np.asarray(np.asarray(length_mm) * np.sin(np.radians(angle_deg)))


def sine_angle_deg(length_mm: ArrayLike, height_mm: ArrayLike) -> Array:
    """Angle of a sine bar raised by that height; nan where it is more than the length."""
    with np.errstate(invalid="ignore"):
        return np.asarray(np.degrees(np.arcsin(np.asarray(height_mm) / np.asarray(length_mm))))


def offset_mm(distance_mm: ArrayLike, angle_deg: ArrayLike) -> Array:
    """Offset square to a line at that distance along it: d·tan(a). Also a wedge's rise."""
    return np.asarray(np.asarray(distance_mm) * np.tan(np.radians(angle_deg)))


def offset_angle_deg(distance_mm: ArrayLike, offset: ArrayLike) -> Array:
    """Angle of that offset at that distance, and of a wedge of that rise and length."""
    return np.asarray(np.degrees(np.arctan2(offset, distance_mm)))
