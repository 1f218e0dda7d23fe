"""One cut end on one fixture, worked out: the numbers behind settings and checks.

Knows parts, fixture and clampings; knows no joint type and no JSON, and makes no
check: who judges a clamping hands the judging in. Settings and feasibility come of one plan.

Theory. Notches with one frame are one setup, clamped one of two ways (see ``clampings`` for the
preferred one, ``choice`` for the one taken); each setup is chosen with what the earlier ones
leave.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cached_property

import attrs

from jointgeo.errors import InputError, PluginError, shown
from jointgeo.fixtures.model import Cutter, Fixture
from jointgeo.geometry.rotations import Vector, dot
from jointgeo.geometry.vectors import Z
from jointgeo.joints.check import Check
from jointgeo.joints.drawing import Channel
from jointgeo.joints.sides import in_words
from jointgeo.joints.stock import Part, StockNotch
from jointgeo.planning.blank import Corner, allowance_mm, heights, point_across, section
from jointgeo.planning.choice import NO_WISH, Wish, honest, taken
from jointgeo.planning.clampings import Candidate
from jointgeo.planning.frame import SAME, Frame, SetupPlan
from jointgeo.planning.in_turn import InTurn

__all__ = [
    "LINE_WORDS",
    "EndJudge",
    "EndPlan",
    "SetupPlan",
    "end_allowance",
    "every_clamping",
    "plan_end",
]

#: A line that a person marks, by its name in answers: what it is called, in full and in short. A
#: floor is the room's for a person, and never the end of a cut.
LINE_WORDS = {
    "trim": ("trim line", "trim"),
    "shoulder": ("shoulder line", "shoulder"),
    "floor": ("bottom of the cuts", "bottom"),
}


@attrs.frozen(eq=False)
class EndPlan:
    """All setups of one end. part: as cut (hand and x_from settled); allowance_mm: how far
    the blank's square end lies beyond the length datum; blank_mm: the whole blank. setups: in the
    order they are cut, each planned when it is first asked for."""

    part: Part
    allowance_mm: float
    blank_mm: float
    setups: Sequence[SetupPlan]

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


#: The checks, of those that can fail, of one setup; the plan holds it and the setups before it.
EndJudge = Callable[[EndPlan, SetupPlan], tuple[Check, ...]]


def plan_end(
    part: Part,
    fixture: Fixture,
    other_allowance_mm: float = 0.0,
    judge: EndJudge | None = None,
    wish: Wish = NO_WISH,
) -> EndPlan:
    """Work out every setup of one end.

    other_allowance_mm: what the member's other end needs beyond its own datum. judge: without
    one, each setup takes its preferred clamping unjudged. wish: InputError, at the wish's own
    field, where no setup can be clamped so or the fixture has no such cutter.
    """
    fixture = fixture.corrected
    plan, frames = _begun(part, fixture, other_allowance_mm)
    _granted(wish, frames, fixture)
    own, blank = plan.allowance_mm, plan.blank_mm

    def following(earlier: tuple[SetupPlan, ...]) -> SetupPlan:
        before = EndPlan(part, own, blank, earlier)
        return _chosen(frames[len(earlier)], before, judge, wish)

    return EndPlan(part, own, blank, InTurn(len(frames), following))


def every_clamping(
    part: Part, fixture: Fixture, other_allowance_mm: float = 0.0
) -> tuple[tuple[EndPlan, ...], ...]:
    """For each setup, in the order they are cut, a plan for each of its clampings, the preferred
    first; the last setup of each plan is the one in question. Nothing is judged."""
    fixture = fixture.corrected
    plan, frames = _begun(part, fixture, other_allowance_mm)
    out = []
    for frame in frames:
        setups = [frame.setup(candidate, frame.cutter()) for candidate in frame.ordered]
        out.append(tuple(attrs.evolve(plan, setups=(*plan.setups, s)) for s in setups))
        plan = out[-1][0]
    return tuple(out)


def _begun(
    part: Part, fixture: Fixture, other_allowance_mm: float
) -> tuple[EndPlan, Sequence[Frame]]:
    """A plan without setups yet, and the frame of each setup to come; fixture: corrected."""
    together = merged(part)
    own = _allowance(part, together, fixture)
    blank = own + part.length_mm + other_allowance_mm
    notches = tuple(StockNotch(n.rows, n.at + Z * own, n.channels) for n in together)

    def following(earlier: tuple[Frame, ...]) -> Frame:
        index = len(earlier)
        return Frame.of(part, fixture, blank, notches[index], notches[:index])

    return EndPlan(part, own, blank, ()), InTurn(len(notches), following)


def _granted(wish: Wish, frames: Sequence[Frame], fixture: Fixture) -> None:
    if not wish:
        return
    sides = dict.fromkeys(frame.plate(c) for frame in frames for c in frame.ordered)
    if wish.against_plate is not None and wish.against_plate not in sides:
        raise InputError.of(
            "against_plate",
            "is no side that this end can be clamped on",
            shown(wish.against_plate),
            "one of " + ", ".join(f'"{side}"' for side in sides),
        )
    names = [c.name for c in fixture.cutter]
    if wish.cutter is not None and wish.cutter not in names:
        allowed = "one of " + ", ".join(f'"{name}"' for name in names)
        raise InputError.of("cutter", "is no cutter of the fixture", shown(wish.cutter), allowed)


def _chosen(frame: Frame, before: EndPlan, judge: EndJudge | None, wish: Wish) -> SetupPlan:
    """The setup for one frame after those of ``before``."""
    ordered = frame.ordered
    own = _taken(frame, ordered, frame.cutter(), before, judge)
    if not wish:
        return own
    sides = [c for c in ordered if frame.plate(c) == wish.against_plate]
    if not sides and wish.cutter is None:
        return own
    setup = _taken(frame, sides or ordered, frame.cutter(wish.cutter), before, judge)
    if setup.chosen is own.chosen and setup.cutter is own.cutter:
        return attrs.evolve(own, because="asked for; the library takes the same", library=own)
    says = f"asked for; the library takes the {in_words(frame.plate(own.chosen))} on the plate "
    # What a choice costs is for a person to see, so both are judged whatever was needed to choose.
    setup, own = _judged(setup, before, judge), _judged(own, before, judge)
    judged = honest(
        setup.chosen, (*setup.judged, *(j for j in own.judged if j[0] is not setup.chosen))
    )
    return attrs.evolve(
        setup, because=f"{says}and cuts with {own.cutter.name}", judged=judged, library=own
    )


def _taken(
    frame: Frame,
    ordered: list[Candidate],
    cutter: Cutter,
    before: EndPlan,
    judge: EndJudge | None,
) -> SetupPlan:
    """The first of ``ordered`` that fails nothing, else the first of all; see ``choice``."""
    planned: dict[float, SetupPlan] = {}

    def plan(candidate: Candidate) -> SetupPlan:
        if candidate.sense not in planned:
            planned[candidate.sense] = frame.setup(candidate, cutter)
        return planned[candidate.sense]

    def checks(candidate: Candidate) -> tuple[Check, ...]:
        return _checks(plan(candidate), before, judge)

    found = taken(ordered, checks if judge else None, frame.plate)
    known = planned.get(found.candidate.sense)
    if known is None:
        return frame.setup(found.candidate, cutter, found.because)
    return attrs.evolve(known, because=found.because, judged=found.judged)


def _checks(setup: SetupPlan, before: EndPlan, judge: EndJudge | None) -> tuple[Check, ...]:
    """Of the setup as the next one after those of ``before``."""
    if judge is None:
        return ()
    return judge(attrs.evolve(before, setups=(*before.setups, setup)), setup)


def _judged(setup: SetupPlan, before: EndPlan, judge: EndJudge | None) -> SetupPlan:
    """The same, with its checks."""
    if judge is None or setup.checks() is not None:
        return setup
    more = (setup.chosen, _checks(setup, before, judge))
    return attrs.evolve(setup, judged=(*setup.judged, more))
