"""One clamping of one end, as a person reads it: every number to set, and why.

Knows plans, fixtures, budgets and setting aids; judges nothing but by ``budget``. Values are
unrounded, millimetres and degrees; signs as in ``planning.orientation``. What nobody asks for is
not worked out.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from typing import Literal

import attrs

from jointgeo.checks.context import Context
from jointgeo.checks.cutting import depth_steps
from jointgeo.checks.hands import setup_cautions
from jointgeo.fixtures.model import Fixture
from jointgeo.fixtures.wedging import Held, held
from jointgeo.joints.check import Check, Status, worst
from jointgeo.joints.sides import clamped_sides, edge_names
from jointgeo.planning.blank import corner_points, point_across
from jointgeo.planning.choice import failing
from jointgeo.planning.clampings import Candidate
from jointgeo.planning.end_plan import EndPlan, SetupPlan
from jointgeo.planning.packing import LEAST_ERROR_MM, Packing, packing_of
from jointgeo.planning.passes import Cut
from jointgeo.setting_aids.aid import Aid
from jointgeo.setting_aids.aids import setting_aids
from jointgeo.solution.axis import AxisSetting, axis_setting
from jointgeo.uncertainty.budget import Budget, setup_budget
from jointgeo.uncertainty.closing import Closing

__all__ = [
    "HANDS",
    "ByHand",
    "Clamping",
    "Cost",
    "CutterHeights",
    "Hand",
    "Packing",
    "Setup",
    "TouchOff",
]

Hand = Literal["as_drawn", "mirrored"]
HANDS: tuple[Hand, ...] = ("as_drawn", "mirrored")


@attrs.frozen
class TouchOff:
    """Where the cutter touches off.

    nearest_edge: the long edge whose trimmed corner stands, or stood before earlier cuts, furthest
    left. machine_x_mm: X of the corner as it now is; cut_away_mm: how far that lies right of the
    edge's own.
    """

    nearest_edge: str
    machine_x_mm: float
    cut_away_mm: float


@attrs.frozen
class CutterHeights:
    """Heights of the cutter above ``datum``, for the trim and for each depth, ascending:
    cuts holds (depth_mm, height_mm).

    trim_steps_mm, steps_mm: the same where the cutter takes no more than ``depth_per_pass_mm`` at
    a time, of the trim and of each of ``cuts``; the last step is at full depth.
    """

    datum: str
    trim_mm: float
    cuts: tuple[tuple[float, float], ...]
    trim_steps_mm: tuple[float, ...]
    steps_mm: tuple[tuple[float, ...], ...]


@attrs.frozen
class Clamping:
    """One way to clamp this end. front_beam_gap_mm: None where no beam is near.

    judged: whether the checks of machine and fouling were run on it, which is where there was a
    choice. status: the worst of them; "fail" also where an axis's range does not hold it, and None
    where nothing is known. failing: names of the checks that fail.
    """

    against_plate: str
    against_fence: str
    swivel_deg: float
    tilt_deg: float
    packing_deg: float
    front_beam_gap_mm: float | None
    in_range: bool
    degenerate: bool
    chosen: bool
    judged: bool
    status: Status | None
    failing: tuple[str, ...]


@attrs.frozen
class Cost:
    """A check of the clamping that a person chose, and of the library's own choice; a margin is
    None where that one has no such check."""

    check: str
    unit: str
    margin: float | None
    library_margin: float | None


@attrs.frozen
class ByHand:
    """What a person's choice costs. against_plate, cutter: the library's own choice; differs:
    whether that is another one. costs: each check that comes out otherwise."""

    against_plate: str
    cutter: str
    differs: bool
    costs: tuple[Cost, ...]


@attrs.frozen(eq=False, slots=False)
class Setup:
    """number: counted from 1 within its end."""

    number: int
    plan: SetupPlan
    end: EndPlan
    fixture: Fixture

    @property
    def part(self) -> str:
        return self.end.part.name

    @property
    def _chosen(self) -> Candidate:
        return self.plan.chosen

    @cached_property
    def sides(self) -> dict[str, str]:
        """Marked sides that face "plate", "you", "left" and "right"."""
        return clamped_sides(self._chosen.side, self.end.part.x_from)

    @property
    def against_plate(self) -> str:
        return self.sides["plate"]

    @property
    def against_fence(self) -> str:
        return self.sides[self.fixture.fence.side]

    @property
    def exit_side(self) -> str | None:
        """The marked side where the cutter leaves the wood; None where the fixture file does not
        say which way a disc turns."""
        at = self.plan.cutter.exit_at(self.fixture.feed.sense)
        return None if at is None else self.sides[at]

    @property
    def swivel_deg(self) -> float:
        """Positive clockwise as you face the plate."""
        return self._chosen.swivel_deg

    @property
    def tilt_deg(self) -> float:
        """Positive when the cut end swings towards you."""
        return self._chosen.tilt_deg

    @cached_property
    def axes(self) -> tuple[AxisSetting, AxisSetting]:
        """Swivel and tilt as they are set, by the scales' figures."""
        held_at = self.held
        swivel = axis_setting(self.fixture, "swivel", self.swivel_deg, held_at)
        return swivel, axis_setting(self.fixture, "tilt", self.tilt_deg, held_at)

    @cached_property
    def held(self) -> Held:
        """Where plate and fence stand, and what wedges make up for want of an axis."""
        return held(self.fixture, self.swivel_deg, self.tilt_deg)

    @property
    def swivel_way(self) -> str:
        """Which way the swivel goes, in words; "" at zero, which 0.0005° is as a person reads."""
        return self.axes[0].way

    @property
    def tilt_way(self) -> str:
        """The same of the tilt."""
        return self.axes[1].way

    @property
    def scale_swivel_deg(self) -> float:
        """The figure that the swivel's scale must show for the true angle, by what is known of it
        there and as it is numbered."""
        return self.axes[0].figure_deg

    @property
    def scale_tilt_deg(self) -> float:
        """The same of the tilt's scale."""
        return self.axes[1].figure_deg

    @property
    def packing_deg(self) -> float:
        """The turn about the stock's own length that a wedge must give; 0 where none is needed."""
        return self._chosen.packing_deg

    @property
    def packing(self) -> Packing | None:
        """What to do for ``packing_deg``; None where the cut is right without."""
        kappa = self.packing_deg
        part = self.end.part
        across, feed = part.width_mm, part.thickness_mm
        if self._chosen.side % 2 == 1:
            across, feed = feed, across
        # A turn from X towards Y presses the right-hand edge on and lifts the left one.
        thick_end = self.sides["left" if kappa > 0 else "right"]
        thin = self.fixture.practice.wedge_thin_mm
        found = packing_of(kappa, across, feed, thin, thick_end)
        return None if found.error_if_ignored_mm < LEAST_ERROR_MM else found

    @property
    def overhang_mm(self) -> float:
        """From the plate's lower edge down to the lowest corner of the square end."""
        return self._chosen.clamped.overhang_mm

    @property
    def overhang_trimmed_mm(self) -> float:
        """The same to the end as it stands when the clamping begins."""
        return self.plan.overhang_trimmed_mm

    @property
    def trim_mm(self) -> float:
        """Depth of the trim plane above the lowest corner of the square end, as clamped."""
        return self.plan.trim_mm

    @property
    def cutter(self) -> str:
        return self.plan.cutter.name

    @property
    def kerf_mm(self) -> float:
        return self.plan.cutter.kerf_mm

    @property
    def cuts(self) -> tuple[Cut, ...]:
        """From the touch-off corner, left to right."""
        return self.plan.cuts

    @property
    def depths_mm(self) -> tuple[float, ...]:
        """Every depth once, ascending."""
        return tuple(sorted({c.depth_mm for c in self.cuts}))

    @property
    def heights(self) -> CutterHeights:
        scale = self.fixture.cutter_height
        low = self._chosen.clamped.lowest_mm - scale.datum_z_mm
        most = self.plan.cutter.depth_per_pass_mm
        trim = low + self.trim_mm
        steps = [depth_steps(d, most) for d in self.depths_mm]
        return CutterHeights(
            scale.datum,
            trim,
            tuple((d, trim + d) for d in self.depths_mm),
            tuple(low + d for d in depth_steps(self.trim_mm, most)),
            tuple(tuple(trim + d for d in each) for each in steps),
        )

    @cached_property
    def touch_off(self) -> TouchOff:
        notch, chosen = self.plan.notch, self._chosen
        end = corner_points(notch, 0.0, self.end.corners)
        across = [chosen.sense * point_across(notch, p) for p in end]
        # Edges that stand level touch off alike, and the first of them is named: 1e-9 mm is
        # rounding and no difference.
        first = next(i for i, a in enumerate(across) if a <= min(across) + 1e-9)
        edge = edge_names(self.end.part.x_from)[first]
        level = chosen.clamped.machine(notch.at)[0] + min(across)
        return TouchOff(edge, self.plan.corner_x_mm, self.plan.corner_x_mm - level)

    @property
    def candidates(self) -> tuple[Clamping, ...]:
        """Every way to clamp this end, the chosen one among them."""
        return tuple(self._candidate(c) for c in self.plan.candidates)

    def _candidate(self, c: Candidate) -> Clamping:
        sides, checks = clamped_sides(c.side, self.end.part.x_from), self.plan.checks(c)
        status: Status | None = None
        fails: tuple[str, ...] = ()
        if checks is not None:
            status, fails = worst(checks), failing(checks)
        elif not c.in_range:
            status, fails = "fail", tuple(f"{axis}_range" for axis in c.out_of)
        return Clamping(
            sides["plate"],
            sides[self.fixture.fence.side],
            c.swivel_deg,
            c.tilt_deg,
            c.packing_deg,
            c.gap_mm,
            c.in_range,
            c.degenerate,
            c is self._chosen,
            checks is not None,
            status,
            fails,
        )

    @property
    def chosen_because(self) -> str:
        """Why this clamping and no other."""
        return self.plan.because

    @property
    def by_hand(self) -> ByHand | None:
        """What it costs that a person chose; None where the library did."""
        library = self.plan.library
        if library is None:
            return None
        differs = library.chosen is not self._chosen or library.cutter is not self.plan.cutter
        mine, own = (_margins(plan.checks() or ()) for plan in (self.plan, library))
        costs = [
            Cost(name, unit, mine.get((name, unit)), own.get((name, unit)))
            for name, unit in dict.fromkeys((*mine, *own))
        ]
        side = clamped_sides(library.chosen.side, self.end.part.x_from)["plate"]
        changed = tuple(c for c in costs if not _same(c.margin, c.library_margin))
        return ByHand(side, library.cutter.name, differs, changed if differs else ())

    @cached_property
    def cautions(self) -> tuple[str, ...]:
        """What this setup does to hands and loose pieces, beside what holds for every machine."""
        return setup_cautions(Context(self.fixture, self.end, self.plan))

    @cached_property
    def budget(self) -> Budget:
        """How far off the cuts may be, and by what."""
        return setup_budget(self.plan, self.fixture)

    @property
    def closing(self) -> Closing | None:
        """How the shoulder closes; None at an end that no other bar comes to."""
        return self.budget.closing if self.end.part.meets else None

    def needed_deg(self, axis: str) -> float | None:
        """How closely an axis must be set, ±, for the joint to close: inf where any angle will do,
        None where there is no joint to close."""
        return None if self.closing is None else self.closing.needed_deg[axis]

    @cached_property
    def aids(self) -> tuple[Aid, ...]:
        """Ways to set both axes better than by their scales; the best of each axis first."""
        return setting_aids(self.plan, self.fixture, self.closing)


def _margins(checks: Sequence[Check]) -> dict[tuple[str, str], float]:
    """The least margin of each check by name and unit; there is one for each front beam."""
    out: dict[tuple[str, str], float] = {}
    for c in checks:
        out[c.name, c.unit] = min(c.margin, out.get((c.name, c.unit), c.margin))
    return out


def _same(a: float | None, b: float | None) -> bool:
    """Within 1e-9 mm or degree, which is rounding."""
    return a == b or (a is not None and b is not None and abs(a - b) < 1e-9)
