"""The flat query string of GET: scalars as text, made into the question that POST asks.

Knows the questions and strict number syntax; knows no route and solves nothing.

Theory of operation. A spreadsheet can send a flat list of texts only. A text that is a
number by JSON's grammar becomes one, ``true`` and ``false`` become flags, and the joint's
table made so goes to the same reader as a JSON body's; every other text goes there as it
is, and is refused there by the field's own name and range. The trap is float(), which
takes " 1_0 ", "１" and "nan".
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

import attrs
import marshmallow as ma

from jointgeo.errors import InputError, Problem, shown
from jointgeo.joints.joint_type import JointType
from jointgeo.schema.fields import FieldInfo, describe
from jointgeo_service.plugins import Known
from jointgeo_service.problems import RefusedError
from jointgeo_service.questions import HAND, FixtureField
from jointgeo_service.schemas import (
    Accepted,
    Described,
    Documented,
    Strict,
    inches_of,
    property_of,
    schema_class,
)
from jointgeo_service.strict_json import number_in

__all__ = ["Asked", "Query"]

SHAPES = ("json", "csv", "value")


def _argument(name: str, kind: Any, help: str, **more: Any) -> FieldInfo:
    return FieldInfo(name, kind, "", help, required=False, **more)


SHAPE = _argument(
    "shape", "choice", "Form of the answer: JSON, a CSV table, or one bare value as text",
    choices=SHAPES, default="json",
)  # fmt: skip
CELLS = _argument(
    "cells", "choice", "1: every error comes with status 200 as a short text that begins with #",
    choices=("0", "1"), default="0",
)  # fmt: skip
PICK = _argument(
    "pick", "text",
    "For shape=value: path into the JSON answer, e.g. parts.0.setups.0.swivel_deg; an item of "
    "a list by its index, or by its name or part",
    high=200,
)  # fmt: skip
PART = _argument(
    "part", "text", "For csv, this part only; for value, which part a name stands for", high=80
)
SETUP = _argument(
    "setup", "integer", "For csv, this setup only; for value, which setup a name stands for",
    low=1, high=100,
)  # fmt: skip


class _FromText(Accepted):
    """A field of the service's own in a query."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        return super()._deserialize(_value(self.info, value), attr, data, **kwargs)


def _value(info: FieldInfo, text: str) -> object:
    if info.kind in ("number", "integer"):
        return number_in(text)
    if info.kind == "flag":
        return {"true": True, "false": False}.get(text, text)
    return text


class _Ignored(Documented):
    def __init__(self) -> None:
        super().__init__({"description": "Ignored; defeats a cache", "type": "string"})


@attrs.frozen
class Asked:
    """A question by query string, read."""

    joint: JointType
    fixture: Any
    hand: Any
    shape: str
    pick: str | None
    part: str | None
    setup: int | None


class Query:
    """Reads the query string of one joint type. ``schema`` documents it, flat."""

    def __init__(self, known: Known) -> None:
        self.known = known
        self._own = schema_class("query_arguments", self._arguments(), base=Strict)()
        #: Name in the query → name in the joint's table and its field, None for inches.
        self._names: dict[str, tuple[str, FieldInfo | None]] = {}
        documented: dict[str, ma.fields.Field[Any]] = {}
        for info in describe(known.cls):
            inches = info.inches_name
            name = self._free(info.name)
            self._names[name] = (info.name, info)
            documented[name] = Described(info, required=info.required and inches is None)
            if inches is not None:
                self._names[self._free(inches)] = (inches, None)
                documented[self._free(inches)] = Documented(inches_of(info))
        self.schema = schema_class(f"{known.name}_query", documented | self._arguments())

    @staticmethod
    def _arguments() -> dict[str, ma.fields.Field[Any]]:
        own = [_FromText(i) for i in (HAND, SHAPE, CELLS, PICK, PART, SETUP)]
        fields: dict[str, ma.fields.Field[Any]] = {f.info.name: f for f in own}
        return {"fixture": FixtureField(by_name=True), **fields, "nocache": _Ignored()}

    def _free(self, name: str) -> str:
        """A parameter that has the name of an argument here is called ``joint.<name>``."""
        return f"joint.{name}" if name in self._own.fields else name

    def read(self, pairs: Iterable[tuple[str, str]]) -> Asked:
        """The question in a query string. Raises InputError with everything wrong with it."""
        problems: list[Problem] = []
        single: dict[str, str] = {}
        for name, text in pairs:
            if name in single:
                message = "is given more than once"
                problems.append(Problem(name[:60], message, shown(text), "once"))
            single.setdefault(name, text)
        own = {n: t for n, t in single.items() if n not in self._names}
        table = {}
        for name, (field, info) in self._names.items():
            if name in single:
                text = single[name]
                table[field] = text if info is None else _value(info, text)
        loaded: Mapping[str, Any] = {}
        joint = None
        try:
            loaded = self._own.load(own)
            problems += _wrongly_shaped(loaded)
        except InputError as error:
            known = "one of " + ", ".join(sorted({*self._own.fields, *self._names}))
            problems += [
                attrs.evolve(p, allowed=known) if p.field not in self._own.fields else p
                for p in error.problems
            ]
        try:
            joint = self.known.joint(table)
        except RefusedError:  # not an argument's fault
            raise
        except InputError as error:
            problems += error.problems
        if problems or joint is None:
            raise InputError(*problems)
        return Asked(
            joint,
            loaded["fixture"],
            loaded["hand"],
            loaded["shape"],
            loaded.get("pick"),
            loaded.get("part"),
            loaded.get("setup"),
        )


def _wrongly_shaped(loaded: Mapping[str, Any]) -> list[Problem]:
    """Arguments that another shape needs, or that this one lacks."""
    shape = loaded["shape"]
    out = []
    if shape == "value" and "pick" not in loaded:
        out.append(Problem("pick", "is missing", None, property_of(PICK)["description"]))
    if shape != "value" and "pick" in loaded:
        out.append(Problem("pick", "is for shape=value only", None, "shape=value"))
    for name in ("part", "setup"):
        if shape == "json" and name in loaded:
            message = "is for shape=csv and shape=value only"
            out.append(Problem(name, message, None, "shape=csv or shape=value"))
    return out
