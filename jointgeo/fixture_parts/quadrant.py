"""The quadrant on which the tilt is locked: slot about the hinge, outline, what it must clear.

Knows slots, locks and the fixture's bodies. There are two alike, one at either end of the plate;
they are drawn from the fixture's right-hand end, and the other is routed from the same marks with
the board turned over.

Either the quadrant stands and the screw is in the plate's edge, or the quadrant is on the plate and
the screw stands: then the side that the quadrant swings past must be cut away over a longer band.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import asin, degrees, hypot

import attrs

from jointgeo.errors import InputError
from jointgeo.fixture_parts.axis import axis_of, band
from jointgeo.fixture_parts.bodies import (
    Solid,
    across_x,
    band_solids,
    free_swing,
    still_bodies,
    swinging,
    unlisted,
)
from jointgeo.fixture_parts.locking import lock_checks
from jointgeo.fixture_parts.model import Figure, FixturePart, Hole, Note, Path, closed
from jointgeo.fixture_parts.slots import Slot, slot
from jointgeo.fixture_parts.swivel import slot_figures, slot_range, slot_shapes, spans
from jointgeo.fixture_parts.wanted import Facts
from jointgeo.geometry.flat import overlap, turned
from jointgeo.geometry.swept import reach
from jointgeo.joints.check import Check, Remedy, at_least

__all__ = ["tilt_quadrant"]

#: Outer diameter of a plain washer over its screw's; from memory.
WASHER = 2.0


def tilt_quadrant(facts: Facts) -> FixturePart:
    fixture, wanted = facts.fixture, facts.wanted
    axis = axis_of(fixture, "tilt")
    moving = wanted.slot_in == "moving"
    low, high = slot_range(facts, axis)
    width = facts.take("screw_mm") + facts.take("play_mm")
    over, wall = facts.take("over_run_deg"), facts.take("wall_mm")
    facts.stated("hinge_y_mm", axis.centre[0])
    facts.stated("hinge_z_mm", axis.centre[1])
    thick = facts.stated("plate_thickness_mm", fixture.plate.thickness_mm)
    radius = facts.asked("radius_mm")
    if radius is None:
        arm = fixture.uncertainty.tilt_lock_arm_mm
        radius = facts.stated("radius_mm", arm, "the fixture's own lock (tilt_lock_arm_mm)")
    mark = facts.asked("screw_at_deg")
    if mark is None:
        off = axis.centre[0] - thick / 2
        if radius <= abs(off):
            raise InputError.of(
                "radius_mm", "does not reach the plate", radius, f"more than {abs(off):g} mm", "mm"
            )
        mark = degrees(asin(off / radius))  # in the middle of the plate's edge
    s = slot(axis, radius, width, mark, low, high, over, moving)
    half = width / 2 + wall
    quadrant = band(axis, radius, half, s.start_deg, s.end_deg)
    figures = [
        *slot_figures(s, mark, "slot_", ("y", "z")),
        Figure("outline_inner_radius_mm", radius - half, "mm", "worked out"),
        Figure("outline_outer_radius_mm", radius + half, "mm", "worked out"),
        Figure("outline_end_radius_mm", half, "mm", "worked out", "about both ends of the slot"),
    ]
    shapes: list[Path | Hole] = [Path("outline", quadrant, "quadrant")]
    shapes += slot_shapes([s], [(radius, mark)], "trammel centre: the hinge line")
    if moving:
        room = facts.take("room_mm")
        first, last = s.start_deg + low, s.end_deg + high
        away = band(axis, radius, half + room, first, last)
        shapes.append(Path("cut away", away, "side cut away"))
        figures += [
            Figure("cut_away_inner_radius_mm", radius - half - room, "mm", "worked out"),
            Figure("cut_away_outer_radius_mm", radius + half + room, "mm", "worked out"),
            Figure("cut_away_start_angle_deg", first, "deg", "worked out"),
            Figure("cut_away_end_angle_deg", last, "deg", "worked out"),
        ]
    stock, hang = facts.take("stock_mm"), facts.take("overhang_mm")
    for solid in swinging(fixture, stock, hang):
        if solid.name in ("plate", "stock"):
            shapes.append(Path("ghost", closed(solid.polygon), f"{solid.name} at zero"))
            far = turned(solid.polygon, axis.centre, -high)
            shapes.append(Path("ghost", closed(far), f"{solid.name} at {high:g}°"))
    checks = [*_checks(facts, s, mark, half, low, high, moving)]
    lever = hypot(axis.centre[1] + hang, axis.centre[0] + fixture.backing.thickness_mm + stock)
    checks += lock_checks(facts, "tilt", [radius, radius], lever)
    middle = axis.at(radius, (s.start_deg + s.end_deg) / 2)
    note = f"slot, {s.width_mm:.2f} wide"
    what = "on the plate, past a screw that stands" if moving else "that stands beside the plate"
    return FixturePart(
        "tilt_quadrant",
        f"Tilt quadrant {what}, two alike",
        axis.seen_from,
        facts.figures(*figures),
        tuple(checks),
        tuple(shapes),
        (Note(middle, note),),
        spans(axis, [s]),
        "slot_chord_mm",
        (
            "Make two from boards screwed together, or turn the second over: mirror images.",
            "Set the trammel in the hole of the hinge line, and keep that hole: it is what the "
            "quadrant is set by on the fixture.",
            "Prick both ends of the slot, measure the chord between them, drill them, then rout "
            "between them and round the outline on the same trammel centre.",
        ),
        (
            "The plate falls when its lock is let go: hold it, and never reach under it.",
            "With the plate at its greatest tilt go round the fixture by hand, power off, and see "
            "that quadrant, stock and clamp pass everything.",
        ),
    )


def _checks(
    facts: Facts, s: Slot, mark: float, half: float, low: float, high: float, moving: bool
) -> Iterator[Check]:
    fixture, axis = facts.fixture, s.axis
    web, screw = facts.take("web_mm"), facts.taken["screw_mm"].value
    y, z = axis.at(s.radius_mm, mark)
    beside = min(y, fixture.plate.thickness_mm - y) - screw / 2
    if not moving:
        why = (
            "wood beside the screw in the plate's edge (limit common practice, no published source)"
        )
        yield at_least("screw_in_plate_edge", beside, web, "mm", why, short="caution")
        below = min(z, fixture.plate.height_mm - z) - screw / 2
        yield at_least("screw_from_plate_end", below, web, "mm", why)
    washer = WASHER * screw / 2
    why = "the washer must bear on the quadrant all along the slot (washer's size from memory)"
    yield at_least("washer_on_quadrant", half, washer, "mm", why)
    room = min(high - axis.max_deg, axis.min_deg - low)
    why = "the fixture file states this range of the scale; a shorter slot ends it earlier"
    yield at_least("range_covered", room, 0.0, "deg", why, short="caution")
    pieces = [*band_solids(axis, s.radius_mm, half, s.start_deg, s.end_deg)]
    start, end = s.start_deg - mark, s.end_deg - mark
    why = "past its slot's end the screw would keep the plate off its stop"
    yield at_least("reaches_zero", min(-start, end), 0.0, "deg", why)
    board = facts.take("board_mm")
    edge = fixture.plate.width_mm / 2
    places = {"left": (-edge - board, -edge), "right": (edge, edge + board)}
    still = [b for b in still_bodies(fixture) if _beside(b, places)]
    moves = [b for b in swinging(fixture) if b.name not in ("plate", "backing")]
    moves = [b for b in moves if _beside(b, places)]
    gap = facts.take("room_mm")
    why = "whether anything beside the quadrant meets it"
    yield from unlisted(fixture, "quadrant_swings_clear", why)
    for body in moves if not moving else still:
        swing, back = (
            free_swing([body.polygon], pieces, axis.centre)
            if not moving
            else free_swing(pieces, [body.polygon], axis.centre)
        )
        yield from _swings(body, "quadrant_swings_clear", swing, back, low, high)
    for body in still if not moving else ():
        found = -max(overlap(p, body.polygon) for p in pieces)
        why = f"the quadrant to the {body.name}, which stands beside it"
        yield at_least("quadrant_stands_clear", found, gap, "mm", why)
    first, last = (s.start_deg + low, s.end_deg + high) if moving else (s.start_deg, s.end_deg)
    lowest = reach(band(axis, s.radius_mm, half, first, last))[2]
    yield from _over_cutter(facts, lowest, places, gap)


def _beside(body: Solid, places: dict[str, tuple[float, float]]) -> bool:
    return any(across_x(body, *x) for x in places.values())


def _swings(
    body: Solid, name: str, swing: float, back: float, low: float, high: float
) -> Iterator[Check]:
    why = f"the plate swings that far before quadrant and {body.name} meet"
    check = at_least(name, swing, high, "deg", why)
    if check.status != "pass":
        says = f"cut quadrant or {body.name} away, or end the slot at {swing:.1f}°"
        remedy = Remedy("shorten_range", says, {"max_deg": swing})
        check = attrs.evolve(check, remedies=(remedy,))
    yield check
    if low < 0:
        yield at_least(name, back, -low, "deg", f"{why}, the other way")


def _over_cutter(
    facts: Facts, lowest: float, places: dict[str, tuple[float, float]], gap: float
) -> Iterator[Check]:
    """Whether the cutter, raised as far as it goes, can come under the quadrant at all."""
    fixture = facts.fixture
    scale, travel = fixture.cutter_height, fixture.traverse
    top = scale.datum_z_mm + scale.max_mm
    kerf = max(c.kerf_mm for c in fixture.cutter)
    for side, (near, far) in places.items():
        if not (travel.min_mm - kerf < far and near < travel.max_mm):
            continue
        why = (
            f"lowest point of the {side} quadrant over the cutter raised as far as it goes; the "
            f"traverse can bring the cutter under it (X {near:g} to {far:g} mm)"
        )
        check = at_least("quadrant_over_cutter", lowest, top + gap, "mm", why, short="caution")
        if check.status != "pass":
            end = near - gap if side == "right" else far + gap + kerf
            says = f"stop the traverse at X {end:g} mm, where the cutter passes beside the quadrant"
            remedy = Remedy("stop_traverse", says, {"x_mm": end})
            check = attrs.evolve(check, remedies=(remedy,))
        yield check
