"""The arc slots in which the fence is locked: where to set the trammel, how far to rout.

Knows slots, locks and the fixture. Without a radius the two screws are put as far apart as the
board lets them; holes that shall be used again are the screws' zero places.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations
from math import hypot

from jointgeo.errors import FixtureError, InputError
from jointgeo.fixture_parts.axis import Axis, axis_of, band
from jointgeo.fixture_parts.locking import lock_checks
from jointgeo.fixture_parts.model import (
    Figure,
    FixturePart,
    Hole,
    Note,
    Path,
    Span,
    closed,
)
from jointgeo.fixture_parts.slots import Keep, Slot, farthest_pair, slot, two_slots_apart_mm
from jointgeo.fixture_parts.wanted import Facts
from jointgeo.geometry.flat import Point, Polygon, box_polygon, turned
from jointgeo.geometry.swept import swept_outline
from jointgeo.joints.check import Check, at_least, not_stated

__all__ = ["slot_figures", "slot_range", "slot_shapes", "spans", "swivel_slots"]


LEAST_DEG = 0.1  # less than anybody sets, and no slot


def slot_range(facts: Facts, axis: Axis) -> tuple[float, float]:
    """The angles a slot is for: as asked, else the fixture's own."""
    low, high = facts.wanted.min_deg, facts.wanted.max_deg
    if low is None:
        low = facts.stated("min_deg", axis.min_deg)
    else:
        facts.asked("min_deg")
    if high is None:
        high = facts.stated("max_deg", axis.max_deg)
    else:
        facts.asked("max_deg")
    if high - low < LEAST_DEG:
        allowed = f"at least {LEAST_DEG:g} deg more than {low:g} deg"
        raise InputError.of("max_deg", "leaves no angle", f"{high:g}", allowed)
    return low, high


def swivel_slots(facts: Facts) -> FixturePart:
    """InputError where no two screws go on the board at all."""
    fixture, wanted = facts.fixture, facts.wanted
    axis = axis_of(fixture, "swivel")
    moving = wanted.slot_in == "moving"
    low, high = slot_range(facts, axis)
    width = facts.take("screw_mm") + facts.take("play_mm")
    over, web = facts.take("over_run_deg"), facts.take("web_mm")
    facts.stated("pivot_x_mm", axis.centre[0])
    facts.stated("pivot_z_mm", axis.centre[1])
    plate = fixture.plate
    half = plate.width_mm / 2
    board: Polygon = box_polygon((-half, 0.0), (half, plate.height_mm))
    foot = _foot(facts)
    if moving:
        if foot is None:
            raise InputError.of(
                "slot_in",
                "needs the size of the fence, whose foot the slots are in",
                "moving",
                "fence.width_mm, z_min_mm and z_max_mm stated in the fixture file",
            )
        board = foot
    clear = [h for h in wanted.hole if h.keep == "clear"]
    keep = Keep(
        board,
        (
            *(((h.across_mm, h.up_mm), h.diameter_mm) for h in clear),
            (axis.centre, facts.taken["screw_mm"].value),
        ),
        web,
    )
    places = _places(facts, axis, keep, foot, width, low, high, over, moving)
    slots = [slot(axis, r, width, mark, low, high, over, moving) for r, mark in places]
    figures = list(_figures(slots, places, axis))
    checks = [*_checks(slots, keep, board, web, facts)]
    if foot is None:
        keys = ("fence.width_mm", "fence.z_min_mm", "fence.z_max_mm")
        why = "whether the screws' zero places lie within the fence's own foot"
        checks.append(not_stated("fence_holds_screws", 0.0, "mm", keys, why))
    reach = max(abs(x - axis.centre[0]) for x in (fixture.traverse.min_mm, fixture.traverse.max_mm))
    lever = min(reach, half + abs(axis.centre[0]))  # the Z part of the force, at the board's edge
    checks += lock_checks(facts, "swivel", [s.radius_mm for s in slots], lever)
    shapes: list[Path | Hole] = [Path("outline", closed(board), "board")]
    shapes += slot_shapes(slots, places, "trammel centre: the pivot")
    shapes += [Hole("hole", (h.across_mm, h.up_mm), h.diameter_mm, "hole") for h in clear]
    if foot is not None and not moving:
        for angle, name in (
            (low, "fence at its least"),
            (0.0, "fence at zero"),
            (high, "fence at its most"),
        ):
            shapes.append(Path("ghost", closed(turned(foot, axis.centre, -angle)), name))
        swept = swept_outline(foot, axis.centre, -high, -low)
        shapes.append(Path("ghost", swept[0], "swept by the fence's foot"))
    where = "the fence's foot, past screws in the plate" if moving else "the plate"
    return FixturePart(
        "swivel_slots",
        f"Arc slots for the fence, in {where}",
        axis.seen_from,
        facts.figures(*figures),
        tuple(checks),
        tuple(shapes),
        tuple(_notes(slots)),
        spans(axis, slots),
        "slot_1_chord_mm",
        (
            "Drill the pivot first and set the trammel in it: every slot is one arc about it.",
            "Prick the middles of both ends of each slot, and measure the chord between them "
            "before anything is routed.",
            "Drill both ends, then rout between them in shallow passes with the board clamped.",
        ),
        (
            "A router on a trammel climbs and swings round if it is fed with the cutter's turn: "
            "feed against it, both hands on the router, and never start a pass in the wood.",
            "Done up loosely a fence turns when the cutter grabs: try the lock by hand, power off.",
        ),
        ("X", "Z"),
    )


