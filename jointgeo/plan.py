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

from functools import cached_property

import attrs
import numpy as np

from jointgeo.blank import (
    allowance_mm,
    edge_heights,
    end_pieces,
    extent_across,
    least_across,
    section_corners,
    trim_depth_mm,
)
from jointgeo.contract import Channel, Notch, Part
from jointgeo.errors import PluginError
from jointgeo.fixture import Cutter, Fixture
from jointgeo.orientation import SENSES, Orientation, clampings
from jointgeo.passes import Cut, passes
from jointgeo.rotations import Array
from jointgeo.sides import clamped_sides
from jointgeo.stand import Stand, axis_margins, front_gap, stand

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

    notch: Notch
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
        return max((c.depth_mm for c in self.notch.channels), default=0.0)

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
    def corners(self) -> Array:
        return section_corners(self.part.width_mm, self.part.thickness_mm)

    def lines(self) -> dict[str, list[tuple[float, Array]]]:
        """Lines a person marks: "trim", "shoulder" and "floor", each as (depth_mm, z (4,)) on the
        long edges in the order of ``corners``, from the blank's end. A depth that channels closed
        on both sides share is a floor all round, as in a row of sockets; else it is a shoulder."""
        found: dict[float, tuple[str, SetupPlan]] = {}
        for setup in self.setups:
            found.setdefault(0.0, ("trim", setup))
            for c in setup.notch.channels:
                if c.closed or c.depth_mm not in found:
                    found[c.depth_mm] = ("floor" if c.closed else "shoulder", setup)
        out: dict[str, list[tuple[float, Array]]] = {}
        for depth, (line, setup) in found.items():
            z = edge_heights(setup.notch.frame, setup.notch.origin_mm, depth, self.corners)
            out.setdefault(line, []).append((depth, z))
        return out


def merged(part: Part) -> tuple[Notch, ...]:
    """One notch for each clamping, channels in order; PluginError if trim planes differ."""
    out: list[Notch] = []
    for notch in part.notches:
        first = out[0] if out else notch
        step = notch.origin_mm - first.origin_mm
        same_plane = np.abs(notch.frame[2] - first.frame[2]).max() < SAME
        if not same_plane or abs(step @ first.frame[2]) > SAME:
            raise PluginError(f"part {part.name}: all notches of one end must share a trim plane")
        for index, known in enumerate(out):
            if np.abs(known.frame - notch.frame).max() < SAME:
                shift = float(known.frame[0] @ (notch.origin_mm - known.origin_mm))
                moved = [
                    Channel(c.low_mm + shift, c.high_mm + shift, c.depth_mm) for c in notch.channels
                ]
                out[index] = attrs.evolve(known, channels=(*known.channels, *moved))
                break
        else:
            out.append(notch)
    return tuple(
        attrs.evolve(n, channels=tuple(sorted(n.channels, key=lambda c: (c.low_mm, c.high_mm))))
        for n in out
    )


def end_allowance(part: Part, fixture: Fixture) -> float:
    """How far the blank must reach beyond this end's length datum (mm); 0 for an uncut end."""
    corners = section_corners(part.width_mm, part.thickness_mm)
    extra = fixture.practice.trim_extra_mm
    reach = [allowance_mm(n.frame, n.origin_mm, corners, extra) for n in merged(part)[:1]]
    return float(reach[0]) if reach else 0.0


def plan_end(part: Part, fixture: Fixture, other_allowance_mm: float = 0.0) -> EndPlan:
    """Work out every setup of one end.

    other_allowance_mm: what the member's other end needs beyond its own datum.
    """
    fixture = fixture.corrected
    own = end_allowance(part, fixture)
    blank = own + part.length_mm + other_allowance_mm
    corners = section_corners(part.width_mm, part.thickness_mm)
    notches = tuple(
        attrs.evolve(n, origin_mm=n.origin_mm + np.array([0.0, 0.0, own])) for n in merged(part)
    )
    setups = tuple(
        _setup(part, fixture, blank, corners, notch, notches[:index])
        for index, notch in enumerate(notches)
    )
    return EndPlan(part, own, blank, setups)


