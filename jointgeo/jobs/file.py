"""A piece of furniture as a job file: a fixture, named joints, and members with two ends.

Knows the file's form, fixtures and the registry; solves nothing (``jobwork`` does).

    title = "Porch bench"
    fixture = "porch"              # a name, or a path beside this file

    [[joint]]
    name = "leg"
    type = "splayed_bridle"
    parameters = { leg_width_mm = 66, … }      # any x_mm may be given as x_in

    [[member]]                     # optional; without any, each cut part counts once
    name = "legs"
    count = 2
    hand = "as_drawn"              # or "mirrored"
    near = { cut = "joint", joint = "leg", part = "leg" }
    far = { cut = "parallel" }

An end is cut for a ``joint``, with a plain ``trim`` at two layout angles, ``parallel``
to the near end, or left ``square`` (nothing is cut on the fixture). The library chooses how to
clamp it; ``against_plate = "back"`` and ``cutter = "rebate disc"`` choose by hand, and the answer
says what that costs.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any

import attrs

from jointgeo.errors import InputError, JobError, Problem, UnknownNameError, shown
from jointgeo.fixtures.file import fixture_path, load_fixture, read_toml
from jointgeo.fixtures.model import Fixture
from jointgeo.joints.joint_type import JointType
from jointgeo.joints.registry import joint_type, joint_types
from jointgeo.joints.stock import parts
from jointgeo.planning.choice import Wish
from jointgeo.schema.fields import angle, choice, count, length, text
from jointgeo.schema.filekinds import refuse_others
from jointgeo.schema.tables import read

__all__ = ["Job", "Member", "MemberEnd", "NamedJoint", "demo_jobs", "load_job", "load_jobs"]


@attrs.frozen
class MemberEnd:
    """What happens at one end of a member."""

    cut: str = choice(
        "What the end is cut for", ("joint", "trim", "parallel", "square"), default="square"
    )
    joint: str | None = text("Name of a joint of this file", most=60, default=None)
    part: str | None = text("Part of that joint this end is", most=60, default=None)
    hand: str = choice(
        "Hand of this end against the member's own", ("as_drawn", "mirrored"), default="as_drawn"
    )
    width_angle_deg: float = angle(
        "Plain trim off square on the face side; positive rises to the right, cut end down",
        low=-60,
        high=60,
        default=0.0,
    )
    thickness_angle_deg: float = angle(
        "Plain trim off square on the edge; positive rises from face side to back, cut end down",
        low=-60,
        high=60,
        default=0.0,
    )

    against_plate: str | None = choice(
        "Side on the plate, where you choose and not the library",
        ("face_side", "back", "face_edge", "back_edge"),
        default=None,
    )
    cutter: str | None = text(
        "Name of the cutter, where you choose and not the library", most=80, default=None
    )

    @property
    def wish(self) -> Wish:
        """What a person chooses at this end."""
        return Wish(self.against_plate, self.cutter)

    def __attrs_post_init__(self) -> None:
        missing = self.joint is None or self.part is None
        if self.cut == "joint" and missing:
            field = "joint" if self.joint is None else "part"
            raise JobError(Problem(field, "is missing", None, 'a name, where cut = "joint"'))
        if self.cut != "joint" and (self.joint or self.part):
            raise JobError(
                Problem("joint", f'goes with cut = "joint" only, not "{self.cut}"', self.joint)
            )
        if self.cut != "trim" and (self.width_angle_deg or self.thickness_angle_deg):
            raise JobError(
                Problem("cut", "takes no angles of its own", self.cut, 'cut = "trim", with angles')
            )
        if self.cut in ("parallel", "square") and self.hand != "as_drawn":
            raise JobError(
                Problem("hand", f'says nothing where cut = "{self.cut}"', self.hand, '"as_drawn"')
            )


@attrs.frozen
class _JointEntry:
    name: str = text("Name of the joint in this file", most=60)
    type: str = text("Name of its joint type", most=60)
    parameters: Mapping[str, Any] = attrs.field(kw_only=True)


@attrs.frozen
class Member:
    """So many pieces of one kind, with what is cut at either end."""

    name: str = text("Name of the member", most=60)
    count: int = count("How many pieces", low=1, high=10_000, default=1)
    hand: str = choice("Hand of the pieces", ("as_drawn", "mirrored"), default="as_drawn")
    length_mm: float | None = length(
        "Finished length between the two ends' length datums; only where its joints give two",
        above=0,
        default=None,
    )
    near: MemberEnd = attrs.field(kw_only=True)
    far: MemberEnd = attrs.field(kw_only=True, factory=MemberEnd)


@attrs.frozen
class _JobFile:
    title: str = text("What is made")
    fixture: str = text("Name of a fixture that ships, or path of its file", most=400)
    joint: tuple[_JointEntry, ...] = attrs.field(kw_only=True)
    member: tuple[Member, ...] = attrs.field(kw_only=True, default=())


@attrs.frozen
class NamedJoint:
    """A joint of a job."""

    name: str
    joint: JointType


@attrs.frozen
class Job:
    """A job ready to be solved; source is the file's name for messages, fixture_source the path of
    the fixture's file as it was given, "" for a fixture that ships."""

    title: str
    fixture: Fixture
    joints: tuple[NamedJoint, ...]
    members: tuple[Member, ...]
    source: str = ""
    fixture_source: str = ""

    def on(self, fixture: str | Path) -> Job:
        """The same job on another fixture: its name, or the path of its file.

        Raises UnknownNameError or FixtureError as ``load_fixture`` does.
        """
        path = fixture_path(fixture)
        source = "" if path is None else str(path)
        return attrs.evolve(self, fixture=load_fixture(fixture), fixture_source=source)


def _folder() -> Traversable:
    return files("jointgeo") / "data" / "jobs"


