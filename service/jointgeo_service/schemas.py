"""marshmallow schemas made at run time from attrs fields: what is said there is not said again.

Knows marshmallow and jointgeo's field descriptions; knows no joint type by name, no HTTP.

Two uses, on purpose apart. *Documentation*: ``described`` turns an attrs class into a
schema whose fields carry unit, range, default and help into the OpenAPI document.
*Reading*: the values of a joint or a fixture are read by ``jointgeo.schema.tables.read``, which
reports every field at fault at once and knows inches and rules between fields; a schema
here hands the whole table to it. The rejected alternative, marshmallow's own Float and
Integer, takes "1.5", " 1_0 " and Arabic digits for numbers and stops at its own wording.
"""

from __future__ import annotations

import inspect
import types
import typing
from collections.abc import Mapping
from typing import Any

import attrs
import marshmallow as ma

from jointgeo.errors import InputError, Problem, shown
from jointgeo.schema.fields import ASKED, FieldInfo, describe, in_tables
from jointgeo_service.properties import inches_of, property_of

__all__ = [
    "Accepted",
    "Described",
    "Documented",
    "Strict",
    "described",
    "either_unit",
    "schema_class",
]


class Documented(ma.fields.Field[Any]):
    """A field whose ``openapi`` is its place in the document, whatever it does when it loads."""

    # marshmallow's sentences, in the library's words.
    default_error_messages = {"required": "is missing", "null": "must not be null"}  # noqa: RUF012  # marshmallow's own form

    def __init__(self, openapi: dict[str, Any], **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.openapi = openapi


class Described(Documented):
    """For documentation: one field of an attrs class; null: whether it may be null, too."""

    def __init__(
        self, info: FieldInfo, *, required: bool | None = None, null: bool = False
    ) -> None:
        said = property_of(info)
        if null:
            said["type"] = [said["type"], "null"]
            said |= {"enum": [*info.choices, None]} if info.choices else {}
        super().__init__(said, required=info.required if required is None else required)


class Accepted(Documented):
    """A value that is read by its FieldInfo, so with the library's own messages."""

    def __init__(self, info: FieldInfo) -> None:
        default = {} if info.required or info.default is None else {"load_default": info.default}
        super().__init__(property_of(info), required=info.required, **default)
        self.info = info

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        try:
            return self.info.accept(value)
        except InputError as error:
            raise ma.ValidationError(list(error.problems)) from None


class Strict(ma.Schema):
    """A schema that refuses what it does not know and raises InputError with every problem."""

    #: What the table as a whole is called in a problem.
    whole = "body"

    error_messages = {  # noqa: RUF012  # marshmallow's own form
        "unknown": "is not a known name",
        "type": "is not a table of names and values",
    }

    def handle_error(self, error: ma.ValidationError, data: Any, **kwargs: Any) -> None:
        problems: list[Problem] = []
        for name, found in error.messages_dict.items():
            for message in found:
                if isinstance(message, Problem):
                    problems.append(message)
                else:
                    problems.append(self._problem(name, str(message), data))
        raise InputError(*problems)

    def _problem(self, name: str, message: str, data: Any) -> Problem:
        """marshmallow's own findings: a name that is unknown, missing or null, or no table."""
        if name == ma.exceptions.SCHEMA:
            return Problem(self.whole, message, shown(data), "a table of names and values")
        given = shown(data[name]) if name in data else None
        field = self.fields.get(name)
        if field is None:
            return Problem(name[:60], message, given, "one of " + ", ".join(sorted(self.fields)))
        if isinstance(field, Accepted):
            return Problem(name, message, given, field.info.allowed, field.info.unit)
        return Problem(name, message, given, str(field.metadata.get("allowed", "")))


def described(cls: type, name: str) -> type[ma.Schema]:
    """A schema that documents an attrs class and the classes within it.

    name: the schema's name in the document, unique and legal there.
    """
    hints = typing.get_type_hints(cls)
    plain = {info.name: info for info in describe(cls)}
    fields: dict[str, ma.fields.Field[Any]] = {}
    for field in attrs.fields(cls):
        key = field.alias or field.name
        if field.name in plain:
            fields[key] = Described(plain[field.name], null=plain[field.name].may_be_none)
        elif in_tables(field):
            fields[key] = _nested(hints[field.name], f"{name}_{key}", field)
    inches = {i.name: (i.inches_name, inches_of(i)) for i in plain.values() if i.inches_name}
    return schema_class(name, fields, inches=inches)


def schema_class(
    name: str,
    fields: Mapping[str, ma.fields.Field[Any]],
    base: type[ma.Schema] = ma.Schema,
    inches: Mapping[str, Any] | None = None,
) -> type[ma.Schema]:
    """A schema class of that name; ``inches`` tells the other name and form of lengths.

    It stays out of marshmallow's registry of names, which lives as long as the process.
    """
    meta = type("Meta", (base.Meta,), {"unknown": ma.RAISE, "register": False})
    made = type(name, (base,), {**fields, "Meta": meta, "x_inches": inches or {}})
    return typing.cast(type[ma.Schema], made)


def either_unit(schema: object, millimetres: dict[str, Any]) -> dict[str, Any]:
    """A schema's JSON Schema with every length in millimetres, or every one in inches.

    The reader takes a mixture too. One rule for each length would say so exactly, and would
    make the document unreadable and too hard for programs that make up questions from it.
    """
    inches: Mapping[str, Any] = getattr(schema, "x_inches", {})
    if not inches:
        return millimetres
    properties, required = millimetres["properties"], millimetres.get("required", [])
    other = {
        **millimetres,
        "properties": dict(inches.get(k, (k, v)) for k, v in properties.items()),
    }
    if required:
        other["required"] = [inches[k][0] if k in inches else k for k in required]
    title = {"title": "Lengths in inches; each may be in millimetres too"}
    return {"anyOf": [{"title": "Lengths in millimetres"} | millimetres, title | other]}


def _nested(hint: Any, name: str, field: attrs.Attribute[Any]) -> ma.fields.Field[Any]:
    many = typing.get_origin(hint) is tuple
    inner = typing.get_args(hint)[0] if many else hint
    if isinstance(inner, types.UnionType):
        inner = next(a for a in typing.get_args(inner) if a is not type(None))
    required = field.default is attrs.NOTHING
    what = " ".join((inspect.getdoc(inner) or name).partition("\n\n")[0].split())
    if ASKED in field.metadata:
        what = f"{what} {field.metadata[ASKED]}."
    said = {"description": what}
    nested = ma.fields.Nested(described(inner, name), required=required, metadata=said)
    return ma.fields.List(nested, required=required, metadata=said) if many else nested
