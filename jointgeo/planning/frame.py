"""One clamping of one frame, worked out: positions, passes and the trim.

Knows part, fixture, clampings, blank and stand; chooses no clamping and judges nothing.

Theory. Across the machine X = sense · q_x, and every cut is counted from the touch-off corner:
the leftmost corner of the trimmed end as it stands when that setup begins.
"""

from __future__ import annotations

from functools import cached_property

import attrs

from jointgeo.fixtures.model import Cutter, Fixture
from jointgeo.joints.check import Check
from jointgeo.joints.drawing import Channel
from jointgeo.joints.sides import clamped_sides
from jointgeo.joints.stock import Part, StockNotch
from jointgeo.planning.blank import (
    Corner,
    Polygon,
    corner_points,
    end_pieces,
    extent_across,
    least_across,
    section,
    trim_depth_mm,
)
from jointgeo.planning.clampings import Candidate, both_clampings, in_order
from jointgeo.planning.passes import Cut, passes

__all__ = ["SAME", "Frame", "Positions", "SetupPlan", "bounded", "choose_cutter"]

#: Two notches share a frame, a trim plane or a place within this much: rounding of a
#: plug-in's own arithmetic, far below anything a machine could set.
SAME = 1e-6


@attrs.frozen(eq=False)
class SetupPlan:
    """One clamping of one end.

    notch: in the blank's frame (z = 0 at its square end), channels merged and in order.
    narrowest_mm: least width of a channel bounded on both sides, None where there is none.
    positions: of the cuts and of the end. because: why this clamping is taken. judged: the checks
    of each clamping that was judged to choose. library: what the library would have taken, where a
    person chose.
    """

    notch: StockNotch
    chosen: Candidate
    candidates: tuple[Candidate, ...]
    trim_mm: float
    cutter: Cutter
    narrowest_mm: float | None
    positions: Positions
    because: str = ""
    judged: tuple[tuple[Candidate, tuple[Check, ...]], ...] = ()
    library: SetupPlan | None = None

    def checks(self, candidate: Candidate | None = None) -> tuple[Check, ...] | None:
        """Those of one clamping, the chosen one if none is given; None where it was not judged."""
        wanted = self.chosen if candidate is None else candidate
        return next((found for c, found in self.judged if c is wanted), None)

    @property
    def corner_x_mm(self) -> float:
        """Machine X of the touch-off corner."""
        return self.positions.corner_x_mm

    @property
    def cuts(self) -> tuple[Cut, ...]:
        """From the touch-off corner."""
        return self.positions.cuts

    @property
    def trim_travel_mm(self) -> tuple[float, float]:
        """Least and greatest travel of the trim's passes, from the touch-off corner."""
        return self.positions.trim_travel_mm

    @property
    def overhang_trimmed_mm(self) -> float:
        """The overhang to the end as it stands when the setup begins, if it was trimmed before."""
        return self.positions.overhang_trimmed_mm

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
class Frame:
    """One notch on its way to a setup: what both of its clampings share. candidates: the
    preferred first is ``ordered``; earlier: the notches cut before."""

    part: Part
    fixture: Fixture
    notch: StockNotch
    earlier: tuple[StockNotch, ...]
    trim: float
    depth: float
    corners: tuple[Corner, ...]
    narrowest_mm: float | None
    candidates: tuple[Candidate, ...]

    @classmethod
    def of(
        cls,
        part: Part,
        fixture: Fixture,
        blank: float,
        notch: StockNotch,
        earlier: tuple[StockNotch, ...],
    ) -> Frame:
        corners = section(part.width_mm, part.thickness_mm)
        trim = trim_depth_mm(notch.rows[2], corners, fixture.practice.trim_extra_mm)
        depth = max([c.depth for c in notch.channels], default=0.0)
        candidates = both_clampings(part, fixture, blank, trim + depth, notch)
        narrowest = min([c.high - c.low for c in notch.channels if c.closed], default=None)
        return cls(part, fixture, notch, earlier, trim, depth, corners, narrowest, candidates)

    @property
    def ordered(self) -> list[Candidate]:
        return in_order(self.candidates, self.part, self.fixture)

    def plate(self, candidate: Candidate) -> str:
        """The marked side on the plate."""
        return clamped_sides(candidate.side, self.part.x_from)["plate"]

    def cutter(self, name: str | None = None) -> Cutter:
        """The one of that name, or the library's own choice."""
        if name is not None:
            return next(c for c in self.fixture.cutter if c.name == name)
        return choose_cutter(self.fixture, self.narrowest_mm, max(self.depth, self.trim))

    def setup(self, chosen: Candidate, cutter: Cutter, because: str = "") -> SetupPlan:
        """This clamping, worked out."""
        return SetupPlan(
            self.notch,
            chosen,
            self.candidates,
            self.trim,
            cutter,
            self.narrowest_mm,
            Positions(self, chosen, cutter),
            because,
        )


@attrs.frozen(eq=False)
class Positions:
    """Where one cutter goes in one clamping of a frame; each worked out when it is asked for."""

    frame: Frame
    chosen: Candidate
    cutter: Cutter

    @cached_property
    def end(self) -> Polygon:
        """Corners of the trimmed end."""
        return corner_points(self.frame.notch, 0.0, self.frame.corners)

    @cached_property
    def pieces(self) -> list[Polygon]:
        """What earlier notches have left of it."""
        return end_pieces(self.end, self.frame.earlier)

    @cached_property
    def corner(self) -> float:
        """The touch-off corner along X, from the notch's origin."""
        return least_across(self.frame.notch, self.chosen.sense, self.pieces)

    @cached_property
    def corner_x_mm(self) -> float:
        """See ``SetupPlan``."""
        return self.chosen.clamped.machine(self.frame.notch.at)[0] + self.corner

    @cached_property
    def cuts(self) -> tuple[Cut, ...]:
        """See ``SetupPlan``."""
        fixture, notch, practice = self.frame.fixture, self.frame.notch, self.frame.fixture.practice
        cutter, corner, s = self.cutter, self.corner, self.chosen.sense
        cuts = []
        for c, outer in bounded(notch, self.end, practice.run_past_mm, cutter.kerf_mm):
            left, right = sorted((s * c.low - corner, s * c.high - corner))
            steps = passes(left, right, cutter, fixture.traverse, practice.overlap_mm)
            cuts.append(Cut(left, right, c.depth, outer, steps))
        return tuple(sorted(cuts, key=lambda cut: cut.left_mm))

    @cached_property
    def trim_travel_mm(self) -> tuple[float, float]:
        """See ``SetupPlan``."""
        run_past, s = self.frame.fixture.practice.run_past_mm, self.chosen.sense
        low, high = extent_across(self.frame.notch, self.end, -self.frame.trim, 0.0)
        left, right = sorted((s * low - self.corner, s * high - self.corner))
        return left - run_past + self.cutter.kerf_mm, right + run_past

    @cached_property
    def overhang_trimmed_mm(self) -> float:
        """See ``SetupPlan``: along the plate, from its lower edge to the end's lowest corner."""
        clamped = self.chosen.clamped
        points = (clamped.machine(p) for piece in self.pieces for p in piece)
        return -min(clamped.untilted(p)[2] for p in points)


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
