"""One cut end on one fixture, worked out: the numbers behind settings and checks.

Knows parts, fixture, orientation, blank and stand; knows no joint type, no JSON and no
verdict. ``settings`` presents a plan, ``feasibility`` judges it.

Theory. Notches with one frame are one setup. Of a setup's two clampings (see
``orientation``) the chosen one lies in both axes' ranges (or least far out), then needs
least packing, then leaves most room to the front beam, then has least tilt, then least
swivel; last, marked sides go on plate and fence. Across the machine X = sense · q_x, and
every cut is counted from the touch-off corner: the leftmost corner of the trimmed end
as it stands when that setup begins.
"""

from __future__ import annotations

import math
from functools import cached_property

import attrs

from jointgeo.errors import PluginError
from jointgeo.fixtures.model import Cutter, Fixture
from jointgeo.geometry.rotations import Vector, dot
from jointgeo.geometry.vectors import Z
from jointgeo.joints.drawing import Channel
from jointgeo.joints.sides import clamped_sides
from jointgeo.joints.stock import Part, StockNotch
from jointgeo.planning.blank import (
    Corner,
    Polygon,
    allowance_mm,
    corner_points,
    end_pieces,
    extent_across,
    heights,
    least_across,
    point_across,
    section,
    trim_depth_mm,
)
from jointgeo.planning.clamped_stock import Stand, axis_margins, front_gap, stand
from jointgeo.planning.orientation import SENSES, clamping
from jointgeo.planning.passes import Cut, passes

__all__ = ["Candidate", "EndPlan", "SetupPlan", "end_allowance", "plan_end"]

#: Two notches share a frame, a trim plane or a place within this much: rounding of a
#: plug-in's own arithmetic, far below anything a machine could set.
SAME = 1e-6


@attrs.frozen(eq=False)
class Candidate:
    """One clamping; gap_mm is the room to the fitted front beam, None where none is near."""

    sense: float
    side: int
    swivel_deg: float
    tilt_deg: float
    packing_deg: float
    degenerate: bool
    swivel_room_deg: float
    tilt_room_deg: float
    gap_mm: float | None
    clamped: Stand = attrs.field(repr=False)

    @property
    def in_range(self) -> bool:
        return min(self.swivel_room_deg, self.tilt_room_deg) >= -1e-9


@attrs.frozen(eq=False)
class SetupPlan:
    """One clamping of one end.

    notch: in the blank's frame (z = 0 at its square end), channels merged and in order.
    corner_x_mm: machine X of the touch-off corner. cuts: from that corner.
    narrowest_mm: least width of a channel bounded on both sides, None where there is none.
    trim_travel_mm: least and greatest travel of the trim's passes, from that corner.
    overhang_trimmed_mm: the overhang to the end as it stands when the setup begins, if it was
    trimmed before.
    """

    notch: StockNotch
    chosen: Candidate
    candidates: tuple[Candidate, ...]
    trim_mm: float
    corner_x_mm: float
    cutter: Cutter
    cuts: tuple[Cut, ...]
    narrowest_mm: float | None
    trim_travel_mm: tuple[float, float]
    overhang_trimmed_mm: float

    @property
    def depth_mm(self) -> float:
        return max([c.depth for c in self.notch.channels], default=0.0)

    @property
    def travel_x_mm(self) -> tuple[float, float]:
        """Least and greatest machine X of the cutter's right-hand face, touch-off included."""
        travels = [0.0, *self.trim_travel_mm]
        travels += [p.travel_mm for cut in self.cuts for p in cut.passes]
        return self.corner_x_mm + min(travels), self.corner_x_mm + max(travels)


@attrs.frozen(eq=False)
class EndPlan:
    """All setups of one end. part: as cut (hand and x_from settled); allowance_mm: how far
    the blank's square end lies beyond the length datum; blank_mm: the whole blank."""

    part: Part
    allowance_mm: float
    blank_mm: float
    setups: tuple[SetupPlan, ...]

    @cached_property
    def corners(self) -> tuple[Corner, ...]:
        """The section's corners, as ``blank.section`` has them."""
        return section(self.part.width_mm, self.part.thickness_mm)

    def lines(self) -> dict[str, list[tuple[float, tuple[float, ...]]]]:
        """Lines a person marks: "trim", "shoulder" and "floor", each as (depth_mm, z) with z on
        the long edges in the order of ``corners``, from the blank's end. A depth that channels
        closed on both sides share is a floor all round, as in a row of sockets; else it is a
        shoulder."""
        found: dict[float, tuple[str, SetupPlan]] = {}
        for setup in self.setups:
            found.setdefault(0.0, ("trim", setup))
            for c in setup.notch.channels:
                if c.closed or c.depth not in found:
                    found[c.depth] = ("floor" if c.closed else "shoulder", setup)
        out: dict[str, list[tuple[float, tuple[float, ...]]]] = {}
        for depth, (line, setup) in found.items():
            z = heights(setup.notch.rows[2], setup.notch.at, depth, self.corners)
            out.setdefault(line, []).append((depth, z))
        return out


