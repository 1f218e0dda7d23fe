"""One answer in the shapes a spreadsheet can take: a bare value, or a CSV table.

Knows the JSON contract of the answers; knows no joint type and no HTTP.

The trap of CSV: a spreadsheet that reads it evaluates a cell that begins with "=", even a
quoted one, and turns 3/4 into a date. So a cell holds a bare number or an identifier that
the joint type or this service chose, made harmless; never what the caller sent, never
a fraction of an inch.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from jointgeo.errors import InputError, Problem, shown

__all__ = ["pick", "table"]

SETTINGS_COLUMNS = (
    "part", "setup", "swivel_deg", "tilt_deg", "packing_deg", "trim_mm", "overhang_mm", "cut",
    "left_mm", "right_mm", "depth_mm", "pass", "travel_mm", "turns", "divisions",
)  # fmt: skip
FEASIBILITY_COLUMNS = ("part", "setup", "check", "value", "limit", "margin", "unit", "status")

_HARMFUL = re.compile(r"[^A-Za-z0-9_%. ]+", re.ASCII)
_INDEX = re.compile(r"[0-9]{1,6}", re.ASCII)


def pick(answer: Any, path: str, part: str | None, setup: int | None) -> str:
    """The one value at a dotted path, as text.

    An item of a list is entered by its index, or by the value of its member ``name`` or
    ``part``. Where a name stands for several items, ``part`` and ``setup`` choose; what is
    still ambiguous is refused, since the first of several margins may not be the least.
    """
    value = answer
    for step in path.split("."):
        value = _into(value, step, path, part, setup)
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (int, float)):
        return repr(value)
    if isinstance(value, str):
        return " ".join(value.split())
    raise InputError(_astray(path, "does not lead to a single value", value))


def _into(value: Any, step: str, path: str, part: str | None, setup: int | None) -> Any:
    if isinstance(value, Mapping) and step in value:
        return value[step]
    if isinstance(value, list):
        if _INDEX.fullmatch(step):
            if int(step) < len(value):
                return value[int(step)]
        else:
            found = [v for v in value if isinstance(v, Mapping) and step in _names(v)]
            if len(found) > 1:
                found = [v for v in found if _chosen(v, part, setup)]
            if len(found) == 1:
                return found[0]
            if found:
                message = f'is ambiguous: {len(found)} items are called "{shown(step)[1:-1]}"'
                allowed = "an index, or part=… and setup=… beside it"
                raise InputError(Problem("pick", message, shown(path), allowed))
    raise InputError(_astray(path, f"leads nowhere at {shown(step)}", value))


def _names(item: Mapping[str, Any]) -> tuple[Any, Any]:
    return item.get("name"), item.get("part")


def _chosen(item: Mapping[str, Any], part: str | None, setup: int | None) -> bool:
    return (part is None or item.get("part") == part) and (
        setup is None or item.get("setup") == setup
    )


def _astray(path: str, message: str, value: Any) -> Problem:
    allowed = "a member that is a number, a text, true, false or null"
    if isinstance(value, Mapping):
        allowed = "there: one of " + ", ".join(str(k) for k in value)
    elif isinstance(value, list) and value:
        names = [str(n) for v in value if isinstance(v, Mapping) for n in _names(v) if n]
        allowed = f"there: 0 to {len(value) - 1}"
        allowed += f", or one of {', '.join(dict.fromkeys(names))}" if names else ""
    return Problem("pick", message, shown(path), allowed)


def table(want: str, answer: Mapping[str, Any], part: str | None, setup: int | None) -> str:
    """The CSV table of settings or feasibility; lines end as RFC 4180 says.

    Raises InputError where ``part`` or ``setup`` leaves nothing of it.
    """
    columns = SETTINGS_COLUMNS if want == "settings" else FEASIBILITY_COLUMNS
    rows = list(_passes(answer) if want == "settings" else _checks(answer))
    _hold("part", part, [row[0] for row in rows])
    rows = [row for row in rows if part is None or row[0] == part]
    _hold("setup", setup, [row[1] for row in rows])
    rows = [row for row in rows if setup is None or row[1] == setup]
    lines = [",".join(columns), *(",".join(_cell(c) for c in row) for row in rows)]
    return "".join(f"{line}\r\n" for line in lines)


def _hold(name: str, wanted: object, there: Sequence[Any]) -> None:
    if wanted is not None and wanted not in there:
        known = [str(v) for v in dict.fromkeys(there) if v not in (None, "")]
        allowed = "one of " + ", ".join(known) if known else "nothing: the table is empty"
        raise InputError(Problem(name, "is not in this answer", shown(wanted), allowed))


def _passes(answer: Mapping[str, Any]) -> Iterator[list[Any]]:
    for part in answer["parts"]:
        for number, setup in enumerate(part["setups"], 1):
            head = [part["part"], number, *(setup[name] for name in SETTINGS_COLUMNS[2:7])]
            for cut_number, cut in enumerate(setup["cuts"], 1):
                middle = [cut_number, cut["left_mm"], cut["right_mm"], cut["depth_mm"]]
                for pass_number, one in enumerate(cut["passes"], 1):
                    tail = [pass_number, one["travel_mm"], one["turns"], one["divisions"]]
                    yield [*head, *middle, *tail]


def _checks(answer: Mapping[str, Any]) -> Iterator[list[Any]]:
    for c in answer["checks"]:
        numbers = [c["value"], c["limit"], c["margin"]]
        yield [c["part"], c.get("setup"), c["name"], *numbers, c["unit"], c["status"]]


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return repr(value)
    return _HARMFUL.sub("_", str(value)).strip()
