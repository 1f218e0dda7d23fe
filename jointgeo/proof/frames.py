"""Rotations the dry fit needs, written out once more from the contract.

Knows numpy only, on purpose: a rotation shared with the solver would carry its mistakes.
"""

from __future__ import annotations

import numpy as np

from jointgeo.proof.mesh import Array

__all__ = ["NO_FRAME", "machine_from_stock", "machine_from_wedged", "rotation_fault", "with_z"]

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


def machine_from_wedged(
    quarter_turns: int, packing_deg: float, plate: float, fence: float, behind: float, beside: float
) -> Array:
    """R (3, 3) of stock that leans on wedges, from the planes that it touches; degrees.

    Its back lies on a wedge that stands upright on the plate. Its length lies in the plane of the
    fence, or of a wedge beside it, which is square to the plate; so it is where both planes meet.
    """
    tilt, turn, lean = np.radians([plate, fence + beside, behind])

    def on_plate(x: float, y: float, z: float) -> Array:
        # The plate's own axes, its lower edge swung towards you by the tilt.
        c, s = np.cos(tilt), np.sin(tilt)
        return np.array([x, c * y + s * z, -s * y + c * z])

    back = on_plate(0.0, np.cos(lean), -np.sin(lean))
    side = on_plate(np.cos(turn), 0.0, -np.sin(turn))
    along = np.cross(side, back)
    along /= np.sqrt(along @ along)
    stood = np.stack([np.cross(back, along), back, along], axis=-1)
    return np.asarray(stood @ machine_from_stock(quarter_turns, 0.0, 0.0, packing_deg), dtype=float)


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
