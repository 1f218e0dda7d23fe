"""Vectors and planes in plain floats.

Knows ``math`` only; nothing of wood, no frame of its own. Lengths in millimetres, angles in
degrees where a name says so, right-handed.

    >>> X ^ Y == Z, Vec(1, 2, 3) @ Z, (2 * X - Y).across(X)
    (True, 3.0, Vec(x=0.0, y=-1.0, z=0.0))

Traps. A ``Vec`` is a tuple, so that it may stand wherever three numbers are wanted, but ``+``
adds and ``*`` scales; joining and repeating of tuples are given up for it. ``^`` binds weaker than
``+`` and ``@`` as strong as ``*``: put vector products in brackets. The rejected alternative, small
numpy arrays, takes ten to thirty times as long over three numbers, and lets ``a * b`` pass where
a scalar product was meant.
"""

from __future__ import annotations

from math import atan2, degrees, inf, sqrt
from typing import NamedTuple

__all__ = ["INF", "Plane", "Vec", "X", "Y", "Z", "angle_between", "line", "meet", "turned_deg"]

INF = inf


class Vec(NamedTuple):
    """A point or a direction; ``@`` is the scalar product, ``^`` the vector product."""

    x: float
    y: float
    z: float

    def __add__(self, other: tuple[float, float, float]) -> Vec:  # type: ignore[override]
        return Vec(self.x + other[0], self.y + other[1], self.z + other[2])

    def __sub__(self, other: tuple[float, float, float]) -> Vec:
        return Vec(self.x - other[0], self.y - other[1], self.z - other[2])

    def __neg__(self) -> Vec:
        return Vec(-self.x, -self.y, -self.z)

    def __mul__(self, by: float) -> Vec:  # type: ignore[override]
        return Vec(self.x * by, self.y * by, self.z * by)

    def __rmul__(self, by: float) -> Vec:  # type: ignore[override]
        return Vec(self.x * by, self.y * by, self.z * by)

    def __truediv__(self, by: float) -> Vec:
        return Vec(self.x / by, self.y / by, self.z / by)

    def __matmul__(self, other: tuple[float, float, float]) -> float:
        return self.x * other[0] + self.y * other[1] + self.z * other[2]

    def __xor__(self, other: tuple[float, float, float]) -> Vec:
        x, y, z = other
        return Vec(self.y * z - self.z * y, self.z * x - self.x * z, self.x * y - self.y * x)

    @property
    def length(self) -> float:
        return sqrt(self @ self)

    @property
    def unit(self) -> Vec:
        """The same direction with length 1; ZeroDivisionError for the zero vector."""
        return self / self.length

    def across(self, way: Vec) -> Vec:
        """What of it is square to the unit vector ``way``."""
        return self - way * (self @ way)

    @property
    def mirrored(self) -> Vec:
        """Its image in the plane x = 0."""
        return Vec(-self.x, self.y, self.z)


X, Y, Z = Vec(1.0, 0.0, 0.0), Vec(0.0, 1.0, 0.0), Vec(0.0, 0.0, 1.0)


class Plane(NamedTuple):
    """All points p with normal @ p = at; the normal has length 1 and looks out of the wood."""

    normal: Vec
    at: float

    @classmethod
    def through(cls, point: Vec, normal: Vec) -> Plane:
        return cls(normal, normal @ point)

    def moved(self, by: float) -> Plane:
        """The parallel plane that far along the normal."""
        return Plane(self.normal, self.at + by)

    def out(self, point: Vec) -> float:
        """How far a point lies outside, mm; negative inside."""
        return self.normal @ point - self.at

    def hit(self, point: Vec, way: Vec) -> float:
        """How many times ``way`` leads from the point to the plane; ZeroDivisionError if never."""
        return -self.out(point) / (self.normal @ way)

    @property
    def mirrored(self) -> Plane:
        """Its image in the plane x = 0."""
        return Plane(self.normal.mirrored, self.at)


def line(a: Plane, b: Plane, towards: Vec) -> Vec:
    """Unit direction of the line in which two planes cross, the way that ``towards`` looks."""
    way = (a.normal ^ b.normal).unit
    return -way if way @ towards < 0 else way


def meet(a: Plane, b: Plane, c: Plane) -> Vec:
    """The point of three planes; ZeroDivisionError where there is none, or more than one."""
    across = b.normal ^ c.normal
    by = (c.normal ^ a.normal) * b.at + (a.normal ^ b.normal) * c.at
    return (across * a.at + by) / (a.normal @ across)


def angle_between(a: Vec, b: Vec) -> float:
    """Degrees from 0 to 180, by an arctangent: exact where the angle is small."""
    return degrees(atan2((a ^ b).length, a @ b))


def turned_deg(start: Vec, end: Vec, seen: Vec, towards: Vec) -> float:
    """The angle from ``start`` to ``end`` as seen along ``seen``, degrees from -180 to 180.

    Both are looked at in the plane square to ``seen``; positive turns the way ``towards`` looks.
    """
    seen = seen.unit
    ahead = start.across(seen).unit
    sideways = towards.across(seen).across(ahead).unit
    return degrees(atan2(end @ sideways, end @ ahead))
