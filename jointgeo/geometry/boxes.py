"""Boxes that lie anyhow, and the distance between two of them, to the sign and to the millimetre.

Knows rotations; plain floats; no fixture, no stock.

Theory. Two boxes are apart if, and only if, they are apart along one of fifteen axes: the edges
of either, and the vector products of an edge of one with an edge of the other (S. Gottschalk and
others, SIGGRAPH 96, 171). The greatest of the fifteen distances is a lower bound of how far they
are apart; negative, it is the depth, how far one must be moved to come free. The distance itself
is that of the origin from the Minkowski difference, found by walking from corner to corner
(E. G. Gilbert and others, IEEE Journal of Robotics and Automation 4 (1988) 193). The walk ends
where no corner lies further ahead, so what it gives is the distance and no estimate of it.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import NamedTuple

from jointgeo.geometry.rotations import UNIT_ROWS, Rows, Vector, dot

__all__ = ["Box", "box", "box_corners", "box_gap", "room_at_least", "turned_box"]

#: Places of the two coordinates that a vector product with X, with Y and with Z has.
_TURNS = ((1, 2), (2, 0), (0, 1))
#: Sine below which two edges count as parallel: they span no axis of their own.
_PARALLEL = 1e-9
#: The walk ends where it could come nearer by this part of the boxes' size: some last bits.
_ROUNDING = 4e-16
#: Steps of the walk. Of 55,000 random pairs, many nearly parallel, half took three, none over 10.
_MOST_STEPS = 64


class Box(NamedTuple):
    """A box: its middle (mm), the unit directions of its edges, half of each edge (mm), and how far
    it reaches from its middle along X, Y and Z. Made by ``box`` and ``turned_box``."""

    centre: Vector
    axes: Rows
    half: Vector
    reach: Vector


def turned_box(centre: Vector, axes: Rows, half: Vector) -> Box:
    """A box that lies anyhow."""
    (a, b, c), (d, e, f), (g, h, i) = axes
    u, v, w = half
    reach = (
        abs(a) * u + abs(d) * v + abs(g) * w,
        abs(b) * u + abs(e) * v + abs(h) * w,
        abs(c) * u + abs(f) * v + abs(i) * w,
    )
    return Box(centre, axes, half, reach)


def box(low: Vector, high: Vector) -> Box:
    """An upright box."""
    (a, b, c), (x, y, z) = low, high
    middle = ((a + x) / 2, (b + y) / 2, (c + z) / 2)
    half = ((x - a) / 2, (y - b) / 2, (z - c) / 2)
    return Box(middle, UNIT_ROWS, half, half)


def box_corners(solid: Box) -> list[Vector]:
    """The eight corners; the last edge changes ends first, each from its lower end."""
    corners = [solid.centre]
    for (x, y, z), half in zip(solid.axes, solid.half, strict=True):
        u, v, w = x * half, y * half, z * half
        corners = [q for a, b, c in corners for q in ((a - u, b - v, c - w), (a + u, b + v, c + w))]
    return corners


def room_at_least(a: Box, b: Box) -> float:
    """A lower bound of ``box_gap`` (mm), quickly found: that of the upright boxes around them."""
    (x, y, z), (u, v, w) = a.centre, b.centre
    (p, q, r), (k, m, n) = a.reach, b.reach
    dx, dy, dz = abs(x - u) - p - k, abs(y - v) - q - m, abs(z - w) - r - n
    if dx <= 0 and dy <= 0 and dz <= 0:
        return max(dx, dy, dz)
    return math.hypot(max(dx, 0.0), max(dy, 0.0), max(dz, 0.0))


def box_gap(a: Box, b: Box, enough: float = math.inf) -> float:
    """Signed distance (mm) between two boxes; negative is how far one must move to come free.

    enough: where they are at least so far apart, any lower bound above it is an answer too.
    """
    if a.axes is b.axes is UNIT_ROWS:
        return room_at_least(a, b)
    t, axes = _seen(a, b)
    apart, way = _across_faces(a.half, b.half, t, axes)
    if apart <= 0:
        crossed, crossways = _across_edges(a.half, b.half, t, axes)
        if crossed > apart:
            apart, way = crossed, crossways
    if apart <= 0 or apart > enough:
        return apart
    return _distance(a.half, b.half, t, axes, way, enough)


def _seen(a: Box, b: Box) -> tuple[Vector, Rows]:
    """From a's middle to b's, and b's axes, both along a's axes."""
    (x, y, z), (u, v, w) = a.centre, b.centre
    apart = (u - x, v - y, w - z)
    if a.axes is UNIT_ROWS:
        return apart, b.axes
    (p, q, r), (e, f, g) = a.axes, b.axes
    return (
        (dot(p, apart), dot(q, apart), dot(r, apart)),
        (
            (dot(p, e), dot(q, e), dot(r, e)),
            (dot(p, f), dot(q, f), dot(r, f)),
            (dot(p, g), dot(q, g), dot(r, g)),
        ),
    )


def _across_faces(a: Vector, b: Vector, t: Vector, axes: Rows) -> tuple[float, Vector]:
    """The greatest distance along the edges of either box, and that edge's way to the second box.

    a, b: half edges; t and axes as ``_seen`` gives them.
    """
    a0, a1, a2 = a
    t0, t1, t2 = t
    first, second, third = axes
    best, way = -math.inf, t
    for row, size in zip(axes, b, strict=True):
        x, y, z = row
        along = t0 * x + t1 * y + t2 * z
        found = abs(along) - size - (a0 * abs(x) + a1 * abs(y) + a2 * abs(z))
        if found > best:
            best, way = found, row if along > 0 else (-x, -y, -z)
    for i, row in enumerate(UNIT_ROWS):
        reach = b[0] * abs(first[i]) + b[1] * abs(second[i]) + b[2] * abs(third[i])
        found = abs(t[i]) - a[i] - reach
        if found > best:
            x, y, z = row
            best, way = found, row if t[i] > 0 else (-x, -y, -z)
    return best, way


def _across_edges(a: Vector, b: Vector, t: Vector, axes: Rows) -> tuple[float, Vector]:
    """The same along the vector products of an edge of one and an edge of the other."""
    first, second, third = axes
    best, way = -math.inf, t
    for row, other, half, another, quarter in (
        (first, second, b[1], third, b[2]),
        (second, third, b[2], first, b[0]),
        (third, first, b[0], second, b[1]),
    ):
        for j, k in _TURNS:
            # The axis has -v at place j, u at place k, and 0 at the third.
            u, v = row[j], row[k]
            square = u * u + v * v
            if square < _PARALLEL * _PARALLEL:
                continue
            along = t[k] * u - t[j] * v
            reach = (
                a[j] * abs(v)
                + a[k] * abs(u)
                + half * abs(other[k] * u - other[j] * v)
                + quarter * abs(another[k] * u - another[j] * v)
            )
            found = abs(along) - reach
            if found > best * math.sqrt(square):
                long = math.copysign(math.sqrt(square), along)
                best = found / abs(long)
                axis = [0.0, 0.0, 0.0]
                axis[j], axis[k] = -v / long, u / long
                way = axis[0], axis[1], axis[2]
    return best, way


def _distance(a: Vector, b: Vector, t: Vector, axes: Rows, way: Vector, enough: float) -> float:
    """Distance of two boxes that are apart along the unit vector ``way``."""
    a0, a1, a2 = a
    t0, t1, t2 = t
    (x0, y0, z0), (x1, y1, z1), (x2, y2, z2) = axes
    b0, b1, b2 = b
    finest = _ROUNDING * (abs(t0) + abs(t1) + abs(t2) + a0 + a1 + a2 + b0 + b1 + b2)
    simplex: tuple[Vector, ...] = ()
    least = math.inf
    u, v, w = way
    for _ in range(_MOST_STEPS):
        # The corner of the difference, second box less first, that lies nearest along (u, v, w).
        s0 = -b0 if x0 * u + y0 * v + z0 * w > 0 else b0
        s1 = -b1 if x1 * u + y1 * v + z1 * w > 0 else b1
        s2 = -b2 if x2 * u + y2 * v + z2 * w > 0 else b2
        corner = (
            t0 + (-a0 if u > 0 else a0) + s0 * x0 + s1 * x1 + s2 * x2,
            t1 + (-a1 if v > 0 else a1) + s0 * y0 + s1 * y1 + s2 * y2,
            t2 + (-a2 if w > 0 else a2) + s0 * z0 + s1 * z1 + s2 * z2,
        )
        if simplex:
            bound = (corner[0] * u + corner[1] * v + corner[2] * w) / least
            if bound > enough:
                return bound
            if least - bound <= finest or corner in simplex:
                break
        kept, (u, v, w) = _NEAREST[len(simplex)](corner, *simplex)
        nearer = math.sqrt(u * u + v * v + w * w)
        if nearer >= least:
            break
        simplex, least = kept, nearer
        if least <= finest:  # they touch, though rounding set them apart along a face
            break
    return least


_Kept = tuple[tuple[Vector, ...], Vector]


def _of_point(a: Vector) -> _Kept:
    return (a,), a


def _of_segment(a: Vector, b: Vector) -> _Kept:
    """The point of a segment that lies nearest to the origin, and the corners it lies between."""
    (x, y, z), (p, q, r) = a, b
    e, f, g = p - x, q - y, r - z
    part = -(x * e + y * f + z * g)
    whole = e * e + f * f + g * g
    if part <= 0:
        return (a,), a
    if part >= whole:
        return (b,), b
    part /= whole
    return (a, b), (x + part * e, y + part * f, z + part * g)


def _of_triangle(a: Vector, b: Vector, c: Vector) -> _Kept:
    """The same for a triangle: by the foot of the plumb line, or on the nearest edge."""
    (x, y, z), (p, q, r), (k, m, n) = a, b, c
    e, f, g = p - x, q - y, r - z
    h, i, j = k - x, m - y, n - z
    # Normal, and the origin's coordinates along both edges from a, in areas.
    u, v, w = f * j - g * i, g * h - e * j, e * i - f * h
    square = u * u + v * v + w * w
    if square > 0:
        along_b = -(u * (y * j - z * i) + v * (z * h - x * j) + w * (x * i - y * h))
        along_c = -(u * (f * z - g * y) + v * (g * x - e * z) + w * (e * y - f * x))
        if along_b > 0 and along_c > 0 and along_b + along_c < square:
            high = (x * u + y * v + z * w) / square
            return (a, b, c), (u * high, v * high, w * high)
    return min(_of_segment(a, b), _of_segment(a, c), _of_segment(b, c), key=_far)


def _of_solid(a: Vector, b: Vector, c: Vector, d: Vector) -> _Kept:
    """The same for a tetrahedron that the origin lies outside of; a, the latest, is part of it."""
    return min(_of_triangle(a, b, c), _of_triangle(a, b, d), _of_triangle(a, c, d), key=_far)


def _far(kept: _Kept) -> float:
    x, y, z = kept[1]
    return x * x + y * y + z * z


#: By the number of corners that are held already.
_NEAREST: tuple[Callable[..., _Kept], ...] = (_of_point, _of_segment, _of_triangle, _of_solid)
