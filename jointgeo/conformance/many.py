"""What a type does when many of its joints are solved at once.

Knows the solver of one joint and of many; judges no geometry.
"""

from __future__ import annotations

from collections.abc import Iterator

from jointgeo.conformance.report import Notes
from jointgeo.conformance.subject import Subject
from jointgeo.errors import InputError
from jointgeo.joints.joint_type import JointType
from jointgeo.schema.fields import plain
from jointgeo.solution.settings import HANDS, solve_settings
from jointgeo.solution.together import difference, settings_together

__all__ = ["together"]

#: More than any array of a joint is likely to have, and as many as none: where a column meets an
#: array of its own length, numpy would take the one for the other.
VARIANTS = 37
#: Fewer are solved one by one here.
ENOUGH = 20


def together(subject: Subject, notes: Notes) -> None:
    """joints that are solved together get the answers that each gets alone"""
    if not subject.cls.takes_columns:
        notes.did("nothing: the type takes no columns, its joints are solved one by one")
        return
    solved = alone = 0
    enough = False
    for example in subject.examples:
        joints = list(_variants(subject, example))
        enough = enough or len(joints) >= ENOUGH
        for hand in HANDS:
            found = 0
            for sheaf in settings_together(joints, subject.wide, hand, few=ENOUGH, trusted=True):
                for number, place in enumerate(sheaf.places):
                    expected = solve_settings(joints[place], subject.wide, hand).to_dict()
                    where = difference(sheaf.row(number), expected)
                    if where:
                        notes.fault(f"{where}, {hand}: {plain(joints[place])}")
                found += len(sheaf.places)
            solved, alone = solved + found, alone + len(joints) - found
    if enough and not solved:
        notes.fault("takes_columns is said, but no joints could be solved together")
    ways = f"{solved} together with others" + (f", {alone} one by one" if alone else "")
    notes.did(f"joints near the examples, both hands: {ways}")


def _variants(subject: Subject, example: JointType) -> Iterator[JointType]:
    """The example with every number that little more of itself, where its range leaves room."""
    start = plain(example)
    most = 1 + VARIANTS * 5e-5
    numbers = [
        i.name
        for i in subject.fields
        if i.kind == "number" and start[i.name] and i.takes(start[i.name] * most)
    ]
    for number in range(VARIANTS):
        by = 1 + number * 5e-5
        try:
            yield subject.cls.from_dict({**start, **{n: start[n] * by for n in numbers}})
        except InputError:  # a rule between two fields
            continue
