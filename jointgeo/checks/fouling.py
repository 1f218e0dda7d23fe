"""What strikes what: front beam, bodies of the fixture, and the cutter against it.

Knows one setup on one fixture (``context``), the gap to a beam and the gap between boxes. Where the
fixture file does not list its beams or its bodies nothing is known to be clear of them: a check
that would need the list fails by what is listed, and is ``not_stated`` otherwise.
The trim happens on the whole blank, so the untrimmed blank is what counts.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

import attrs

from jointgeo.checks.context import Context, beam_room
from jointgeo.fixtures.model import Body, FrontBeam
from jointgeo.fixtures.wedging import held
from jointgeo.geometry.boxes import Box, box, box_corners, box_gap, room_at_least
from jointgeo.geometry.clearance import BOX_EDGES, beam_gap
from jointgeo.geometry.search import greatest
from jointgeo.joints.check import Check, Remedy, at_least, list_not_stated
from jointgeo.planning.clamped_stock import foremost

__all__ = ["Pair", "body_pairs", "cutter_pairs", "fouling_checks"]

#: Two solids with their names.
Pair = tuple[str, Box, str, Box]

#: Gaps that differ by less are one gap, mm: rounding does not choose which pair is named.
SAME_MM = 1e-9


def fouling_checks(context: Context) -> Iterator[Check]:
    """Every check of this file for one setup."""
    fixture = context.fixture
    if fixture.leaves_open("front_beam"):
        because = "whether what swings strikes a beam before the plate"
        yield list_not_stated("front_beam", 0.0, "mm", ["front_beam"], because)
    for beam in fixture.fitted_beams:
        yield _as_listed(context, _front_beam(context, beam), ["body"])
    if fixture.leaves_open("body"):
        because = "whether the stock, or what carries it, strikes anything of the fixture"
        yield list_not_stated("bodies", 0.0, "mm", ["body"], because)
    bodies = _bodies(context)
    if bodies is not None:
        yield bodies
    yield _as_listed(context, _cutter_clearance(context), ["front_beam", "body"])


def _as_listed(context: Context, check: Check, lists: Sequence[str]) -> Check:
    """A check that needs these lists: not stated where one is left open and the rest is clear."""
    left_open = [name for name in lists if context.fixture.leaves_open(name)]
    if not left_open or check.status == "fail":
        return check
    because = f"of all that is listed {check.because}"
    return list_not_stated(check.name, check.value, check.unit, left_open, because)


def _front_beam(context: Context, beam: FrontBeam) -> Check:
    gap, nearest = _gap(context, beam)
    if nearest is not None:
        because = f"of all that swings, the {nearest} comes nearest to the {beam.name}"
    else:
        # Nothing at the beam's height: the room is how far above or below it each solid stays.
        gap, nearest, way = _room_in_height(context, beam)
        because = (
            f"everything that swings stays above or below the {beam.name}; the {nearest}, {way} "
            "it, comes nearest"
        )
    check = at_least("front_beam", gap, 0.0, "mm", because)
    if check.status == "pass":
        return check
    return attrs.evolve(check, remedies=tuple(_beam_remedies(context, beam, -gap)))


def _gap(context: Context, beam: FrontBeam) -> tuple[float, str | None]:
    """Room to all that swings and what is nearest; a counter-wedge stands before the stock."""
    gap, nearest = foremost(beam, context.setup.chosen.clamped, context.thin_ends_mm)
    if nearest == "stock" and context.thin_ends_mm:
        nearest = "counter-wedge before the stock"
    body, name = _carried_gap(context.carried, beam)
    return (body, name) if body < gap - SAME_MM else (gap, nearest)


def _room_in_height(context: Context, beam: FrontBeam) -> tuple[float, str, str]:
    """How far above or below the beam its nearest solid stays, which that is, and the way."""
    clamped = context.setup.chosen.clamped
    solids = [(n, c) for n, (c, _) in zip(clamped.names, clamped.outlines, strict=True)]
    solids += [(n, box_corners(solid)) for n, solid in context.carried.items()]
    rooms = []
    for name, corners in solids:
        z = [z for _, _, z in corners]
        above, below = min(z) - beam.z_max_mm, beam.z_min_mm - max(z)
        rooms.append((above, name, "above") if above > below else (below, name, "below"))
    return min(rooms, key=lambda room: room[0])


def _carried_gap(carried: Mapping[str, Box], beam: FrontBeam) -> tuple[float, str | None]:
    """Room to bodies that swing along, and the nearest; inf where none is at the beam's height."""
    face, low, high = beam.face_distance_mm, beam.z_min_mm, beam.z_max_mm
    least, name = math.inf, None
    for body, solid in carried.items():
        # What lies behind the foremost so far, or all above or below the beam, is no nearer.
        (_, y, z), (_, deep, tall) = solid.centre, solid.reach
        if y - deep + face < least and low <= z + tall and z - tall <= high:
            gap = beam_gap((box_corners(solid), BOX_EDGES), face, low, high)
            if gap < least:
                least, name = gap, body
    return least, name


