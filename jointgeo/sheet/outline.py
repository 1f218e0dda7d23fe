"""Edges of solids as lines, each divided into what is seen and what is hidden.

Knows triangle meshes as arrays; no joint, no kernel, no drawing.

Theory. Seen along a direction, a triangle hides what lies behind it: a prism bounded by
the planes through its three edges along that direction and by its own plane. A straight edge
crosses such a convex prism in one stretch, found by clipping it with four half-spaces; what
is left outside all stretches is seen. This is exact: nothing is sampled, and an edge does not
flicker where two solids touch, because a triangle hides only what lies ``BEHIND_MM`` or
more behind it.
"""

from __future__ import annotations

from collections.abc import Sequence

import attrs
import numpy as np
from numpy.typing import NDArray

from jointgeo.sheet.plane import Array

__all__ = ["Edge", "View", "edges_of", "hidden_points", "split"]

#: Far below any fit that is asked for, far above rounding.
BEHIND_MM = 1e-3
#: Faces that meet at less than this are one flat face that the mesh has divided.
FLAT_DEG = 0.2


@attrs.frozen(eq=False)
class View:
    """right, up, towards: orthonormal rows; ``towards`` points at the viewer."""

    axes: Array

    @classmethod
    def along(cls, towards: Array, up: Array) -> View:
        """Seen from ``towards`` with ``up`` as upright on the page as can be."""
        t = unit(towards)
        right = unit(np.cross(up, t))
        return cls(np.stack([right, np.cross(t, right), t]))

    def flat(self, points: Array) -> Array:
        """(…, 3): to the right, up, and towards the viewer."""
        return np.asarray(points @ self.axes.T)


@attrs.frozen(eq=False)
class Edge:
    """A straight edge in view coordinates, ends (2, 3), and stretches of it, 0 to 1."""

    ends: Array
    seen: tuple[tuple[float, float], ...]
    hidden: tuple[tuple[float, float], ...]

    def between(self, stretch: tuple[float, float]) -> Array:
        a, b = self.ends
        return np.stack([a + stretch[0] * (b - a), a + stretch[1] * (b - a)])


def edges_of(vertices: Array, triangles: NDArray[np.int64]) -> Array:
    """The sharp edges of a closed surface, (n, 2, 3)."""
    places, index = np.unique(np.round(vertices, 6), axis=0, return_inverse=True)
    faces = index.reshape(-1)[triangles]
    corners = places[faces]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    size = np.linalg.norm(normals, axis=1)
    known: dict[tuple[int, int], list[int]] = {}
    for f, face in enumerate(faces):
        if size[f] > 1e-9:
            for i, j in ((0, 1), (1, 2), (2, 0)):
                a, b = sorted((int(face[i]), int(face[j])))
                known.setdefault((a, b), []).append(f)
    flat = np.cos(np.radians(FLAT_DEG))
    out = []
    for (a, b), sharing in known.items():
        n = [normals[f] / size[f] for f in sharing]
        if len(n) != 2 or float(n[0] @ n[1]) < flat:
            out.append([places[a], places[b]])
    return np.array(out).reshape(-1, 2, 3)


def split(edges: Array, triangles: Array, view: View) -> list[Edge]:
    """Edges (n, 2, 3) against triangles (m, 3, 3), both in world coordinates."""
    flat = _facing(view.flat(triangles))
    return [_split(ends, flat) for ends in view.flat(edges)]


def hidden_points(points: Array, triangles: Array, view: View) -> NDArray[np.bool_]:
    """Whether something stands before each point (n, 3)."""
    flat = _facing(view.flat(triangles))
    out = [bool(np.all(_inside(p, flat) > 0, axis=1).any()) for p in view.flat(points)]
    return np.array(out, dtype=bool)


def _facing(flat: Array) -> Array:
    """Triangles that are not seen edge-on, turned counter-clockwise."""
    a, b, c = flat[:, 0], flat[:, 1], flat[:, 2]
    area = _cross(b - a, c - a)
    turned = np.where((area < 0)[:, None, None], flat[:, ::-1], flat)
    return np.asarray(turned[np.abs(area) > 1e-9])


def _cross(u: Array, v: Array) -> Array:
    return np.asarray(u[..., 0] * v[..., 1] - u[..., 1] * v[..., 0])


def _inside(p: Array, flat: Array) -> Array:
    """(m, 4): how far a point lies inside each triangle's three sides, and behind its plane."""
    corners = [flat[:, k] for k in range(3)]
    out = []
    for k in range(3):
        along = corners[(k + 1) % 3] - corners[k]
        long = np.hypot(along[:, 0], along[:, 1])
        # Grown by a hair: what lies just behind the seam of two triangles is behind a face.
        out.append(_cross(along, p - corners[k]) / long + 1e-7)
    u, v = corners[1] - corners[0], corners[2] - corners[0]
    normal = np.cross(u, v)  # its last component is positive: the triangle is turned so
    height = np.einsum("ij,ij->i", normal, corners[0] - p) / normal[:, 2]
    out.append(height - BEHIND_MM)
    return np.stack(out, -1)


def _split(ends: Array, flat: Array) -> Edge:
    start, stop = _inside(ends[0], flat), _inside(ends[1], flat)
    run = stop - start
    level = np.abs(run) < 1e-12
    at = -start / np.where(level, 1.0, run)
    enter = np.where(level, np.where(start > 0, 0.0, 2.0), np.where(run > 0, at, 0.0))
    leave = np.where(level, np.where(start > 0, 1.0, -1.0), np.where(run > 0, 1.0, at))
    low = np.clip(enter.max(axis=1), 0.0, None)
    high = np.clip(leave.min(axis=1), None, 1.0)
    found = sorted((float(a), float(b)) for a, b in zip(low, high, strict=True) if b - a > 1e-9)
    hidden = _joined(found)
    seen, at_last = [], 0.0
    for a, b in hidden:
        if a - at_last > 1e-6:
            seen.append((at_last, a))
        at_last = b
    if 1.0 - at_last > 1e-6:
        seen.append((at_last, 1.0))
    return Edge(ends, tuple(seen), tuple(hidden))


def _joined(stretches: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    out: list[tuple[float, float]] = []
    for a, b in stretches:
        if out and a <= out[-1][1] + 1e-6:
            out[-1] = (out[-1][0], max(out[-1][1], b))
        else:
            out.append((a, b))
    return out