def _foot(facts: Facts) -> list[Point] | None:
    """The fence's own foot at zero, where the file says how large it is."""
    f = facts.fixture.fence
    if f.width_mm is None or f.z_min_mm is None or f.z_max_mm is None:
        return None
    far = f.x_mm - f.width_mm if f.side == "left" else f.x_mm + f.width_mm
    low, high = sorted((f.x_mm, far))
    return box_polygon((low, f.z_min_mm), (high, f.z_max_mm))


def _places(
    facts: Facts,
    axis: Axis,
    keep: Keep,
    foot: Sequence[Point] | None,
    width: float,
    low: float,
    high: float,
    over: float,
    moving: bool,
) -> list[tuple[float, float]]:
    """(radius, zero mark) of each screw."""
    wanted = facts.wanted
    kept = [h for h in wanted.hole if h.keep == "screw"]
    if kept:
        found = [axis.marks((h.across_mm, h.up_mm)) for h in kept]
        if min(r for r, _ in found) < width:
            raise InputError.of("hole", "is the pivot itself", "a screw there", "another hole")
        return found
    radius, mark = facts.asked("radius_mm"), facts.asked("screw_at_deg")
    if radius is not None:
        return [(radius, mark or 0.0)]
    ends = slot(axis, 1.0, width, 0.0, low, high, over, moving)
    screw = facts.taken["screw_mm"].value
    holder = None if foot is None or moving else Keep(foot, (), keep.web_mm)
    pair = farthest_pair(axis, keep, width, ends.start_deg, ends.end_deg, holder, screw)
    if pair is None:
        raise FixtureError.of(
            "max_deg",
            "leaves no room for two slots on the board",
            f"{low:g} to {high:g}",
            "a lesser range, a narrower slot, or radius_mm for one slot",
            "deg",
        )
    return list(pair)


def _figures(
    slots: Sequence[Slot], places: Sequence[tuple[float, float]], axis: Axis
) -> Iterator[Figure]:
    for number, (s, (_, mark)) in enumerate(zip(slots, places, strict=True), 1):
        yield from slot_figures(s, mark, f"slot_{number}_", ("x", "z"))
    for (i, a), (j, b) in combinations(enumerate(places, 1), 2):
        (u, v), (x, y) = axis.at(*a), axis.at(*b)
        name = f"screws_{i}_and_{j}_apart_mm"
        yield Figure(name, hypot(u - x, v - y), "mm", "worked out")


