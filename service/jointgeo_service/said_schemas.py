"""Pieces of a JSON Schema that say what they are, for the API page.

Knows the words of JSON Schema; knows no answer.
"""

from __future__ import annotations

from typing import Any

__all__ = [
    "Schema",
    "array",
    "either",
    "flag",
    "free",
    "maybe",
    "members",
    "names",
    "number",
    "numbers",
    "pose",
    "said",
    "text",
    "whole",
]

Schema = dict[str, Any]


def said(kind: Schema, says: str) -> Schema:
    return {**kind, "description": says}


def number(says: str) -> Schema:
    return said({"type": "number"}, says)


def maybe(says: str) -> Schema:
    return said({"type": ["number", "null"]}, says)


def whole(says: str) -> Schema:
    return said({"type": "integer"}, says)


def text(says: str) -> Schema:
    return said({"type": "string"}, says)


def flag(says: str) -> Schema:
    return said({"type": "boolean"}, says)


def free(says: str) -> Schema:
    return said({"type": "object"}, says)


def array(says: str, items: Schema) -> Schema:
    return said({"type": "array", "items": items}, says)


def names(says: str) -> Schema:
    return array(says, {"type": "string"})


def numbers(says: str) -> Schema:
    return array(says, {"type": "number"})


def pose(says: str) -> Schema:
    return array(f"{says}: 4×4, row-major, mm", {"type": "array", "items": {"type": "number"}})


def members(says: str, /, *optional: str, **named: Schema) -> Schema:
    return {
        "type": "object",
        "description": says,
        "properties": named,
        "required": [name for name in named if name not in optional],
    }


def either(*choices: str, says: str) -> Schema:
    return said({"enum": list(choices)}, says)