def merged(part: Part) -> tuple[StockNotch, ...]:
    """One notch for each clamping, channels in order; PluginError if trim planes differ."""
    out: list[StockNotch] = []
    for notch in part.notches:
        first = out[0] if out else notch
        plane = first.rows[2]
        off = abs(dot(plane, notch.at) - dot(plane, first.at))
        if _apart(notch.rows[2], plane) >= SAME or off > SAME:
            raise PluginError(f"part {part.name}: all notches of one end must share a trim plane")
        for index, known in enumerate(out):
            if max(map(_apart, known.rows, notch.rows)) < SAME:
                shift = point_across(known, notch.at)
                moved = [Channel(c.low + shift, c.high + shift, c.depth) for c in notch.channels]
                out[index] = attrs.evolve(known, channels=(*known.channels, *moved))
                break
        else:
            out.append(notch)
    return tuple(map(_in_order, out))


def _apart(a: Vector, b: Vector) -> float:
    return max(abs(a[0] - b[0]), abs(a[1] - b[1]), abs(a[2] - b[2]))


def _in_order(notch: StockNotch) -> StockNotch:
    ordered = tuple(sorted(notch.channels, key=lambda c: (c.low, c.high)))
    return notch if ordered == notch.channels else attrs.evolve(notch, channels=ordered)


def end_allowance(part: Part, fixture: Fixture) -> float:
    """How far the blank must reach beyond this end's length datum (mm); 0 for an uncut end."""
    return _allowance(part, merged(part), fixture)


def _allowance(part: Part, notches: tuple[StockNotch, ...], fixture: Fixture) -> float:
    if not notches:
        return 0.0
    corners = section(part.width_mm, part.thickness_mm)
    extra = fixture.practice.trim_extra_mm
    return allowance_mm(notches[0].rows[2], notches[0].at, corners, extra)


def plan_end(part: Part, fixture: Fixture, other_allowance_mm: float = 0.0) -> EndPlan:
    """Work out every setup of one end.

    other_allowance_mm: what the member's other end needs beyond its own datum.
    """
    fixture = fixture.corrected
    together = merged(part)
    own = _allowance(part, together, fixture)
    blank = own + part.length_mm + other_allowance_mm
    notches = tuple(attrs.evolve(n, at=n.at + Z * own) for n in together)
    setups = tuple(
        _setup(part, fixture, blank, notch, notches[:index]) for index, notch in enumerate(notches)
    )
    return EndPlan(part, own, blank, setups)


def _setup(
    part: Part, fixture: Fixture, blank: float, notch: StockNotch, earlier: tuple[StockNotch, ...]
) -> SetupPlan:
    practice = fixture.practice
    corners = section(part.width_mm, part.thickness_mm)
    trim = trim_depth_mm(notch.rows[2], corners, practice.trim_extra_mm)
    depth = max([c.depth for c in notch.channels], default=0.0)
    candidates = _candidates(part, fixture, blank, trim + depth, notch)
    chosen = min(candidates, key=lambda c: _preference(c, part, fixture))
    widths = [c.high - c.low for c in notch.channels if c.closed]
    narrowest = min(widths, default=None)
    cutter = choose_cutter(fixture, narrowest, max(depth, trim))
    end = corner_points(notch, 0.0, corners)
    channels = bounded(notch, end, practice.run_past_mm, cutter.kerf_mm)
    s, pieces = chosen.sense, end_pieces(end, earlier)
    corner = least_across(notch, s, pieces)
    cuts = []
    for c, outer in channels:
        left, right = sorted((s * c.low - corner, s * c.high - corner))
        steps = passes(left, right, cutter, fixture.traverse, practice.overlap_mm)
        cuts.append(Cut(left, right, c.depth, outer, steps))
    cuts.sort(key=lambda cut: cut.left_mm)
    low, high = extent_across(notch, end, -trim, 0.0)
    left, right = sorted((s * low - corner, s * high - corner))
    trim_travel = (left - practice.run_past_mm + cutter.kerf_mm, right + practice.run_past_mm)
    return SetupPlan(
        notch,
        chosen,
        candidates,
        trim,
        chosen.clamped.machine(notch.at)[0] + corner,
        cutter,
        tuple(cuts),
        narrowest,
        trim_travel,
        _trimmed_overhang(chosen.clamped, pieces),
    )


