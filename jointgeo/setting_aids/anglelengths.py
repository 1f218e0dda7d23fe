"""Angles as lengths: what an offset, a pin, a block, a sine bar or a wedge measures.

Knows ``math`` only. Angles in degrees, lengths in millimetres.

A leaf turns by a about an axis. Its contact plane lies beside the axis by c, positive on the side
to which the contact moves. With x = tan(a/2) the two positions of that plane cross at -c·x
along the fixed one, so each gap is that of a plain wedge counted from there:

    gap square to the fixed plane, at d along it     g = tan(a)·(d + c·x)
                                                     x = g / (d + √(d² + g·(g + 2·c)))
    round pin on the fixed plane, its middle at d    D = 2·x·(d + c·x)
                                                     x = D / (d + √(d² + 2·c·D))
    mark to its own place at zero, r from the axis   t = 2·r·sin(a/2)
    sine bar of length r                             h = r·sin(a)
    offset of a line through the axis, wedge         o = d·tan(a)

A rule and a flat block measure the gap; of a block always the edge nearer the axis touches, since
the gap grows outwards. The derivatives that an uncertainty needs are

    gap  ∂/∂a = (d + c·x) / cos²a + c·tan(a)·(1 + x²)/2   ∂/∂d = tan(a)   ∂/∂c = x·tan(a)
    pin  ∂/∂a = (d + 2·c·x)·(1 + x²)                      ∂/∂d = 2·x      ∂/∂c = 2·x²
"""

from __future__ import annotations

from math import asin, atan, atan2, cos, degrees, nan, radians, sin, sqrt, tan

__all__ = [
    "chord_angle_deg",
    "chord_mm",
    "gap_angle_deg",
    "gap_mm",
    "gap_slopes",
    "offset_angle_deg",
    "offset_mm",
    "pin_angle_deg",
    "pin_mm",
    "pin_slopes",
    "sine_angle_deg",
    "sine_height_mm",
]


def gap_mm(distance_mm: float, beside_mm: float, angle_deg: float) -> float:
    """Gap square to the fixed plane at that distance along it, of a leaf beside its axis."""
    a = radians(angle_deg)
    return tan(a) * (distance_mm + beside_mm * tan(a / 2))


def gap_angle_deg(distance_mm: float, beside_mm: float, gap: float) -> float:
    """Angle that opens that gap; nan where none does."""
    d = distance_mm
    return _doubled(gap, d, d * d + gap * (gap + 2 * beside_mm))


def gap_slopes(
    distance_mm: float, beside_mm: float, angle_deg: float
) -> tuple[float, float, float]:
    """What a gap grows by for each radian of the angle, and mm of distance and of beside."""
    a = radians(angle_deg)
    x, t = tan(a / 2), tan(a)
    by_angle = (distance_mm + beside_mm * x) / cos(a) ** 2 + beside_mm * t * (1 + x * x) / 2
    return by_angle, t, t * x


def pin_mm(distance_mm: float, beside_mm: float, angle_deg: float) -> float:
    """Diameter of a round pin that lies on the fixed plane, its middle at that distance."""
    x = tan(radians(angle_deg) / 2)
    return 2 * x * (distance_mm + beside_mm * x)


def pin_angle_deg(distance_mm: float, beside_mm: float, pin: float) -> float:
    """Angle that a pin of that diameter opens; nan where none does."""
    d = distance_mm
    return _doubled(pin, d, d * d + 2 * beside_mm * pin)


def pin_slopes(
    distance_mm: float, beside_mm: float, angle_deg: float
) -> tuple[float, float, float]:
    """What a pin grows by for each radian of the angle, and mm of distance and of beside."""
    x = tan(radians(angle_deg) / 2)
    return (distance_mm + 2 * beside_mm * x) * (1 + x * x), 2 * x, 2 * x * x


def chord_mm(distance_mm: float, angle_deg: float) -> float:
    """Straight from a mark at that distance from the axis to where it lay at zero: 2·r·sin(a/2)."""
    return 2 * distance_mm * sin(radians(angle_deg) / 2)


def chord_angle_deg(distance_mm: float, chord: float) -> float:
    """Angle by which a mark has moved so far; nan where that is more than twice the distance."""
    return degrees(2 * _arcsine(chord / (2 * distance_mm)))


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


def _doubled(size: float, distance: float, square: float) -> float:
    """2·atan(x) for x = size / (distance + √square)."""
    return degrees(2 * atan(size / (distance + sqrt(square)))) if square >= 0 else nan


def _arcsine(ratio: float) -> float:
    return asin(ratio) if -1.0 <= ratio <= 1.0 else nan
