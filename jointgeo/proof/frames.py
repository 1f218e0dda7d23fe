"""Rotations the dry fit needs, written out once more from the contract.

Knows numpy only, on purpose: a rotation shared with the solver would carry its mistakes.
"""

from __future__ import annotations

import numpy as np

from jointgeo.proof.mesh import Array

__all__ = ["NO_FRAME", "machine_from_stock", "rotation_fault", "with_z"]

#: Further than this from a rotation a frame is no place at all, or that of a mirror image.
NO_FRAME = 0.5


def machine_from_stock(
    quarter_turns: int, swivel_deg: float, tilt_deg: float, packing_deg: float
) -> Array:
    """R (3, 3) = Rx(-tilt) · Ry(swivel) · Rz(packing) · Rz(90° · n), right-handed rotations."""
    swivel, tilt, packing = np.radians([swivel_deg, tilt_deg, packing_deg])
    # The two turns about z are one: Rz(a) · Rz(b) = Rz(a + b).
    turn = packing + np.pi / 2 * quarter_turns
    c, s = np.cos([turn, swivel, tilt]), np.sin([turn, swivel, tilt])
    about_z = np.array([[c[0], -s[0], 0], [s[0], c[0], 0], [0, 0, 1]])
    about_y = np.array([[c[1], 0, s[1]], [0, 1, 0], [-s[1], 0, c[1]]])
    about_x = np.array([[1, 0, 0], [0, c[2], s[2]], [0, -s[2], c[2]]])
    return np.asarray(about_x @ about_y @ about_z, dtype=float)


def rotation_fault(frame: Array) -> float:
    """How far a 4×4 matrix is from a right-handed rotation with a translation; 0 if it is one."""
    r = frame[:3, :3]
    handed = max(0.0, 1.0 - float(np.linalg.det(r)))
    last = float(np.abs(frame[3] - [0, 0, 0, 1]).max())
    return max(float(np.abs(r @ r.T - np.eye(3)).max()), handed, last)


def with_z(axis: Array) -> Array:
    """A right-handed rotation (3, 3) whose third column is the unit vector ``axis``."""
    other = np.eye(3)[int(np.argmin(np.abs(axis)))]
    x = np.cross(other, axis)
    x /= np.sqrt(x @ x)
    return np.stack([x, np.cross(axis, x), axis], axis=-1)
