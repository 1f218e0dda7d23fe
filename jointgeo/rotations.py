"""Rotations about the machine's axes, right-handed, broadcasting.

Knows numpy only. Angles are radians here and nowhere public. A rotation is an
array of shape (..., 3, 3) that acts on column vectors; every function takes angles
of shape (...) and leading axes broadcast.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["Array", "about_x", "about_y", "about_z", "pose", "unit"]

Array = NDArray[np.float64]


def _assemble(rows: list[list[Array]]) -> Array:
    return np.stack([np.stack(np.broadcast_arrays(*row), axis=-1) for row in rows], axis=-2)


def about_x(angle_rad: ArrayLike) -> Array:
    """Rotation about X: Y turns towards Z."""
    a = np.asarray(angle_rad, dtype=float)
    c, s, o, i = np.cos(a), np.sin(a), np.zeros_like(a), np.ones_like(a)
    return _assemble([[i, o, o], [o, c, -s], [o, s, c]])


def about_y(angle_rad: ArrayLike) -> Array:
    """Rotation about Y: Z turns towards X."""
    a = np.asarray(angle_rad, dtype=float)
    c, s, o, i = np.cos(a), np.sin(a), np.zeros_like(a), np.ones_like(a)
    return _assemble([[c, o, s], [o, i, o], [-s, o, c]])


def about_z(angle_rad: ArrayLike) -> Array:
    """Rotation about Z: X turns towards Y."""
    a = np.asarray(angle_rad, dtype=float)
    c, s, o, i = np.cos(a), np.sin(a), np.zeros_like(a), np.ones_like(a)
    return _assemble([[c, -s, o], [s, c, o], [o, o, i]])


def unit(vector: ArrayLike) -> Array:
    """``vector`` of shape (..., 3) scaled to length 1."""
    v = np.asarray(vector, dtype=float)
    return np.asarray(v / np.sqrt(np.sum(v * v, axis=-1, keepdims=True)))


def pose(rotation: ArrayLike, translation: ArrayLike) -> Array:
    """The 4×4 matrix that first rotates and then translates, shape (..., 4, 4)."""
    r, t = np.asarray(rotation, dtype=float), np.asarray(translation, dtype=float)
    lead = np.broadcast_shapes(r.shape[:-2], t.shape[:-1])
    out = np.zeros((*lead, 4, 4))
    out[..., :3, :3] = r
    out[..., :3, 3] = t
    out[..., 3, 3] = 1.0
    return out
