"""A fixture as the text of a TOML file: the way back from ``fixture_file``.

Knows the fixture's classes and the field declarations; touches no file.

Theory. Every value of a fixture is a number, a flag, a word or a short line of text, a
table of those, or a list of such tables, so a dozen lines write all of TOML that is
needed, and no library is. Numbers are written by ``repr``, the shortest text that reads
back as the same double; text is written as a basic string with JSON's escapes, all of
which TOML shares. Within a table plain values come first: after a sub-table's heading a
key would belong to that sub-table. Comments of a file that was read are not kept; who
replaces a file keeps the old one (see ``accuracy.changes``).
"""

from __future__ import annotations

import json
from typing import Any

import attrs

from jointgeo.fields import KEY
from jointgeo.fixture import Fixture

__all__ = ["fixture_toml"]

HEAD = (
    "# A fixture for jointgeo. Frame: facing the plate, X right, Y away from you, Z up; Z = 0 is\n"
    "# the plate's lower edge, Y = 0 its face. Millimetres and degrees.\n"
)


def fixture_toml(fixture: Fixture) -> str:
    """The fixture as TOML; ``fixture_file.read_fixture`` of it gives an equal fixture."""
    return HEAD + "\n".join(_table(fixture, "")) + "\n"


def _table(value: Any, path: str) -> list[str]:
    lines, nested = [], []
    for field in attrs.fields(type(value)):
        item = getattr(value, field.name)
        if KEY not in field.metadata:
            nested.append((field.name, item))
        elif item is not None:
            lines.append(f"{field.name} = {_scalar(item)}")
    for name, item in nested:
        below = f"{path}.{name}" if path else name
        many = isinstance(item, tuple)
        for table in item if many else (item,):
            lines += ["", f"[[{below}]]" if many else f"[{below}]", *_table(table, below)]
    return lines


def _scalar(value: bool | int | float | str) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        # TOML forbids a bare DEL, which JSON lets through; printable text has none.
        return json.dumps(value, ensure_ascii=False)
    return repr(value)
