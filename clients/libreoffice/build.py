"""Builds jointgeo.ods, the workbook for LibreOffice, from plain text.

    python clients/libreoffice/build.py                  # writes jointgeo.ods beside itself
    python clients/libreoffice/build.py --output FILE    # writes it elsewhere
    python clients/libreoffice/build.py --module         # prints the Basic module alone

Needs the library (jointgeo) and no office program; the same text gives the same bytes.
The Basic module is the one for Excel with its own section replaced by ``host.bas``: the
two programs speak nearly the same language, and what is written once is tested once.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from ods import document
from piece_sheets import whole_pieces
from sheets import SERVICE_CELL, SERVICE_NAME, all_sheets

HERE = Path(__file__).resolve().parent
EXCEL = HERE.parent / "excel" / "jointgeo.bas"
OWN, SHARED = "' ---- This program's own", "' ---- The same in every program"


def basic_module() -> str:
    """The module's text: the head and the common part of Excel's, LibreOffice's own between."""
    excel = EXCEL.read_text("ascii")
    shared = excel[excel.index(SHARED) :]
    own = (HERE / "host.bas").read_text("ascii")
    # Option Compatible lets a function take any number of arguments.
    return f"Option Compatible\nOption Explicit\n\n{_head(excel)}\n{own}\n{shared}"


def _head(excel: str) -> str:
    """The comment at the top of the module, without what is said of Excel alone."""
    text = excel[excel.index("' Functions for cells") : excel.index(OWN)]
    return text[: text.index("'\n' To install")]


def build() -> bytes:
    """The whole document."""
    head = _head(EXCEL.read_text("ascii"))
    usage = [line.removeprefix("'").removeprefix(" ") for line in head.splitlines()]
    sheets = all_sheets(usage)
    sheets += whole_pieces({sheet.name for sheet in sheets})
    return document(sheets, {SERVICE_NAME: SERVICE_CELL}, {"JointGeo": basic_module()})


def main() -> None:
    parser = argparse.ArgumentParser(description="Builds the workbook for LibreOffice.")
    parser.add_argument("--output", type=Path, default=HERE / "jointgeo.ods", help="file to write")
    parser.add_argument("--module", action="store_true", help="print the Basic module instead")
    given = parser.parse_args()
    if given.module:
        sys.stdout.write(basic_module())
    else:
        given.output.write_bytes(build())


if __name__ == "__main__":
    main()
