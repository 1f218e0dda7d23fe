"""The boolean kernel, manifold3d, behind a few typed methods.

Knows manifold3d and nothing of joints. The only file that may import it: it carries no
type information that mypy can find, so everything that comes from it is Any up to here.

Precision, measured with manifold3d 3.5.4. Bodies are held in double precision, with a
tolerance of 1e-12 of their extent from the origin: 3e-10 mm for a 300 mm board. Two
boxes that share a face, one of them turned away and back, overlap by 1e-14 mm of depth
near the origin, by 1e-12 mm at 10 m, by 1e-10 mm at 1 km. So bodies need no scaling, and
are worked on in frames whose origin lies at the joint.

Traps. ``Manifold.to_mesh`` and ``Mesh`` are *single* precision: a 300 mm board that goes
through them once comes back with a tolerance of 4e-5 mm, which the next boolean uses to
weld corners together, and 0.07 mm³ off in volume; only ``to_mesh64`` and ``Mesh64`` are
used. ``CrossSection`` rounds its corners to 1e-8 mm: good enough to say where two faces
look at each other, not to measure by. A body that met bad input is *empty*, not an error,
until its status is asked for.

Worst: where many faces of two bodies agree but for rounding, as in any joint without
clearance, about one boolean in five thousand is plainly wrong, by a few parts in a hundred
of the volume. So each is worked out both ways, what lies inside and what is left, and
the two must add up; if they do not, both bodies are turned and it is done again. What
has no thickness left, such as a joint less all the parts that fill it, is a crumpled
sheet whose volume means nothing: callers must not measure it. Tried and dropped:
``as_original`` and ``simplify`` after each step, which make it ten to a hundred times
more frequent.
"""

from __future__ import annotations

import importlib
from collections.abc import Iterable, Sequence
from functools import cached_property, lru_cache
from typing import Any

import numpy as np

from jointgeo.errors import JointgeoError, MissingExtraError
from jointgeo.proof.mesh import Array, Mesh

__all__ = ["WOOD_MM3", "Region", "Solid"]

WOOD_MM3 = 1e-6  # less wood than this is rounding

SAME = 1e-9  # share of a body's volume; a thousand times the rounding, far below what is judged


@lru_cache(maxsize=1)
def _kernel() -> Any:
    try:
        return importlib.import_module("manifold3d")
    except ImportError as error:
        raise MissingExtraError.of("a dry fit", "the boolean kernel manifold3d", "proof") from error


class Solid:
    """A closed body, millimetres. Every method gives a new one."""

    def __init__(self, body: Any) -> None:
        self._body = body

    @classmethod
    def box(cls, low: Sequence[float] | Array, high: Sequence[float] | Array) -> Solid:
        """The box between two opposite corners, low < high on each axis."""
        size = np.subtract(high, low)
        body = _kernel().Manifold.cube(tuple(size.tolist()))
        return cls(body.translate(tuple(float(v) for v in low)))

    @classmethod
    def centred(cls, frame: Array, size: Array) -> Solid:
        """A box of edges ``size``, centred on ``frame`` (4, 4)."""
        return cls.box(-size / 2, size / 2).moved(frame)

    @classmethod
    def joined(cls, solids: Sequence[Solid]) -> Solid:
        """The union; the empty body for an empty sequence."""
        kernel = _kernel()
        return cls(kernel.Manifold.batch_boolean([s._body for s in solids], kernel.OpType.Add))

    @classmethod
    def hull(cls, points: Array) -> Solid:
        """The least convex body around points (n, 3) that do not lie in one plane."""
        return cls(_kernel().Manifold.hull_points(np.ascontiguousarray(points, dtype=float)))

    def trimmed(self, normal: Array, at: float) -> Solid:
        """What of it lies where normal · p is at most ``at``."""
        return Solid(self._body.trim_by_plane(tuple((-normal).tolist()), -at))

    def moved(self, pose: Array) -> Solid:
        """Where the 4×4 matrix carries it."""
        return Solid(self._body.transform(np.ascontiguousarray(pose[:3], dtype=float)))

    def minus(self, others: Iterable[Solid]) -> Solid:
        """What is left when the others are taken away, one after another."""
        left = self
        for other in others:
            left = _split(left, other)[1]
        return left

    def meet(self, other: Solid) -> Solid:
        """What both fill."""
        return _split(self, other)[0]

    def cropped(self, other: Solid) -> Solid:
        """What both fill, taken on trust: only where no face of the one lies in one of the
        other."""
        return Solid(self._body ^ other._body)

    def room_taken(self, other: Solid, limit: float) -> float:
        """Volume (mm³) of what both fill.

        Quicker than ``meet`` where it is at most ``limit``: only what exceeds that is worked out
        both ways.
        """
        quick = Solid(self._body ^ other._body).volume_mm3
        return quick if quick <= limit else self.meet(other).volume_mm3

    def pieces(self) -> list[Solid]:
        """The bodies it consists of that do not hang together."""
        return [Solid(b) for b in self._body.decompose()]

    def checked(self) -> Solid:
        """Itself; JointgeoError if the kernel has given up on it."""
        status = self._body.status()
        if status != _kernel().Error.NoError:
            raise JointgeoError(f"the boolean kernel could not work out a body: {status}")
        return self

    @cached_property
    def volume_mm3(self) -> float:
        return float(self.checked()._body.volume())

    def mesh(self) -> Mesh:
        raw = self.checked()._body.to_mesh64()
        vertices = np.array(raw.vert_properties, dtype=float).reshape(
            -1, raw.vert_properties.shape[1]
        )
        return Mesh(vertices[:, :3], np.array(raw.tri_verts, dtype=np.int64).reshape(-1, 3))


