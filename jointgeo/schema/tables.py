"""Plain tables of names and values, read into the classes that describe them.

Knows parameter fields, inches and errors; knows no joint type, no fixture and no file format.

Every field at fault is told at once, by its path, and nothing is built unless all is right.
"""

from __future__ import annotations

import difflib
import math
import types
import typing
from collections.abc import Mapping
from functools import lru_cache
from typing import Any, TypeAlias, TypeVar

import attrs

from jointgeo.errors import InputError, Problem, one_line, shown
from jointgeo.schema.fields import KEY, FieldInfo, in_tables, info_of
from jointgeo.schema.units import INCH_FORMS, read_inches

__all__ = ["read", "unknown_name"]

T = TypeVar("T")
#: How much alike two names are, by ``difflib``'s measure, for one to be taken as a slip for the
#: other: two letters that changed places in ten, and no other word. Our choice.
ALIKE = 0.8


_Row: TypeAlias = tuple[
    str, str | None, float, float, FieldInfo | None, "attrs.Attribute[Any]", Any
]


@attrs.frozen(eq=False)
class _Reader:
    """What reading a class takes, worked out once, since that takes longer than reading a joint.

    fields: each with its FieldInfo, or None and its annotation for what is a table itself; and in
    front of them its name, its name in inches, and the least and greatest float that it takes.
    known: every name that is taken.
    """

    fields: tuple[_Row, ...]
    known: frozenset[str]


@lru_cache(maxsize=256)
def _reader(cls: type) -> _Reader:
    hints = typing.get_type_hints(cls)
    fields: list[_Row] = []
    known: set[str] = set()
    for field in attrs.fields(cls):
        if not in_tables(field):
            continue
        info = info_of(field) if KEY in field.metadata else None
        name, inches, taken = field.alias or field.name, None, (math.inf, -math.inf)
        if info is not None:
            name, inches, taken = info.name, info.inches_name, info.taken
        known.update(n for n in (name, inches) if n is not None)
        fields.append((name, inches, *taken, info, field, hints[field.name]))
    return _Reader(tuple(fields), frozenset(known))


def read(cls: type[T], data: object, error: type[InputError] = InputError) -> T:
    """Build ``cls`` from plain data, nested tables and lists of tables included.

    Raises ``error`` with one Problem for each unknown, missing, doubled or unusable
    key; paths are relative to ``data``. Nothing is built unless everything is right.
    """
    if not isinstance(data, Mapping):
        raise error(Problem("", "is not a table of names and values", shown(data), "a table"))
    reader = _reader(typing.cast(Any, cls))
    problems: list[Problem] = []
    values: dict[str, Any] = {}
    for name, inches, low, high, info, field, hint in reader.fields:
        given = data.get(name)
        if type(given) is float and low <= given <= high and inches not in data:
            values[name] = given  # by far the most usual case
        elif info is not None:
            _read_plain(info, data, values, problems)
        else:
            _read_nested(field, hint, data, values, problems, error)
    if not reader.known.issuperset(data):
        problems = _unknown_names(data, reader.known, problems)
    if problems:
        raise error(*problems)
    try:
        return cls(**values)
    except InputError as found:  # a rule between several fields, held by the class itself
        raise error(*found.problems) from None


def _unknown_names(
    data: Mapping[str, Any], known: frozenset[str], problems: list[Problem]
) -> list[Problem]:
    """The problems found so far and one for each name that nobody knows."""
    allowed = "one of " + ", ".join(sorted(known))
    free = known.difference(data)
    found: list[Problem] = []
    meant: set[str] = set()
    for key in data:
        if key not in known:
            unknown, names = unknown_name(key, data[key], known, free, allowed)
            found.append(unknown)
            # The same length in inches misses the name in millimetres.
            meant.update(names, (n.removesuffix("_in") + "_mm" for n in names if n[-3:] == "_in"))
    # A name misspelt or in another unit is one mistake, not an unknown name and a missing one.
    return [p for p in problems if p.given is not None or p.field not in meant] + found


def unknown_name(
    key: object, given: object, known: frozenset[str], free: frozenset[str], allowed: str
) -> tuple[Problem, list[str]]:
    """A key nobody knows, and what is meant by it: one that differs in its unit only is told so,
    and one that is nearly a free name is told which. known: every name; free: those not given;
    allowed: what is said of a key that is like none."""
    name = one_line(str(key))
    stem = name.rpartition("_")[0]
    same = [k for k in sorted(known) if stem and k.rpartition("_")[0] == stem]
    if same:
        message = "is in a unit that is not taken here"
        return Problem(name, message, shown(given), " or ".join(same)), same
    near = difflib.get_close_matches(name, sorted(free), n=1, cutoff=ALIKE)
    if near:
        message = f"is not a known name; did you mean {near[0]}?"
        return Problem(name, message, shown(given)), near
    return Problem(name, "is not a known name", shown(given), allowed), []


def _read_plain(
    info: FieldInfo, data: Mapping[str, Any], values: dict[str, Any], problems: list[Problem]
) -> None:
    other = info.inches_name
    if other is not None and other in data:
        if info.name in data:
            message = f"is given twice, as {info.name} and as {other}"
            problems.append(Problem(info.name, message, None, "one of the two"))
            return
        try:
            values[info.name] = info.accept(read_inches(data[other]), other)
        except ValueError:
            problems.append(
                Problem(other, "is not a length in inches", shown(data[other]), INCH_FORMS, "in")
            )
        except InputError as found:
            given = str(data[other]).strip().removesuffix("in").rstrip(' "') + " in"
            problems.extend(
                attrs.evolve(p, given=given, allowed=info.allowed_inches, unit="in")
                for p in found.problems
            )
    elif info.name in data:
        try:
            values[info.name] = info.accept(data[info.name])
        except InputError as found:
            problems.extend(found.problems)
    elif info.required:
        problems.append(Problem(info.name, "is missing", None, info.allowed, info.unit))


def _read_nested(
    field: attrs.Attribute[Any],
    hint: Any,
    data: Mapping[str, Any],
    values: dict[str, Any],
    problems: list[Problem],
    error: type[InputError],
) -> None:
    name = field.alias or field.name
    many = typing.get_origin(hint) is tuple
    inner = typing.get_args(hint)[0] if many else hint
    if isinstance(inner, types.UnionType):
        inner = next(a for a in typing.get_args(inner) if a is not type(None))
    if name not in data:
        if field.default is attrs.NOTHING:
            problems.append(
                Problem(name, "is missing", None, f"a {'list of tables' if many else 'table'}")
            )
        return
    if typing.get_origin(inner) is Mapping:  # a table whose keys somebody else knows
        if isinstance(data[name], Mapping):
            values[name] = data[name]
        else:
            problems.append(Problem(name, "is not a table", shown(data[name]), "a table"))
        return
    given = data[name]
    if many and not isinstance(given, (list, tuple)):
        problems.append(Problem(name, "is not a list of tables", shown(given), "a list of tables"))
        return
    built = []
    for index, item in enumerate(given if many else [given]):
        try:
            built.append(read(inner, item, error))
        except InputError as found:
            problems.extend(found.under(f"{name}[{index}]" if many else name).problems)
    values[name] = tuple(built) if many else (built[0] if built else None)
