"""The subcommand ``jointgeo parts``: the fixture's own parts, told, drawn and tiled.

Knows parts, fixtures and files; no joint. It imports without any extra: what needs one says what to
install when it is asked for (--dxf).
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from jointgeo.errors import InputError, Problem, shown
from jointgeo.fixture_parts.catalogue import PARTS, Parts, fixture_parts
from jointgeo.fixture_parts.model import FixturePart
from jointgeo.fixture_parts.wanted import Drilled, Wanted
from jointgeo.fixtures.file import fixture_path, fixture_words, load_fixture
from jointgeo.schema.fields import FieldInfo, describe

__all__ = ["add", "parts_text"]


def add(subparsers: Any) -> None:
    """Add ``parts`` to the command line's subcommands."""
    listed = "; ".join(f"{name}: {m.says}" for name, m in PARTS.items())
    parser = subparsers.add_parser(
        "parts", help="parts of a fixture to build or change it", epilog=f"Parts: {listed}."
    )
    parser.add_argument("fixture", help="a fixture's name or the path of its file")
    parser.add_argument(
        "part", nargs="*", help="parts by name (listed below); all that can be made if none is"
    )
    parser.add_argument("--output", type=Path, help="folder for the page to print")
    parser.add_argument("--svg", action="store_true", help="each sheet as a file of its own too")
    parser.add_argument("--dxf", action="store_true", help="each part as DXF too (needs ezdxf)")
    parser.add_argument("--json", action="store_true", help="print JSON")
    parser.add_argument("--paper", choices=("a4", "letter"), help="set the paper")
    for info in describe(Wanted):
        _option(parser, info)
    for flag, what in (
        ("--hole", "a hole in the board that slots keep off"),
        ("--screw-hole", "an old hole that a locking screw stays in"),
    ):
        parser.add_argument(
            flag, action="append", default=[], metavar="X,Z,DIAMETER", help=f"{what} (mm)"
        )
    parser.set_defaults(run=_run)


def _option(parser: argparse.ArgumentParser, info: FieldInfo) -> None:
    flag = "--" + info.name.replace("_", "-")
    if info.kind == "choice":
        parser.add_argument(flag, choices=info.choices, default=info.default, help=info.help)
    else:
        unit = {"mm": "MM", "deg": "DEG"}.get(info.unit, info.unit)
        parser.add_argument(flag, type=float, metavar=unit, help=info.help)


def _run(asked: argparse.Namespace) -> int:
    fixture = load_fixture(asked.fixture)
    holes = [*_holes("--hole", asked.hole, "clear")]
    holes += _holes("--screw-hole", asked.screw_hole, "screw")
    names = [info.name for info in describe(Wanted)]
    wanted = Wanted(**{n: getattr(asked, n) for n in names}, hole=tuple(holes))
    parts = fixture_parts(fixture, wanted, asked.part)
    outcome = int(any(p.status == "fail" for p in parts.parts))
    asked.outcome = outcome
    if asked.json:
        print(json.dumps(parts.to_dict(), indent=2, allow_nan=False))
    else:
        print(parts_text(parts))
    if asked.output is not None:
        source = str(asked.fixture) if fixture_path(asked.fixture) is not None else ""
        title = f"{fixture_words(fixture, source)}: {fixture.title}"
        for path in _written(parts, title, asked):
            if not asked.json:
                print(path)
    elif asked.svg or asked.dxf:
        raise InputError(Problem("--output", "is missing", None, "a folder for the files"))
    return outcome


def _holes(flag: str, given: list[str], keep: str) -> Iterator[Drilled]:
    for text in given:
        try:
            across, up, diameter = (float(v) for v in text.split(","))
        except ValueError:
            allowed = "three numbers with commas between, like -75,90,8"
            raise InputError(
                Problem(flag, "is not a place and a diameter", shown(text), allowed, "mm")
            ) from None
        yield Drilled(across_mm=across, up_mm=up, diameter_mm=diameter, keep=keep)  # type: ignore[arg-type]


def _written(parts: Parts, title: str, asked: argparse.Namespace) -> Iterator[Path]:
    from jointgeo.fixture_parts.dxf import write_part_dxf  # numpy, which telling does not need
    from jointgeo.fixture_parts.page import parts_page
    from jointgeo.fixture_parts.tiles import tiles

    folder: Path = asked.output
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        message = f"cannot be made: {error.strerror}"
        raise InputError(Problem("--output", message, shown(str(folder)), "a folder")) from None
    path = folder / f"{parts.fixture}-parts.html"
    path.write_text(parts_page(parts, title, asked.paper), "utf-8")
    yield path
    for part in parts.parts:
        stem = f"{parts.fixture}-{part.kind.replace('_', '-')}"
        if asked.svg:
            for tile in tiles(part):
                path = folder / f"{stem}-sheet-{tile.number}.svg"
                path.write_text(tile.svg + "\n", "utf-8")
                yield path
        if asked.dxf:
            path = folder / f"{stem}.dxf"
            write_part_dxf(part, path)
            yield path


def parts_text(parts: Parts) -> str:
    """What a person reads at the bench."""
    out = [line for part in parts.parts for line in (*_part_lines(part), "")]
    out += [f"left out: {kind}: {why}" for kind, why in parts.left_out.items()]
    return "\n".join(out).rstrip()


def _part_lines(part: FixturePart) -> Iterator[str]:
    yield f"{part.title} ({part.kind})"
    yield "=" * len(part.title)
    yield f"seen {part.seen_from}"
    for caution in part.cautions:
        yield f"  MIND: {caution}"
    for figure in part.figures:
        mark = " <- measure this before cutting" if figure.name == part.measure else ""
        source = f"{figure.source}: {figure.because}" if figure.because else figure.source
        unit = {"deg": "°", "1": ""}.get(figure.unit, f" {figure.unit}")
        value = f"{figure.value:.3f}" if figure.unit == "deg" else f"{figure.value:.2f}"
        yield f"  {figure.words:28} {value:>10}{unit:4} [{source}]{mark}"
    for check in part.checks:
        limit = "" if check.status == "not_stated" else f", limit {check.limit:.2f}"
        unit = "°" if check.unit == "deg" else f" {check.unit}"
        yield f"  {check.status}: {check.name} {check.value:.2f}{unit}{limit}: {check.because}"
        for remedy in check.remedies:
            yield f"    remedy: {remedy.says}"
    for number, step in enumerate(part.steps, 1):
        yield f"  {number}. {step}"
