"""A job solved: every member's two ends, grouped by setting, with every check.

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
from typing import Any

import attrs
import numpy as np

from jointgeo.errors import JobError, PluginError, Problem, shown
from jointgeo.fixtures.model import Fixture
from jointgeo.geometry.rotations import unit
from jointgeo.jobs.file import Job, Member, MemberEnd
from jointgeo.joints.check import Check, Status, worst
from jointgeo.joints.contract import Notch, Part
from jointgeo.joints.sides import other_edge
from jointgeo.planning.setups import end_allowance
from jointgeo.solution.feasibility import check_end, check_feasibility
from jointgeo.solution.settings import (
    Hand,
    PartSettings,
    Settings,
    Use,
    part_settings,
    solve_settings,
)

__all__ = ["EndAnswer", "JobAnswer", "solve_job"]


@attrs.frozen(eq=False)
class EndAnswer:
    """One setting: the ends it is cut for, and its checks."""

    settings: PartSettings
    checks: tuple[Check, ...]

    @property
    def status(self) -> Status:
        return worst(self.checks)


@attrs.frozen(eq=False)
class JointAnswer:
    """One named joint: its settings as drawn, and the checks of the joint itself."""

    name: str
    settings: Settings
    checks: tuple[Check, ...]


@attrs.frozen(eq=False)
class JobAnswer:
    """ends: each setting once, in the order to cut them; joints: as the file lists them."""

    job: Job
    ends: tuple[EndAnswer, ...]
    joints: tuple[JointAnswer, ...]

    @property
    def status(self) -> Status:
        groups = [a.checks for a in self.ends] + [j.checks for j in self.joints]
        return worst(tuple(c for checks in groups for c in checks))

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
            "settings": [a.settings.to_dict() for a in self.ends],
            "feasibility": [
                {"status": a.status, "checks": [c.as_dict() for c in a.checks]} for a in self.ends
            ],
            "joints": [
                {
                    "name": j.name,
                    "settings": j.settings.to_dict(),
                    "checks": [c.as_dict() for c in j.checks],
                }
                for j in self.joints
            ],
        }


def solve_job(job: Job) -> JobAnswer:
    """Solve every member's ends and every joint; JobError where members and joints disagree."""
    ends: list[EndAnswer] = []
    for index, member in enumerate(job.members):
        ends.extend(_member(job, member, f"member[{index}]"))
    joints = tuple(
        JointAnswer(j.name, solve_settings(j.joint, job.fixture), j.joint.checks())
        for j in job.joints
    )
    grouped = _grouped(ends)
    return JobAnswer(job, tuple(sorted(grouped, key=_order)), joints)


def _member(job: Job, member: Member, where: str) -> list[EndAnswer]:
    near = _end(job, member, member.near, f"{where}.near", None)
    far = _end(job, member, member.far, f"{where}.far", near)
    far = _length(job, member, near, far, where)
    near = attrs.evolve(near, length_mm=far.length_mm)
    allowances = [end_allowance(part, job.fixture) for part in (near, far)]
    out = []
    for name, part, other in (("near", near, allowances[1]), ("far", far, allowances[0])):
        if part.notches:
            settings, checks = _answer(job.fixture, part, member, name, other)
            end: MemberEnd = getattr(member, name)
            if end.cut == "joint":
                own = _own(job, member, end, f"{where}.{name}", settings)
                settings, checks = own[0] or settings, checks if own[1] is None else own[1]
            out.append(EndAnswer(settings, checks))
    return out


def _answer(
    fixture: Fixture, part: Part, member: Member, name: Any, other_mm: float
) -> tuple[PartSettings, tuple[Check, ...]]:
    hand: Any = member.hand
    uses = (Use(member.name, name, hand, member.count),)
    settings = part_settings(part, fixture, uses, other_mm)
    return settings, check_end(settings.plan, fixture)


