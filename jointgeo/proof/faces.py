"""Flat faces of a cut body: finding the one a settings file speaks of, and measuring from it.

Knows meshes and the kernel's plane regions; no settings, no joint.

Theory. A face is stated by a point and a normal. The real one is where the line through
the point along the normal meets the surface nearest to the point, on a triangle that
looks roughly the same way. All triangles in that triangle's plane belong to it: a
shoulder is one face on all sides of its tenon, the ends of all fingers are one face.
Between two faces that look at each other the gap is a linear function over the region
they share, so its extremes lie at that region's corners: no sampling, and a wedge of a
gap is measured where it is widest, at the far edge.
"""

from __future__ import annotations

import attrs
import numpy as np

from jointgeo.proof.frames import with_z
from jointgeo.proof.kernel import common_corners
from jointgeo.proof.mesh import Array, Mesh

__all__ = ["Facets", "PlaneFace", "gaps_mm", "off_plane_mm"]

REACH_MM = 20.0  # further off than this it is another face
SAME_WAY = 0.5  # cosine; 60° off it is another face
IN_PLANE_MM = 1e-6
LEAST_MM2 = 1e-4  # two faces that share less than this do not look at each other


@attrs.frozen(eq=False)
class PlaneFace:
    """corners: (m, 3, 3) of its triangles; the plane is normal · p = height.

    off_mm: how far out of the wood it stands from where it was looked for.
    """

    normal: Array
    height: float
    corners: Array
    off_mm: float


class Facets:
    """A mesh's triangles with their normals and areas."""

    def __init__(self, mesh: Mesh) -> None:
        self.corners = mesh.corners
        twice = np.cross(
            self.corners[:, 1] - self.corners[:, 0], self.corners[:, 2] - self.corners[:, 0]
        )
        self.area = np.sqrt((twice**2).sum(-1)) / 2
        # A triangle of no area has no normal; its zero vector looks no way at all.
        self.normal = twice / np.maximum(2 * self.area, 1e-300)[:, None]

    def face_at(self, point: Array, normal: Array) -> PlaneFace | None:
        """The flat face at ``point`` that looks along ``normal``; None if there is none near."""
        cosine = self.normal @ normal
        ahead = np.flatnonzero(cosine > SAME_WAY)
        corners, normals = self.corners[ahead], self.normal[ahead]
        away = np.einsum("ij,ij->i", corners[:, 0] - point, normals) / cosine[ahead]
        hits = point + away[:, None] * normal
        near = ahead[_inside(hits, corners, normals) & (np.abs(away) <= REACH_MM)]
        if len(near) == 0:
            return None
        distance = dict(zip(ahead.tolist(), away.tolist(), strict=True))
        closest = min(abs(distance[i]) for i in near.tolist())
        # On an edge between two triangles both are hit: the larger one's normal is the better.
        hit = max(
            (i for i in near.tolist() if abs(distance[i]) <= closest + IN_PLANE_MM),
            key=lambda i: float(self.area[i]),
        )
        return self._plane(hit, distance[hit])

    def _plane(self, seed: int, off: float) -> PlaneFace:
        for _ in range(2):  # once more from the largest: a thin triangle's normal is noisy
            normal = self.normal[seed]
            height = float(normal @ self.corners[seed].mean(axis=0))
            flat = np.abs(self.corners @ normal - height).max(axis=-1) <= IN_PLANE_MM
            flat &= self.normal @ normal > SAME_WAY
            flat[seed] = True
            seed = int(np.argmax(np.where(flat, self.area, -1.0)))
        return PlaneFace(normal, height, self.corners[flat], off)


def _inside(points: Array, corners: Array, normals: Array) -> Array:
    """Whether each point, in its triangle's plane, lies in the triangle."""
    following = np.roll(corners, -1, axis=1)
    edges = following - corners
    side = np.einsum(
        "ijk,ik->ij", np.cross(edges, points[:, None] - corners), normals
    ) / np.maximum(np.sqrt((edges**2).sum(-1)), 1e-300)
    return np.asarray((side >= -IN_PLANE_MM).all(axis=-1))


def gaps_mm(a: PlaneFace, b: PlaneFace, normal: Array) -> tuple[float, float] | None:
    """Least and greatest distance from ``a`` to ``b`` along ``normal``, over what they share.

    normal: out of a's wood. None where the two do not look at each other.
    """
    # Two axes that turn anticlockwise seen against the normal, from outside a's wood.
    axes = with_z(normal).T[:2]
    corners, area = common_corners(a.corners @ axes.T, (b.corners @ axes.T)[:, ::-1])
    if area < LEAST_MM2:
        return None
    heights = [
        (face.height - corners @ (axes @ face.normal)) / (face.normal @ normal) for face in (a, b)
    ]
    gap = heights[1] - heights[0]
    return float(gap.min()), float(gap.max())


def off_plane_mm(face: PlaneFace, point: Array, normal: Array) -> float:
    """Greatest distance of the face's corners from a plane."""
    return float(np.abs((face.corners.reshape(-1, 3) - point) @ normal).max())