def _beam_remedies(context: Context, beam: FrontBeam, short_mm: float) -> Iterator[Remedy]:
    fixture, chosen = context.fixture, context.setup.chosen
    says = f"the {beam.name} moved out by {short_mm:.1f} mm"
    yield Remedy("move_beam_out", says, {"beam": beam.name, "by_mm": short_mm})
    for other in fixture.front_beam:
        if not other.fitted:
            gap, _ = _gap(context, other)
            room = gap if math.isfinite(gap) else None
            text = "does not come near"
            if room is not None:
                short = f"would still be short by {-room:.1f} mm"
                text = f"leaves {room:.1f} mm" if room >= 0 else short
            says = f"the {other.name} in its place {text}"
            yield Remedy("other_beam", says, {"beam": other.name, "gap_mm": room})
    if beam.removable:
        says = f"the {beam.name} taken off; {beam.caution}"
        yield Remedy("take_beam_off", says, {"beam": beam.name})
    carried, _ = _carried_gap(context.carried, beam)

    def with_stock(deep: float) -> float:
        return min(carried, beam_room(context, beam, deep_mm=deep))

    def with_tilt(size: float) -> float:
        at = math.copysign(size, chosen.tilt_deg)
        bodies, _ = _carried_gap(context.carried_at(at), beam)
        return min(bodies, beam_room(context, beam, tilt_deg=at))

    def with_backing(thickness: float) -> float:
        return min(carried, beam_room(context, beam, backing_mm=thickness))

    # Where a body that swings along fouls by itself, no stock and no backing is thin enough.
    thin = None if carried < 0 else greatest(with_stock, 0.1, context.deep_mm)
    if thin is not None:
        says = f"stock no thicker than {thin:.1f} mm from plate to you"
        yield Remedy("thinner_stock", says, {"thickness_mm": thin})
    flat = greatest(with_tilt, 0.0, abs(chosen.tilt_deg))
    if flat is not None:
        says = f"an angle that asks for a tilt of no more than {flat:.2f}°"
        tilt = math.copysign(flat, chosen.tilt_deg)
        yield Remedy("lessen_angle", says, {"tilt_deg": tilt})
    for other_way in context.setup.candidates:
        free = other_way.gap_mm is None or other_way.gap_mm >= 0
        if other_way is not chosen and other_way.in_range and free:
            yield Remedy("turn_stock", "another side on the plate clears the beam")
    if fixture.backing.thickness_mm > 0:
        thin = None if carried < 0 else greatest(with_backing, 0.0, fixture.backing.thickness_mm)
        if thin is not None:
            says = f"backing no thicker than {thin:.1f} mm"
            yield Remedy("thinner_backing", says, {"backing_mm": thin})
    says = f"otherwise a fixture made for this angle, {abs(chosen.tilt_deg):.2f}°"
    yield Remedy("other_fixture", says, {"tilt_deg": chosen.tilt_deg})


def _fixed(context: Context, body: Body) -> Box:
    """A body of base or traverse in the machine frame, swept over the whole travel."""
    (x0, *low), (x1, *high) = body.low, body.high
    if body.fixed_to == "base":
        least, most = context.travel_x_mm
        x0, x1 = x0 + least, x1 + most
    return box((x0, low[0], low[1]), (x1, high[0], high[1]))


def _nearest(pairs: Sequence[Pair]) -> tuple[Pair, float]:
    """The pair with the least gap, the first of those that have it.

    Looked at in the order of a lower bound, so that what cannot be near is never looked at.
    """
    bounds = sorted((room_at_least(a, b), place) for place, (_, a, _, b) in enumerate(pairs))
    nearest, least = len(pairs), math.inf
    for bound, place in bounds:
        if bound > least + SAME_MM:
            break
        _, a, _, b = pairs[place]
        gap = box_gap(a, b, least + SAME_MM)
        if gap < least - SAME_MM or (gap <= least + SAME_MM and place < nearest):
            nearest = place
        least = min(least, gap)
    return pairs[nearest], least


