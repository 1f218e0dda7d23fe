"""How closely each axis must be set for a joint or a job to close, on a fixture as it is known.

Knows the solver and its error budgets; no reading.

``needed`` is the pair of tolerances that ``uncertainty.closing`` gives a setup: a·t_s + b·t_t is
the glue line and t_s : t_t is as the axes are known, which is what ``solve`` prints. Because that
pair shifts when one axis gets better known, a forecast for one axis goes by what the other leaves
it as it now stands,

    alone = (glue line - b·later) / a

with a, b millimetres a degree of this axis and the other, the worse diagonal counted.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import attrs

from jointgeo.fixtures.calibrated import axis_error, scale_figure
from jointgeo.fixtures.estimate import COVERAGE
from jointgeo.fixtures.model import Fixture
from jointgeo.fixtures.testcuts import AXES
from jointgeo.jobs.file import Job
from jointgeo.jobs.solve import solve_job
from jointgeo.joints.joint_type import JointType
from jointgeo.solution.solution import solve
from jointgeo.uncertainty.budget import Budget
from jointgeo.uncertainty.closing import DEAD

__all__ = ["Need", "joint_needs", "rough_need"]

#: Angles nearer than this are one, and its strictest need counts (degrees).
SAME_DEG = 0.005


@attrs.frozen
class Need:
    """What one axis must do at one angle, degrees. needed: how near (±) a cut must come; alone:
    the same while the other axis stays as it is known; weight: error that by itself opens the
    glue line. possible: whether it could be reached if every scale were known exactly."""

    needed: float
    alone: float
    weight: float
    possible: bool


def rough_need(limit_mm: float, across_mm: float, repeats_deg: float) -> Need:
    """Where no joint is known: two axes of one weight that err independently, across so much
    stock, atan(limit / size) / √2. Set off both at once they pass the limit by 41 %."""
    needed = math.degrees(math.atan(limit_mm / across_mm)) / math.sqrt(2.0)
    return Need(needed, needed, needed, COVERAGE * repeats_deg <= needed)


def joint_needs(cut: JointType | Job, fixture: Fixture) -> dict[str, dict[float, Need]]:
    """{axis: {true angle, to 0.001°: need}} of every setup of a joint as drawn, or of a job; an
    axis that moves no gap of any is not named. A job is solved on ``fixture``."""
    out: dict[str, dict[float, Need]] = {}
    for budget in _budgets(cut, fixture):
        for axis, angle, need in _of(budget, fixture):
            of_axis = out.setdefault(axis, {})
            known = next((a for a in of_axis if abs(a - angle) < SAME_DEG), angle)
            of_axis[known] = _stricter(of_axis.get(known, need), need)
    return out


def _budgets(cut: JointType | Job, fixture: Fixture) -> Iterator[Budget]:
    if isinstance(cut, Job):
        ends = solve_job(attrs.evolve(cut, fixture=fixture)).ends
        yield from (setup.budget for end in ends for setup in end.setups)
    else:
        yield from (setup.budget for setup in solve(cut, fixture).setups)


def _of(budget: Budget, fixture: Fixture) -> Iterator[tuple[str, float, Need]]:
    closing, limit = budget.closing, budget.limit_mm
    angles = {"swivel": budget.swivel_deg, "tilt": budget.tilt_deg}
    later = {a: scale_figure(fixture, a, angles[a]).known.later for a in AXES}
    repeats = {a: COVERAGE * axis_error(fixture, a).repeats for a in AXES}
    slopes = [{a: abs(d[f"{a}_deg"]) for a in AXES} for d in closing.diagonals]
    possible = all(sum(s[a] * repeats[a] for a in AXES) <= limit for s in slopes)
    for axis, other in zip(AXES, reversed(AXES), strict=True):
        if closing.slope(axis) <= DEAD:
            continue
        alone = min((limit - s[other] * later[other]) / s[axis] for s in slopes if s[axis] > DEAD)
        weight = limit / closing.slope(axis)
        need = Need(closing.needed_deg[axis], alone, weight, possible)
        yield axis, round(angles[axis], 3) + 0.0, need


def _stricter(one: Need, other: Need) -> Need:
    return Need(
        min(one.needed, other.needed),
        min(one.alone, other.alone),
        min(one.weight, other.weight),
        one.possible and other.possible,
    )
