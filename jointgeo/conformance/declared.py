"""What a type says of itself: name, summary, and its parameters' fields.

Knows the registry's rules and ``jointgeo.schema.fields``; solves nothing.
"""

from __future__ import annotations

import json
import math
import typing
from typing import Any

import attrs

from jointgeo.conformance.asked import Asked
from jointgeo.conformance.report import Notes
from jointgeo.conformance.subject import Subject
from jointgeo.errors import InputError, PluginError
from jointgeo.joints.admission import LEAST_WORDS, admitted, field_faults
from jointgeo.schema.fields import FieldInfo, Kind

__all__ = ["declaration", "fields", "schema", "summary_line"]

LONGEST_SUMMARY = 120  # characters; what a list and the API page can show on a line


def _line(text: object, longest: int) -> bool:
    return (
        isinstance(text, str)
        and text.isprintable()
        and len(text) <= longest
        and len(text.split()) >= LEAST_WORDS
    )


def declaration(subject: Subject, notes: Notes) -> None:
    """name, summary and edition are such as the registry takes, and fit on a line"""
    try:
        admitted(subject.cls, subject.name)
    except PluginError as error:
        notes.fault(str(error))
    summary_line(subject.name, getattr(subject.cls, "summary", None), notes)


def summary_line(name: str, summary: object, notes: Notes) -> None:
    """What lists show of a type must fit on a line of theirs."""
    if not _line(summary, LONGEST_SUMMARY):
        notes.fault(
            f"summary must be one printable line of {LEAST_WORDS} words or more and at most "
            f"{LONGEST_SUMMARY} characters, not {summary!r}"
        )
    notes.did(f"{name}: {summary!r}")


def fields(subject: Asked, notes: Notes) -> None:
    """every parameter has unit, range and a sentence of help, and its name ends in its unit"""
    for info in subject.fields:
        for fault in _field_faults(info):
            notes.fault(f"{info.name}: {fault}")
    notes.did(f"{len(subject.fields)} parameters")


def _field_faults(info: FieldInfo) -> typing.Iterator[str]:
    yield from field_faults(info)
    if info.kind not in ("number", "integer"):
        return
    if info.low is None or info.high is None:
        yield "a number needs a least and a greatest value"
    elif not (math.isfinite(info.low) and math.isfinite(info.high) and info.low < info.high):
        yield f"the range from {info.low!r} to {info.high!r} is none"


def schema(subject: Asked, notes: Notes) -> None:
    """what a schema is made from is complete, finite, and agrees with what the class takes"""
    known: list[str] = []
    for info in subject.fields:
        known += [n for n in (info.name, info.inches_name) if n is not None]
        try:
            json.dumps(attrs.asdict(info), allow_nan=False)
        except (TypeError, ValueError) as error:
            notes.fault(f"{info.name}: its description is no finite JSON: {error}")
        if info.kind not in typing.get_args(Kind):
            notes.fault(f"{info.name}: {info.kind!r} is no kind of field")
        if info.kind == "choice" and not _are_choices(info.choices):
            notes.fault(f"{info.name}: choices must be two or more different texts")
        if info.default is not None:
            _accepted(info, info.default, "its default", notes)
        for example in subject.examples:
            _accepted(info, getattr(example, info.name), "an example's value", notes)
    for name in sorted({n for n in known if known.count(n) > 1}):
        notes.fault(f"{name}: two parameters answer to this name")
    cls: Any = subject.cls  # attrs' own type for a class it has made is not JointType
    hidden = {f.name for f in attrs.fields(cls) if f.init} - set(known)
    for name in sorted(hidden):
        notes.fault(
            f"{name}: a parameter that no schema shows; make it with jointgeo.schema.fields"
        )
    notes.did(f"{len(known)} names of parameters, inches included")


def _are_choices(choices: tuple[str, ...]) -> bool:
    texts = all(isinstance(c, str) and c and c.isprintable() for c in choices)
    return texts and len(set(choices)) == len(choices) >= 2


def _accepted(info: FieldInfo, value: Any, what: str, notes: Notes) -> None:
    if value is None and not info.required:
        return
    try:
        kept = info.accept(value)
    except InputError as error:
        notes.fault(f"{what} is not in its own range: {error}")
        return
    if kept != value:
        notes.fault(f"{info.name}: {what}, {value!r}, is kept as {kept!r}")
