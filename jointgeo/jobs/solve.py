"""A job solved: every member's two ends, grouped by operation, with every check.

Knows jobs, settings and feasibility; prints nothing (``report`` does).

Two ends. The far end's frame is the near end's turned end for end about the thickness
axis: x and z run the other way, y stays. A part's notches are therefore used unchanged
at the far end, in that end's own frame; only ``x_from`` changes. The trap: a joint part
that must have its face edge on a certain side (``turns_over`` False) fits one end of a
board and not the other, and is refused there rather than turned silently. The mirror
image of a member changes ``x_from`` once more.
"""

from __future__ import annotations

import json
from math import cos, radians, sin
from typing import Any

import attrs

from jointgeo.errors import InputError, JobError, Problem, shown
from jointgeo.fixtures.model import Fixture
from jointgeo.geometry.vectors import Vec
from jointgeo.jobs.file import Job, Member, MemberEnd
from jointgeo.joints.check import Check, Verdict, unanswered, worst
from jointgeo.joints.faults import answers_for, is_shipped
from jointgeo.joints.joint_type import JointType
from jointgeo.joints.sides import other_edge
from jointgeo.joints.stock import Part, StockNotch, parts, trimmed
from jointgeo.planning.end_plan import end_allowance
from jointgeo.solution.end import EndSolution, Use, solve_end
from jointgeo.solution.grouping import by_operation
from jointgeo.solution.serialise import end_settings
from jointgeo.solution.solution import Solution, solve

__all__ = ["JobAnswer", "NamedSolution", "solve_job"]


@attrs.frozen(eq=False)
class NamedSolution:
    """One joint of the job, as drawn, under its name there."""

    name: str
    solution: Solution

    @property
    def checks(self) -> tuple[Check, ...]:
        """The checks of the joint itself; those of its ends stand with the members."""
        return self.solution.joint.checks()


@attrs.frozen(eq=False)
class JobAnswer:
    """ends: each operation once, in the order to cut them; joints: as the file lists them."""

    job: Job
    ends: tuple[EndSolution, ...]
    joints: tuple[NamedSolution, ...]

    @property
    def title(self) -> str:
        return self.job.title

    @property
    def status(self) -> Verdict:
        return worst(self.checks)

    @property
    def checks(self) -> tuple[Check, ...]:
        """Those of every end, then of every joint."""
        groups = [a.checks for a in self.ends] + [j.checks for j in self.joints]
        return tuple(c for checks in groups for c in checks)

    @property
    def not_stated(self) -> int:
        """How many questions the fixture file does not answer."""
        return unanswered(self.checks)

    @property
    def feasible(self) -> bool:
        return self.status != "fail"

    def to_dict(self) -> dict[str, Any]:
        """Plain data; settings and checks in the JSON contract's form."""
        return {
            "title": self.job.title,
            "fixture": self.job.fixture.name,
            "feasible": self.feasible,
            "status": self.status,
            "not_stated": self.not_stated,
            "settings": [end_settings(a) for a in self.ends],
            "feasibility": [
                {
                    "status": a.status,
                    "not_stated": unanswered(a.checks),
                    "checks": [c.as_dict() for c in a.checks],
                }
                for a in self.ends
            ],
            "joints": [
                {
                    "name": j.name,
                    "settings": j.solution.settings_dict(),
                    "checks": [c.as_dict() for c in j.checks],
                }
                for j in self.joints
            ],
        }


def solve_job(job: Job) -> JobAnswer:
    """Solve every member's ends and every joint.

    JobError where members and joints disagree; PluginError, with its joint type and distribution,
    where a joint type fails or gives what is no answer.
    """
    joints = tuple(NamedSolution(j.name, _answered(j.joint, job.fixture)) for j in job.joints)
    ends: list[EndSolution] = []
    for index, member in enumerate(job.members):
        ends.extend(_member(job, member, f"member[{index}]"))
    return JobAnswer(job, by_operation(ends), joints)


def _answered(joint: JointType, fixture: Fixture) -> Solution:
    """The joint's answer. That of a type that does not ship is written once here, where a fault is
    still known to be its own; what was worked out for it is kept."""
    solution = solve(joint, fixture)
    if not is_shipped(type(joint)):
        with answers_for(type(joint)):
            json.dumps(solution.to_dict(), allow_nan=False)
    return solution


def _member(job: Job, member: Member, where: str) -> list[EndSolution]:
    near = _end(job, member, member.near, f"{where}.near", None)
    far = _end(job, member, member.far, f"{where}.far", near)
    far = _length(job, member, near, far, where)
    near = attrs.evolve(near, length_mm=far.length_mm)
    allowances = [end_allowance(part, job.fixture) for part in (near, far)]
    out = []
    for name, part, other, wish in (
        ("near", near, allowances[1], member.near.wish),
        ("far", far, allowances[0], member.far.wish),
    ):
        if part.notches:
            end: Any = name
            hand: Any = member.hand
            uses = (Use(member.name, end, hand, member.count),)
            try:
                out.append(solve_end(part, job.fixture, uses, other, wish))
            except InputError as error:
                problems = error.under(f"{where}.{name}").problems
                raise JobError(*problems, source=job.source) from None
        elif wish:
            field = "against_plate" if wish.against_plate else "cutter"
            given = shown(wish.against_plate or wish.cutter)
            message = "says nothing where no cut is made on the fixture"
            raise JobError(Problem(f"{where}.{name}.{field}", message, given), source=job.source)
    return out


