"""Feasibility: will it fit, by how much, and what to change where it does not.

Knows plans, checks and joint types' contract; computes no geometry of its own. An
infeasible joint is an answer, never an exception.
"""

from __future__ import annotations

from typing import Any

import attrs

from jointgeo.checks.accuracy import accuracy_checks
from jointgeo.checks.context import Bench
from jointgeo.checks.fouling import fouling_checks
from jointgeo.checks.machine import machine_checks
from jointgeo.checks.wood import wood_checks
from jointgeo.errors import InputError, PluginError, shown
from jointgeo.fixtures.model import Fixture
from jointgeo.joints.check import Check, Status, worst
from jointgeo.joints.joint_type import JointType
from jointgeo.planning.setups import EndPlan, plan_end
from jointgeo.solution.settings import HANDS, Hand

__all__ = ["Feasibility", "check_end", "check_feasibility"]


@attrs.frozen(eq=False)
class Feasibility:
    """The answer of ``check_feasibility``; ``to_dict`` gives the JSON contract's form.

    status: the worst of all checks; feasible: no check fails (a caution is feasible).
    """

    joint_type: str
    fixture: str
    checks: tuple[Check, ...]

    @property
    def status(self) -> Status:
        return worst(self.checks)

    @property
    def feasible(self) -> bool:
        return self.status != "fail"

    def to_dict(self) -> dict[str, Any]:
        """Plain data: numbers, text, lists and tables only."""
        return {
            "joint_type": self.joint_type,
            "fixture": self.fixture,
            "feasible": self.feasible,
            "status": self.status,
            "checks": [c.as_dict() for c in self.checks],
        }


def check_feasibility(joint: JointType, fixture: Fixture, hand: Hand = "as_drawn") -> Feasibility:
    """Every check of ``joint`` on ``fixture``, those of the joint type itself included."""
    if hand not in HANDS:
        raise InputError.of("hand", "is not a choice", shown(hand), 'one of "as_drawn", "mirrored"')
    own = joint.own_feasibility(fixture, hand)
    if own is not None:
        if not isinstance(own, Feasibility):
            raise PluginError(
                f"{joint.name}.own_feasibility must give a Feasibility, not {type(own)!r}"
            )
        return own
    checks: list[Check] = []
    for part in joint.parts():
        shaped = part.mirrored() if hand == "mirrored" else part
        checks.extend(check_end(plan_end(shaped, fixture), fixture))
    return Feasibility(joint.name, fixture.name, (*checks, *joint.checks()))


def check_end(plan: EndPlan, fixture: Fixture) -> tuple[Check, ...]:
    """The library's checks of one cut end; none for a part that is only laid out."""
    if not plan.setups:
        return ()
    out: list[Check] = []
    for number, setup in enumerate(plan.setups, 1):
        bench = Bench(fixture, plan, setup)
        found = [*machine_checks(bench), *fouling_checks(bench), *accuracy_checks(setup, fixture)]
        out += [attrs.evolve(c, part=plan.part.name, setup=number) for c in found]
    out += [attrs.evolve(c, part=plan.part.name) for c in wood_checks(plan)]
    return tuple(out)
