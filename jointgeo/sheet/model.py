"""What one sheet is about: settings, checks and joints, whether of a job or of one joint.

Knows solved jobs and solved joints; makes no page and no drawing, and plans nothing again. The
page and the drawings ask this and nothing else, so a job's sheet and a joint's are one.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from functools import cached_property, lru_cache
from typing import Any

import attrs

from jointgeo.checks.context import Context
from jointgeo.fixtures.model import Fixture
from jointgeo.jobs.report import joints_of, short_of
from jointgeo.jobs.solve import JobAnswer
from jointgeo.joints.check import Check, Verdict, unanswered, worst
from jointgeo.joints.dimensions import Length, dimensions
from jointgeo.joints.joint_type import JointType
from jointgeo.planning.end_plan import SetupPlan
from jointgeo.proof import dry_fit
from jointgeo.sheet.gluing import Meeting, meetings
from jointgeo.sheet.scene import Scene
from jointgeo.sheet.wood import Shape
from jointgeo.solution.end import EndSolution
from jointgeo.solution.serialise import end_settings
from jointgeo.solution.setup import Hand, Setup
from jointgeo.solution.solution import Solution, solve

#: Dry fits that are kept; a fit is a few numbers.
KEPT = 128

__all__ = [
    "EndSheet",
    "JointSheet",
    "SetupSheet",
    "Sheet",
    "failing",
    "sheet_of_job",
    "sheet_of_joint",
]


@attrs.frozen(eq=False)
class SetupSheet:
    """One clamping: its numbers, and what it looks like."""

    setup: Setup
    scene: Scene

    @property
    def number(self) -> int:
        return self.setup.number

    @property
    def plan(self) -> SetupPlan:
        return self.setup.plan

    @property
    def nearest_edge(self) -> str:
        return self.setup.touch_off.nearest_edge


@attrs.frozen(eq=False, slots=False)
class EndSheet:
    """One operation, and its number on the sheet. stops: what fails of it and of all that goes with
    it; while there is any, nothing of it is to be cut. called: what its pieces are, where that is
    not the part's own name."""

    number: int
    solution: EndSolution
    checks: tuple[Check, ...]
    stops: tuple[Check, ...] = ()
    called: str = ""

    @cached_property
    def data(self) -> dict[str, Any]:
        """Its table of the JSON contract's ``settings``."""
        return end_settings(self.solution)

    @cached_property
    def setups(self) -> tuple[SetupSheet, ...]:
        end = self.solution
        contexts = (Context(end.fixture, end.plan, s.plan) for s in end.setups)
        return tuple(SetupSheet(s, Scene(c)) for s, c in zip(end.setups, contexts, strict=True))

    @property
    def part(self) -> str:
        return self.called or self.solution.part.name

    def checks_of(self, setup: int | None) -> tuple[Check, ...]:
        return tuple(c for c in self.checks if c.setup == setup)


@attrs.frozen(eq=False, slots=False)
class JointSheet:
    """One joint as drawn."""

    name: str
    solution: Solution
    checks: tuple[Check, ...]

    @cached_property
    def data(self) -> dict[str, Any]:
        """The JSON contract's ``settings``."""
        return self.solution.settings_dict()

    @cached_property
    def shape(self) -> Shape:
        """What its pictures look at."""
        return Shape.of(self.solution.drawing)

    @cached_property
    def fit(self) -> Fit:
        """What comes of cutting it from its settings alone and putting it together; the same
        settings are put together once. MissingExtraError without the kernel."""
        return _dry_fit(json.dumps(self.data))

    @cached_property
    def lengths(self) -> frozenset[str]:
        """Bars whose length is a parameter; of the others only as much as shows the joint is
        drawn."""
        found = dimensions(type(self.solution.joint)).values()
        places = [p for d in found if isinstance(d, Length) for p in (d.a, d.b)]
        named = [p for p in places if isinstance(p, str)]
        return frozenset(p.removesuffix(".far") for p in named if p.endswith(".far"))


@attrs.frozen(eq=False)
class Sheet:
    """ends: each operation once, in the order to cut them. meetings: members with two joints.
    fixture_source: as of a ``Job``. explains: whether it tells what the joint's numbers mean.
    fixture_edition: of the fixture's file; "" where not told."""

    title: str
    fixture: Fixture
    ends: tuple[EndSheet, ...]
    joints: tuple[JointSheet, ...]
    meetings: tuple[Meeting, ...]
    fixture_source: str = ""
    explains: bool = False
    fixture_edition: str = ""

    @property
    def checks(self) -> tuple[Check, ...]:
        """Those of every end, then of every joint."""
        groups = [e.checks for e in self.ends] + [j.checks for j in self.joints]
        return tuple(c for checks in groups for c in checks)

    @property
    def status(self) -> Verdict:
        return worst(self.checks)

    @property
    def not_stated(self) -> int:
        """How many questions the fixture file does not answer."""
        return unanswered(self.checks)


@attrs.frozen
class Fit:
    """What a sheet says of a dry fit."""

    verdict: str
    gap_mm: float
    overlap_mm3: float


@lru_cache(KEPT)
def _dry_fit(settings: str) -> Fit:
    found = dry_fit(json.loads(settings))
    return Fit(found.verdict, found.gap_mm, found.overlap_mm3)


def sheet_of_job(answer: JobAnswer) -> Sheet:
    """The sheet of a solved job."""
    short = short_of(answer)
    ends = tuple(
        EndSheet(i, e, e.checks, failing(e.checks, [short[n] for n in joints_of(answer, e)]))
        for i, e in enumerate(answer.ends, 1)
    )
    joints = tuple(JointSheet(j.name, j.solution, j.checks) for j in answer.joints)
    drawings = {j.name: j.solution.drawing for j in joints}
    job = answer.job
    met = meetings(job.members, drawings)
    return Sheet(job.title, job.fixture, ends, joints, met, job.fixture_source)


def sheet_of_joint(
    joint: JointType, fixture: Fixture, hand: Hand = "as_drawn", title: str = ""
) -> Sheet:
    """The sheet of one joint, every part once; ``title`` as a person calls it."""
    answer = solve(joint, fixture, hand)
    cut = [end for end in answer.ends if end.setups]
    stops = failing(answer.checks)
    ends = tuple(EndSheet(i, e, e.checks, stops) for i, e in enumerate(cut, 1))
    rest = answer.checks[sum(len(e.checks) for e in answer.ends) :]
    name = title or joint.name.replace("_", " ")
    if hand == "mirrored":
        name += ", mirrored"
    return Sheet(
        name[:1].upper() + name[1:],
        fixture,
        ends,
        (JointSheet(name, answer, rest),),
        (),
        explains=True,
    )


def failing(own: Iterable[Check], others: Iterable[Sequence[Check]] = ()) -> tuple[Check, ...]:
    """What fails, the end's own first, once each."""
    every = [*own, *(c for checks in others for c in checks)]
    found: list[Check] = []
    for check in every:
        if check.status == "fail" and check not in found:
            found.append(check)
    return tuple(found)