def _setup(
    part: Part,
    fixture: Fixture,
    blank: float,
    corners: Array,
    notch: Notch,
    earlier: tuple[Notch, ...],
) -> SetupPlan:
    practice = fixture.practice
    trim = float(trim_depth_mm(notch.frame, corners, practice.trim_extra_mm))
    depth = max((c.depth_mm for c in notch.channels), default=0.0)
    found = clampings(notch.frame)
    candidates = _candidates(part, fixture, blank, trim + depth, found)
    chosen = min(candidates, key=lambda c: _preference(c, part, fixture))
    widths = [c.high_mm - c.low_mm for c in notch.channels if c.closed]
    narrowest = min(widths, default=None)
    cutter = choose_cutter(fixture, narrowest, max(depth, trim))
    channels = bounded(notch, corners, practice.run_past_mm, cutter.kerf_mm)
    s = chosen.sense
    corner = least_across(notch, s, corners, earlier)
    cuts = []
    for c, outer in channels:
        left, right = sorted((s * c.low_mm - corner, s * c.high_mm - corner))
        steps = passes(left, right, cutter, fixture.traverse, practice.overlap_mm)
        cuts.append(Cut(left, right, c.depth_mm, outer, steps))
    cuts.sort(key=lambda cut: cut.left_mm)
    origin_x = float(chosen.clamped.rotation[0] @ notch.origin_mm + chosen.clamped.offset[0])
    low, high = extent_across(notch, corners, -trim, 0.0)
    left, right = sorted((s * low - corner, s * high - corner))
    trim_travel = (left - practice.run_past_mm + cutter.kerf_mm, right + practice.run_past_mm)
    return SetupPlan(
        notch,
        chosen,
        candidates,
        trim,
        origin_x + corner,
        cutter,
        tuple(cuts),
        narrowest,
        trim_travel,
        _trimmed_overhang(fixture, chosen, end_pieces(notch, corners, earlier)),
    )


def _trimmed_overhang(fixture: Fixture, chosen: Candidate, pieces: list[Array]) -> float:
    """From the plate's lower edge down to the lowest corner of the trimmed end, along the plate."""
    clamped = chosen.clamped
    hinge = np.array([0.0, fixture.tilt.hinge_y_mm, fixture.tilt.hinge_z_mm])
    points = np.concatenate(pieces) @ clamped.rotation.T + clamped.offset
    untilted = (points - hinge) @ clamped.plate_rotation + hinge
    return -float(untilted[:, 2].min())


def _candidates(
    part: Part, fixture: Fixture, blank: float, cut: float, found: Orientation
) -> tuple[Candidate, ...]:
    """Both clampings of one frame, stood on the fixture."""
    # Rounding of a frame that needs no packing is 1e-14°; a wedge of 1e-9° is none.
    packing = np.where(np.abs(found.packing_deg) < 1e-9, 0.0, found.packing_deg)
    both = stand(
        fixture,
        part.width_mm,
        part.thickness_mm,
        blank,
        found.swivel_deg,
        found.tilt_deg,
        packing,
        found.side,
        cut_above_lowest_mm=cut,
    )
    swivel_room, tilt_room = axis_margins(fixture, found.swivel_deg, found.tilt_deg)
    gaps = [front_gap(beam, both) for beam in fixture.fitted_beams]
    gap = np.min(gaps, axis=0) if gaps else np.full(2, np.inf)
    return tuple(
        Candidate(
            sense,
            int(found.side[i]),
            float(found.swivel_deg[i]),
            float(found.tilt_deg[i]),
            float(packing[i]),
            bool(found.degenerate[i]),
            float(swivel_room[i]),
            float(tilt_room[i]),
            float(gap[i]) if np.isfinite(gap[i]) else None,
            both.at(i),
        )
        for i, sense in enumerate(SENSES)
    )


def _preference(c: Candidate, part: Part, fixture: Fixture) -> tuple[float, ...]:
    """Least is best. Marked sides on plate and fence decide only where all else is equal: room
    to the beam comes before them, since it is what makes a cut possible at all."""
    sides = clamped_sides(c.side, part.x_from)
    marked = {"face_side", "face_edge"}
    unmarked = (sides["plate"] not in marked) + (sides[fixture.fence.side] not in marked)
    gap = 1e9 if c.gap_mm is None else c.gap_mm
    outside = max(0.0, -c.swivel_room_deg) + max(0.0, -c.tilt_room_deg)
    return (
        round(outside, 9),
        round(abs(c.packing_deg), 9),
        -round(gap, 6),
        round(abs(c.tilt_deg), 9),
        round(abs(c.swivel_deg), 9),
        float(unmarked),
        float(c.side),
    )


def bounded(
    notch: Notch, corners: Array, run_past_mm: float, kerf_mm: float
) -> tuple[tuple[Channel, bool], ...]:
    """The channels with open ends closed just past the wood, and whether they were open.

    A leaning side reaches further out at the floor than at the end, so the extent is taken
    at both. Channels that meet no wood are dropped. An open one narrower than the kerf
    grows outwards to it, so that its only pass takes nothing from the side that stays.
    """
    out = []
    for c in notch.channels:
        least, most = extent_across(notch, corners, 0.0, c.depth_mm)
        if c.low_mm >= most - SAME or c.high_mm <= least + SAME:
            continue
        low, high = max(c.low_mm, least - run_past_mm), min(c.high_mm, most + run_past_mm)
        outer = (low, high) != (c.low_mm, c.high_mm)
        if low > c.low_mm:
            low = min(low, high - kerf_mm)
        if high < c.high_mm:
            high = max(high, low + kerf_mm)
        out.append((Channel(low, high, c.depth_mm), outer))
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