def demo_jobs() -> dict[str, tuple[str, ...]]:
    """Names of the job files that ship, by the name of their set."""
    return {
        group.name: tuple(
            sorted(f.name.removesuffix(".toml") for f in group.iterdir() if ".toml" in f.name)
        )
        for group in _folder().iterdir()
        if group.is_dir() and not group.name.startswith("_")
    }


def load_jobs(name_or_path: str | Path) -> tuple[Job, ...]:
    """The jobs of a set that ships, or the one job that ``load_job`` finds."""
    sets = demo_jobs()
    if isinstance(name_or_path, str) and name_or_path in sets:
        return tuple(load_job(name) for name in sets[name_or_path])
    return (load_job(name_or_path),)


def load_job(name_or_path: str | Path) -> Job:
    """A job that ships, by name, or any other by the path of its TOML file.

    A plain word is a name; text with a path separator or ending in ``.toml``, and every
    Path, is a path. Raises JobError (or FixtureError for the fixture's own file) naming
    file, field, value and what is allowed; UnknownNameError for an unknown name.
    """
    path = Path(name_or_path)
    if isinstance(name_or_path, str) and path.name == name_or_path and path.suffix != ".toml":
        for group, names in demo_jobs().items():
            if name_or_path in names:
                item = _folder() / group / f"{name_or_path}.toml"
                return read_job(tomllib.loads(item.read_text("utf-8")), Path(), name_or_path)
        known = [n for group, names in demo_jobs().items() for n in (group, *names)]
        raise UnknownNameError(
            Problem(
                "job",
                "is not the name of a job that ships",
                shown(name_or_path),
                f"one of {', '.join(known)}, or the path of a .toml file",
            )
        )
    data = read_toml(path, JobError)
    refuse_others(data, "job", JobError, str(path))
    return read_job(data, path.parent, str(path))


def read_job(data: object, folder: Path, source: str = "", given: Fixture | None = None) -> Job:
    """A job from plain data; a fixture's path is taken from ``folder``.

    given: the fixture; the one that the data may name is then not looked for, so that no path in
    them is ever opened.
    """
    if given is not None and isinstance(data, Mapping):
        data = {**data, "fixture": "given"}
    try:
        entry = read(_JobFile, data, JobError)
        joints = _checked(entry)
    except JobError as error:
        raise JobError(*map(_typed, error.problems), source=source) from None
    members = entry.member or _single_members(joints)
    if given is not None:
        return Job(entry.title, given, joints, members, source)
    fixture = _fixture(entry.fixture, folder, source)
    path = fixture_path(entry.fixture)
    return Job(entry.title, fixture, joints, members, source, "" if path is None else str(path))


def _typed(problem: Problem) -> Problem:
    """A joint that does not say its type is told which there are, and one that is written as a
    single table how a joint is written."""
    types = "one of " + ", ".join(joint_types())
    if re.fullmatch(r"joint\[\d+\]\.type", problem.field) and problem.given is None:
        return attrs.evolve(problem, allowed=types)
    if problem.field == "joint" and problem.message == "is not a list of tables":
        allowed = f"[[joint]] in double brackets, each with a type, {types}"
        return attrs.evolve(problem, given=None, allowed=allowed)
    return problem


def _checked(entry: _JobFile) -> tuple[NamedJoint, ...]:
    """The file's joints, if everything in it agrees; JobError with every problem otherwise."""
    problems: list[Problem] = []
    joints = tuple(
        found
        for index, item in enumerate(entry.joint)
        if (found := _joint(item, f"joint[{index}]", problems)) is not None
    )
    if not entry.joint:
        problems.append(Problem("joint", "is an empty list", "[]", "at least one joint"))
    problems += _doubles("joint", [j.name for j in entry.joint])
    problems += _doubles("member", [m.name for m in entry.member])
    for index, member in enumerate(entry.member):
        known = [j.name for j in entry.joint]
        for where, end in (("near", member.near), ("far", member.far)):
            if end.cut == "joint" and end.joint not in known:
                field, allowed = f"member[{index}].{where}.joint", f"one of {', '.join(known)}"
                problems.append(
                    Problem(field, "is no joint of this file", shown(end.joint), allowed)
                )
        if member.near.cut == "parallel":
            problems.append(
                Problem(
                    f"member[{index}].near.cut",
                    "cannot be parallel to itself",
                    '"parallel"',
                    '"joint", "trim" or "square"',
                )
            )
    if problems:
        raise JobError(*problems)
    return joints


def _fixture(name: str, folder: Path, source: str) -> Fixture:
    path = fixture_path(name)
    try:
        return load_fixture(name if path is None else folder / path)
    except UnknownNameError as error:
        raise JobError(*error.problems, source=source) from None


def _joint(entry: _JointEntry, where: str, problems: list[Problem]) -> NamedJoint | None:
    try:
        return NamedJoint(entry.name, joint_type(entry.type).from_dict(entry.parameters))
    except UnknownNameError as error:
        problems.extend(attrs.evolve(p, field=f"{where}.type") for p in error.problems)
    except InputError as error:
        problems.extend(error.under(f"{where}.parameters").problems)
    return None


def _doubles(field: str, names: list[str]) -> list[Problem]:
    return [
        Problem(f"{field}[{i}].name", "is used twice", shown(n), "a name of its own")
        for i, n in enumerate(names)
        if n in names[:i]
    ]


def _single_members(joints: tuple[NamedJoint, ...]) -> tuple[Member, ...]:
    """One member for each cut part, where a file lists none."""
    return tuple(
        Member(name=f"{j.name}, {p.name}", near=MemberEnd(cut="joint", joint=j.name, part=p.name))
        for j in joints
        for p in parts(j.joint.drawing)
        if p.notches
    )
