"""What strikes what: front beam, bodies of the fixture, and the cutter against it.

Knows one setup on one fixture (``bench``) and the two gap routines of ``clearance``.
The trim happens on the whole blank, so the untrimmed blank is what counts.
"""

from __future__ import annotations

from collections.abc import Iterator

import attrs
import numpy as np

from jointgeo.checks.context import Bench, beam_room, stroke
from jointgeo.fixtures.model import Body, FrontBeam
from jointgeo.geometry.clearance import BOX_EDGES, beam_gap, box, box_corners, box_gap
from jointgeo.geometry.rotations import Array, about_x, about_y, vectors_of
from jointgeo.geometry.search import greatest
from jointgeo.joints.check import Check, Remedy, at_least
from jointgeo.planning.clamped_stock import front_gap, swing

__all__ = ["fouling_checks"]

Solid = tuple[str, Array, Array]


def fouling_checks(bench: Bench) -> Iterator[Check]:
    """Every check of this file for one setup."""
    for beam in bench.fixture.fitted_beams:
        yield _front_beam(bench, beam)
    bodies = _bodies(bench)
    if bodies is not None:
        yield bodies
    yield _cutter_clearance(bench)


def _front_beam(bench: Bench, beam: FrontBeam) -> Check:
    clamped = bench.setup.chosen.clamped
    gap = min(_stock_gap(bench, beam), _carried_gap(bench, beam))
    if np.isfinite(gap):
        because = f"stock, packing, backing and plate swing towards the {beam.name}"
    else:
        # Nothing at the beam's height: the room is how far below or above it everything stays.
        solids = [corners for _, corners, _ in clamped.solids()]
        lowest = min(float(c[:, 2].min()) for c in solids)
        highest = max(float(c[:, 2].max()) for c in solids)
        gap = max(lowest - beam.z_max_mm, beam.z_min_mm - highest)
        because = f"everything that swings stays above or below the {beam.name}"
    check = at_least("front_beam", gap, 0.0, "mm", because)
    if check.status == "pass":
        return check
    return attrs.evolve(check, remedies=tuple(_beam_remedies(bench, beam, -gap)))


def _stock_gap(bench: Bench, beam: FrontBeam) -> float:
    """Room to stock, plate and what is packed between; a counter-wedge stands before the stock."""
    return float(front_gap(beam, bench.setup.chosen.clamped)) - bench.thin_ends_mm


def _beam_remedies(bench: Bench, beam: FrontBeam, short_mm: float) -> Iterator[Remedy]:
    fixture, chosen = bench.fixture, bench.setup.chosen
    says = f"the {beam.name} moved out by {short_mm:.1f} mm"
    yield Remedy("move_beam_out", says, {"beam": beam.name, "by_mm": short_mm})
    for other in fixture.front_beam:
        if not other.fitted:
            gap = min(_stock_gap(bench, other), _carried_gap(bench, other))
            room = gap if np.isfinite(gap) else None
            text = "does not come near" if room is None else f"leaves {room:.1f} mm"
            says = f"the {other.name} in its place {text}"
            yield Remedy("other_beam", says, {"beam": other.name, "gap_mm": room})
    if beam.removable:
        says = f"the {beam.name} taken off; {beam.caution}"
        yield Remedy("take_beam_off", says, {"beam": beam.name})
    carried = _carried_gap(bench, beam)

    def with_stock(deep: float) -> float:
        return min(carried, float(beam_room(bench, beam, deep_mm=deep)))

    def with_tilt(size: float) -> float:
        at = sign * size
        return min(_carried_gap(bench, beam, at), float(beam_room(bench, beam, tilt_deg=at)))

    thin = greatest(with_stock, 0.1, bench.deep_mm)
    if thin is not None:
        says = f"stock no thicker than {thin:.1f} mm from plate to you"
        yield Remedy("thinner_stock", says, {"thickness_mm": thin})
    sign = float(np.sign(chosen.tilt_deg)) or 1.0
    flat = greatest(with_tilt, 0.0, abs(chosen.tilt_deg))
    if flat is not None:
        says = f"an angle that asks for a tilt of no more than {flat:.2f}°"
        yield Remedy("lessen_angle", says, {"tilt_deg": sign * flat})
    for other_way in bench.setup.candidates:
        free = other_way.gap_mm is None or other_way.gap_mm >= 0
        if other_way is not chosen and other_way.in_range and free:
            yield Remedy("turn_stock", "another side on the plate clears the beam")
    if fixture.backing.thickness_mm > 0:
        yield from _thinner_backing(bench, beam)
    says = f"otherwise a fixture made for this angle, {abs(chosen.tilt_deg):.2f}°"
    yield Remedy("other_fixture", says, {"tilt_deg": chosen.tilt_deg})


def _thinner_backing(bench: Bench, beam: FrontBeam) -> Iterator[Remedy]:
    backing = bench.fixture.backing

    def room(thickness: float) -> float:
        board = attrs.evolve(backing, thickness_mm=thickness)
        changed = attrs.evolve(bench.fixture, backing=board)
        return min(_carried_gap(bench, beam), float(beam_room(bench, beam, fixture=changed)))

    thin = greatest(room, 0.0, backing.thickness_mm)
    if thin is not None:
        says = f"backing no thicker than {thin:.1f} mm"
        yield Remedy("thinner_backing", says, {"backing_mm": thin})


