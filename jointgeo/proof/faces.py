"""Flat faces of a cut body: its planes, and the gap between two that look at each other.

Knows meshes and the kernel's plane regions; no settings, no joint.

Theory. All triangles in one plane that look the same way are one face: a shoulder on all sides of
its tenon, the ends of all fingers. Between two faces that look at each other the gap is a linear
function over the region they share, so its extremes lie at that region's corners: no sampling, and
a wedge of a gap is measured where it is widest, at the far edge.
"""

from __future__ import annotations

from functools import cached_property

import attrs
import numpy as np

from jointgeo.proof.kernel import Region
from jointgeo.proof.mesh import Array, Mesh

__all__ = ["LEAST_MM2", "Facets", "PlaneFace", "flat", "gaps_mm"]

IN_PLANE_MM = 1e-6
SAME_WAY = 0.5  # cosine; 60° off it is another face
LEAST_MM2 = 1e-4  # two faces that share less than this do not look at each other


@attrs.frozen(eq=False)
class PlaneFace:
    """corners: (m, 3, 3) of its triangles; the plane is normal · p = height."""

    normal: Array
    height: float
    corners: Array


class Facets:
    """A mesh's flat faces. normals (n, 3) and heights (n,) of ``faces``, in the same order."""

    def __init__(self, mesh: Mesh) -> None:
        self._mesh = mesh

    @cached_property
    def faces(self) -> tuple[PlaneFace, ...]:
        """The largest triangle's first."""
        corners = self._mesh.corners
        twice = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        area = np.sqrt((twice**2).sum(-1)) / 2
        # A triangle of no area has no normal; its zero vector looks no way at all.
        normals = twice / np.maximum(2 * area, 1e-300)[:, None]
        out = []
        left = area > 0
        while left.any():
            # From the largest on: a thin triangle's normal is noisy.
            seed = int(np.argmax(np.where(left, area, -1.0)))
            normal = normals[seed]
            height = float(normal @ corners[seed].mean(axis=0))
            flat = left & (np.abs(corners @ normal - height).max(axis=-1) <= IN_PLANE_MM)
            flat &= normals @ normal > SAME_WAY
            flat[seed] = True
            left &= ~flat
            out.append(PlaneFace(normal, height, corners[flat]))
        return tuple(out)

    @cached_property
    def normals(self) -> Array:
        return np.array([f.normal for f in self.faces]).reshape(-1, 3)

    @cached_property
    def heights(self) -> Array:
        return np.array([f.height for f in self.faces])

    def near(self, normal: Array, at: Array, reach_mm: float) -> list[PlaneFace]:
        """Faces that look roughly along ``normal`` and pass the point ``at`` no further off than
        that along it, the nearest first."""
        cosine = self.normals @ normal
        ahead = np.flatnonzero(cosine > SAME_WAY)
        away = np.abs((self.heights[ahead] - self.normals[ahead] @ at) / cosine[ahead])
        return [
            self.faces[ahead[i]] for i in np.argsort(away, kind="stable") if away[i] <= reach_mm
        ]


def flat(face: PlaneFace, axes: Array) -> Region:
    """What a face covers, seen along two axes (2, 3) that turn anticlockwise or clockwise."""
    return Region.of(face.corners @ axes.T)


def gaps_mm(
    a: PlaneFace, b: PlaneFace, normal: Array, axes: Array, shared: Region
) -> tuple[float, float]:
    """Least and greatest distance from ``a`` to ``b`` along ``normal``, over what they share.

    normal: out of a's wood. axes (2, 3): square to it. shared: in these axes, not empty.
    """
    corners = shared.corners
    heights = [
        (face.height - corners @ (axes @ face.normal)) / (face.normal @ normal) for face in (a, b)
    ]
    gap = heights[1] - heights[0]
    return float(gap.min()), float(gap.max())
