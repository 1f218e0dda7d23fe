"""What is filled in on the sheet of a whole piece: a row for each number of the room.

Knows the library's parameter fields and nothing of a sheet's place or look. A person reads and
writes words: a choice without underscores, yes or no; ``asked`` turns them back for the service.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sheets import range_words

from jointgeo.pieces import PieceType
from jointgeo.schema.fields import FieldInfo, describe

__all__ = ["Input", "inputs", "label"]

FIXTURE = "porch"
MARKS = FieldInfo(
    "marks",
    "choice",
    "",
    "Marks: members of a kind marked alike, or face sides as drawn",
    choices=("alike", "as_drawn"),
    required=False,
    default="alike",
)


@dataclass(frozen=True)
class Input:
    """One row. says: what it is, in words; name: what the service calls it; allowed: its range.

    asked: formula of what the service is sent, with ``{cell}`` for where the value stands; "" where
    that is sent as it is.
    """

    says: str
    name: str
    value: str | float
    allowed: str
    asked: str = ""


def label(name: str) -> str:
    """``splay along`` for ``splay_along_deg``."""
    return re.sub("_(mm|deg)$", "", name).replace("_", " ")


def inputs(cls: type[PieceType]) -> list[Input]:
    """Fixture, marks, and every field of the type, filled with its first example."""
    fields, example = describe(cls), cls.examples()[0].to_dict()
    named = _named(fields)
    said = [Input("Fixture, one of those that the service lists", "fixture", FIXTURE, "")]
    said.append(_input(MARKS, MARKS.help, MARKS.default))
    return said + [_input(i, _says(i, named), example.get(i.name)) for i in fields]


def _named(fields: tuple[FieldInfo, ...]) -> Mapping[str, str]:
    """Labels of the fields that another one's help speaks of, by their names."""
    said = {word for info in fields for word in re.findall(r"\w+", info.help)}
    return {i.name: label(i.name) for i in fields if "_" in i.name and i.name in said}


def _says(info: FieldInfo, named: Mapping[str, str]) -> str:
    """The help in words: names in it are the labels that stand before the fields' own help."""
    says = re.sub(r"\w+", lambda w: f'"{named[w[0]]}"' if w[0] in named else w[0], info.help)
    title = named.get(info.name)
    return f"{title[:1].upper()}{title[1:]}: {says}" if title else says


def _input(info: FieldInfo, says: str, value: Any) -> Input:
    """An empty cell, whatever it is of, is sent as nothing, so that the default holds."""
    cell = "{cell}"
    if info.kind == "flag":
        # A typed TRUE is a number to a function; an empty cell would be FALSE.
        yes = f'IF(OR({cell}="yes";{cell}=TRUE());"true";{{no}})'
        no = f'IF(OR({cell}="no";{cell}=FALSE());"false";{cell})'
        asked = f'IF(ISBLANK({cell});"";{yes.replace("{no}", no)})'
        return Input(says, info.name, _yes(value), _either(info, ("yes", "no")), asked)
    if info.kind == "choice":
        words = tuple(_words(info, choice) for choice in info.choices)
        shown = "" if value is None else _words(info, value)
        # However it is written: an office may make the first letter of a cell a capital.
        asked = f"LOWER({cell})" if all(c == c.lower() for c in words) else cell
        asked = asked if words == info.choices else f'SUBSTITUTE({asked};" ";"_")'
        return Input(says, info.name, shown, _either(info, words), asked)
    if value is None:
        return Input(says, info.name, "", range_words(info))
    kept = float(value) if isinstance(value, int | float) else str(value)
    return Input(says, info.name, kept, range_words(info))


def _words(info: FieldInfo, choice: str) -> str:
    """A choice without underscores, where none of the choices has a blank of its own."""
    return choice if any(" " in c for c in info.choices) else choice.replace("_", " ")


def _yes(value: Any) -> str:
    return "" if value is None else "yes" if value else "no"


def _either(info: FieldInfo, words: tuple[str, ...]) -> str:
    """``yes or no; yes where empty``."""
    says = " or ".join(words)
    if info.required:
        return says
    if info.may_be_none:
        return f"{says}; may be empty"
    default = _yes(info.default) if info.kind == "flag" else _words(info, info.default)
    return f"{says}; {default} where empty"
