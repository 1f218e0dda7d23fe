"""The answer for one joint on one fixture: settings, checks, and what comes of them.

Knows the joint type's contract and ends; knows no joint type by name and no JSON.

    >>> import jointgeo
    >>> leg = jointgeo.joint_type("splayed_bridle").examples()[0]
    >>> answer = jointgeo.solve(leg, jointgeo.load_fixture("porch"))
    >>> setup = answer.setups[0]
    >>> setup.against_plate, round(setup.swivel_deg, 4), answer.status
    ('back', 7.8274, 'caution')

Each end is planned once, and each part of the answer is worked out when it is first asked for. An
infeasible joint is an answer, never an exception: it has settings all the same.
"""

from __future__ import annotations

from functools import cached_property
from pathlib import Path
from typing import Any

import attrs

from jointgeo.errors import InputError, PluginError, shown
from jointgeo.fixtures.file import load_fixture
from jointgeo.fixtures.model import Fixture
from jointgeo.joints.check import Check, Verdict, unanswered, worst
from jointgeo.joints.drawing import Drawing, Pose
from jointgeo.joints.joint_type import JointType
from jointgeo.joints.stock import Part, part_of
from jointgeo.solution import serialise
from jointgeo.solution.end import EndSolution, Use, solve_end
from jointgeo.solution.setup import HANDS, Hand, Setup

__all__ = ["Solution", "solve"]


@attrs.frozen(eq=False, slots=False)
class Solution:
    """joint, fixture and hand as they were given to ``solve``."""

    joint: JointType
    fixture: Fixture
    hand: Hand

    @cached_property
    def drawing(self) -> Drawing:
        """Bars and cuts in the joint's world, on the hand asked for."""
        drawn = self.joint.drawing
        return drawn.mirrored if self.hand == "mirrored" else drawn

    @property
    def parts(self) -> tuple[Part, ...]:
        """Every bar in its own stock frame."""
        return tuple(end.part for end in self.ends)

    @cached_property
    def ends(self) -> tuple[EndSolution, ...]:
        """Every bar's end, those that are only laid out among them, in the drawing's order."""
        return tuple(self.end(bar.name) for bar in self.drawing.bars)

    def end(self, name: str) -> EndSolution:
        """The end of the part of that name, planned once and without the others; KeyError where
        there is none."""
        known = self._planned.get(name)
        if known is None:
            bar = {bar.name: bar for bar in self.drawing.bars}[name]
            use = Use(name, "near", self.hand, 1)
            part = part_of(self.drawing, bar)
            known = self._planned[name] = solve_end(part, self.fixture, (use,))
        return known

    @cached_property
    def _planned(self) -> dict[str, EndSolution]:
        return {}

    @property
    def setups(self) -> tuple[Setup, ...]:
        """Every setup of every end, in cutting order."""
        return tuple(s for end in self.ends for s in end.setups)

    @property
    def poses(self) -> tuple[Pose, ...]:
        """Where each end's bar stands in the assembled joint: world from its blank, z = 0 at the
        blank's square end, rows of a 4×4 matrix, mm."""
        return tuple(
            _from_blank(bar.pose, end.plan.allowance_mm)
            for bar, end in zip(self.drawing.bars, self.ends, strict=True)
        )

    @cached_property
    def checks(self) -> tuple[Check, ...]:
        """Every check: of each setup, of each end's wood, and the joint type's own."""
        return (*(c for end in self.ends for c in end.checks), *self.joint_checks)

    @cached_property
    def joint_checks(self) -> tuple[Check, ...]:
        """The joint type's own checks, which hold whatever the fixture."""
        own = self.joint.checks()
        if not (isinstance(own, tuple) and all(isinstance(c, Check) for c in own)):
            raise PluginError(
                f"{self.joint.name}.checks must give a tuple of Check, not {shown(own)}"
            )
        return own

    @property
    def status(self) -> Verdict:
        """The worst of all checks."""
        return worst(self.checks)

    @property
    def not_stated(self) -> int:
        """How many questions the fixture file does not answer; none of them counts as a pass."""
        return unanswered(self.checks)

    @property
    def feasible(self) -> bool:
        """No check fails; a caution is feasible."""
        return self.status != "fail"

    @property
    def notes(self) -> tuple[str, ...]:
        """Sentences a person should read before cutting."""
        own = self.joint.notes()
        if not (isinstance(own, tuple) and all(isinstance(n, str) for n in own)):
            raise PluginError(
                f"{self.joint.name}.notes must give a tuple of text, not {shown(own)}"
            )
        return own

    @property
    def _names(self) -> dict[str, Any]:
        return {"joint_type": self.joint.name, "fixture": self.fixture.name}

    def settings_dict(self, *, aids: bool = True) -> dict[str, Any]:
        """The JSON contract's ``settings``: enough to rebuild every cut without the library."""
        found = self.ends, self.drawing, self.poses, self.notes
        return self._names | serialise.settings(*found, aids=aids)

    def feasibility_dict(self) -> dict[str, Any]:
        """The JSON contract's ``feasibility``."""
        return self._names | serialise.feasibility(self.checks)

    def to_dict(self, *, aids: bool = True) -> dict[str, Any]:
        """Both in one table: plain numbers, text, lists and tables."""
        return self.settings_dict(aids=aids) | self.feasibility_dict()


def solve(joint: JointType, fixture: Fixture | str | Path, hand: Hand = "as_drawn") -> Solution:
    """The answer for ``joint`` on ``fixture``; ``hand`` may ask for the mirror image.

    fixture: one that was read, or its name or the path of its file. InputError for what is neither,
    and for a hand there is none of. What the joint type itself gets wrong is a PluginError, raised
    where that part of the answer is first asked for.
    """
    if hand not in HANDS:
        raise InputError.of("hand", "is not a choice", shown(hand), 'one of "as_drawn", "mirrored"')
    if isinstance(fixture, str | Path):
        fixture = load_fixture(fixture)
    for field, given, kind, allowed in (
        ("joint", joint, JointType, "a joint of a JointType's class"),
        ("fixture", fixture, Fixture, "a Fixture, the name of one, or the path of its file"),
    ):
        if not isinstance(given, kind):
            raise InputError.of(field, f"is no {field}", shown(given), allowed)
    return Solution(joint, fixture, hand)


def _from_blank(pose: Pose, allowance_mm: float) -> Pose:
    """A joint type measures z from its datum, a sheet from the blank's end."""
    *rows, last = pose
    return (*((x, y, z, at - allowance_mm * z) for x, y, z, at in rows), last)