def _own(
    job: Job, member: Member, end: MemberEnd, where: str, usual: PartSettings
) -> tuple[PartSettings | None, tuple[Check, ...] | None]:
    """What a joint type that solves for itself answers for this end; None for what it leaves.

    Its answer stands for a board whose other end is square: it cannot know of another end.
    """
    joint = next(j.joint for j in job.joints if j.name == end.joint)
    mirrored = (member.hand == "mirrored") != (end.hand == "mirrored")
    hand: Hand = "mirrored" if mirrored else "as_drawn"
    settings = checks = None
    if joint.own_settings(job.fixture, hand) is not None:
        parts = solve_settings(joint, job.fixture, hand).parts
        found = next((p for p in parts if p.part.name == end.part), None)
        if found is None or (
            abs(found.plan.blank_mm - usual.plan.blank_mm) > 1e-6
            or found.plan.part.x_from != usual.plan.part.x_from
        ):
            raise JobError(
                Problem(
                    f"{where}.joint",
                    "has settings of its own making, which do not fit this member's other end",
                    shown(end.joint),
                    "a member whose other end is square, of the joint's own length",
                ),
                source=job.source,
            )
        settings = attrs.evolve(found, uses=usual.uses)
    if joint.own_feasibility(job.fixture, hand) is not None:
        answer = check_feasibility(joint, job.fixture, hand)
        checks = tuple(c for c in answer.checks if c.part in ("", end.part))
    return settings, checks


def _end(job: Job, member: Member, end: MemberEnd, where: str, near: Part | None) -> Part:
    """The part at one end, hand and x_from settled; without notches where nothing is cut."""
    if end.cut == "joint":
        part = _joint_part(job, end, where)
        if (member.hand == "mirrored") != (end.hand == "mirrored"):
            part = part.mirrored()
    elif near is not None:
        part = attrs.evolve(
            near,
            name=f"{near.name}, plain end",
            x_from=other_edge(near.x_from),
            notches=_plain_notch(end, near),
            layout=(),
            verify=(),
            slide=None,
            turns_over=True,
        )
        if (member.hand == "mirrored") != (end.hand == "mirrored") and end.cut == "trim":
            part = attrs.evolve(
                part, notches=tuple(n.mirrored(part.width_mm) for n in part.notches)
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


def _joint_part(job: Job, end: MemberEnd, where: str) -> Part:
    joint = next(j.joint for j in job.joints if j.name == end.joint)
    parts = {p.name: p for p in joint.parts()}
    if end.part not in parts:
        allowed = "one of " + ", ".join(f'"{name}"' for name in parts)
        raise JobError(
            Problem(f"{where}.part", "is no part of that joint", shown(end.part), allowed),
            source=job.source,
        )
    return parts[end.part]


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


def _plain_notch(end: MemberEnd, near: Part) -> tuple[Notch, ...]:
    """The notch of a plain trim, through the far datum on the centre line; none if square."""
    if end.cut == "square":
        return ()
    if end.cut == "parallel":
        if not near.notches:
            return ()
        n = near.notches[0].frame[2]
        # Out of the wood at the near end is into the wood at the far end, and x and z turn.
        inward = np.array([n[0], -n[1], n[2]])
    else:
        w, t = np.radians([end.width_angle_deg, end.thickness_angle_deg])
        inward = unit([-np.sin(w) * np.cos(t), -np.cos(w) * np.sin(t), np.cos(w) * np.cos(t)])
    # Following the face side: the feed runs square to its trim line, and no packing is needed.
    across = unit(np.cross([0.0, 1.0, 0.0], inward))
    frame = np.stack([across, np.cross(inward, across), inward])
    return (Notch(frame, [near.width_mm / 2, near.thickness_mm / 2, 0.0], ()),)


def _key(answer: EndAnswer) -> str:
    """Equal for ends that are cut alike, to a millionth of a millimetre or degree."""
    data = answer.settings.to_dict()
    del data["part"]
    for setup in data["setups"]:
        del setup["for"]
    return json.dumps(_rounded(data), sort_keys=True)


def _rounded(value: Any) -> Any:
    if isinstance(value, float):
        return round(value, 6) + 0.0
    if isinstance(value, dict):
        return {k: _rounded(v) for k, v in value.items()}
    return [_rounded(v) for v in value] if isinstance(value, list) else value


def _grouped(ends: list[EndAnswer]) -> list[EndAnswer]:
    groups: dict[str, EndAnswer] = {}
    for answer in ends:
        key = _key(answer)
        if key in groups:
            known = groups[key].settings
            merged = attrs.evolve(known, uses=known.uses + answer.settings.uses)
            groups[key] = attrs.evolve(groups[key], settings=merged)
        else:
            groups[key] = answer
    return list(groups.values())


def _order(answer: EndAnswer) -> tuple[float, ...]:
    """Each axis set once: by tilt, then swivel, of the first setup."""
    setups = answer.settings.plan.setups
    if not setups:
        raise PluginError("a part without setups was solved as a cut end")
    first = setups[0].chosen
    return (round(first.tilt_deg, 6), round(first.swivel_deg, 6), float(first.side))
