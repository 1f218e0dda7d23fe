"""The flat query string of GET for a piece of an installed type.

Knows the piece questions and strict number syntax; knows no route and solves nothing. Texts become
numbers and flags as in the query of a joint (``queries`` says which and why).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Set
from typing import Any

import attrs
import marshmallow as ma

from jointgeo.errors import InputError, Problem, shown
from jointgeo.pieces.piece_type import PieceType
from jointgeo.schema.fields import FieldInfo, describe
from jointgeo.schema.tables import unknown_name
from jointgeo_service.elsewhere import Elsewhere
from jointgeo_service.fixtures import Chosen, Fixtures
from jointgeo_service.piece_questions import MARKS, PieceAsked, fixture_of
from jointgeo_service.piece_shapes import TABLES
from jointgeo_service.problems import RefusedError
from jointgeo_service.properties import inches_of, property_of
from jointgeo_service.questions import FIXTURE
from jointgeo_service.schemas import (
    Accepted,
    Described,
    Documented,
    Strict,
    schema_class,
)
from jointgeo_service.strict_json import number_in

__all__ = ["CELLS", "HEADING", "NOCACHE", "PICK", "FlatQuery", "PieceQuery", "shape_of"]

CELLS = FieldInfo(
    "cells",
    "choice",
    "",
    "1: every error comes with status 200 as a short text that begins with #",
    choices=("0", "1"),
    required=False,
    default="0",
)
PICK = FieldInfo(
    "pick",
    "text",
    "",
    "For shape=value: path into the JSON answer with dots between its steps; an item of a list by "
    "its name, or by its number from 1",
    high=200,
    required=False,
)
NOCACHE = FieldInfo("nocache", "text", "", "Ignored; defeats a cache", high=2000, required=False)


HEADING = FieldInfo(
    "heading",
    "choice",
    "",
    "For tsv: names of columns as in JSON, or in words",
    choices=("names", "words"),
    required=False,
    default="names",
)


def shape_of(*tables: str) -> FieldInfo:
    """The argument ``shape``; tables: whether there is one."""
    says = "Form of the answer: JSON, "
    says += "a CSV table of bare numbers and names, a table with tabs, " if tables else ""
    return FieldInfo(
        "shape",
        "choice",
        "",
        f"{says}or one bare value as text",
        choices=("json", *tables, "value"),
        required=False,
        default="json",
    )


class _FixtureName(Accepted):
    """A fixture by its name only."""

    def __init__(self, fixtures: Fixtures) -> None:
        super().__init__(FIXTURE)
        self.fixtures = fixtures

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Chosen:
        try:
            return self.fixtures.get(value)
        except RefusedError:  # its file is being changed, which is not the argument's fault
            raise
        except InputError as error:
            raise ma.ValidationError(list(error.problems)) from None


class FlatQuery:
    """Reads a query string of a class's own fields beside others. ``schema`` documents it, flat.

    own: the other arguments. A field that has the name of one of them is called ``prefix.name``.
    """

    def __init__(
        self, name: str, cls: type, own: Iterable[FieldInfo], prefix: str, fixtures: Fixtures
    ) -> None:
        reading = {i.name: Accepted(i) for i in own}
        fields: dict[str, ma.fields.Field[Any]] = {"fixture": _FixtureName(fixtures), **reading}
        self._own = schema_class(f"{name}_arguments", fields, base=Strict)()
        #: Name in the query → name in the class's table and its field, None for inches.
        self._names: dict[str, tuple[str, FieldInfo | None]] = {}
        documented: dict[str, ma.fields.Field[Any]] = {}
        for info in describe(cls):
            inches = info.inches_name
            free = f"{prefix}.{info.name}" if info.name in fields else info.name
            self._names[free] = (info.name, info)
            documented[free] = Described(info, required=info.required and inches is None)
            if inches is not None:
                self._names[inches] = (inches, None)
                documented[inches] = Documented(inches_of(info))
        self.schema = schema_class(f"{name}_query", documented | fields)

    def read(
        self, pairs: Iterable[tuple[str, str]]
    ) -> tuple[dict[str, Any], Mapping[str, Any], list[Problem]]:
        """The class's own table, the other arguments, and what is wrong with those."""
        problems: list[Problem] = []
        single: dict[str, str] = {}
        for name, text in pairs:
            if name in single:
                message = "is given more than once"
                problems.append(Problem(name[:60], message, shown(text), "once"))
            single.setdefault(name, text)
        table = {}
        for name, (field, info) in self._names.items():
            if name in single:
                text = single.pop(name)
                table[field] = text if info is None else _value(info, text)
        loaded: Mapping[str, Any] = {}
        try:
            loaded = self._own.load(single)
            problems += _pick_and_shape(loaded)
        except InputError as error:
            problems += [
                p if p.field in self._own.fields else self._unknown(p, table.keys() | single.keys())
                for p in error.problems
            ]
        return table, loaded, problems

    def _unknown(self, problem: Problem, given: Set[str]) -> Problem:
        """A name that nobody knows, with what is meant by it where that can be told."""
        known = frozenset({*self._own.fields, *self._names})
        allowed = "one of " + ", ".join(sorted(known))
        found, _ = unknown_name(problem.field, None, known, known - given, allowed)
        return attrs.evolve(problem, message=found.message, allowed=found.allowed or allowed)


class PieceQuery:
    """Reads the query of one piece type, for one part of its answer."""

    def __init__(
        self,
        name: str,
        cls: type[PieceType],
        want: str,
        elsewhere: Elsewhere,
        fixtures: Fixtures,
    ) -> None:
        shape = shape_of("csv", "tsv") if want in TABLES else shape_of()
        own = (MARKS, shape, CELLS, PICK, HEADING, NOCACHE)
        self._flat = FlatQuery(f"{name}_{want}_piece", cls, own, "piece", fixtures)
        self.schema = self._flat.schema
        self._name, self._elsewhere = name, elsewhere

    def read(self, pairs: Iterable[tuple[str, str]]) -> tuple[PieceAsked, Mapping[str, Any]]:
        """The question, and the other arguments. InputError with everything that is wrong."""
        table, loaded, problems = self._flat.read(pairs)
        data: Mapping[str, Any] = {}
        try:
            data = self._elsewhere.run({self._name}, "parameters", self._name, table)
        except RefusedError:  # not an argument's fault
            raise
        except InputError as error:
            problems += error.problems
        if problems:
            raise InputError(*problems)
        asked = PieceAsked(self._name, data, fixture_of(loaded), loaded["marks"], field="")
        return asked, loaded


def _value(info: FieldInfo, text: str) -> object:
    if info.kind in ("number", "integer"):
        return number_in(text)
    if info.kind == "flag":
        return {"true": True, "false": False}.get(text, text)
    return text


def _pick_and_shape(loaded: Mapping[str, Any]) -> list[Problem]:
    shape, picked = loaded["shape"], "pick" in loaded
    if shape == "value" and not picked:
        return [Problem("pick", "is missing", None, property_of(PICK)["description"])]
    if shape != "tsv" and loaded.get("heading", "names") != "names":
        return [Problem("heading", "is for shape=tsv only", None, "shape=tsv")]
    if shape != "value" and picked:
        return [Problem("pick", "is for shape=value only", None, "shape=value")]
    return []
