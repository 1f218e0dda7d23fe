"""What a type does when it is solved: it solves, says the same twice, and leaves things be.

Knows solvers and the contract's values; judges no geometry.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import attrs
import numpy as np

from jointgeo.conformance.report import Notes
from jointgeo.conformance.subject import Subject, answers
from jointgeo.joints.check import Check
from jointgeo.joints.joint_type import NAME_FORM, JointType
from jointgeo.schema.fields import plain
from jointgeo.solution.feasibility import check_feasibility
from jointgeo.solution.settings import HANDS, solve_settings

__all__ = ["examples", "nothing_mutated", "plain_output", "same_output"]


def examples(subject: Subject, notes: Notes) -> None:
    """there is a worked example; each solves, cuts something, and is feasible given room"""
    found = subject.cls.examples()
    if not isinstance(found, (tuple, list)) or not found:
        notes.fault(f"examples() must give a tuple of at least one joint, not {found!r}")
        return
    for number, example in enumerate(found, 1):
        if type(example) is not subject.cls:
            notes.fault(f"example {number} is no {subject.cls.__name__}: {example!r}")
            continue
        for fixture in subject.fixtures:
            for hand in HANDS:
                parts = solve_settings(example, fixture, hand).to_dict()["parts"]
                if not any(setup["cuts"] for part in parts for setup in part["setups"]):
                    notes.fault(f"example {number} cuts nothing on the fixture {fixture.name}")
                answer = check_feasibility(example, fixture, hand)
                if fixture is subject.wide and not answer.feasible:
                    bad = ", ".join(c.name for c in answer.checks if c.status == "fail")
                    notes.fault(f"example {number}, {hand}: {bad} fails though there is room")
    demo, wide = subject.fixtures
    notes.did(f"{len(found)} examples on the fixtures {demo.name} and {wide.name}, both hands")


def same_output(subject: Subject, notes: Notes) -> None:
    """the same parameters give the same answer, whatever was asked in between"""
    for joint in subject.cases[:6]:
        first = repr(list(answers(joint, subject.wide)))
        for other in subject.examples:
            list(answers(other, subject.fixtures[0]))
        if repr(list(answers(joint, subject.wide))) != first:
            notes.fault(f"the same joint gives another answer the second time: {plain(joint)}")
        again = subject.cls(**plain(joint))
        if again != joint or repr(list(answers(again, subject.wide))) != first:
            notes.fault(f"an equal joint gives another answer: {plain(joint)}")
    notes.did(f"{len(subject.cases[:6])} joints, three times each")


def nothing_mutated(subject: Subject, notes: Notes) -> None:
    """solving changes no parameter and no fixture, and no array it hands out can be written to"""
    for joint in subject.cases:
        before, fixture = repr(plain(joint)), repr(subject.wide)
        given = plain(joint)
        subject.cls.from_dict(given)
        if repr(given) != before:
            notes.fault("from_dict changes the data it is given")
        list(answers(joint, subject.wide))
        joint.notes()
        if repr(plain(joint)) != before:
            notes.fault(f"solving changes the parameters: {before} to {plain(joint)}")
        if repr(subject.wide) != fixture:
            notes.fault("solving changes the fixture")
        for where, array in _arrays(joint):
            if array.flags.writeable:
                notes.fault(f"{where} is an array that can be written to")
    name = subject.fields[0].name
    try:
        setattr(subject.examples[0], name, getattr(subject.examples[0], name))
    except attrs.exceptions.FrozenInstanceError:
        pass
    else:
        notes.fault(f"{name} can be assigned; the class must be frozen (attrs.frozen)")
    notes.did(f"{len(subject.cases)} joints")


def _arrays(joint: JointType) -> Iterator[tuple[str, np.ndarray[Any, Any]]]:
    for what in ("parts", "placements", "expectations"):
        yield from _inside(f"{what}()", getattr(joint, what)())


def _inside(where: str, value: Any) -> Iterator[tuple[str, np.ndarray[Any, Any]]]:
    if isinstance(value, np.ndarray):
        yield where, value
    elif isinstance(value, (tuple, list)):
        for index, item in enumerate(value):
            yield from _inside(f"{where}[{index}]", item)
    elif attrs.has(type(value)):
        for field in attrs.fields(type(value)):
            yield from _inside(f"{where}.{field.name}", getattr(value, field.name))


def plain_output(subject: Subject, notes: Notes) -> None:
    """settings and feasibility are JSON with finite numbers only; checks and notes are texts"""
    for joint, fixture in subject.benches:
        for answer in answers(joint, fixture):
            _plain(answer, notes)
        for note in joint.notes():
            if not (isinstance(note, str) and note.isprintable() and note.strip()):
                notes.fault(f"a note must be a printable sentence, not {note!r}")
        for check in joint.checks():
            for fault in _check_faults(check):
                notes.fault(fault)
    solved = [attempt.answers for attempt in subject.wild if attempt.answers]
    for given in solved:
        for answer in given:
            _plain(answer, notes)
    notes.did(
        f"{len(subject.cases)} joints and {len(solved)} from anywhere in the ranges, both hands"
    )


def _plain(answer: dict[str, Any], notes: Notes) -> None:
    try:
        json.dumps(answer, allow_nan=False)
    except (TypeError, ValueError) as error:
        notes.fault(f"{error}: {', '.join(_not_plain('', answer))}")


def _check_faults(check: object) -> Iterator[str]:
    if not isinstance(check, Check):
        yield f"checks() must give Check values, not {check!r}"
        return
    if not NAME_FORM.fullmatch(check.name):
        yield f"a check's name must be lower snake case, not {check.name!r}"
    if not check.unit or not check.because.strip():
        yield f"the check {check.name} needs a unit and a reason"


def _not_plain(where: str, value: Any) -> Iterator[str]:
    """Where what JSON cannot hold stands."""
    if isinstance(value, dict):
        for key, item in value.items():
            yield from _not_plain(f"{where}.{key}" if where else str(key), item)
    elif isinstance(value, (list, tuple)):
        for index, item in enumerate(value):
            yield from _not_plain(f"{where}[{index}]", item)
    else:
        try:
            json.dumps(value, allow_nan=False)
        except (TypeError, ValueError):
            yield f"{where} = {value!r}"
