"""JSON read and written strictly: what is doubtful is refused by name, not guessed at.

Knows jointgeo's errors and the limits; knows no HTTP and no joint.

Theory of operation. The reader of the standard library takes NaN, lets the last of two
equal names win, fails on an integer of 5,000 digits and on deep nesting. Raising inside
its hooks would lose the path to the field, since a hook sees a value and not its place.
So a value that nobody may use is read as an ``Unusable``: it is no number, no text and no
table, and whoever reads that field refuses it there, by name, as any other wrong value.
An object that gives a name twice is kept as a ``Twice`` and found afterwards by ``misfits``,
together with lists and tables that are too long.

Written is what orjson writes, since the standard library takes longer to write an answer than
the solver to find it. But orjson writes null for a number that is not finite. So only what
was looked through goes to it; all else, numpy's numbers of a plug-in or half a surrogate pair,
takes the slow way, which refuses what has no place in JSON.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterator
from typing import Any

import orjson

from jointgeo.errors import InputError, Problem, shown
from jointgeo_service.limits import ANSWER_TABLES, LIST_ITEMS, NUMBER_DIGITS, TABLE_NAMES

__all__ = [
    "MalformedError",
    "Unusable",
    "encode",
    "misfits",
    "number_in",
    "read_json",
]

_NUMBER = re.compile(r"-?(?:0|[1-9][0-9]*)(?:\.[0-9]+)?(?:[eE][+-]?[0-9]+)?", re.ASCII)


class MalformedError(InputError):
    """The body is no JSON at all, so no field can be named."""


class Unusable:
    """A value that JSON can spell and nobody may use; its repr says what was written."""

    __slots__ = ("says",)

    def __init__(self, says: str) -> None:
        self.says = says

    def __repr__(self) -> str:
        return self.says


class Twice(dict[str, Any]):
    """An object in which ``names`` were given more than once; the last value of each is kept."""

    names: tuple[str, ...] = ()


def _integer(text: str) -> object:
    if len(text) > NUMBER_DIGITS:
        return Unusable(f"{text[:12]}… (a number of {len(text)} characters)")
    return int(text)


def _float(text: str) -> object:
    if len(text) > NUMBER_DIGITS:
        return Unusable(f"{text[:12]}… (a number of {len(text)} characters)")
    value = float(text)
    return value if math.isfinite(value) else Unusable(text)


def _pairs(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    out = dict(pairs)
    if len(out) == len(pairs):
        return out
    seen: set[str] = set()
    names = [name for name, _ in pairs if name in seen or seen.add(name)]  # type: ignore[func-returns-value]  # set.add in a condition
    double = Twice(out)
    double.names = tuple(dict.fromkeys(names))
    return double


_DECODER = json.JSONDecoder(
    object_pairs_hook=_pairs, parse_int=_integer, parse_float=_float, parse_constant=Unusable
)


def number_in(text: str) -> object:
    """``text`` as a number where it is one by JSON's grammar, else the same text.

    The grammar of float() is wider: it takes " 1_0 ", "１" and "nan".
    """
    if not _NUMBER.fullmatch(text):
        return text
    return _float(text) if "." in text or "e" in text or "E" in text else _integer(text)


def read_json(raw: bytes) -> object:
    """The value in a request's body. Raises MalformedError where it is not JSON in UTF-8."""
    allowed = "JSON in UTF-8"
    try:
        return _DECODER.decode(raw.decode("utf-8-sig"))
    except UnicodeDecodeError as error:
        problem = Problem("body", f"is not UTF-8 at byte {error.start}", None, allowed)
    except json.JSONDecodeError as error:
        where = f"line {error.lineno}, column {error.colno}"
        problem = Problem("body", f"is not JSON: {error.msg} at {where}", None, allowed)
    except RecursionError:
        problem = Problem("body", "is nested too deeply", None, allowed)
    raise MalformedError(problem)


def misfits(data: object, *, closed: str = "") -> Iterator[Problem]:
    """A Problem for each name given twice, and each list or table too long, anywhere in ``data``.

    What lies within a list or table that is too long is not looked at, nor within the list
    ``closed``. Keeps its own stack: the data may be nested as deeply as the reader allows.
    """
    if _is_fine(data, closed):
        return
    waiting = [("", data)]
    while waiting:
        path, value = waiting.pop()
        if not isinstance(value, (dict, list)):
            continue
        kind, most = ("list", LIST_ITEMS) if isinstance(value, list) else ("table", TABLE_NAMES)
        if len(value) > most:
            allowed = f"at most {most} {'items' if kind == 'list' else 'names'}"
            yield Problem(path or "body", f"is too long a {kind}", str(len(value)), allowed)
        elif isinstance(value, list):
            if path and path == closed:
                continue
            waiting.extend((f"{path}[{i}]", item) for i, item in enumerate(value))
        else:
            stem = f"{path}." if path else ""
            for name in value.names if isinstance(value, Twice) else ():
                message = "is given more than once in one object"
                yield Problem(f"{stem}{name}", message, shown(value[name]), "once")
            waiting.extend((f"{stem}{name}", item) for name, item in value.items())


def _is_fine(data: object, closed: str) -> bool:
    """Whether there is nothing to report, found without a path to anything."""
    waiting = [data]
    for value in waiting:
        if type(value) is dict:
            if len(value) > TABLE_NAMES or (value is data and closed in value):
                return False
            waiting += [v for v in value.values() if isinstance(v, (dict, list))]
        elif type(value) is list:
            if len(value) > LIST_ITEMS:
                return False
            waiting += [v for v in value if isinstance(v, (dict, list))]
        elif isinstance(value, dict):  # with names given twice
            return False
    return True


def _plain(value: object) -> object:
    """numpy's scalars and arrays, which a joint type's author may well have put in an answer."""
    listed = getattr(value, "tolist", None)
    if listed is None:
        raise TypeError(f"{type(value).__name__} cannot be written as JSON")
    return listed()


_ENCODER = json.JSONEncoder(allow_nan=False, separators=(",", ":"), default=_plain)


def encode(value: object) -> bytes:
    """``value`` as JSON in UTF-8; ValueError for a number that is not finite, else TypeError."""
    if _is_plain(value):
        try:
            return orjson.dumps(value)
        except TypeError:  # something that is no plain data
            pass
    return _ENCODER.encode(value).encode("ascii")


def _is_plain(value: object) -> bool:
    """Whether it is plain data through and through, every float finite.

    Nothing but the plain types themselves will do: orjson also writes kinds of them, enums and
    dates, in which nobody looked for what is not finite.
    """
    waiting: list[Any] = [(value,)]
    for item in waiting:
        if len(waiting) > ANSWER_TABLES:
            return False
        for member in item.values() if type(item) is dict else item:
            kind = type(member)
            if kind is float:
                if member * 0.0 != 0.0:  # three times quicker than isfinite
                    return False
            elif kind is dict or kind is list or kind is tuple:
                waiting.append(member)
            elif kind not in _SINGLE:
                return False
    return True


_SINGLE = frozenset({str, int, bool, type(None)})