def body_pairs(context: Context) -> list[Pair]:
    """Every moving solid with every body that does not move with it, as ``bodies`` judges them.

    A wedge of packing lies between stock and backing, and so does the box around it but for
    room the stock itself fills: nothing else needs to be told apart here.
    """
    moving, carried = context.setup.chosen.clamped.boxes, context.carried
    pairs: list[Pair] = []
    for body in context.fixture.body:
        if body.fixed_to in ("base", "traverse"):
            fixed = _fixed(context, body)
            pairs += [(name, solid, body.name, fixed) for name, solid in moving.items()]
            pairs += [(name, solid, body.name, fixed) for name, solid in carried.items()]
    pairs += [("stock", moving["stock"], name, solid) for name, solid in carried.items()]
    return pairs


def _bodies(context: Context) -> Check | None:
    """The nearest of all ``body_pairs``."""
    pairs = body_pairs(context)
    if not pairs:
        return None
    (who, _, what, _), gap = _nearest(pairs)
    check = at_least(
        "bodies", gap, 0.0, "mm", f"over the whole travel {who} comes nearest to the {what}"
    )
    if check.status == "pass":
        return check
    says = f"the {what} moved away by {-gap:.1f} mm, or shorter stock"
    return attrs.evolve(check, remedies=(Remedy("move_body", says, {"body": what, "by_mm": -gap}),))


def cutter_pairs(context: Context, raised_mm: float = 0.0) -> list[Pair]:
    """The cutter over all passes and the whole feed, raised by so much, with the plate and what it
    carries and with every beam, as ``cutter_clearance`` judges them."""
    fixture, boxes = context.fixture, context.setup.chosen.clamped.boxes
    others = {"plate": boxes["plate"], **context.carried}
    if "backing" in boxes and not fixture.backing.sacrificial:
        others["backing"] = boxes["backing"]
    beams = {beam.name: _beam_box(context, beam) for beam in fixture.fitted_beams}
    whole, needed = (_swept(context, raised_mm, whole=w) for w in (True, False))
    pairs = [("cutter", whole, name, other) for name, other in others.items()]
    return [*pairs, *(("cutter", needed, name, beam) for name, beam in beams.items())]


def _cutter_clearance(context: Context) -> Check:
    """The nearest of all ``cutter_pairs``."""
    fixture, setup = context.fixture, context.setup

    def nearest(raised_mm: float) -> tuple[str, float]:
        (_, _, what, _), gap = _nearest(cutter_pairs(context, raised_mm))
        return what, gap

    what, gap = nearest(0.0)
    limit = fixture.practice.clearance_mm
    check = at_least(
        "cutter_clearance", gap, limit, "mm", f"the cutter comes nearest to the {what}"
    )
    if check.status == "pass":
        return check
    # The cutter goes down with the end of the stock; the overhang runs along the plate.
    raised = greatest(lambda z: nearest(z)[1] - limit, -2 * fixture.plate.height_mm, 0.0)
    if raised is None:
        return check
    held_at = held(fixture, setup.chosen.swivel_deg, setup.chosen.tilt_deg)
    by = -raised / math.cos(math.radians(held_at.plate_deg))
    says = f"{by:.1f} mm more overhang, or the {what} moved up"
    remedy = Remedy("more_overhang", says, {"overhang_by_mm": by})
    return attrs.evolve(check, remedies=(remedy,))


def _swept(context: Context, raised_mm: float, *, whole: bool) -> Box:
    """The box the cutter sweeps over every pass, raised by so much.

    whole: over all of the feed, for what hangs above it; else over the stroke that the wood
    needs, rim included, for the beam, which the feed's own end may lie beyond.
    """
    setup, feed = context.setup, context.fixture.feed
    least, most = context.travel_x_mm
    near, far = feed.min_mm, feed.max_mm
    if not whole:
        rim = setup.cutter.diameter_mm / 2
        start, end = context.stroke
        near, far = start - rim, end + rim
    top = context.end_z_mm + setup.depth_mm + raised_mm
    return box(
        (least - setup.cutter.kerf_mm, near, top - setup.cutter.diameter_mm), (most, far, top)
    )


def _beam_box(context: Context, beam: FrontBeam) -> Box:
    """A beam of the whole width of the travel and, lacking its depth, of 100 mm."""
    least, most = context.travel_x_mm
    face = -beam.face_distance_mm
    return box((least - 1000.0, face - 100.0, beam.z_min_mm), (most + 1000.0, face, beam.z_max_mm))
