"""The shipped workbook as tests open and read it, and what it must say."""

from __future__ import annotations

from typing import Any

from .office import Office
from .support import answers

RESULTS = {
    "side against the plate": "against_plate",
    "side against the fence": "against_fence",
    "swivel": "swivel_deg",
    "tilt": "tilt_deg",
    "wedge under one edge": "packing_deg",
    "trim above the lowest corner": "trim_mm",
}

Rows = list[list[Any]]


def opened(office: Office, url: str, **changes: dict[str, Any]) -> list[dict[str, Any]]:
    """Steps that load the shipped workbook, change inputs ({sheet: {cell: content}}), and point
    it at a service; the answers follow as they would under a person's hands."""
    writes = changes | {"Start": {"B3": url}}
    steps = [{"do": "write", "sheet": sheet, "cells": cells} for sheet, cells in writes.items()]
    return [{"do": "open", "url": office.workbook.as_uri()}, *steps]


def used(sheet: str) -> dict[str, Any]:
    return {"do": "used", "sheet": sheet}


def blocks(rows: Rows) -> list[Rows]:
    """The joints of a sheet, each from its title on."""
    starts = [i - 1 for i, row in enumerate(rows) if row[0] == "joint_type"]
    return [rows[a:b] for a, b in zip(starts, [*starts[1:], len(rows)], strict=True)]


def inputs(block: Rows) -> tuple[str, dict[str, Any]]:
    """Joint type and parameters as they stand in the cells of one block."""
    end = next(i for i, row in enumerate(block) if str(row[0]).startswith("Cuts:"))
    pairs = {row[0]: row[1] for row in block[3:end] if row[0] and row[1] != ""}
    assert (pairs.pop("fixture"), pairs.pop("hand")) == ("porch", "as_drawn")
    return block[1][1], pairs


def results(block: Rows) -> dict[str, Any]:
    return {row[4]: row[5] for row in block[3:] if row[4] and isinstance(row[4], str)}


def table(block: Rows, heading: str, wide: int) -> list[dict[str, Any]]:
    """The rows of a table beneath its heading, up to the first empty one."""
    at = 1 + next(i for i, row in enumerate(block) if str(row[0]).startswith(heading))
    body = block[at + 1 :]
    end = next((i for i, row in enumerate(body) if not any(row[:wide])), len(body))
    return [dict(zip(block[at][:wide], row[:wide], strict=True)) for row in body[:end]]


def number_or_name(value: Any) -> Any:
    return float(value) if isinstance(value, int) else value


def holds(block: Rows) -> dict[str, Any]:
    """Assert that one block says what the library says, and give the library's answers."""
    name, joint = inputs(block)
    told = answers(name, joint)
    shown = results(block)
    passes = []
    for part in told["settings"]["parts"]:
        for n, setup in enumerate(part["setups"], 1):
            for label, member in RESULTS.items():
                assert shown[f"{part['part']}, setup {n}: {label}"] == setup[member]
            for c, cut in enumerate(setup["cuts"], 1):
                for p, one in enumerate(cut["passes"], 1):
                    ids = {"part": part["part"], "setup": n, "cut": c, "pass": p}
                    passes.append({**setup, **cut, **one, **ids})
    cuts = table(block, "Cuts:", 15)
    assert cuts == [{k: number_or_name(one[k]) for k in cuts[0]} for one in passes]
    checks = told["feasibility"]["checks"]
    rows = table(block, "Checks:", 8)
    assert rows == [
        {
            **{k: number_or_name(c.get(k) or "") for k in ("part", "setup", "unit", "status")},
            **{k: float(c[k]) for k in ("value", "limit", "margin")},
            "check": c["name"],
        }
        for c in checks
    ]
    assert shown["status"] == told["feasibility"]["status"]
    return told
