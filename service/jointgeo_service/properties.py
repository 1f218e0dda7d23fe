"""One field as a JSON Schema of draft 2020-12, in that standard's own words.

Knows jointgeo's field descriptions; knows no joint type, no marshmallow and no HTTP. Catalogue and
API document both say a range as it stands here.
"""

from __future__ import annotations

from typing import Any

from jointgeo.schema.fields import FieldInfo

__all__ = ["inches_of", "property_of"]


def property_of(info: FieldInfo) -> dict[str, Any]:
    """One field as a JSON Schema of draft 2020-12."""
    out: dict[str, Any] = {"description": info.help}
    if info.kind == "choice":
        out |= {"type": "string", "enum": list(info.choices)}
    elif info.kind == "flag":
        out["type"] = "boolean"
    elif info.kind == "text":
        out |= {"type": "string", "minLength": 1}
        out |= {} if info.high is None else {"maxLength": int(info.high)}
    else:
        out["type"] = info.kind
        if info.low is not None:
            out["exclusiveMinimum" if info.above else "minimum"] = info.low
        if info.high is not None:
            out["maximum"] = info.high
    if info.default is not None:
        out["default"] = info.default
    if info.unit not in ("", "1"):
        out["x-unit"] = info.unit
    return out


def inches_of(info: FieldInfo) -> dict[str, Any]:
    """The same length in inches: a number in its range, or a text with a fraction, which is held
    to the same range when it is read."""
    number: dict[str, Any] = {"type": "number"}
    low, high = info.inches_range
    if low is not None:
        number["exclusiveMinimum" if info.above else "minimum"] = low
    if high is not None:
        number["maximum"] = high
    text = {"type": "string", "examples": ["2 1/2"]}
    says = f'{info.name} in inches instead: a number, or text such as "2 1/2"'
    return {"description": says, "anyOf": [number, text], "x-unit": "in"}
