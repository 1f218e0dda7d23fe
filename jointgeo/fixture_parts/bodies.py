"""The fixture from its end, in Y and Z: what swings with the plate, what stands, how far it goes.

Knows the fixture and plane geometry; judges nothing, and says of what its file does not list that
nobody can. Everything lies along X, so a body that has an
end within X is taken as if it had none: that errs to the safe side.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import ceil, cos, pi, radians

import attrs

from jointgeo.fixture_parts.axis import Axis
from jointgeo.fixtures.model import STATED_LISTS, Body, Fixture
from jointgeo.geometry.flat import Point, Polygon, box_polygon
from jointgeo.geometry.swinging import swing_until
from jointgeo.joints.check import Check, list_not_stated

__all__ = [
    "Solid",
    "across_x",
    "band_solids",
    "free_swing",
    "still_bodies",
    "swinging",
    "unlisted",
]

#: A beam is as thick as this where nobody says: it is met at its face.
BEHIND_MM = 500.0
STEP_DEG = 2.0


@attrs.frozen
class Solid:
    """A convex body in Y and Z at zero, and how far it reaches along X."""

    name: str
    polygon: Polygon
    x_mm: tuple[float, float]


def swinging(fixture: Fixture, stock_mm: float = 0.0, overhang_mm: float = 0.0) -> list[Solid]:
    """What swings with the plate at zero, bodies included; stock only where it has a thickness."""
    plate, deep = fixture.plate, fixture.backing.thickness_mm
    half = plate.width_mm / 2
    wide = (-half, half)
    high = plate.height_mm
    out = [Solid("plate", box_polygon((0.0, 0.0), (plate.thickness_mm, high)), wide)]
    if deep > 0:
        low = -overhang_mm if fixture.backing.sacrificial else 0.0
        out.append(Solid("backing", box_polygon((-deep, low), (0.0, high)), wide))
    if stock_mm > 0:
        stock = box_polygon((-deep - stock_mm, -overhang_mm), (-deep, high))
        out.append(Solid("stock", stock, wide))
    return out + [_solid(b) for b in fixture.body if b.fixed_to in ("tilt", "fence")]


def still_bodies(fixture: Fixture) -> list[Solid]:
    """What stands while the plate tilts: beams that are fitted, bodies of base and traverse."""
    wide = (-float("inf"), float("inf"))
    out = []
    for beam in fixture.fitted_beams:
        low = -beam.face_distance_mm - BEHIND_MM, beam.z_min_mm
        out.append(
            Solid(beam.name, box_polygon(low, (-beam.face_distance_mm, beam.z_max_mm)), wide)
        )
    for body in fixture.body:
        if body.fixed_to in ("base", "traverse"):
            solid = _solid(body)
            # The fixture travels past what stands on the base.
            out.append(solid if body.fixed_to == "traverse" else attrs.evolve(solid, x_mm=wide))
    return out


def unlisted(fixture: Fixture, name: str, because: str) -> Iterator[Check]:
    """The check of that name where the fixture's file leaves open which beams or bodies it has."""
    lists = [key for key in STATED_LISTS if fixture.leaves_open(key)]
    if lists:
        yield list_not_stated(name, 0.0, "deg", lists, because)


def _solid(b: Body) -> Solid:
    polygon = box_polygon((b.y_min_mm, b.z_min_mm), (b.y_max_mm, b.z_max_mm))
    return Solid(b.name, polygon, (b.x_min_mm, b.x_max_mm))


def across_x(one: Solid, low: float, high: float) -> bool:
    """Whether a body stands anywhere between two X."""
    return one.x_mm[0] < high and low < one.x_mm[1]


def free_swing(
    moving: Sequence[Polygon], fixed: Sequence[Polygon], about: Point, most_deg: float = 180.0
) -> tuple[float, float]:
    """How far bodies can turn clockwise, and anticlockwise, before one meets another (degrees,
    both positive)."""
    out = []
    for flip in (-1.0, 1.0):
        found = most_deg
        for one in moving:
            for other in fixed:
                turn = swing_until(
                    _flipped(one, flip),
                    _flipped(other, flip),
                    (flip * about[0], about[1]),
                    most_deg,
                )
                found = found if turn is None else min(found, turn)
        out.append(found)
    return out[0], out[1]


def _flipped(polygon: Polygon, by: float) -> Polygon:
    """As it is, or its image in u = 0, anticlockwise again."""
    return polygon if by > 0 else [(-u, v) for u, v in reversed(polygon)]


def band_solids(
    axis: Axis, radius: float, half: float, start_deg: float, end_deg: float
) -> Iterator[list[Point]]:
    """Convex pieces that together hold a band with round ends, and little more.

    What they hold too much is under 0.02 % of the outer radius.
    """
    count = max(1, ceil((end_deg - start_deg) / STEP_DEG))
    step = (end_deg - start_deg) / count
    out = (radius + half) / cos(radians(step) / 2)
    for i in range(count):
        a, b = start_deg + i * step, start_deg + (i + 1) * step
        yield [
            axis.at(max(radius - half, 1e-6), a),
            axis.at(max(radius - half, 1e-6), b),
            axis.at(out, b),
            axis.at(out, a),
        ][::-1]
    for mark in (start_deg, end_deg):
        u, v = axis.at(radius, mark)
        tip = half / cos(pi / 24)
        yield [(u + tip * cos(k * pi / 12), v + tip * cos(k * pi / 12 - pi / 2)) for k in range(24)]
