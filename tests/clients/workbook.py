"""The shipped workbook as tests open and read it, and what it must say."""

from __future__ import annotations

from typing import Any

from .office import Office
from .support import answers

NAMES, VALUES, SAYS, PATHS, ANSWERS = 1, 2, 5, 6, 7

Rows = list[list[Any]]


def opened(office: Office, url: str, **changes: dict[str, Any]) -> list[dict[str, Any]]:
    """Steps that load the shipped workbook, change inputs ({sheet: {cell: content}}), and point
    it at a service; the answers follow as they would under a person's hands."""
    writes = changes | {"Start": {"B3": url}}
    steps = [{"do": "write", "sheet": sheet, "cells": cells} for sheet, cells in writes.items()]
    return [{"do": "open", "url": office.workbook.as_uri()}, *steps]


def used(sheet: str) -> dict[str, Any]:
    return {"do": "used", "sheet": sheet}


def three(sheet: str) -> list[dict[str, Any]]:
    """Read a piece's sheet and those of its cuts and checks."""
    return [used(sheet), used(f"{sheet} cuts"), used(f"{sheet} checks")]


def blocks(rows: Rows) -> list[Rows]:
    """The joints of a sheet, each from its title on."""
    starts = [i - 2 for i, row in enumerate(rows) if row[0] == "input"]
    return [rows[a:b] for a, b in zip(starts, [*starts[1:], len(rows)], strict=True)]


def tables(rows: Rows) -> list[list[dict[str, Any]]]:
    """The tables of a sheet, each with its heading, up to the first empty row."""
    out = []
    for at, head in enumerate(rows):
        if head[0] == "part":
            body = rows[at + 1 :]
            end = next((i for i, row in enumerate(body) if not any(row[:3])), len(body))
            # Two columns are called alike, within ±: the later one has the tilt's.
            names = [f"{name} {i}" if name == "within (deg)" else name
                     for i, name in enumerate(head)]  # fmt: skip
            out.append([dict(zip(names, row, strict=True)) for row in body[:end]])
    return out


def inputs(block: Rows) -> tuple[str, dict[str, Any]]:
    """Joint type and parameters as they stand in the cells of one block."""
    pairs = {row[NAMES]: row[VALUES] for row in block[3:] if row[NAMES] and row[VALUES] != ""}
    assert (pairs.pop("fixture"), pairs.pop("hand")) == ("porch", "as_drawn")
    return block[1][VALUES], pairs


def results(block: Rows) -> dict[str, Any]:
    """By what a person reads, and by path."""
    told = {row[SAYS]: row[ANSWERS] for row in block[3:] if row[SAYS]}
    return told | {row[PATHS]: row[ANSWERS] for row in block[3:] if row[PATHS]}


def number_or_name(value: Any) -> Any:
    return "" if value is None else float(value) if isinstance(value, int) else value


def at(told: dict[str, Any], path: str) -> Any:
    """What the library's JSON has at a path of the sheet, walked here without the library."""
    part, number, *rest = path.split(".")
    found = next(p for p in told["settings"]["parts"] if p["part"] == part)
    found = found["setups"][int(number) - 1]
    if rest[0] == "aid":
        return next((a[rest[2]] for a in found["aids"] if a["axis"] == rest[1]), None)
    for step in rest:
        found = found[step]
    return found


def beyond(told: dict[str, Any]) -> set[str]:
    """The scale figures of axes that end before the angle wanted."""
    return {
        f"{check['part']}.{check['setup']}.scale_{axis}_deg"
        for axis in ("swivel", "tilt")
        for check in told["feasibility"]["checks"]
        if (check["name"], check["status"]) == (f"{axis}_range", "fail")
    }


def holds(block: Rows, cuts: list[dict[str, Any]], checks: list[dict[str, Any]]) -> dict[str, Any]:
    """Assert that one joint's cells say what the library says, and give the library's answers."""
    name, joint = inputs(block)
    told = answers(name, joint)
    shown = results(block)
    own = {p: v for p, v in shown.items() if ".1." in p or ".2." in p}
    assert len(own) >= 16
    refused = {p for p, v in own.items() if str(v).startswith("# ")}
    assert refused == beyond(told)
    assert all("is not to be set" in own[path] for path in refused)
    own = {path: v for path, v in own.items() if path not in refused}
    assert own == {path: number_or_name(at(told, path)) for path in own}
    passes = []
    for part in told["settings"]["parts"]:
        for n, setup in enumerate(part["setups"], 1):
            said: dict[str, str] = {}
            for aid in setup["aids"]:
                said.setdefault(aid["axis"], aid["says"])
            for c, cut in enumerate(setup["cuts"], 1):
                for p, one in enumerate(cut["passes"], 1):
                    first = (c, p) == (1, 1)
                    passes.append(
                        {
                            "part": part["part"], "clamping": n, "cut": c, "pass": p,
                            "true swivel (deg)": setup["swivel_deg"],
                            "set tilt scale to (deg)": setup["scale_tilt_deg"],
                            "within (deg) 4": setup["closing"]["swivel_needed_deg"],
                            "how to set the tilt": said.get("tilt", "") if first else "",
                            "how to set the swivel": said.get("swivel", "") if first else "",
                            "cutter height for the cut (mm)":
                                setup["cutter_height_mm"]["trim"] + cut["depth_mm"],
                            "from (mm)": cut["left_mm"], "to (mm)": cut["right_mm"],
                            "carriage at (mm)": one["travel_mm"], "turns": one["turns"],
                            "divisions": one["divisions"], "fixture": "porch",
                            "edition": f"sha256 {told['settings']['edition']}",
                        }
                    )  # fmt: skip
    assert [{k: row[k] for k in passes[0]} for row in cuts] == [
        {k: number_or_name(v) for k, v in one.items()} for one in passes
    ]
    listed = told["feasibility"]["checks"]
    assert [
        [row["part"], row["clamping"], row["check"], row["room left"], row["result"],
         row["what was checked"]] for row in checks
    ] == [
        [c["part"], number_or_name(c.get("setup") or ""), c["name"], float(c["margin"]),
         c["status"], " ".join(c["because"].split())] for c in listed
    ]  # fmt: skip
    assert shown["status"] == told["feasibility"]["status"]
    return told
