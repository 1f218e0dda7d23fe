"""A triangle mesh: what is left of a body once the kernel is done with it.

Knows numpy only.
"""

from __future__ import annotations

from typing import Any

import attrs
import numpy as np
from numpy.typing import NDArray

__all__ = ["Array", "Mesh"]

Array = NDArray[np.float64]


def _vertices(value: Any) -> Array:
    array = np.array(value, dtype=float)
    array.setflags(write=False)
    return array


def _triangles(value: Any) -> NDArray[np.int64]:
    array = np.array(value, dtype=np.int64)
    array.setflags(write=False)
    return array


@attrs.frozen(eq=False)
class Mesh:
    """A closed surface.

    vertices: (n, 3), mm. triangles: (m, 3), indices of vertices, counter-clockwise seen
    from outside.
    """

    vertices: Array = attrs.field(converter=_vertices, repr=False)
    triangles: NDArray[np.int64] = attrs.field(converter=_triangles, repr=False)

    @property
    def corners(self) -> Array:
        """Each triangle's own corners, (m, 3, 3)."""
        return self.vertices[self.triangles]

    @property
    def volume_mm3(self) -> float:
        """By the divergence theorem, from the mesh's own middle to keep digits."""
        if len(self.triangles) == 0:
            return 0.0
        c = self.corners - self.vertices.mean(axis=0)
        return float(np.einsum("ij,ij->", c[:, 0], np.cross(c[:, 1], c[:, 2])) / 6)

    @property
    def extents_mm(self) -> Array:
        """Least and greatest coordinates, (2, 3); zeros for an empty mesh."""
        if len(self.vertices) == 0:
            return np.zeros((2, 3))
        return np.stack([self.vertices.min(axis=0), self.vertices.max(axis=0)])

    @classmethod
    def together(cls, meshes: list[Mesh]) -> Mesh:
        """Several meshes as one, side by side; nothing is merged."""
        if not meshes:
            return cls(np.zeros((0, 3)), np.zeros((0, 3), dtype=int))
        starts = np.cumsum([0, *(len(m.vertices) for m in meshes)])
        return cls(
            np.concatenate([m.vertices for m in meshes]),
            np.concatenate([m.triangles + s for m, s in zip(meshes, starts, strict=False)]),
        )
