"""How a front beam is cut away so that stock of one size swings past it, and what is left of it.

Knows the fixture and the hinge. From the hinge plane, stock and backing reach T to the front
and L below the hinge; tilted by t their front is a plane and their corner an arc about the
hinge. The room taken at depth v below the hinge, over all tilts from 0, is

    (T + v·sin t) / cos t        as far down as q = L·cos t - T·sin t: a bevel of exactly t
    √(L² + T² - v²)              from there to L: the corner's arc

The room kept is added square to the bevel.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from math import cos, radians, sin, sqrt

import attrs

from jointgeo.errors import InputError
from jointgeo.fixture_parts.axis import Axis, axis_of
from jointgeo.fixture_parts.bodies import swinging
from jointgeo.fixture_parts.model import Figure, FixturePart, Hole, Note, Path, Span, closed
from jointgeo.fixture_parts.wanted import Facts
from jointgeo.fixtures.model import FrontBeam
from jointgeo.geometry.flat import Point, box_polygon, turned
from jointgeo.geometry.swept import Stroke
from jointgeo.joints.check import Check, Remedy, at_least, not_stated

__all__ = ["beam_cut_away", "room_in_front_mm"]

#: What must be left of the beam's thickness; common practice, no published source.
LEAST_LEFT = 0.5


def room_in_front_mm(front_mm: float, drop_mm: float, tilt_deg: float, below_mm: float) -> float:
    """Room taken before the hinge plane at a depth below the hinge, over all tilts from 0.

    front_mm: T, drop_mm: L, below_mm: v, 0 ≤ v. Nothing is there deeper than √(L² + T²): 0.
    """
    t = radians(tilt_deg)
    corner = drop_mm * cos(t) - front_mm * sin(t)
    if below_mm <= corner:
        return (front_mm + below_mm * sin(t)) / cos(t)
    square = drop_mm**2 + front_mm**2 - below_mm**2
    return sqrt(square) if square > 0 else 0.0


def beam_cut_away(facts: Facts) -> FixturePart:
    """InputError where no beam is fitted, or it stands above the hinge."""
    fixture = facts.fixture
    axis = axis_of(fixture, "tilt")
    if fixture.leaves_open("front_beam"):
        message = "is not stated in the fixture file"
        raise InputError.of("front_beam", message, None, "a [[front_beam]] table for the beam")
    if not fixture.fitted_beams:
        raise InputError.of("front_beam", "is not fitted", "none", "a fixture with a front beam")
    beam = fixture.fitted_beams[0]
    hy, hz = axis.centre
    wanted_high = facts.asked("max_deg")
    high = facts.stated("max_deg", axis.max_deg) if wanted_high is None else wanted_high
    facts.stated("hinge_y_mm", hy)
    facts.stated("hinge_z_mm", hz)
    facts.stated("face_distance_mm", beam.face_distance_mm)
    stock, hang, room = (facts.take(n) for n in ("stock_mm", "overhang_mm", "room_mm"))
    backing = facts.stated("backing_mm", fixture.backing.thickness_mm)
    if beam.z_max_mm >= hz:
        raise InputError.of(
            "front_beam", "reaches above the hinge", beam.z_max_mm, f"below {hz:g} mm", "mm"
        )
    front, drop = hy + backing + stock, hz + hang
    square = room / cos(radians(high))
    face = beam.face_distance_mm + hy

    def deep(z: float) -> float:
        return room_in_front_mm(front, drop, high, hz - z) + square - face

    top, bottom = deep(beam.z_max_mm), deep(beam.z_min_mm)
    profile = _profile(deep, beam)
    most = max(0.0, max(d for _, d in profile))
    start = _start(deep, beam)
    figures = [
        Figure("bevel_deg", high, "deg", "worked out", "off upright, through the bevel's start"),
        Figure("bevel_starts_at_z_mm", start, "mm", "worked out"),
        Figure("bevel_starts_below_top_mm", beam.z_max_mm - start, "mm", "worked out"),
        Figure("cut_at_lower_edge_mm", max(0.0, bottom), "mm", "worked out"),
        Figure("cut_at_upper_edge_mm", max(0.0, top), "mm", "worked out"),
        Figure("deepest_cut_mm", most, "mm", "worked out"),
        Figure("front_of_hinge_plane_mm", front, "mm", "worked out", "backing and stock"),
    ]
    return FixturePart(
        "beam_cut_away",
        f"Cut-away of the {beam.name}",
        axis.seen_from,
        facts.figures(*figures),
        tuple(_checks(facts, beam, most)),
        tuple(_shapes(axis, beam, profile, stock, hang, high, facts)),
        (Note((-beam.face_distance_mm, start), f"bevel starts here, {high:g}° off upright"),),
        (
            Span(
                (-beam.face_distance_mm, beam.z_max_mm),
                (-beam.face_distance_mm, start),
                f"{beam.z_max_mm - start:.2f}",
            ),
            Span(
                (-beam.face_distance_mm, beam.z_min_mm),
                (-beam.face_distance_mm - max(0.0, bottom), beam.z_min_mm),
                f"{max(0.0, bottom):.2f}",
            ),
        ),
        "bevel_starts_below_top_mm",
        (
            "Mark the bevel's start on the beam's face, and the cut at its lower edge.",
            "Saw or plane the bevel over as much of the beam's length as the plate is wide, and "
            "the way it travels.",
        ),
        (
            "A beam cut thin bends: brace it, and try the fixture's stiffness before the next cut.",
            "Take the beam off the fixture to cut it.",
        ),
    )


def _profile(
    deep: Callable[[float], float], beam: FrontBeam, steps: int = 48
) -> list[tuple[float, float]]:
    """(z, how deep it is cut there) from the beam's top down."""
    out = []
    for i in range(steps + 1):
        z = beam.z_max_mm + (beam.z_min_mm - beam.z_max_mm) * i / steps
        out.append((z, max(0.0, deep(z))))
    return out