def _split(a: Solid, b: Solid) -> tuple[Solid, Solid]:
    """What of ``a`` lies inside ``b``, and the rest of it, held against a's own volume."""
    whole = a.volume_mm3
    for turn in _TURNS:
        x, y = (a, b) if turn is None else (a.moved(turn), b.moved(turn))
        inside, rest = Solid(x._body ^ y._body), Solid(x._body - y._body)
        volumes = inside.volume_mm3, rest.volume_mm3
        off = max(abs(sum(volumes) - whole), -min(volumes))
        if off <= SAME * (whole + 1.0) or off <= _rounding_mm3(x, y):
            back = None if turn is None else turn.T
            return (inside, rest) if back is None else (inside.moved(back), rest.moved(back))
    raise JointgeoError(
        f"the boolean kernel contradicts itself on two bodies of {whole:.6g} and "
        f"{b.volume_mm3:.6g} mm3, however they are turned; the dry fit cannot be trusted"
    )


def _rounding_mm3(a: Solid, b: Solid) -> float:
    """What the tolerance of either body, wide where it came from far away, makes of a's faces."""
    tolerance = max(a._body.get_tolerance(), b._body.get_tolerance())
    return float(tolerance * a._body.surface_area())


def _turns(count: int) -> list[Array | None]:
    """None, then rotations (4, 4) with nothing in common; the same ones each time."""
    rng = np.random.default_rng(20)
    out: list[Array | None] = [None]
    for _ in range(count):
        q, _ = np.linalg.qr(rng.normal(size=(3, 3)))
        turn = np.eye(4)
        turn[:3, :3] = q * np.sign(np.linalg.det(q))
        out.append(turn)
    return out


_TURNS = _turns(8)


class Region:
    """A part of a plane, in two coordinates, mm; corners are rounded to 1e-8 mm."""

    def __init__(self, section: Any) -> None:
        self._section = section

    @classmethod
    def of(cls, triangles: Array) -> Region:
        """What triangles (m, 3, 2) cover that all run the same way round."""
        kernel = _kernel()
        flat = list(np.ascontiguousarray(triangles, dtype=float))
        return cls(kernel.CrossSection(flat, kernel.FillRule.NonZero))

    @classmethod
    def hull(cls, points: Array) -> Region:
        """The least convex region around points (n, 2)."""
        return cls(_kernel().CrossSection.hull_points(np.ascontiguousarray(points, dtype=float)))

    def __and__(self, other: Region) -> Region:
        return Region(self._section ^ other._section)

    def __sub__(self, other: Region) -> Region:
        return Region(self._section - other._section)

    @property
    def area_mm2(self) -> float:
        return float(self._section.area())

    @property
    def corners(self) -> Array:
        """(n, 2), of its outlines and its holes."""
        polygons = self._section.to_polygons()
        return np.concatenate(polygons) if polygons else np.zeros((0, 2))
