"""What a type does when many of its joints are solved at once.

Knows the solver of one joint and of many; judges no geometry.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from jointgeo.conformance.report import Notes
from jointgeo.conformance.subject import Subject
from jointgeo.errors import InputError
from jointgeo.fields import plain
from jointgeo.joint import JointType
from jointgeo.settings import HANDS, solve_settings
from jointgeo.together import settings_together

__all__ = ["together"]

#: mm or degrees. Functions of arrays round the last digit of a sine differently, and lengths of
#: metres carry it on.
SAME = 1e-7
VARIANTS = 6


def together(subject: Subject, notes: Notes) -> None:
    """joints that are solved together get the answers that each gets alone"""
    solved = alone = 0
    for example in subject.examples:
        joints = list(_variants(subject, example))
        for hand in HANDS:
            found = 0
            for sheaf in settings_together(joints, subject.wide, hand, few=2):
                for number, place in enumerate(sheaf.places):
                    expected = solve_settings(joints[place], subject.wide, hand).to_dict()
                    where = _differs(sheaf.row(number), expected)
                    if where:
                        notes.fault(f"{where}, {hand}: {plain(joints[place])}")
                found += len(sheaf.places)
            solved, alone = solved + found, alone + len(joints) - found
    ways = f"{solved} together with others" + (f", {alone} one by one" if alone else "")
    notes.did(f"joints near the examples, both hands: {ways}")


def _variants(subject: Subject, example: JointType) -> Iterator[JointType]:
    """The example with every number that little more of itself, as far as it is taken."""
    start = plain(example)
    numbers = [i.name for i in subject.fields if i.kind == "number" and start[i.name]]
    for number in range(VARIANTS):
        by = 1 + number * 2e-4
        try:
            yield subject.cls.from_dict({**start, **{n: start[n] * by for n in numbers}})
        except InputError:  # at the end of a range; there are others
            continue


def _differs(together: Any, alone: Any, where: str = "settings") -> str:
    """Where two answers differ and how; "" for nowhere."""
    if isinstance(together, dict) and isinstance(alone, dict) and list(together) == list(alone):
        pairs = ((together[k], alone[k], f"{where}.{k}") for k in alone)
    elif isinstance(together, list) and isinstance(alone, (list, tuple)):
        if len(together) != len(alone):
            return f"{where} has {len(together)} items solved together, {len(alone)} alone"
        both = enumerate(zip(together, alone, strict=True))
        pairs = ((a, b, f"{where}[{i}]") for i, (a, b) in both)
    else:
        same = together == alone
        if isinstance(together, float) and isinstance(alone, (float, int)):
            same = abs(together - alone) <= SAME
        return "" if same else f"{where} is {together!r} solved together, {alone!r} alone"
    return next((found for found in (_differs(*pair) for pair in pairs) if found), "")