def _carried(bench: Bench, tilt_deg: float | None = None) -> list[Solid]:
    """Bodies that swing with the plate or turn with the fence, where setup or tilt puts them."""
    fixture, chosen = bench.fixture, bench.setup.chosen
    tilt = chosen.tilt_deg if tilt_deg is None else tilt_deg
    swung = about_x(-np.radians(tilt))
    out = []
    for body in fixture.body:
        if body.fixed_to not in ("tilt", "fence"):
            continue
        centre, halves = box(body.low, body.high)
        if body.fixed_to == "fence":
            pivot = np.array([fixture.swivel.pivot_x_mm, 0.0, fixture.swivel.pivot_z_mm])
            turn = about_y(np.radians(chosen.swivel_deg))
            centre = turn @ (centre - pivot) + pivot
            halves = halves @ turn.T
        centre = swing(fixture, tilt, centre[None, :])[0]
        out.append((body.name, centre, halves @ swung.T))
    return out


def _carried_gap(bench: Bench, beam: FrontBeam, tilt_deg: float | None = None) -> float:
    gaps = [
        float(
            beam_gap(
                vectors_of(box_corners(centre, halves)),
                BOX_EDGES,
                beam.face_distance_mm,
                beam.z_min_mm,
                beam.z_max_mm,
            )
        )
        for _, centre, halves in _carried(bench, tilt_deg)
    ]
    return min(gaps, default=np.inf)


def _moving(bench: Bench) -> list[Solid]:
    """Stock, packing, backing and plate as boxes.

    A wedge of packing lies between stock and backing, and so does the box around it but for
    room the stock itself fills: nothing else needs to be told apart here.
    """
    clamped = bench.setup.chosen.clamped
    return [(name, *at) for name, at in clamped.boxes.items()]


def _fixed(bench: Bench, body: Body) -> tuple[Array, Array]:
    """A body of base or traverse as a box in the machine frame, swept over the whole travel."""
    low, high = body.low, body.high
    if body.fixed_to == "base":
        least, most = bench.setup.travel_x_mm
        along = np.array([1.0, 0.0, 0.0])
        low, high = low + least * along, high + most * along
    return box(low, high)


def _nearest(pairs: list[tuple[Solid, Solid]]) -> tuple[tuple[Solid, Solid], float]:
    """The pair with the least gap, all pairs in one batch."""
    first, second = ([pair[k] for pair in pairs] for k in (0, 1))
    gaps = box_gap(
        np.array([s[1] for s in first]),
        np.array([s[2] for s in first]),
        np.array([s[1] for s in second]),
        np.array([s[2] for s in second]),
    )
    least = int(np.argmin(gaps))
    return pairs[least], float(gaps[least])


def _bodies(bench: Bench) -> Check | None:
    """The nearest of all pairs of a moving solid and a body that does not move with it."""
    moving, carried = _moving(bench), _carried(bench)
    pairs: list[tuple[Solid, Solid]] = [
        (solid, (body.name, *_fixed(bench, body)))
        for body in bench.fixture.body
        if body.fixed_to in ("base", "traverse")
        for solid in (*moving, *carried)
    ]
    pairs += [(moving[0], solid) for solid in carried]
    if not pairs:
        return None
    nearest, gap = _nearest(pairs)
    who, what = (solid[0] for solid in nearest)
    check = at_least(
        "bodies", gap, 0.0, "mm", f"over the whole travel {who} comes nearest to the {what}"
    )
    if check.status == "pass":
        return check
    says = f"the {what} moved away by {-gap:.1f} mm, or shorter stock"
    return attrs.evolve(check, remedies=(Remedy("move_body", says, {"body": what, "by_mm": -gap}),))


def _cutter_clearance(bench: Bench) -> Check:
    """The cutter over all passes and the whole feed, against plate and what it carries."""
    fixture, setup = bench.fixture, bench.setup
    boxes = setup.chosen.clamped.boxes
    others = [("plate", *boxes["plate"]), *_carried(bench)]
    if "backing" in boxes and not fixture.backing.sacrificial:
        others.append(("backing", *boxes["backing"]))

    beams = [(beam.name, *_beam_box(bench, beam)) for beam in fixture.fitted_beams]

    def nearest(raised_mm: float) -> tuple[str, float]:
        whole, needed = (("cutter", *_swept(bench, raised_mm, w)) for w in (True, False))
        pairs = [(whole, other) for other in others] + [(needed, beam) for beam in beams]
        (_, (what, *_)), gap = _nearest(pairs)
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
    by = -raised / float(np.cos(np.radians(setup.chosen.tilt_deg)))
    says = f"{by:.1f} mm more overhang, or the {what} moved up"
    remedy = Remedy("more_overhang", says, {"overhang_by_mm": by})
    return attrs.evolve(check, remedies=(remedy,))


def _swept(bench: Bench, raised_mm: float, whole: bool) -> tuple[Array, Array]:
    """The box the cutter sweeps over every pass, raised by so much.

    whole: over all of the feed, for what hangs above it; else over the stroke that the wood
    needs, rim included, for the beam, which the feed's own end may lie beyond.
    """
    setup, feed = bench.setup, bench.fixture.feed
    least, most = bench.setup.travel_x_mm
    near, far = (feed.min_mm, feed.max_mm)
    if not whole:
        rim = setup.cutter.diameter_mm / 2
        start, end = stroke(bench)
        near, far = start - rim, end + rim
    top = bench.end_z_mm + setup.depth_mm + raised_mm
    return box(
        [least - setup.cutter.kerf_mm, near, top - setup.cutter.diameter_mm], [most, far, top]
    )


def _beam_box(bench: Bench, beam: FrontBeam) -> tuple[Array, Array]:
    """A beam of the whole width of the travel and, lacking its depth, of 100 mm."""
    least, most = bench.setup.travel_x_mm
    face = -beam.face_distance_mm
    return box([least - 1000.0, face - 100.0, beam.z_min_mm], [most + 1000.0, face, beam.z_max_mm])
