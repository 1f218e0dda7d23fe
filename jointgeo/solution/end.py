"""One end of one bar on one fixture: its setups, its marks, and whether it can be cut.

Knows plans, setups and the library's checks; knows no joint type and no JSON. Planned once; each
part is worked out when it is first asked for, and kept.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from functools import cached_property, partial
from typing import Literal

import attrs

from jointgeo.checks.accuracy import accuracy_checks, known_checks
from jointgeo.checks.clearance import clearance_checks
from jointgeo.checks.context import Context
from jointgeo.checks.cutting import cutting_checks
from jointgeo.checks.fouling import fouling_checks
from jointgeo.checks.holding import holding_checks
from jointgeo.checks.machine import machine_checks
from jointgeo.checks.wood import wood_checks
from jointgeo.fixtures.model import Fixture
from jointgeo.joints.check import Check, Verdict, worst
from jointgeo.joints.drawing import Verify
from jointgeo.joints.sides import edge_names
from jointgeo.joints.stock import Part
from jointgeo.planning.choice import NO_WISH, Wish
from jointgeo.planning.end_plan import EndPlan, SetupPlan, plan_end
from jointgeo.planning.in_turn import InTurn
from jointgeo.solution.setup import Hand, Setup

__all__ = ["EndSolution", "Line", "Use", "can_fail", "solve_end"]


@attrs.frozen
class Use:
    """Who is cut at these settings: a member's end, its hand, and how many."""

    member: str
    end: Literal["near", "far"]
    hand: Hand
    count: int


@attrs.frozen
class Line:
    """A line to mark. line: "trim", "shoulder" or "floor"; at_mm: where it crosses the four long
    edges, by their names, from the blank's square end."""

    line: str
    at_mm: dict[str, float]


@attrs.frozen(eq=False, slots=False)
class EndSolution:
    """part: as cut, its hand settled; uses: the pieces it is cut for."""

    part: Part
    fixture: Fixture
    uses: tuple[Use, ...]
    plan: EndPlan

    @property
    def blank_mm(self) -> float:
        """Length of the blank before anything is cut."""
        return self.plan.blank_mm

    @cached_property
    def setups(self) -> Sequence[Setup]:
        """In the order they are cut, each planned when it is first asked for; none for a bar that
        is only laid out."""
        plan, fixture = self.plan, self.fixture  # and not this end, which would hold itself

        def following(earlier: tuple[Setup, ...]) -> Setup:
            at = len(earlier)
            return Setup(at + 1, plan.setups[at], plan, fixture)

        return InTurn(len(plan.setups), following)

    @property
    def marks(self) -> tuple[Line, ...]:
        """Where trim, shoulders and the bottom of the cuts cross the four long edges."""
        names = edge_names(self.part.x_from)
        return tuple(
            Line(line, dict(zip(names, z, strict=True)))
            for line, planes in self.plan.lines().items()
            for _, z in planes
        )

    @property
    def verify(self) -> tuple[Verify, ...]:
        """What to measure on the cut end, in cutting order, and then what the joint says."""
        return (*itertools.chain.from_iterable(map(_measured, self.setups)), *self.part.verify)

    @cached_property
    def checks(self) -> tuple[Check, ...]:
        """The library's checks of this end; none where nothing is cut."""
        if not self.setups:
            return ()
        out: list[Check] = []
        glue_line_mm = self.fixture.practice.glue_line_mm
        for setup in self.setups:
            known = setup.plan.checks()
            if known is None:
                known = can_fail(self.fixture, self.plan, setup.plan)
            context = Context(self.fixture, self.plan, setup.plan)
            told = known_checks(self.fixture, setup.plan.cutter.name)
            exact = accuracy_checks(setup.budget, meets=self.part.meets)
            found = (*known, *cutting_checks(context), *told, *exact)
            out += [c.of(self.part.name, setup.number) for c in found]
        whole = *wood_checks(self.plan), *clearance_checks(self.plan, glue_line_mm)
        out += [c.of(self.part.name) for c in whole]
        return tuple(out)

    @property
    def status(self) -> Verdict:
        return worst(self.checks)


def can_fail(fixture: Fixture, plan: EndPlan, setup: SetupPlan) -> tuple[Check, ...]:
    """The checks of one setup that depend on how it is clamped and can fail: a clamping is chosen
    by them. A check that can only caution, or that holds for the whole end, does not belong here.
    """
    context = Context(fixture, plan, setup)
    return (*machine_checks(context), *holding_checks(context), *fouling_checks(context))


def solve_end(
    part: Part,
    fixture: Fixture,
    uses: tuple[Use, ...],
    other_allowance_mm: float = 0.0,
    wish: Wish = NO_WISH,
) -> EndSolution:
    """One end for the given pieces.

    other_allowance_mm: what the member's other end needs beyond its own datum. wish: what a
    person chooses; InputError as ``plan_end`` raises it.
    """
    judge = partial(can_fail, fixture)
    plan = plan_end(part, fixture, other_allowance_mm, judge, wish)
    return EndSolution(part, fixture, uses, plan)


def _measured(setup: Setup) -> Iterator[Verify]:
    where, cuts = f"clamping {setup.number}", setup.cuts
    for i, (c, d) in enumerate(itertools.pairwise(cuts), 1):
        if d.left_mm > c.right_mm:
            what = f"{where}: wood left between cut {i} and cut {i + 1}, square across"
            yield Verify(what, d.left_mm - c.right_mm, "calipers")
    for i, c in enumerate(cuts, 1):
        if not c.outer:
            what = f"{where}: width of cut {i}, square across"
            yield Verify(what, c.right_mm - c.left_mm, "calipers")
    for depth in setup.depths_mm:
        which = [str(i) for i, c in enumerate(cuts, 1) if c.depth_mm == depth]
        of = f"cut {', '.join(which)}: " if len(which) < len(cuts) else ""
        yield Verify(
            f"{where}: {of}depth below the trimmed end, square to it", depth, "depth gauge"
        )