def _start(deep: Callable[[float], float], beam: FrontBeam) -> float:
    """The height at which the cut begins: the bevel deepens downwards as far as the corner."""
    low, high = beam.z_min_mm, beam.z_max_mm
    if deep(high) > 0 or deep(low) <= 0:
        return high if deep(high) > 0 else low
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if deep(middle) > 0 else (low, middle)
    return (low + high) / 2


def _checks(facts: Facts, beam: FrontBeam, most: float) -> list[Check]:
    thick = facts.asked("beam_mm")
    if thick is None:
        why = "how much of the beam is left behind the cut (beam_mm)"
        return [not_stated("beam_left", most, "mm", ("beam_mm",), why)]
    why = (
        f"left of the {beam.name}'s {thick:g} mm at its thinnest; under half is weak (common "
        "practice, no published source)"
    )
    left = thick - most
    if left <= 0:
        check = at_least("beam_left", left, 0.0, "mm", f"nothing is left of the {beam.name}")
    else:
        check = at_least("beam_left", left, LEAST_LEFT * thick, "mm", why, short="caution")
    if check.status == "pass":
        return [check]
    need = most - LEAST_LEFT * thick
    says = f"move the beam out by {need:.2f} mm as well, or take thinner stock"
    remedy = Remedy("move_beam_out", says, {"beam_mm": need})
    return [attrs.evolve(check, remedies=(remedy,))]


def _shapes(
    axis: Axis,
    beam: FrontBeam,
    profile: list[tuple[float, float]],
    stock: float,
    hang: float,
    high: float,
    facts: Facts,
) -> list[Path | Hole]:
    face = -beam.face_distance_mm
    thick = facts.wanted.beam_mm or max(40.0, 1.5 * max(d for _, d in profile))
    board = box_polygon((face - thick, beam.z_min_mm), (face, beam.z_max_mm))
    points: list[Point] = [(face - d, z) for z, d in profile]
    cut = tuple(Stroke(a, b) for a, b in pairwise(points) if a != b)
    out: list[Path | Hole] = [
        Hole("trammel centre", axis.centre, 0.0, "hinge line"),
        Path("outline", closed(board), beam.name),
        Path("cut away", cut, "cut along this line"),
    ]
    for solid in swinging(facts.fixture, stock, hang):
        if solid.name in ("stock", "backing"):
            out.append(Path("ghost", closed(solid.polygon), f"{solid.name} at zero"))
            far = turned(solid.polygon, axis.centre, -high)
            out.append(Path("ghost", closed(far), f"{solid.name} at {high:g}°"))
    return out
