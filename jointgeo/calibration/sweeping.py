"""The error budget of named joints over a range of one axis's angles, as the command shows it.

Knows budgets, jobs, the registry and plans; prints nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import attrs
import numpy as np

from jointgeo.errors import InputError, Problem
from jointgeo.fixtures.file import load_fixture
from jointgeo.fixtures.model import Fixture
from jointgeo.jobs.file import Job, demo_jobs, load_job
from jointgeo.jobs.named import tell_of_file_here
from jointgeo.joints.joint_type import JointType
from jointgeo.joints.registry import joint_type, joint_types
from jointgeo.planning.end_plan import SetupPlan
from jointgeo.schema.fields import angle, choice, count
from jointgeo.solution.solution import solve
from jointgeo.uncertainty.budget import Budget, setup_budget

__all__ = ["NamedSetup", "Sweep", "SweepQuestion", "named_cut", "named_setups", "sweep_text"]


@attrs.frozen(eq=False)
class NamedSetup:
    """One setup, with the words a person finds it by."""

    name: str
    fixture: Fixture
    setup: SetupPlan


@attrs.frozen(eq=False)
class Sweep:
    """One setup's budget at each of the angles of ``axis``, everything else as it is."""

    name: str
    axis: str
    budgets: tuple[Budget, ...]

    @property
    def closes(self) -> bool:
        """Whether the joint closes at every angle."""
        return all(b.closes for b in self.budgets)

    def to_dict(self) -> dict[str, Any]:
        return {
            "name": self.name,
            "axis": self.axis,
            "closes": self.closes,
            "budgets": [b.to_dict() for b in self.budgets],
        }


@attrs.frozen
class SweepQuestion:
    """Which axis, from where to where, in how many steps."""

    axis: str = choice("Axis that is swept", ("swivel", "tilt"), default="tilt")
    from_deg: float | None = angle(
        "First angle; the axis's least if not given", low=-89, high=89, default=None
    )
    to_deg: float | None = angle(
        "Last angle; the axis's greatest if not given", low=-89, high=89, default=None
    )
    steps: int = count("Number of angles, both ends counted", low=2, high=10_000, default=7)

    def answer(self, found: NamedSetup) -> Sweep:
        """The sweep of one setup; InputError where the range is empty."""
        limits = found.fixture.swivel if self.axis == "swivel" else found.fixture.tilt
        low = limits.min_deg if self.from_deg is None else self.from_deg
        high = limits.max_deg if self.to_deg is None else self.to_deg
        if low >= high:
            allowed = f"less than to_deg = {high:g} deg"
            raise InputError(Problem("from_deg", "is not below to_deg", f"{low:g}", allowed, "deg"))
        key, steps = f"{self.axis}_deg", np.linspace(low, high, self.steps).tolist()
        budgets = [setup_budget(found.setup, found.fixture, **{key: a}) for a in steps]
        return Sweep(found.name, self.axis, tuple(budgets))


def named_setups(name: str, fixture: str | None = None) -> tuple[NamedSetup, ...]:
    """Every setup of a joint type's first example (on ``fixture``, "porch" if None), or of a job.

    A joint type's name goes before a job's. Raises InputError for a name of neither. Where a file
    of a name that ships lies here, stderr is told which is meant.
    """
    if _is_type(name):
        use = load_fixture(fixture or "porch")
        return tuple(_setups(name, joint_type(name).examples()[0], use))
    job = load_job(name)
    use = load_fixture(fixture) if fixture is not None else job.fixture
    return tuple(s for j in job.joints for s in _setups(j.name, j.joint, use))


def named_cut(name: str) -> JointType | Job:
    """A joint type's first example, or a job; found as ``named_setups`` does."""
    return joint_type(name).examples()[0] if _is_type(name) else load_job(name)


def _is_type(name: str) -> bool:
    """Whether a joint type is named, and not a job; said of either where a file could be meant."""
    found = name in joint_types()
    if found or any(name in names for names in demo_jobs().values()):
        tell_of_file_here(name, "joint type" if found else "job")
    return found


def _setups(name: str, joint: JointType, fixture: Fixture) -> Iterator[NamedSetup]:
    for setup in solve(joint, fixture).setups:
        yield NamedSetup(f"{name}, {setup.part}, clamping {setup.number}", fixture, setup.plan)


def sweep_text(sweep: Sweep) -> str:
    """The sweep as a small table: the gap at 95 %, the rest at k = 2; lengths in millimetres."""
    there = sweep.budgets[0].names
    shown = [name for name in ("shoulder_gap", "cheek_fit", "depth") if name in there]
    heads = " ".join(f"{name:>12}" for name in shown)
    lines = [
        f"{sweep.name}; the gap at 95 %, the rest at k = 2; mm",
        f"{sweep.axis + ' °':>9} {heads}  closes",
    ]
    for budget in sweep.budgets:
        angle = budget.swivel_deg if sweep.axis == "swivel" else budget.tilt_deg
        values = " ".join(f"{budget[name].expanded:12.4f}" for name in shown)
        lines.append(f"{angle:9.3f} {values}  {'yes' if budget.closes else 'no'}")
    return "\n".join(lines)
