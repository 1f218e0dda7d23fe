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


def _turn(first: int, second: int, angle_rad: ArrayLike) -> Array:
    """The rotation that turns axis ``first`` towards axis ``second``."""
    a = np.asarray(angle_rad, dtype=float)
    cosine, sine = np.cos(a), np.sin(a)
    out = np.zeros((*a.shape, 3, 3))
    out[..., 3 - first - second, 3 - first - second] = 1.0
    out[..., first, first] = out[..., second, second] = cosine
    out[..., second, first] = sine
    out[..., first, second] = -sine
    return out


def about_x(angle_rad: ArrayLike) -> Array:
    """Rotation about X: Y turns towards Z."""
    return _turn(1, 2, angle_rad)


def about_y(angle_rad: ArrayLike) -> Array:
    """Rotation about Y: Z turns towards X."""
    return _turn(2, 0, angle_rad)


def about_z(angle_rad: ArrayLike) -> Array:
    """Rotation about Z: X turns towards Y."""
    return _turn(0, 1, angle_rad)


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
