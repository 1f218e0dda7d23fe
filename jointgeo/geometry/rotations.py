"""Rotations about the machine's axes, right-handed.

Knows ``arith`` and numpy only. Angles are radians here and nowhere public.

Two forms of one thing. *Rows*: three rows of three entries, each a number or a column (see
``arith``); the turns below act on rows, and a turn about an axis touches two of them only.
*Arrays*: shape (..., 3, 3), leading axes broadcast, for those who hold many or want numpy;
they are the same rows, stacked. A rotation acts on column vectors.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from jointgeo.geometry.arith import Number, column, cos, sin, sqrt

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
    "vectors_of",
]

Array = NDArray[np.float64]
Vector: TypeAlias = tuple[Number, Number, Number]
Rows: TypeAlias = tuple[Vector, Vector, Vector]

UNIT_ROWS: Rows = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))


def dot(a: Vector, b: Vector) -> Number:
    """Scalar product."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def cross(a: Vector, b: Vector) -> Vector:
    """Vector product."""
    return a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]


def scaled(v: Vector, by: Number) -> Vector:
    """``v`` times a number."""
    return by * v[0], by * v[1], by * v[2]


def moved(point: Vector, way: Vector, by: Number) -> Vector:
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


def _mixed(first: Vector, second: Vector, cosine: Number, sine: Number) -> tuple[Vector, Vector]:
    """Two rows after a turn from the first's axis towards the second's."""
    a, b, c = first
    d, e, f = second
    return (
        (cosine * a - sine * d, cosine * b - sine * e, cosine * c - sine * f),
        (sine * a + cosine * d, sine * b + cosine * e, sine * c + cosine * f),
    )


def turn_x(rows: Rows, angle_rad: Number) -> Rows:
    """``rows`` and then a turn about X: Y turns towards Z."""
    y, z = _mixed(rows[1], rows[2], cos(angle_rad), sin(angle_rad))
    return rows[0], y, z


def turn_y(rows: Rows, angle_rad: Number) -> Rows:
    """``rows`` and then a turn about Y: Z turns towards X."""
    z, x = _mixed(rows[2], rows[0], cos(angle_rad), sin(angle_rad))
    return x, rows[1], z


def turn_z(rows: Rows, angle_rad: Number) -> Rows:
    """``rows`` and then a turn about Z: X turns towards Y."""
    x, y = _mixed(rows[0], rows[1], cos(angle_rad), sin(angle_rad))
    return x, y, rows[2]


def about_x(angle_rad: ArrayLike) -> Array:
    """Rotation about X: Y turns towards Z."""
    return stacked(turn_x(UNIT_ROWS, column(angle_rad)))


def about_y(angle_rad: ArrayLike) -> Array:
    """Rotation about Y: Z turns towards X."""
    return stacked(turn_y(UNIT_ROWS, column(angle_rad)))


def about_z(angle_rad: ArrayLike) -> Array:
    """Rotation about Z: X turns towards Y."""
    return stacked(turn_z(UNIT_ROWS, column(angle_rad)))


def stacked(entries: Sequence[Any]) -> Array:
    """Numbers and columns of shape (...), nested to any depth, as one array: rows of a rotation
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
    """An array (..., 3, 3) as rows; of shape (3, 3) as plain numbers."""
    a = np.asarray(array, dtype=float)
    if a.ndim == 2:
        return tuple(map(tuple, a.tolist()))  # type: ignore[return-value]  # three of three
    return tuple(tuple(a[..., i, k] for k in range(3)) for i in range(3))  # type: ignore[return-value]  # the same


def vectors_of(array: ArrayLike) -> list[Vector]:
    """Points (..., n, 3) as n vectors; of shape (n, 3) as plain numbers."""
    a = np.asarray(array, dtype=float)
    if a.ndim == 2:
        return [(x, y, z) for x, y, z in a.tolist()]
    return [(a[..., i, 0], a[..., i, 1], a[..., i, 2]) for i in range(a.shape[-2])]


def unit(vector: ArrayLike) -> Array:
    """``vector`` of shape (..., 3) scaled to length 1."""
    v = np.asarray(vector, dtype=float)
    return np.asarray(v / np.sqrt(np.sum(v * v, axis=-1, keepdims=True)))


def pose_rows(rows: Rows, at: Vector) -> tuple[tuple[Number, ...], ...]:
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