def _end(job: Job, member: Member, end: MemberEnd, where: str, near: Part | None) -> Part:
    """The part at one end, hand and x_from settled; without notches where nothing is cut."""
    mirrored = (member.hand == "mirrored") != (end.hand == "mirrored")
    if end.cut == "joint":
        part = _joint_part(job, end, where, mirrored)
    elif near is not None:
        part = attrs.evolve(
            near,
            name=f"{near.name}, plain end",
            x_from=other_edge(near.x_from),
            notches=_plain_notch(end, near, mirrored),
            layout=(),
            verify=(),
            slide=None,
            turns_over=True,
            meets=False,
        )
    else:
        allowed = 'near end with cut = "joint"; turn the member round'
        raise JobError(
            Problem(f"{where}.cut", "gives the member no section", shown(end.cut), allowed),
            source=job.source,
        )
    if near is None:
        return part
    return _second_end(job, near, part, where)


def _joint_part(job: Job, end: MemberEnd, where: str, mirrored: bool) -> Part:
    drawing = next(j.joint for j in job.joints if j.name == end.joint).drawing
    found = {p.name: p for p in parts(drawing.mirrored if mirrored else drawing)}
    if end.part in found and not found[end.part].notches:
        cut = [f"'{name}'" for name, part in found.items() if part.notches]
        raise JobError(
            Problem(
                f"{where}.part",
                f"'{end.part}' has no end that is cut on this fixture",
                None,
                " or ".join(cut) or 'cut = "square"',
            ),
            source=job.source,
        )
    if end.part not in found:
        allowed = "one of " + ", ".join(f'"{name}"' for name in found)
        raise JobError(
            Problem(f"{where}.part", "is no part of that joint", shown(end.part), allowed),
            source=job.source,
        )
    return found[end.part]


def _second_end(job: Job, near: Part, far: Part, where: str) -> Part:
    """The far end's part, refused where it contradicts the near end."""
    for name in ("width_mm", "thickness_mm"):
        a, b = getattr(near, name), getattr(far, name)
        if abs(a - b) > 1e-6:
            message = f"has another {name.removesuffix('_mm')} than the near end"
            raise JobError(Problem(where, message, f"{b:g}", f"{a:g} mm", "mm"), source=job.source)
    wanted = other_edge(near.x_from)
    if far.x_from == wanted:
        return far
    if not far.turns_over:
        raise JobError(
            Problem(
                f"{where}.part",
                "would have its face edge on the wrong side at this end",
                shown(far.name),
                'a part that is cut on the board\'s other end, or hand = "mirrored"',
            ),
            source=job.source,
        )
    return attrs.evolve(far, x_from=wanted)


def _length(job: Job, member: Member, near: Part, far: Part, where: str) -> Part:
    if member.length_mm is not None:
        _agrees(job, member, near, far, where)
        return attrs.evolve(far, length_mm=member.length_mm)
    if abs(near.length_mm - far.length_mm) > 1e-6:
        raise JobError(
            Problem(
                f"{where}.length_mm",
                "is needed: the two ends' joints give different lengths",
                f"{near.length_mm:g} and {far.length_mm:g}",
                "a length in mm",
                "mm",
            ),
            source=job.source,
        )
    return attrs.evolve(far, length_mm=near.length_mm)


def _agrees(job: Job, member: Member, near: Part, far: Part, where: str) -> None:
    """A member's own length stands only where its joints do not agree on one: what they say to
    measure on the cut end was worked out from theirs."""
    given, theirs = member.length_mm, near.length_mm
    # A far end without a joint has the near end's length.
    if given is None or abs(far.length_mm - theirs) > 1e-6 or abs(given - theirs) <= 1e-6:
        return
    named = dict.fromkeys(f"'{e.joint}'" for e in (member.near, member.far) if e.joint)
    many = len(named) > 1
    joints = f"joint{'s' * many} {' and '.join(named)} give{'s' * (not many)}"
    raise JobError(
        Problem(
            f"{where}.length_mm",
            f"of member '{member.name}' is not the length its {joints}: "
            f"{given:.10g} mm here, {theirs:.10g} mm there",
            f"{given:.10g}",
            f"{theirs:.10g} mm; leave one out: either length_mm here, or give the joint this one",
            "mm",
        ),
        source=job.source,
    )


def _plain_notch(end: MemberEnd, near: Part, mirrored: bool) -> tuple[StockNotch, ...]:
    """The notch of a plain trim, through the far datum on the centre line; none if square."""
    if end.cut == "square":
        return ()
    if end.cut == "parallel":
        if not near.notches:
            return ()
        n = near.notches[0].rows[2]
        # Out of the wood at the near end is into the wood at the far end, and x and z turn.
        inward = Vec(n.x, -n.y, n.z)
    else:
        w, t = radians(end.width_angle_deg), radians(end.thickness_angle_deg)
        w = -w if mirrored else w
        inward = Vec(-sin(w) * cos(t), -cos(w) * sin(t), cos(w) * cos(t)).unit
    return (trimmed(near.width_mm, near.thickness_mm, inward),)
