"""What one sheet is about: settings, checks and joints, whether of a job or of one joint.

Knows solved jobs, settings and feasibility; makes no page and no drawing. The page and the
drawings ask this and nothing else, so a job's sheet and a joint's are one.
"""

from __future__ import annotations

from functools import cached_property
from typing import Any

import attrs

from jointgeo.checks.context import Context
from jointgeo.fixtures.model import Fixture
from jointgeo.jobs.solve import JobAnswer
from jointgeo.joints.check import Check, Status, worst
from jointgeo.joints.joint_type import JointType
from jointgeo.planning.setups import SetupPlan
from jointgeo.sheet.gluing import Meeting, meetings
from jointgeo.sheet.scene import Scene
from jointgeo.solution.feasibility import check_feasibility
from jointgeo.solution.settings import Hand, PartSettings, Settings, solve_settings

__all__ = ["EndSheet", "JointSheet", "SetupSheet", "Sheet", "sheet_of_job", "sheet_of_joint"]


@attrs.frozen(eq=False)
class SetupSheet:
    """One clamping. data: its table of the JSON contract's ``settings``."""

    number: int
    plan: SetupPlan
    data: dict[str, Any]
    scene: Scene

    @property
    def nearest_edge(self) -> str:
        return str(self.data["touch_off"]["nearest_edge"])


@attrs.frozen(eq=False)
class EndSheet:
    """One setting, and its number on the sheet."""

    number: int
    settings: PartSettings
    checks: tuple[Check, ...]

    @cached_property
    def data(self) -> dict[str, Any]:
        return self.settings.to_dict()

    @cached_property
    def setups(self) -> tuple[SetupSheet, ...]:
        plan = self.settings.plan
        return tuple(
            SetupSheet(i, s, d, Scene(Context(self.settings.fixture, plan, s)))
            for i, (s, d) in enumerate(zip(plan.setups, self.data["setups"], strict=True), 1)
        )

    def checks_of(self, setup: int | None) -> tuple[Check, ...]:
        return tuple(c for c in self.checks if c.setup == setup)


@attrs.frozen(eq=False)
class JointSheet:
    """One joint as drawn."""

    name: str
    settings: Settings
    checks: tuple[Check, ...]

    @cached_property
    def data(self) -> dict[str, Any]:
        return self.settings.to_dict()


@attrs.frozen(eq=False)
class Sheet:
    """ends: each setting once, in the order to cut them. meetings: members with two joints."""

    title: str
    fixture: Fixture
    ends: tuple[EndSheet, ...]
    joints: tuple[JointSheet, ...]
    meetings: tuple[Meeting, ...]

    @property
    def status(self) -> Status:
        groups = [e.checks for e in self.ends] + [j.checks for j in self.joints]
        return worst(tuple(c for checks in groups for c in checks))


def sheet_of_job(answer: JobAnswer) -> Sheet:
    """The sheet of a solved job."""
    ends = tuple(EndSheet(i, e.settings, e.checks) for i, e in enumerate(answer.ends, 1))
    joints = tuple(JointSheet(j.name, j.settings, j.checks) for j in answer.joints)
    settings = {j.name: j.settings for j in joints}
    return Sheet(
        answer.job.title, answer.job.fixture, ends, joints, meetings(answer.job.members, settings)
    )


def sheet_of_joint(
    joint: JointType, fixture: Fixture, hand: Hand = "as_drawn", title: str = ""
) -> Sheet:
    """The sheet of one joint, every part once; ``title`` as a person calls it."""
    settings = solve_settings(joint, fixture, hand)
    checks = check_feasibility(joint, fixture, hand).checks
    cut = [p for p in settings.parts if p.plan.setups]
    names = {p.part.name for p in cut}
    ends = tuple(
        EndSheet(i, p, tuple(c for c in checks if c.part == p.part.name and c.setup is not None))
        for i, p in enumerate(cut, 1)
    )
    rest = tuple(c for c in checks if c.setup is None or c.part not in names)
    name = title or joint.name.replace("_", " ")
    if hand == "mirrored":
        name += ", mirrored"
    return Sheet(
        name[:1].upper() + name[1:], fixture, ends, (JointSheet(name, settings, rest),), ()
    )
