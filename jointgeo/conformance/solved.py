"""What a type does when it is solved: it solves, says the same twice, and leaves things be.

Knows the solver and the contract's values; judges no geometry.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import attrs

from jointgeo.conformance.report import Notes
from jointgeo.conformance.subject import Subject, answers
from jointgeo.joints.check import Check
from jointgeo.joints.joint_type import NAME_FORM
from jointgeo.schema.fields import plain
from jointgeo.solution.setup import HANDS
from jointgeo.solution.solution import solve

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
                answer = solve(example, fixture, hand)
                if not answer.setups:  # an end that is trimmed to an angle is cut too
                    notes.fault(f"example {number} cuts nothing on the fixture {fixture.name}")
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
    """solving changes no parameter, no drawing and no fixture"""
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
        if repr(joint.drawing) != repr(joint.draw()):
            notes.fault("the drawing was changed after it was drawn, or draw() gives another one")
    name = subject.fields[0].name
    try:
        setattr(subject.examples[0], name, getattr(subject.examples[0], name))
    except attrs.exceptions.FrozenInstanceError:
        pass
    else:
        notes.fault(f"{name} can be assigned; the class must be frozen (attrs.frozen)")
    notes.did(f"{len(subject.cases)} joints")


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