def _trimmed_overhang(clamped: Stand, pieces: list[Polygon]) -> float:
    """From the plate's lower edge down to the lowest corner of the trimmed end, along the plate."""
    points = (clamped.machine(p) for piece in pieces for p in piece)
    return -min(clamped.untilted(p)[2] for p in points)


def _candidates(
    part: Part, fixture: Fixture, blank: float, cut: float, notch: StockNotch
) -> tuple[Candidate, ...]:
    """Both clampings of one frame, stood on the fixture."""
    both = [clamping(notch.rows, sense) for sense in SENSES]
    # Rounding of a frame that needs no packing is 1e-14°; a wedge of 1e-9° is none.
    square = all(abs(c.packing_deg) < 1e-9 for c in both)
    packing = [0.0 if square else c.packing_deg for c in both]
    stands = [
        stand(
            fixture,
            part.width_mm,
            part.thickness_mm,
            blank,
            c.swivel_deg,
            c.tilt_deg,
            kappa,
            c.side,
            cut_above_lowest_mm=cut,
        )
        for c, kappa in zip(both, packing, strict=True)
    ]
    beams = fixture.fitted_beams
    gaps = [min([front_gap(b, s) for b in beams], default=math.inf) for s in stands]
    return tuple(
        Candidate(
            sense,
            c.side,
            c.swivel_deg,
            c.tilt_deg,
            kappa,
            c.degenerate,
            *axis_margins(fixture, c.swivel_deg, c.tilt_deg),
            gap if math.isfinite(gap) else None,
            clamped,
        )
        for sense, c, kappa, gap, clamped in zip(SENSES, both, packing, gaps, stands, strict=True)
    )


def _preference(c: Candidate, part: Part, fixture: Fixture) -> tuple[float, ...]:
    """Least is best. Marked sides on plate and fence decide only where all else is equal: room
    to the beam comes before them, since it is what makes a cut possible at all."""
    sides = clamped_sides(c.side, part.x_from)
    marked = {"face_side", "face_edge"}
    unmarked = (sides["plate"] not in marked) + (sides[fixture.fence.side] not in marked)
    gap = 1e9 if c.gap_mm is None else c.gap_mm
    outside = max(0.0, -c.swivel_room_deg) + max(0.0, -c.tilt_room_deg)
    # Rounded, so that rounding of the arithmetic does not choose between two that are alike.
    return (
        round(outside, 9),
        round(abs(c.packing_deg), 9),
        -round(gap, 9),
        round(abs(c.tilt_deg), 9),
        round(abs(c.swivel_deg), 9),
        float(unmarked),
        float(c.side),
    )


def bounded(
    notch: StockNotch, end: Polygon, run_past_mm: float, kerf_mm: float
) -> tuple[tuple[Channel, bool], ...]:
    """The channels with open ends closed just past the wood, and whether they were open.

    A leaning side reaches further out at the floor than at the end, so the extent is taken
    at both. Channels that meet no wood are dropped. An open one narrower than the kerf
    grows outwards to it, so that its only pass takes nothing from the side that stays.
    """
    out = []
    for c in notch.channels:
        first, last = extent_across(notch, end, 0.0, c.depth)
        if c.low >= last - SAME or c.high <= first + SAME:
            continue
        low = max(c.low, first - run_past_mm)
        high = min(c.high, last + run_past_mm)
        outer = (low, high) != (c.low, c.high)
        if low > c.low:
            low = min(low, high - kerf_mm)
        if high < c.high:
            high = max(high, low + kerf_mm)
        out.append((Channel(low, high, c.depth), outer))
    return tuple(out)


def choose_cutter(fixture: Fixture, narrowest_mm: float | None, depth_mm: float) -> Cutter:
    """The widest cutter that fits the narrowest channel and reaches; else the narrowest."""
    fits = [
        c
        for c in fixture.cutter
        if c.reach_mm >= depth_mm and (narrowest_mm is None or c.kerf_mm <= narrowest_mm + 1e-9)
    ]
    if fits:
        return max(fits, key=lambda c: c.kerf_mm)
    return min(fixture.cutter, key=lambda c: (c.reach_mm < depth_mm, c.kerf_mm))
