"""What a type makes of what it is given: JSON, inches, and everything that is wrong.

Knows fields and errors; solves nothing. Values are given through ``from_dict``, the door
that the service, job files and spreadsheets use.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from fractions import Fraction
from typing import Any

from jointgeo.conformance.asked import Asked
from jointgeo.conformance.report import Notes
from jointgeo.conformance.subject import Subject
from jointgeo.errors import InputError, shown
from jointgeo.schema.fields import FieldInfo, plain
from jointgeo.schema.units import MM_PER_INCH

__all__ = ["bad_input", "inches", "json_round_trip", "whole_range"]

#: mm; a decimal inch is written to nine places, so its last digit is 3e-8 mm.
INCH_ROUNDING_MM = 1e-7
_UNKNOWN = "not_a_parameter"


def json_round_trip(subject: Asked, notes: Notes) -> None:
    """parameters written as JSON and read again are the same"""
    for joint in subject.cases:
        data = joint.to_dict()
        text = json.dumps(data, allow_nan=False)
        back = subject.cls.from_dict(json.loads(text))
        if plain(back) != plain(joint):
            notes.fault(f"{_difference(plain(joint), plain(back))} after to_dict and from_dict")
        if set(data) != {i.name for i in subject.fields}:
            notes.fault(f"to_dict must give every parameter and nothing else, not {sorted(data)}")
        if json.dumps(back.to_dict()) != text:
            notes.fault("to_dict gives another text the second time")
    notes.did(f"{len(subject.cases)} {subject.noun}")


def _difference(before: dict[str, Any], after: dict[str, Any]) -> str:
    return ", ".join(
        f"{name} {before[name]!r} becomes {after.get(name)!r}"
        for name in before
        if before[name] != after.get(name)
    )


def inches(subject: Asked, notes: Notes) -> None:
    """every length may be given in inches, as a number or as text, and is the same length"""
    lengths = [i for i in subject.fields if i.inches_name]
    done = dict.fromkeys(("a number", "decimal text", "a fraction"), 0)
    last = ""
    for joint in subject.cases if lengths else ():
        for form in done:
            data = plain(joint)
            wanted = {}
            for info in lengths:
                if data[info.name] is None:  # an optional length that is not given
                    continue
                inch = info.inches_name or ""
                data[inch], wanted[info.name] = _in_inches(data.pop(info.name), form)
            try:
                back = plain(subject.cls.from_dict(data))
            except InputError as error:
                # Sixty-fourths may take a joint out of its own rules, rounding out of a range.
                last = str(error)
                continue
            done[form] += 1
            for name, value in wanted.items():
                if not math.isclose(back[name], value, rel_tol=1e-12, abs_tol=INCH_ROUNDING_MM):
                    notes.fault(f"{name}: {value!r} mm in inches is kept as {back[name]!r} mm")
    for form, count in done.items():
        if lengths and not count:
            notes.fault(
                f"none of the {subject.noun} could be given in inches as {form}; at last: {last}"
            )
        notes.did(f"{count} {subject.noun} of {len(subject.cases)} as {form}")


def _in_inches(millimetres: float, form: str) -> tuple[float | str, float]:
    """A length in inches in that form, and the millimetres it stands for."""
    if form == "a number":
        size = millimetres / MM_PER_INCH
        return size, size * MM_PER_INCH
    if form == "decimal text":
        text = f"{millimetres / MM_PER_INCH:.9f}"
        return text, float(Fraction(text) * Fraction("25.4"))
    parts = round(abs(millimetres) / MM_PER_INCH * 64) or int(millimetres != 0)
    whole, rest = divmod(parts, 64)
    sign = "-" if millimetres < 0 else ""
    text = f"{sign}{whole} {rest}/64" if rest else f"{sign}{whole}"
    return text, math.copysign(float(Fraction(parts, 64) * Fraction("25.4")), millimetres)


def bad_input(subject: Asked, notes: Notes) -> None:
    """what cannot be used is refused by an InputError that names the field"""
    good = plain(subject.examples[0])
    tried = 0
    for info in subject.fields:
        for value in _bad_values(info):
            tried += 1
            _refused(subject, good | {info.name: value}, info.name, notes)
        if info.required:
            tried += 1
            _refused(subject, {k: v for k, v in good.items() if k != info.name}, info.name, notes)
        if info.inches_name:
            tried += 1
            both = good | {info.inches_name: 1.0}
            _refused(subject, both, info.name, notes)
    _refused(subject, good | {_UNKNOWN: 1.0}, _UNKNOWN, notes)
    for data in (None, "text", [good], 3.0):
        _refused(subject, data, "", notes)
    names = [i.name for i in subject.fields][:2]
    for name in names:  # every field at fault is named, not only the first
        _refused(subject, good | {n: [object()] for n in names}, name, notes)
    notes.did(f"{tried + 5 + len(names)} inputs of {len(subject.fields)} parameters")


def _bad_values(info: FieldInfo) -> Iterator[Any]:
    yield [1.0]
    yield {"value": 1.0}
    if info.required:
        yield None
    if info.kind in ("number", "integer"):
        yield from ("wide", "1.5", True, math.nan, math.inf, -math.inf, 10**400)
        if info.low is not None:
            yield info.low if info.above else info.low - 1
        if info.high is not None:
            yield info.high + 1
    if info.kind == "integer":
        yield (info.low or 0) + 0.5
    if info.kind in ("choice", "text"):
        yield from ("", "no\nsuch\ttext", 3.0, True, "x" * 10_000)
    if info.kind == "choice":
        yield "no such choice"
    if info.kind == "flag":
        yield from ("true", 1, 0.0)


def _refused(subject: Asked, data: Any, field: str, notes: Notes) -> None:
    what = f"{field} = {shown(data[field])}" if isinstance(data, dict) and field in data else ""
    what = what or (f"{field} left out" if field else f"{shown(data)} in place of a table")
    try:
        subject.cls.from_dict(data)
    except InputError as error:
        if field not in [p.field for p in error.problems]:
            named = ", ".join(p.field for p in error.problems)
            notes.fault(f"{what}: the error names {named or 'nothing'}")
        elif not all(p.message for p in error.problems):
            notes.fault(f"{what}: the error says nothing")
    except Exception as error:  # a third party's from_dict may raise anything; that is the fault
        notes.fault(f"{what}: raises {type(error).__name__} and not InputError")
    else:
        notes.fault(f"{what}: is taken")


def whole_range(subject: Subject, notes: Notes) -> None:
    """anywhere in its own ranges a joint is refused by an InputError, or solved and judged"""
    known = {i.name for i in subject.fields}
    refused = 0
    for attempt in subject.wild:
        error = attempt.error
        if error is None:
            continue
        if not attempt.taken and isinstance(error, InputError):
            refused += 1
            unknown = {p.field for p in error.problems} - known
            if unknown:
                notes.fault(f"the error {error} names {sorted(unknown)}, no parameter")
            continue
        what = "though they were taken" if attempt.taken else "instead of InputError"
        notes.fault(
            f"{type(error).__name__}: {shown(str(error), 160)}, {what}: {attempt.parameters}"
        )
    taken = sum(attempt.taken for attempt in subject.wild)
    notes.did(f"{taken} joints; {refused} other sets of parameters were refused by InputError")
    if taken < subject.anywhere:
        notes.fault(
            f"only {taken} of {len(subject.wild)} sets of parameters are taken, and "
            f"{subject.anywhere} are wanted: narrow the ranges of the fields"
        )
