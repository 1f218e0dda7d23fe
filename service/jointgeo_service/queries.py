"""The flat query string of GET: scalars as text, made into the question that POST asks.

Knows the questions and strict number syntax; knows no route and solves nothing.

Theory of operation. A spreadsheet can send a flat list of texts only. A text that is a
number by JSON's grammar becomes one, ``true`` and ``false`` become flags, and the joint's
table made so goes to the same reader as a JSON body's; every other text goes there as it
is, and is refused there by the field's own name and range. The trap is float(), which
takes " 1_0 ", "１" and "nan".
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any

import attrs
import marshmallow as ma

from jointgeo.errors import InputError, Problem, shown
from jointgeo.joints.joint_type import JointType
from jointgeo.schema.fields import FieldInfo, describe
from jointgeo.schema.tables import unknown_name
from jointgeo_service.fixtures import Chosen, Fixtures, Once
from jointgeo_service.limits import PATH_CHARACTERS, PATHS
from jointgeo_service.plugins import Known
from jointgeo_service.problems import RefusedError
from jointgeo_service.properties import inches_of
from jointgeo_service.questions import FIXTURE, HAND
from jointgeo_service.schemas import Described, Documented, schema_class
from jointgeo_service.strict_json import number_in

__all__ = ["ANSWER", "LISTED", "PAGE", "PICKED", "Asked", "Query"]


def _argument(name: str, kind: Any, help: str, **more: Any) -> FieldInfo:
    return FieldInfo(name, kind, "", help, required=False, **more)


SHAPE = _argument(
    "shape", "choice", "Form of the answer: JSON, a CSV table of bare numbers and names, or a "
    "table with tabs and with sentences too", choices=("json", "csv", "tsv"), default="json",
)  # fmt: skip
LIST_SHAPE = _argument(
    "shape", "choice", "Form of the answer: JSON, or a table with tabs",
    choices=("json", "tsv"), default="json",
)  # fmt: skip
CELLS = _argument(
    "cells", "choice", "1: every error comes with status 200 as a short text that begins with #",
    choices=("0", "1"), default="0",
)  # fmt: skip
PICK = FieldInfo(
    "pick", "text", "", "Path of a value, e.g. leg.1.swivel_deg: part, number of the clamping from "
    "1, quantity; .../paths lists them. Give it once for each value",
    high=PATH_CHARACTERS,
)  # fmt: skip
PART = _argument("part", "text", "For csv and tsv: this part only", high=80)
SETUP = _argument("setup", "integer", "For csv and tsv: this clamping only", low=1, high=100)
HEADING = _argument(
    "heading", "choice", "For csv and tsv: names of columns as in JSON, or in words",
    choices=("names", "words"), default="names",
)  # fmt: skip
NOCACHE = _argument("nocache", "text", "Ignored; defeats a cache", high=2000)

#: The arguments of a query beside the joint's parameters: of an answer, of single values, of the
#: list of paths, and of a page.
ANSWER = (FIXTURE, HAND, SHAPE, CELLS, PART, SETUP, HEADING)
PICKED = (FIXTURE, HAND, PICK, CELLS)
LISTED = (FIXTURE, HAND, LIST_SHAPE, CELLS)
PAGE = (FIXTURE, HAND)
#: Arguments that a table takes and JSON does not.
OF_TABLES = ("part", "setup", "heading")


def _number(text: Any) -> object:
    return number_in(text) if isinstance(text, str) else text


def _flag(text: Any) -> object:
    return {"true": True, "false": False}.get(text, text) if isinstance(text, str) else text


def _as_it_is(text: Any) -> object:
    return text


#: What makes a value of an argument's text, by the kind of its field.
_VALUES: dict[str, Callable[[Any], object]] = {
    "number": _number,
    "integer": _number,
    "flag": _flag,
}


def _value(info: FieldInfo, text: Any) -> object:
    return _VALUES.get(info.kind, _as_it_is)(text)


@attrs.frozen
class Asked:
    """A question by query string, read. own: its other arguments by name, defaults filled in."""

    joint: JointType
    fixture: Chosen
    hand: Any
    picks: tuple[str, ...]
    own: Mapping[str, Any]


class Query:
    """Reads the query string of one joint type. ``schema`` documents it, flat.

    own: the arguments beside the joint's parameters; ``nocache`` is always one of them.
    """

    def __init__(self, known: Known, fixtures: Fixtures | Once, own: Iterable[FieldInfo]) -> None:
        self.known, self.fixtures = known, fixtures
        self._own = {info.name: info for info in (*own, NOCACHE)}
        #: Name in the query → name in the joint's table, and what makes a value of its text.
        self._names: dict[str, tuple[str, Callable[[Any], object]]] = {}
        documented: dict[str, ma.fields.Field[Any]] = {}
        for info in describe(known.cls):
            inches = info.inches_name
            name = self._free(info.name)
            self._names[name] = (info.name, _VALUES.get(info.kind, _as_it_is))
            documented[name] = Described(info, required=info.required and inches is None)
            if inches is not None:
                self._names[self._free(inches)] = (inches, _as_it_is)
                documented[self._free(inches)] = Documented(inches_of(info))
        for info in self._own.values():
            documented[info.name] = _documented(info)
        self.schema = schema_class(f"{known.name}_query", documented)

    def _free(self, name: str) -> str:
        """A parameter that has the name of an argument here is called ``joint.<name>``."""
        return f"joint.{name}" if name in RESERVED else name

    def flat(self, table: Mapping[str, Any]) -> dict[str, str]:
        """A joint's table as this reads it back from a query string."""
        names = {field: name for name, (field, _) in self._names.items()}
        flags = {True: "true", False: "false"}
        return {names[k]: flags[v] if isinstance(v, bool) else str(v) for k, v in table.items()}

    def read(self, pairs: Iterable[tuple[str, Any]]) -> Asked:
        """The question in a query string. Raises InputError with everything wrong with it.

        The values may also be numbers and flags already, as a list's are.
        """
        problems: list[Problem] = []
        single: dict[str, Any] = {}
        picks: list[str] = []
        for name, text in pairs:
            if name == "pick" and "pick" in self._own:
                picks.append(self._accepted(PICK, text, problems))
            elif name in single:
                message = "is given more than once"
                problems.append(Problem(name[:60], message, shown(text), "once"))
            else:
                single[name] = text
        table, rest = {}, {}
        for name, text in single.items():
            known = self._names.get(name)
            if known is None:
                rest[name] = text
            else:
                field, made = known
                table[field] = made(text)
        own, chosen = self._read_own(rest, picks, problems)
        unknown, meant = self._unknown(rest, frozenset(single))
        problems += unknown
        joint = None
        try:
            joint = self.known.joint(table)
        except RefusedError:  # not an argument's fault
            raise
        except InputError as error:
            problems += error.problems
        # A name misspelt is one mistake, not an unknown name and a missing one.
        problems = [p for p in problems if p.given is not None or p.field not in meant]
        if problems or joint is None or chosen is None:
            raise InputError(*problems)
        return Asked(joint, chosen, own.pop("hand"), tuple(picks), own)

    def _read_own(
        self, single: Mapping[str, Any], picks: list[str], problems: list[Problem]
    ) -> tuple[dict[str, Any], Chosen | None]:
        own: dict[str, Any] = {}
        chosen = None
        for name, info in self._own.items():
            if name == NOCACHE.name:
                continue
            if name == "fixture" and name in single:
                chosen = self._chosen(single[name], problems)
            elif name in single:
                own[name] = self._accepted(info, _value(info, single[name]), problems)
            elif name == "pick" and picks:
                if len(picks) > PATHS:
                    message = "is given too often"
                    problems.append(Problem(name, message, f"{len(picks)}", f"at most {PATHS}"))
            elif info.required:
                problems.append(Problem(name, "is missing", None, info.help))
            elif info.default is not None:
                own[name] = info.default
        if own.get("shape") == "json":
            for name in OF_TABLES:
                if name in single:
                    allowed = "shape=csv or shape=tsv"
                    problems.append(Problem(name, "is for tables only", None, allowed))
        return own, chosen

    def _unknown(
        self, rest: Mapping[str, Any], given: frozenset[str]
    ) -> tuple[list[Problem], set[str]]:
        """The names that nobody knows, with what is meant by each where that can be told, and the
        fields that then miss nothing."""
        known = frozenset({*self._own, *self._names})
        allowed = "one of " + ", ".join(sorted(known))
        problems: list[Problem] = []
        meant: set[str] = set()
        for name in (n for n in rest if n not in self._own):
            problem, names = unknown_name(name, rest[name], known, known - given, allowed)
            field, listed = str(name)[:60], problem.allowed or allowed
            problems.append(attrs.evolve(problem, field=field, allowed=listed))
            fields = [self._names[n][0] if n in self._names else n for n in names]
            meant.update(fields, (f.removesuffix("_in") + "_mm" for f in fields if f[-3:] == "_in"))
        return problems, meant

    def _chosen(self, name: Any, problems: list[Problem]) -> Chosen | None:
        try:
            return self.fixtures.get(name)
        except RefusedError:  # being changed, which is nobody's fault
            raise
        except InputError as error:
            problems += error.problems
            return None

    @staticmethod
    def _accepted(info: FieldInfo, given: Any, problems: list[Problem]) -> Any:
        try:
            return info.accept(given)
        except InputError as error:
            problems += error.problems
            return given


#: What no parameter can be called in any query.
RESERVED = {i.name for i in (*ANSWER, *PICKED, NOCACHE)}


def _documented(info: FieldInfo) -> ma.fields.Field[Any]:
    if info.name != "pick":
        return Described(info)
    return ma.fields.List(Described(info), required=True, metadata={"description": info.help})
