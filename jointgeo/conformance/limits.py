"""Margins tell the truth: their sign changes exactly where the fixture's limit is passed.

Knows fixtures, checks and the solver; no geometry.

Each limit of the fixture is moved to 1e-6 beyond the value a check reports, and to 1e-6
short of it; the check must pass with that margin and then not pass. The clamping is held by
hand meanwhile: left to itself, the solver would take the other one where this one fails, and
nothing would flip.

What cannot be moved on its own is left out: packing, short grain and the way in depend on
no fixture, the cutter's clearance sets the overhang that it is measured with, length held and
bending follow from the stock, and what climbs is yes or no.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import attrs

from jointgeo.conformance.report import Notes
from jointgeo.conformance.subject import Subject
from jointgeo.errors import InputError
from jointgeo.fixtures.model import Fixture
from jointgeo.joints.check import Check
from jointgeo.planning.choice import Wish
from jointgeo.solution.end import EndSolution, solve_end
from jointgeo.solution.solution import solve

__all__ = ["LIMITS", "margins"]

STEP = 1e-6  # mm or degrees: far below any setting, far above rounding
ROUNDING = 1e-9  # of the values themselves, as `check.at_most` has it

Move = Callable[[Fixture, Check, float], Fixture]


def _axis(name: str) -> Move:
    def move(fixture: Fixture, check: Check, room: float) -> Fixture:
        reach = abs(check.value) + room
        axis = attrs.evolve(getattr(fixture, name), min_deg=-reach, max_deg=reach)
        return attrs.evolve(fixture, **{name: axis})

    return move


def _travel(name: str) -> Move:
    """The end of a travel that the check names by its limit."""

    def move(fixture: Fixture, check: Check, room: float) -> Fixture:
        axis = getattr(fixture, name)
        if check.limit == axis.max_mm:
            axis = attrs.evolve(axis, max_mm=check.value + room)
        else:
            axis = attrs.evolve(axis, min_mm=check.value - room)
        return attrs.evolve(fixture, **{name: axis})

    return move


def _value(piece: str, field: str, times: float = 1.0) -> Move:
    def move(fixture: Fixture, check: Check, room: float) -> Fixture:
        changed = attrs.evolve(getattr(fixture, piece), **{field: times * (check.value + room)})
        return attrs.evolve(fixture, **{piece: changed})

    return move


def _cutters(field: str, sign: float) -> Move:
    def move(fixture: Fixture, check: Check, room: float) -> Fixture:
        size: dict[str, Any] = {field: check.value + sign * room}
        changed = tuple(attrs.evolve(c, **size) for c in fixture.cutter)
        return attrs.evolve(fixture, cutter=changed)

    return move


def _beam(fixture: Fixture, check: Check, room: float) -> Fixture:
    beam = fixture.front_beam[0]
    nearer = attrs.evolve(beam, face_distance_mm=beam.face_distance_mm - check.value + room)
    return attrs.evolve(fixture, front_beam=(nearer,))


def _wall(fixture: Fixture, check: Check, room: float) -> Fixture:
    wall = fixture.body[0]
    nearer = attrs.evolve(wall, y_min_mm=wall.y_min_mm - check.value + room)
    return attrs.evolve(fixture, body=(nearer,))


def _backing(fixture: Fixture, check: Check, room: float) -> Fixture:
    board = attrs.evolve(fixture.backing, thickness_mm=check.limit + room)
    return attrs.evolve(fixture, backing=board)


def _fence(fixture: Fixture, check: Check, room: float) -> Fixture:
    low = fixture.fence.z_min_mm or 0.0
    fence = attrs.evolve(fixture.fence, z_min_mm=low, z_max_mm=low + check.limit + room)
    return attrs.evolve(fixture, fence=fence)


def _clamp(field: str, at: str, sign: float) -> Move:
    """The clamp's own measure, which is the check's value or its limit, beside the other."""

    def move(fixture: Fixture, check: Check, room: float) -> Fixture:
        measure = {field: getattr(check, at) + sign * room}
        return attrs.evolve(fixture, clamp=attrs.evolve(fixture.clamp, **measure))

    return move


#: Check → what moves its limit in the wide fixture, so that ``room`` is left.
LIMITS: dict[str, Move] = {
    "swivel_range": _axis("swivel"),
    "tilt_range": _axis("tilt"),
    "front_beam": _beam,
    "bodies": _wall,
    "clamp_opening": _value("clamp", "opening_mm"),
    "plate_width": _value("plate", "width_mm", 2.0),
    "traverse_travel": _travel("traverse"),
    "cutter_height": _travel("cutter_height"),
    "feed_travel": _travel("feed"),
    "cutter_reach": _cutters("reach_mm", 1.0),
    "socket_width": _cutters("kerf_mm", -1.0),
    "depth_per_pass": _cutters("depth_per_pass_mm", 1.0),
    "trim_per_pass": _cutters("depth_per_pass_mm", 1.0),
    "clamp_contact": _clamp("z_mm", "value", -1.0),
    "clamp_force": _clamp("force_n", "limit", 1.0),
    "fence_contact": _fence,
    "exit_backing": _backing,
    "joint_closes": _value("practice", "glue_line_mm"),
}


def margins(subject: Subject, notes: Notes) -> None:
    """a margin is the distance to its limit, and pass turns to fail exactly at the limit"""
    flips = dict.fromkeys(LIMITS, 0)
    for joint, fixture in subject.benches:
        for check in solve(joint, fixture).checks:
            _agrees(check, notes)
    for joint in subject.examples:
        for end in solve(joint, subject.wide).ends:
            for check in end.checks:
                if check.name in LIMITS:
                    flips[check.name] += _flip(end, check, notes)
    notes.did("limits passed: " + ", ".join(f"{n} {c} times" for n, c in flips.items() if c))
    idle = [name for name, count in flips.items() if not count]
    if idle:
        notes.did("not at work in this joint: " + ", ".join(idle))
    if not any(flips.values()):
        notes.fault("no limit of the fixture bears on this joint")


def _agrees(check: Check, notes: Notes) -> None:
    room, size = abs(check.value - check.limit), abs(check.value) + abs(check.limit) + 1
    if abs(abs(check.margin) - room) > ROUNDING * size:
        notes.fault(
            f"{check.name}: a margin of {check.margin!r} {check.unit} between the value "
            f"{check.value!r} and the limit {check.limit!r}"
        )
    if check.status != "not_stated" and (check.status == "pass") != (check.margin >= -ROUNDING):
        notes.fault(f"{check.name}: a margin of {check.margin!r} {check.unit} is a {check.status}")


def _flip(end: EndSolution, check: Check, notes: Notes) -> bool:
    """Whether the limit could be moved at all: an axis at 0 and what is out of reach cannot."""
    try:
        moved = [LIMITS[check.name](end.fixture, check, room) for room in (STEP, -STEP)]
    except InputError:
        return False
    (held,) = (s.against_plate for s in end.setups if s.number == check.setup)
    where = f"part {check.part}, clamping {check.setup}, {check.name}"
    for there, room in zip(moved, (STEP, -STEP), strict=True):
        again = solve_end(end.part, there, end.uses, 0.0, Wish(against_plate=held)).checks
        same = (c for c in again if (c.setup, c.name) == (check.setup, check.name))
        now = next(same, None)
        if now is None or (now.status == "pass") != (room > 0):
            said = "is not judged" if now is None else f"is a {now.status}"
            notes.fault(f"{where}: {room:+g} {check.unit} from its limit it {said}")
        elif not math.isclose(now.margin, room, abs_tol=STEP / 100):
            notes.fault(f"{where}: {room:+g} {check.unit} of room and margin {now.margin!r}")
    return True
