"""Rotations about the machine's axes, right-handed, in plain floats.

Knows ``math`` only. Angles are radians here and nowhere public. A rotation is three rows of three
floats and acts on column vectors; a turn about an axis touches two of the rows only.
"""

from __future__ import annotations

from math import cos, sin
from typing import TypeAlias

__all__ = [
    "UNIT_ROWS",
    "Rows",
    "Vector",
    "apply",
    "dot",
    "transposed",
    "turn_x",
    "turn_y",
    "turn_z",
    "unapply",
]

Vector: TypeAlias = tuple[float, float, float]
Rows: TypeAlias = tuple[Vector, Vector, Vector]

UNIT_ROWS: Rows = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))


def dot(a: Vector, b: Vector) -> float:
    """Scalar product."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def apply(rows: Rows, v: Vector) -> Vector:
    """The vector as the rotation turns it."""
    x, y, z = v
    (a, b, c), (d, e, f), (g, h, i) = rows
    return a * x + b * y + c * z, d * x + e * y + f * z, g * x + h * y + i * z


def unapply(rows: Rows, v: Vector) -> Vector:
    """The vector that the rotation turns into ``v``."""
    x, y, z = v
    (a, b, c), (d, e, f), (g, h, i) = rows
    return a * x + d * y + g * z, b * x + e * y + h * z, c * x + f * y + i * z


def transposed(rows: Rows) -> Rows:
    """The rotation that turns back."""
    (a, b, c), (d, e, f), (g, h, i) = rows
    return (a, d, g), (b, e, h), (c, f, i)


def _mixed(first: Vector, second: Vector, cosine: float, sine: float) -> tuple[Vector, Vector]:
    """Two rows after a turn from the first's axis towards the second's."""
    a, b, c = first
    d, e, f = second
    return (
        (cosine * a - sine * d, cosine * b - sine * e, cosine * c - sine * f),
        (sine * a + cosine * d, sine * b + cosine * e, sine * c + cosine * f),
    )


def turn_x(rows: Rows, angle_rad: float) -> Rows:
    """``rows`` and then a turn about X: Y turns towards Z."""
    y, z = _mixed(rows[1], rows[2], cos(angle_rad), sin(angle_rad))
    return rows[0], y, z


def turn_y(rows: Rows, angle_rad: float) -> Rows:
    """``rows`` and then a turn about Y: Z turns towards X."""
    z, x = _mixed(rows[2], rows[0], cos(angle_rad), sin(angle_rad))
    return x, rows[1], z


def turn_z(rows: Rows, angle_rad: float) -> Rows:
    """``rows`` and then a turn about Z: X turns towards Y."""
    x, y = _mixed(rows[0], rows[1], cos(angle_rad), sin(angle_rad))
    return x, y, rows[2]
