"""How a type behaves beside others: it remembers nothing, prints nothing, and keeps nobody waiting.

Knows the solver, the types that ship and the clock; judges no geometry.
"""

from __future__ import annotations

import contextlib
import io
import time
from collections.abc import Iterable
from typing import Any

from jointgeo.conformance.fresh import answer, fresh_answers
from jointgeo.conformance.report import Notes
from jointgeo.conformance.subject import Subject, answers
from jointgeo.errors import InputError
from jointgeo.fixtures.model import Fixture
from jointgeo.joints.faults import is_shipped
from jointgeo.joints.joint_type import JointType
from jointgeo.joints.registry import joint_types
from jointgeo.schema.fields import plain

__all__ = ["pace", "quiet", "remembers_nothing"]

SLOWEST = 20.0  # times the slowest type that ships; our choice
ROUNDS = 3  # the least of them counts: what else a machine does only ever adds


def remembers_nothing(subject: Subject, notes: Notes) -> None:
    """a joint's answer is that of a process which has answered nothing else"""
    sets = subject.one_by_one
    here = [answer(subject.cls, values) for values in sets]
    again = [answer(subject.cls, values) for values in sets]
    alone = fresh_answers(subject.cls, sets)
    for values, first, second, fresh in zip(sets, here, again, alone, strict=True):
        # What differs from one time to the next is the check ``same_output``'s to tell.
        if first == second != fresh:
            changed = {n: v for n, v in values.items() if v != sets[0][n]} or "the first example"
            notes.fault(
                f"{changed}: another answer than in a process of its own; something is kept from "
                "one joint to the next under a key that leaves this parameter out (a cache must "
                "have every parameter it depends on in its key)"
            )
    notes.did(f"the first example and {len(sets) - 1} with one parameter changed")


def quiet(subject: Subject, notes: Notes) -> None:
    """nothing is written to standard output, which belongs to the answer"""
    said = io.StringIO()
    with contextlib.redirect_stdout(said):
        subject.cls.examples()
        for joint in subject.cases:
            list(answers(joint, subject.wide))
            joint.claims()
            joint.notes()
            _between(joint)
            subject.cls.from_dict(joint.to_dict())
    if text := said.getvalue().strip():
        line = text.splitlines()[0][:80]
        notes.fault(f"it prints {line!r}; return a note from notes(), or use logging")
    notes.did(f"{len(subject.cases)} joints")


def _between(joint: JointType) -> None:
    bar, mate = joint.drawing.bars[:2]
    with contextlib.suppress(InputError):
        type(joint).measure(bar, mate)


def pace(subject: Subject, notes: Notes) -> None:
    """an example takes no more than 20 times as long as the slowest type that ships"""
    shipped = [c for c in joint_types().values() if is_shipped(c) and c is not subject.cls]
    fixture = subject.wide
    usual = max(_longest(c.examples(), fixture) for c in shipped)
    own = _longest(subject.examples, fixture)
    times = own / usual
    if times > SLOWEST:
        notes.fault(
            f"it takes {times:.0f} times as long as the slowest type that ships, and at most "
            f"{SLOWEST:g} times is allowed: look for work done again and again in draw()"
        )
    notes.did(f"solved and written in {times:.2g} times the slowest shipped type's time")


def _longest(joints: Iterable[JointType], fixture: Fixture) -> float:
    """The time in s of the slowest of them, built, solved and written."""
    return max(min(_once(type(j), plain(j), fixture) for _ in range(ROUNDS)) for j in joints)


def _once(cls: type[JointType], values: dict[str, Any], fixture: Fixture) -> float:
    start = time.perf_counter()
    list(answers(cls(**values), fixture))
    return time.perf_counter() - start
