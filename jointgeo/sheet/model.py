"""What one sheet is about: settings, checks and joints, whether of a job or of one joint.

Knows solved jobs and solved joints; makes no page and no drawing, and plans nothing again. The
page and the drawings ask this and nothing else, so a job's sheet and a joint's are one.
"""

from __future__ import annotations

from functools import cached_property
from typing import Any

import attrs

from jointgeo.checks.context import Context
from jointgeo.fixtures.model import Fixture
from jointgeo.jobs.solve import JobAnswer
from jointgeo.joints.check import Check, Verdict, unanswered, worst
from jointgeo.joints.joint_type import JointType
from jointgeo.planning.end_plan import SetupPlan
from jointgeo.sheet.gluing import Meeting, meetings
from jointgeo.sheet.scene import Scene
from jointgeo.solution.end import EndSolution
from jointgeo.solution.serialise import end_settings
from jointgeo.solution.setup import Hand, Setup
from jointgeo.solution.solution import Solution, solve

__all__ = ["EndSheet", "JointSheet", "SetupSheet", "Sheet", "sheet_of_job", "sheet_of_joint"]


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
    """One setting, and its number on the sheet."""

    number: int
    solution: EndSolution
    checks: tuple[Check, ...]

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
        return self.solution.part.name

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


@attrs.frozen(eq=False)
class Sheet:
    """ends: each setting once, in the order to cut them. meetings: members with two joints.
    fixture_source: as of a ``Job``. fixture_edition: of the fixture's file; "" where not told."""

    title: str
    fixture: Fixture
    ends: tuple[EndSheet, ...]
    joints: tuple[JointSheet, ...]
    meetings: tuple[Meeting, ...]
    fixture_source: str = ""
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


def sheet_of_job(answer: JobAnswer) -> Sheet:
    """The sheet of a solved job."""
    ends = tuple(EndSheet(i, e, e.checks) for i, e in enumerate(answer.ends, 1))
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
    names = {end.part.name for end in cut}
    ends = tuple(
        EndSheet(i, e, tuple(c for c in answer.checks if _cut(c) and c.part == e.part.name))
        for i, e in enumerate(cut, 1)
    )
    rest = tuple(c for c in answer.checks if not _cut(c) or c.part not in names)
    name = title or joint.name.replace("_", " ")
    if hand == "mirrored":
        name += ", mirrored"
    return Sheet(name[:1].upper() + name[1:], fixture, ends, (JointSheet(name, answer, rest),), ())


def _cut(check: Check) -> bool:
    """Whether it is about one clamping, and not about the joint."""
    return check.setup is not None
