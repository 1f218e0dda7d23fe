"""Rotations about the machine's axes, right-handed, in plain floats.

Knows ``math`` and numpy only. Angles are radians here and nowhere public.

Two forms of one thing. *Rows*: three rows of three floats, which is what is reckoned with; a turn
about an axis touches two of them only. *Arrays*: shape (..., 3, 3), for drawings and for those
who want numpy; they are the same rows, stacked. A rotation acts on column vectors.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, sin, sqrt
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = [
    "UNIT_ROWS",
    "Array",
    "Rows",
    "Vector",
    "about_x",
    "about_y",
    "about_z",
    "apply",
    "cross",
    "direction",
    "dot",
    "moved",
    "pose",
    "pose_rows",
    "rows_of",
    "scaled",
    "stacked",
    "transposed",
    "turn_x",
    "turn_y",
    "turn_z",
    "unapply",
    "unit",
]

Array = NDArray[np.float64]
Vector: TypeAlias = tuple[float, float, float]
Rows: TypeAlias = tuple[Vector, Vector, Vector]

UNIT_ROWS: Rows = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))


def dot(a: Vector, b: Vector) -> float:
    """Scalar product."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def cross(a: Vector, b: Vector) -> Vector:
    """Vector product."""
    return a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]


def scaled(v: Vector, by: float) -> Vector:
    """``v`` times a number."""
    return by * v[0], by * v[1], by * v[2]


def moved(point: Vector, way: Vector, by: float) -> Vector:
    """``point`` and ``by`` times ``way``."""
    return point[0] + by * way[0], point[1] + by * way[1], point[2] + by * way[2]


def direction(v: Vector) -> Vector:
    """``v`` scaled to length 1."""
    return scaled(v, 1.0 / sqrt(dot(v, v)))


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


def about_x(angle_rad: float) -> Array:
    """Rotation about X: Y turns towards Z."""
    return stacked(turn_x(UNIT_ROWS, angle_rad))


def about_y(angle_rad: float) -> Array:
    """Rotation about Y: Z turns towards X."""
    return stacked(turn_y(UNIT_ROWS, angle_rad))


def about_z(angle_rad: float) -> Array:
    """Rotation about Z: X turns towards Y."""
    return stacked(turn_z(UNIT_ROWS, angle_rad))


def stacked(entries: Sequence[Any]) -> Array:
    """floats and columns of shape (...), nested to any depth, as one array: rows of a rotation
    as (..., 3, 3), corners as (..., n, 3)."""
    shape, flat, entry = [], [entries], entries
    while isinstance(entry, (tuple, list)):
        shape.append(len(entry))
        flat = [item for group in flat for item in group]
        entry = entry[0]
    if np.ndarray not in map(type, flat):
        return np.array(flat, dtype=float).reshape(shape)
    joined = np.stack(np.broadcast_arrays(*flat), axis=-1)
    return np.asarray(joined.reshape(*joined.shape[:-1], *shape))


def rows_of(array: ArrayLike) -> Rows:
    """An array (3, 3) as rows."""
    (a, b, c), (d, e, f), (g, h, i) = np.asarray(array, dtype=float).tolist()
    return (a, b, c), (d, e, f), (g, h, i)


def unit(vector: ArrayLike) -> Array:
    """``vector`` of shape (..., 3) scaled to length 1."""
    v = np.asarray(vector, dtype=float)
    return np.asarray(v / np.sqrt(np.sum(v * v, axis=-1, keepdims=True)))


def pose_rows(rows: Rows, at: Vector) -> tuple[tuple[float, ...], ...]:
    """The four rows of the matrix that first rotates by ``rows`` and then moves by ``at``."""
    return (*((*row, t) for row, t in zip(rows, at, strict=True)), (0.0, 0.0, 0.0, 1.0))


def pose(rotation: ArrayLike, translation: ArrayLike) -> Array:
    """The 4×4 matrix that first rotates and then translates, shape (..., 4, 4)."""
    r, t = np.asarray(rotation, dtype=float), np.asarray(translation, dtype=float)
    lead = np.broadcast_shapes(r.shape[:-2], t.shape[:-1])
    out = np.zeros((*lead, 4, 4))
    out[..., :3, :3] = r
    out[..., :3, 3] = t
    out[..., 3, 3] = 1.0
    return out
