"""A piece's answer in the shapes a spreadsheet can take: a bare value, or a CSV table.

Knows the JSON form of the answers; knows no type by name and no HTTP. Cells hold bare numbers and
names made harmless, for the reasons that ``shapes`` gives. Paths count as paper does, from 1.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from typing import Any

from jointgeo.errors import InputError, Problem, shown

__all__ = ["TABLES", "csv_table", "picked", "tsv_table"]

_HARMFUL = re.compile(r"[^A-Za-z0-9_%. ]+", re.ASCII)
_NUMBER = re.compile(r"[1-9][0-9]{0,5}", re.ASCII)
#: Members by which an item of a list is known.
_NAMES = ("name", "bar", "part", "member", "kind", "joint")
_MEMBER = ("name", "count", "mirrored", "width_mm", "thickness_mm", "length_mm", "blank_mm")
_SETUP = ("swivel_deg", "tilt_deg", "packing_deg", "trim_mm", "overhang_mm")
_CUT = ("left_mm", "right_mm", "depth_mm")
_PASS = ("travel_mm", "turns", "divisions")
_CHECK = ("part", "setup", "name", "value", "limit", "margin", "unit", "status")
_FIGURE = ("name", "value", "unit", "source")


def picked(answer: Any, path: str) -> str:
    """The one value at a path, as text. InputError where the path leads to none, or to several."""
    value = answer
    steps = path.split(".")
    while steps:
        value = _into(value, steps, path)
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (int, float)):
        return repr(value)
    if isinstance(value, str):
        return " ".join(value.split())
    raise InputError(_astray(path, "does not lead to a single value", value))


def _into(value: Any, steps: list[str], path: str) -> Any:
    """One step further; as many of ``steps`` are taken off as its name has dots."""
    for count in range(len(steps), 0, -1):
        step = ".".join(steps[:count])
        if isinstance(value, Mapping) and step in value:
            del steps[:count]
            return value[step]
        if isinstance(value, list):
            if _NUMBER.fullmatch(step) and int(step) <= len(value):
                del steps[:count]
                return value[int(step) - 1]
            found = [v for v in value if isinstance(v, Mapping) and step in _names(v)]
            if len(found) == 1:
                del steps[:count]
                return found[0]
            if found:
                raise InputError(_astray(path, f"{step} stands for {len(found)} there", value))
    raise InputError(_astray(path, f"there is no {shown(steps[0])} there", value))


def _names(item: Mapping[str, Any]) -> list[Any]:
    return [item[n] for n in _NAMES if n in item]


def _astray(path: str, message: str, value: Any) -> Problem:
    allowed = "a member that is a number, a text, true, false or null"
    if isinstance(value, Mapping):
        allowed = "there: one of " + ", ".join(str(k) for k in value)
    elif isinstance(value, list) and value:
        names = [str(n) for v in value if isinstance(v, Mapping) for n in _names(v) if n]
        allowed = f"there: 1 to {len(value)}"
        allowed += f", or one of {', '.join(dict.fromkeys(names))}" if names else ""
    return Problem("pick", message, shown(path), allowed)


def csv_table(want: str, answer: Mapping[str, Any]) -> str:
    """The table of one of ``TABLES``; lines end as RFC 4180 says."""
    columns, rows = TABLES[want]
    lines = [",".join(columns), *(",".join(_cell(c) for c in row) for row in rows(answer))]
    return "".join(f"{line}\r\n" for line in lines)


def tsv_table(want: str, answer: Mapping[str, Any], heading: str) -> str:
    """The same with tabs and no line end after the last, for programs of cells. heading: "names",
    or "words" for a person."""
    columns, rows = TABLES[want]
    head = [WORDS.get(c, c.replace("_", " ")) for c in columns] if heading == "words" else columns
    lines = ["\t".join(head), *("\t".join(_told(c) for c in row) for row in rows(answer))]
    return "\n".join(lines)


def _members(answer: Mapping[str, Any]) -> Iterator[list[Any]]:
    for m in answer["members"]:
        edges = m["long_edges_mm"]
        yield [*(m[n] for n in _MEMBER), max(edges), min(edges), m["shape"]]


def _passes(answer: Mapping[str, Any]) -> Iterator[list[Any]]:
    for number, end in enumerate(answer["settings"], 1):
        for setup_number, setup in enumerate(end["setups"], 1):
            pieces = sum(use["count"] for use in setup["for"])
            uses = dict.fromkeys(f"{u['member']} {u['end']}" for u in setup["for"])
            head = [number, " and ".join(uses), pieces, setup_number, setup["against_plate"]]
            head += [setup[n] for n in _SETUP]
            for cut_number, cut in enumerate(setup["cuts"], 1):
                middle = [cut_number, *(cut[n] for n in _CUT)]
                for pass_number, one in enumerate(cut["passes"], 1):
                    yield [*head, *middle, pass_number, *(one[n] for n in _PASS)]
            if not setup["cuts"]:
                yield [*head, *[None] * (2 + len(_CUT) + len(_PASS))]


def _checks(answer: Mapping[str, Any]) -> Iterator[list[Any]]:
    for check in answer["checks"]:
        yield [check.get(n) for n in _CHECK]


def _figures(answer: Mapping[str, Any]) -> Iterator[list[Any]]:
    for part in answer["parts"]:
        for figure in part["figures"]:
            yield [part["kind"], *(figure[n] for n in _FIGURE)]


#: What has a table: its columns, and its rows of an answer.
TABLES: dict[str, tuple[tuple[str, ...], Callable[[Mapping[str, Any]], Iterator[list[Any]]]]] = {
    "cut-list": ((*_MEMBER, "long_edge_mm", "short_edge_mm", "shape"), _members),
    "settings": (
        ("setting", "for", "pieces", "setup", "against_plate", *_SETUP, "cut", *_CUT, "pass",
         *_PASS),
        _passes,
    ),
    "feasibility": (_CHECK, _checks),
    "fixture-parts": (("part", *_FIGURE), _figures),
}  # fmt: skip


#: Headings for people; the others are the names without their underscores.
WORDS = {
    "setting": "operation",
    "setup": "clamping",
    "name": "member",
    "count": "how many",
    "mirrored": "of them mirrored",
    "width_mm": "width (mm)",
    "thickness_mm": "thickness (mm)",
    "length_mm": "finished length (mm)",
    "blank_mm": "cut the blank to (mm)",
    "long_edge_mm": "its longest edge (mm)",
    "short_edge_mm": "its shortest edge (mm)",
    "for": "member and end",
    "against_plate": "side against the plate",
    "swivel_deg": "true swivel (deg)",
    "tilt_deg": "true tilt (deg)",
    "packing_deg": "wedge under one edge (deg)",
    "trim_mm": "trim (mm)",
    "overhang_mm": "overhang (mm)",
    "left_mm": "from (mm)",
    "right_mm": "to (mm)",
    "depth_mm": "depth (mm)",
    "travel_mm": "carriage at (mm)",
}


def _told(value: Any) -> str:
    """A cell of a table with tabs: a text that begins like a number has a ' before it."""
    if value is None:
        return ""
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return repr(value)
    text = " ".join(str(value).split())
    return f"'{text}" if text[:1] in "'-#0123456789" and text else text


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return repr(value)
    return _HARMFUL.sub("_", str(value)).strip()
