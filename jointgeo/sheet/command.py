"""The subcommand ``jointgeo sheet``: pages to print, drawings and templates.

Knows jobs, pieces, sheets and files; no joint type. It imports without any extra: what needs one
says what to install when it is asked for (--dxf) or on the page (the joint put together).
"""

from __future__ import annotations

import argparse
import re
import sys
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

import attrs

from jointgeo.errors import InputError, Problem, shown
from jointgeo.jobs.file import Job
from jointgeo.jobs.named import load_named
from jointgeo.jobs.solve import solve_job
from jointgeo.output import write_whole
from jointgeo.pieces.answerfile import solve_piece_file
from jointgeo.pieces.file import PieceFile
from jointgeo.sheet import compare_command
from jointgeo.sheet.develop import develop
from jointgeo.sheet.dxf import write_dxf
from jointgeo.sheet.layout_drawing import layout_whole
from jointgeo.sheet.model import Sheet, sheet_of_job, sheet_of_joint
from jointgeo.sheet.page import page
from jointgeo.sheet.parts import Book
from jointgeo.sheet.piece_model import PieceSheet, sheet_of_piece
from jointgeo.sheet.style import PAPERS

__all__ = ["add"]


def add(subparsers: Any) -> None:
    """Add ``sheet`` and ``compare-fixtures`` to the command line's subcommands."""
    parser = subparsers.add_parser(
        "sheet", help="pages to print for each job or whole piece, with drawings"
    )
    parser.add_argument(
        "job", nargs="+", help="a job or piece file (.toml), or one or a set of those that ship"
    )
    parser.add_argument("--output", required=True, type=Path, help="folder for the pages")
    parser.add_argument(
        "--fixture", help="a fixture's name or the path of its file, instead of the jobs' own"
    )
    parser.add_argument("--svg", action="store_true", help="each drawing as a file of its own too")
    parser.add_argument("--dxf", action="store_true", help="layouts as DXF too (needs ezdxf)")
    parser.add_argument(
        "--paper", choices=tuple(PAPERS), help="set the paper; without it a page goes on both"
    )
    parser.set_defaults(run=_run)
    compare_command.add(subparsers)


def _run(asked: argparse.Namespace) -> int:
    files = [file for name in asked.job for file in load_named(name)]
    if asked.fixture is not None:
        files = [file.on(asked.fixture) for file in files]
    folder = _folder(asked.output)
    tell = _teller()
    feasible = True
    for name, file in zip(_names(files), files, strict=True):
        for stem, sheet in _sheets(name, file):
            # A joint's own sheet says the same again of what the job's has judged.
            feasible = feasible and (stem != name or sheet.status != "fail")
            _write(folder, stem, sheet, asked, tell)
    tell("")
    return 0 if feasible else 1


def _sheets(name: str, file: Job | PieceFile) -> Iterator[tuple[str, Sheet | PieceSheet]]:
    """The sheet of a file, and of a job one for each joint, with the names of their files."""
    if isinstance(file, PieceFile):
        yield name, sheet_of_piece(solve_piece_file(file))
        return
    yield name, sheet_of_job(solve_job(file))
    for joint in file.joints:
        sheet = sheet_of_joint(joint.joint, file.fixture, title=joint.name)
        title = f"{file.title}: {joint.name}"
        sheet = attrs.evolve(sheet, title=title, fixture_source=file.fixture_source)
        yield f"{name}-{_plain(joint.name)}", sheet


def _write(
    folder: Path,
    name: str,
    sheet: Sheet | PieceSheet,
    asked: argparse.Namespace,
    tell: Callable[[str], None],
) -> None:
    """One page, and beside it what else was asked for."""
    book = Book()
    text = page(sheet, book, paper=asked.paper, tell=lambda what: tell(f"{name}: {what}"))
    path = folder / f"{name}.html"
    write_whole(path, text.encode())
    print(path)
    if asked.svg:
        whole = {
            f"operation-{e.number}-layout-whole": layout_whole(
                develop(e.solution.plan), f"Operation {e.number}, {e.part}"
            )
            for e in sheet.ends
        }
        for key, drawing in (book.pictures | whole).items():
            path = folder / f"{name}-{key}.svg"
            write_whole(path, f"{drawing.svg(key)}\n".encode())
            print(path)
    if asked.dxf:
        for end in sheet.ends:
            path = folder / f"{name}-operation-{end.number}-layout.dxf"
            write_dxf(develop(end.solution.plan), path)
            print(path)


def _folder(path: Path) -> Path:
    try:
        path.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        problem = Problem(
            "--output", f"cannot be made: {error.strerror}", shown(str(path)), "a folder"
        )
        raise InputError(problem) from None
    return path


def _names(jobs: Sequence[Job | PieceFile]) -> Iterator[str]:
    """A file name for each, told apart where two would be alike."""
    used: dict[str, int] = {}
    for job in jobs:
        stem = _plain(Path(job.source).stem or job.title)
        used[stem] = used.get(stem, 0) + 1
        yield stem if used[stem] == 1 else f"{stem}-{used[stem]}"


def _plain(text: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-") or "sheet"


def _teller() -> Callable[[str], None]:
    """Progress on a terminal, one line that is written over; nothing in a pipe."""
    if not sys.stderr.isatty():
        return lambda _: None

    def tell(words: str) -> None:
        sys.stderr.write(f"\r\033[K{words}")
        sys.stderr.flush()

    return tell
