"""The subcommand ``jointgeo compare-fixtures``: the same work on several fixtures, told and drawn.

Knows the comparison, its drawing and files; computes nothing. It stands here and not beside the
other commands on changing a fixture, since what draws is above them.
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import Any

import attrs

from jointgeo.errors import InputError, Problem, shown
from jointgeo.fixture_changes.command import WHAT, subcommand
from jointgeo.fixture_changes.compare import compared, envelope_of, envelopes
from jointgeo.fixture_changes.telling import compared_lines, envelope_lines
from jointgeo.fixture_changes.work import work_named
from jointgeo.fixtures.file import load_fixture
from jointgeo.output.asked import write_asked
from jointgeo.sheet.fixture_envelopes import fixture_envelopes

__all__ = ["add"]


def add(subparsers: Any) -> None:
    """Add ``compare-fixtures`` to the command line's subcommands."""
    parser = subcommand(subparsers, "compare-fixtures", "the same work on several fixtures", _run)
    parser.add_argument("work", nargs="+", help=WHAT)
    parser.add_argument(
        "--fixture", action="append", required=True, help="a fixture's name or file; give several"
    )
    parser.add_argument(
        "--thickness-mm",
        type=float,
        action="append",
        help="stock to tell the greatest tilt of, mm; may be given several times",
    )
    parser.add_argument(
        "--output",
        metavar="FILE.svg",
        type=Path,
        help="draw the greatest tilt for each thickness, a curve for each fixture, for the first "
        "work",
    )
    parser.add_argument(
        "--overwrite",
        action="store_true",
        help="if FILE.svg exists, keep it under a number and write over it",
    )


def _run(asked: argparse.Namespace) -> int:
    path: Path | None = asked.output
    if path is not None and path.suffix.lower() != ".svg":
        raise InputError(Problem("--output", "is no drawing", shown(str(path)), "a name in .svg"))
    works, fixtures = work_named(asked.work), [load_fixture(f) for f in asked.fixture]
    cells = compared(works, fixtures)
    first, thick = works[0].on(fixtures[0]), asked.thickness_mm or ()
    points = envelope_of(first, fixtures, thick)
    if path is not None:
        drawing = fixture_envelopes(envelopes(first, fixtures, thick), works[0].name)
        write_asked(path, f"{drawing.svg('envelopes')}\n".encode(), overwrite=asked.overwrite)
    if asked.json:
        form = {
            "cells": [c.to_dict() for c in cells],
            "envelope": [attrs.asdict(p) for p in points],
        }
        print(json.dumps(form, indent=2))
    else:
        lines = list(compared_lines(cells))
        if points:
            names = [f.name for f in fixtures]
            lines += ["", "Greatest tilt before the beam is met", *envelope_lines(names, points)]
        if path is not None:
            lines.append(f"Drawn in {path}.")
        print("\n".join(lines))
    return 0 if all(c.feasible for c in cells) else 1
