"""Zero, the ends of every range, and every default: one parameter at a time, and two at once.

Knows fields and joints; solves what it sets singly and only draws what it sets in pairs.

A formula that divides by an angle is right everywhere but at 0, and no random draw is ever exactly
0. Fields are therefore set to what people really give, starting from a worked example.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from typing import Any

from jointgeo.conformance.report import Notes
from jointgeo.conformance.subject import Subject, answers
from jointgeo.errors import InputError, shown
from jointgeo.joints.joint_type import JointType
from jointgeo.schema.fields import FieldInfo

__all__ = ["range_ends"]


def range_ends(subject: Subject, notes: Notes) -> None:
    """at 0, at the ends of ranges and at defaults, singly and in pairs, it answers or refuses"""
    base = subject.parameters[0]
    places = [(i.name, value) for i in subject.fields for value in _special(i)]
    taken, sound = 0, []
    for place in places:
        before = len(notes.faults)
        taken += _tried(subject, base | dict([place]), dict([place]), _solved, notes)
        if len(notes.faults) == before:  # else each of its pairs would only say so again
            sound.append(place)
    pairs = [(a, b) for a, b in combinations(sound, 2) if a[0] != b[0]]
    for pair in pairs:
        taken += _tried(subject, base | dict(pair), dict(pair), _drawn, notes)
    notes.did(f"{len(places)} places and {len(pairs)} pairs of them, {taken} of them taken")


def _special(info: FieldInfo) -> Iterator[Any]:
    """What a person gives that a random draw never hits; in the field's own range."""
    values: list[Any] = []
    if info.kind in ("number", "integer"):
        values = [v for v in (info.low, info.high) if v is not None]
        if (info.low is None or info.low <= 0) and (info.high is None or info.high >= 0):
            values.append(0)
        if info.above:  # the low end itself is outside the range
            values = [v for v in values if v != info.low]
        values = [v if info.kind == "integer" else float(v) for v in values]
    elif info.kind == "choice":
        values = list(info.choices)
    elif info.kind == "flag":
        values = [True, False]
    if not info.required:
        values.append(info.default)
    yield from dict.fromkeys(values)


def _tried(
    subject: Subject, values: dict[str, Any], what: dict[str, Any], ask: Any, notes: Notes
) -> bool:
    """Whether the type takes them; anything but an answer or an InputError is a fault."""
    said = " and ".join(f"{name} = {shown(value)}" for name, value in what.items())
    try:
        joint = subject.cls.from_dict(values)
    except InputError:
        return False
    except Exception as error:  # a plug-in's class may raise anything at all
        notes.fault(f"{said}: {type(error).__name__}: {error}; raise InputError naming the field")
        return False
    try:
        ask(joint, subject)
    except Exception as error:
        notes.fault(
            f"{said}: {type(error).__name__}: {shown(str(error), 160)}; let it be drawn, or refuse "
            "it in __attrs_post_init__ with an InputError"
        )
    return True


def _solved(joint: JointType, subject: Subject) -> None:
    list(answers(joint, subject.wide))


def _drawn(joint: JointType, _: Subject) -> None:
    joint.claims()
    joint.checks()
    joint.notes()
