"""One answer in the shapes a spreadsheet can take: single values, and tables.

Knows the JSON contract of the answers; knows no joint type and no HTTP.

CSV is for programs and for links to a file. The trap: a spreadsheet that reads it evaluates a cell
that begins with "=", even a quoted one, and turns 3/4 into a date. So a cell of CSV holds a bare
number or an identifier that the joint type or this service chose, made harmless; never what the
caller sent, never a fraction of an inch.

Values and the table with tabs are for macros, which evaluate nothing, and hold sentences too. One
look must tell a number from a text there, and "1 5/8 in" begins like a number: so a text that
begins like one has an apostrophe before it, which whoever reads it takes off.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

import attrs

from jointgeo.errors import InputError, Problem, shown

__all__ = ["cell_text", "columns", "tabbed", "table"]

_HARMFUL = re.compile(r"[^A-Za-z0-9_%. ]+", re.ASCII)
_LIKE_A_NUMBER = re.compile(r"[-'0-9]", re.ASCII)


@attrs.frozen
class _Column:
    """name: as in JSON; words: for people. sentence: whether it may hold one, and so is not in
    CSV."""

    name: str
    words: str
    sentence: bool = False


SETTINGS = (
    _Column("part", "part"), _Column("setup", "clamping"),
    _Column("swivel_deg", "true swivel (deg)"),
    _Column("scale_swivel_deg", "set swivel scale to (deg)"),
    _Column("swivel_needed_deg", "within (deg)"),
    _Column("swivel_aid", "how to set the swivel", sentence=True),
    _Column("tilt_deg", "true tilt (deg)"),
    _Column("scale_tilt_deg", "set tilt scale to (deg)"),
    _Column("tilt_needed_deg", "within (deg)"),
    _Column("tilt_aid", "how to set the tilt", sentence=True),
    _Column("packing_deg", "wedge (deg)"), _Column("overhang_mm", "overhang (mm)"),
    _Column("trim_mm", "trim (mm)"), _Column("trim_height_mm", "cutter height for the trim (mm)"),
    _Column("cut", "cut"), _Column("left_mm", "from (mm)"), _Column("right_mm", "to (mm)"),
    _Column("depth_mm", "depth (mm)"), _Column("height_mm", "cutter height for the cut (mm)"),
    _Column("pass", "pass"), _Column("travel_mm", "carriage at (mm)"),
    _Column("turns", "turns"), _Column("divisions", "divisions"),
)  # fmt: skip
FEASIBILITY = (
    _Column("part", "part"), _Column("setup", "clamping"), _Column("check", "check"),
    _Column("value", "found"), _Column("limit", "allowed"), _Column("margin", "room left"),
    _Column("unit", "unit"), _Column("status", "result"),
    _Column("because", "what was checked", sentence=True),
    _Column("remedy", "what would help", sentence=True),
)  # fmt: skip


#: What only a pass of a cut has.
_OF_A_CUT = ("cut", "left_mm", "right_mm", "depth_mm", "height_mm", "pass", "travel_mm", "turns",
             "divisions")  # fmt: skip


def cell_text(value: object) -> str:
    """One value as text: a number as in JSON, a text on one line, nothing for None."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (int, float)):
        return repr(value)
    text = " ".join(str(value).split())
    return f"'{text}" if _LIKE_A_NUMBER.match(text) else text


def tabbed(rows: Iterable[Iterable[object]]) -> str:
    """Rows as lines whose values are parted by tabs; no line end after the last."""
    return "\n".join("\t".join(map(cell_text, row)) for row in rows)


def columns(want: str, shape: str) -> tuple[_Column, ...]:
    """Those of a table of settings or feasibility."""
    every = SETTINGS if want == "settings" else FEASIBILITY
    return tuple(c for c in every if shape == "tsv" or not c.sentence)


def table(want: str, answer: Mapping[str, Any], shape: str, own: Mapping[str, Any]) -> str:
    """The table of settings or feasibility, as CSV (RFC 4180) or with tabs.

    own: ``part`` and ``setup``, if given, and ``heading``. Raises InputError where they leave
    nothing of the table. Every row ends with the fixture and its edition.
    """
    rows = list(_passes(answer) if want == "settings" else _checks(answer))
    for name in ("part", "setup"):
        wanted = own.get(name)
        _hold(name, wanted, [row[name] for row in rows])
        rows = [row for row in rows if wanted is None or row[name] == wanted]
    shown_ones = columns(want, shape)
    heads = [c.words if own["heading"] == "words" else c.name for c in shown_ones]
    heads += ["fixture", "edition"]
    edition = answer["edition"]
    # A digest may look like a number, 12e456 for one.
    named = [answer["fixture"], "" if edition is None else f"sha256 {edition}"]
    body = [[*(row[c.name] for c in shown_ones), *named] for row in rows]
    if shape == "tsv":
        return tabbed([heads, *body])
    lines = [",".join(heads), *(",".join(map(_cell, row)) for row in body)]
    return "".join(f"{line}\r\n" for line in lines)


def _hold(name: str, wanted: object, there: Sequence[Any]) -> None:
    if wanted is not None and wanted not in there:
        known = [str(v) for v in dict.fromkeys(there) if v not in (None, "")]
        allowed = "one of " + ", ".join(known) if known else "nothing: the table is empty"
        raise InputError(Problem(name, "is not in this answer", shown(wanted), allowed))


def _passes(answer: Mapping[str, Any]) -> Iterator[dict[str, Any]]:
    for part in answer["parts"]:
        for number, setup in enumerate(part["setups"], 1):
            heights = setup["cutter_height_mm"]
            deep = {h["depth_mm"]: h["height"] for h in heights["cuts"]}
            head = {**setup, **setup["closing"]}
            head |= {"part": part["part"], "setup": number, "trim_height_mm": heights["trim"]}
            said = _best_aids(setup)
            if not setup["cuts"]:  # an end that is trimmed and nothing else
                yield dict.fromkeys(_OF_A_CUT) | head | said
            for cut_number, cut in enumerate(setup["cuts"], 1):
                middle = head | cut | {"cut": cut_number, "height_mm": deep[cut["depth_mm"]]}
                for pass_number, one in enumerate(cut["passes"], 1):
                    yield middle | one | {"pass": pass_number} | said
                    said = dict.fromkeys(said)


def _best_aids(setup: Mapping[str, Any]) -> dict[str, Any]:
    """What to do, of the best aid of each axis: the first listed. It is said once for a setup."""
    out: dict[str, Any] = {"swivel_aid": None, "tilt_aid": None}
    for aid in reversed(setup["aids"]):
        out[f"{aid['axis']}_aid"] = aid["says"]
    return out


def _checks(answer: Mapping[str, Any]) -> Iterator[dict[str, Any]]:
    for c in answer["checks"]:
        remedy = c["remedies"][0]["says"] if c["remedies"] else None
        yield {"setup": None, **c, "check": c["name"], "remedy": remedy}


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return repr(value)
    return _HARMFUL.sub("_", str(value)).strip()