def slot_figures(s: Slot, mark: float, name: str, across: tuple[str, str]) -> Iterator[Figure]:
    """What a person marks out of one slot. across: names of the two ways, "x" and "z"."""

    def one(what: str, value: float, unit: str = "mm") -> Figure:
        return Figure(f"{name}{what}_{unit}", value, unit, "worked out")

    yield one("chord", s.chord_mm)
    yield one("radius", s.radius_mm)
    yield one("width", s.width_mm)
    yield one("screw_at_zero", mark, "deg")
    for what, place, angle in zip(("start", "end"), s.ends, (s.start_deg, s.end_deg), strict=True):
        yield one(f"{what}_angle", angle, "deg")
        for way, value in zip(across, place, strict=True):
            yield one(f"{what}_{way}", value)


def slot_shapes(
    slots: Sequence[Slot], places: Sequence[tuple[float, float]], centre: str
) -> list[Path | Hole]:
    """Slots, their screws at zero, the ends to drill and the trammel's centre."""
    axis = slots[0].axis
    out: list[Path | Hole] = [Hole("trammel centre", axis.centre, 0.0, centre)]
    for s, (r, mark) in zip(slots, places, strict=True):
        half = s.width_mm / 2
        out.append(Path("slot", band(axis, s.radius_mm, half, s.start_deg, s.end_deg), "slot"))
        for end, name in zip(s.ends, ("slot start", "slot end"), strict=True):
            out.append(Hole("measure", end, 0.0, name))
        out.append(Hole("ghost", axis.at(r, mark), s.width_mm, "screw at zero"))
    return out


def spans(axis: Axis, slots: Sequence[Slot]) -> tuple[Span, ...]:
    """Each slot's chord and radius."""
    out = []
    for s in reversed(slots):
        out.append(Span(*s.ends, f"{s.chord_mm:.2f}", -20.0))  # towards the trammel's centre
        words = f"R {s.radius_mm:.2f}"
        if all(span.words != words for span in out):
            out.append(Span(axis.centre, s.ends[1], words, 0.0))
    return tuple(out)


def _notes(slots: Sequence[Slot]) -> Iterator[Note]:
    for number, s in enumerate(slots, 1):
        middle = s.axis.at(s.radius_mm, (s.start_deg + s.end_deg) / 2)
        yield Note(middle, f"slot {number}, {s.width_mm:.2f} wide")


def _checks(
    slots: Sequence[Slot], keep: Keep, board: Polygon, web: float, facts: Facts
) -> Iterator[Check]:
    says = "thinner wood beside a slot splits off (common practice, no published source)"
    for number, s in enumerate(slots, 1):
        why = f"slot {number} to the board's edge; {says}"
        yield at_least("web_to_edge", s.web_to_edges_mm(board), web, "mm", why)
        for place, diameter in keep.holes:
            u, v = place
            what = "the pivot" if place == s.axis.centre else f"the hole at ({u:g}, {v:g})"
            found = s.web_to_hole_mm(place, diameter)
            yield at_least("web_to_hole", found, web, "mm", f"slot {number} to {what}; {says}")
    for (i, a), (j, b) in combinations(enumerate(slots, 1), 2):
        why = f"slot {i} to slot {j}; {says}"
        yield at_least("slots_apart", two_slots_apart_mm(a, b), web, "mm", why)
    axis = slots[0].axis
    low, high = facts.taken["min_deg"].value, facts.taken["max_deg"].value
    room = min(high - axis.max_deg, axis.min_deg - low)
    why = "the fixture file states this range of the scale; a shorter slot ends it earlier"
    yield at_least("range_covered", room, 0.0, "deg", why, short="caution")
