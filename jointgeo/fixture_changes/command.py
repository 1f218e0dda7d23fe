"""Commands on changing a fixture: what-helps, gains; ``sheet`` has compare-fixtures, which draws.

Knows this folder, files and the registry; computes nothing. Entered in the entry-point group
``jointgeo.commands``. Exit codes: 0 good, 1 nothing that is allowed is enough, something is not
feasible (after the change, where one is told), or something is lost, 2 bad input.
"""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from typing import Any

import attrs

from jointgeo.calibration.changes import write_fixture
from jointgeo.errors import FixtureError, InputError, shown
from jointgeo.fixture_changes.changes import KINDS, Allowed, usual
from jointgeo.fixture_changes.compare import gains
from jointgeo.fixture_changes.found import Found, Option
from jointgeo.fixture_changes.search import ROOM_MM, what_would_do
from jointgeo.fixture_changes.telling import found_lines, gains_lines, written_line
from jointgeo.fixture_changes.work import folder_work, work_named
from jointgeo.fixtures.file import load_fixture
from jointgeo.fixtures.model import Fixture
from jointgeo.output.asked import already_there

__all__ = ["WHAT", "add", "subcommand"]

CODES = (
    "Exit codes: 0 good, 1 nothing that is allowed is enough, something is not feasible (after the "
    "change, where one is told), or something is lost, 2 bad input."
)
MOST_WHY = 240  # letters that a fixture file takes in changed_why
WHAT = "a job or piece file (.toml), a job or set that ships, or a joint type (its first example)"


def add(subparsers: Any) -> None:
    """Register the commands of this folder."""
    helping = subcommand(
        subparsers, "what-helps", "the smallest changes of a fixture that let this be cut", _helps
    )
    helping.add_argument("work", nargs="+", help=WHAT)
    helping.add_argument("--fixture", help="a fixture's name or file, instead of the work's own")
    helping.add_argument(
        "--room-mm",
        type=float,
        default=ROOM_MM,
        help=f"room wanted beside all that swings, mm (default {ROOM_MM:g})",
    )
    helping.add_argument(
        "--allow",
        action="append",
        metavar="KIND[:MOST[:PRICE]]",
        help="a change that may be made, with its greatest amount and its price for each mm or "
        f"degree; may be given several times (default: all). Kinds: {', '.join(KINDS)}",
    )
    helping.add_argument(
        "--output",
        metavar="FILE",
        help="write the fixture with the cheapest change made; nothing is written where nothing "
        "needs to change or nothing is enough, whatever --option says",
    )
    helping.add_argument(
        "--option", type=int, default=1, help="write that option, counted from 1 (default 1)"
    )
    helping.add_argument("--name", help="the changed fixture's name (default: the old one's, -2)")
    helping.add_argument(
        "--overwrite",
        action="store_true",
        help="if FILE exists, keep it under a number and write over it",
    )
    gaining = subcommand(
        subparsers, "gains", "what a shop's folder gains and loses by a changed fixture", _gains
    )
    gaining.add_argument("folder", help="a folder of job and piece files")
    gaining.add_argument("--before", required=True, help="the fixture as it was")
    gaining.add_argument("--after", required=True, help="the fixture as changed")


def subcommand(subparsers: Any, name: str, help: str, run: Any) -> argparse.ArgumentParser:
    """A subcommand with these exit codes and ``--json``."""
    description = f"{help[0].upper()}{help[1:]}. {CODES}"
    parser: argparse.ArgumentParser = subparsers.add_parser(
        name, help=help, description=description
    )
    parser.add_argument("--json", action="store_true", help="print JSON")
    parser.set_defaults(run=run)
    return parser


def _helps(asked: argparse.Namespace) -> int:
    works = work_named(asked.work)
    fixture = _fixture(asked.fixture, [w.fixture for w in works])
    name = asked.name or f"{fixture.name}-2"
    if asked.output and not asked.overwrite:
        _refuse_another(Path(asked.output), name, fixture, [w.name for w in works])
    answers = [w.on(fixture) for w in works]
    progress = _progress if sys.stderr.isatty() else None
    found = what_would_do(
        answers, fixture, _allowed(asked.allow, fixture), room_mm=asked.room_mm, progress=progress
    )
    if progress is not None:
        print(file=sys.stderr)
    lines, form = list(found_lines(found)), found.to_dict()
    if asked.output:
        option = _chosen(found, asked.option)
        if option is not None:
            changed = attrs.evolve(
                option.fixture,
                name=name,
                changed_from=fixture.name,
                changed_why=_why(option, [w.name for w in works]),
            )
            write_fixture(changed, Path(asked.output), overwrite=asked.overwrite)
        lines.append(written_line(found, option, asked.output))
        form["written"] = None if option is None else _written(found, option, asked.output)
    print(json.dumps(form, indent=2) if asked.json else "\n".join(lines))
    return 0 if found.feasible_after else 1


def _written(found: Found, option: Option, file: str) -> dict[str, Any]:
    """Plain data of what was written, with what it leaves not feasible."""
    still = [c.as_dict() for c in found.no_fixture_cures]
    return {"file": file, "says": option.says, "still_not_feasible": still}


def _why(option: Option, works: list[str]) -> str:
    """What was changed and for what, on one line that a fixture file can hold."""
    says = f"{option.says}{_for(works)}"
    return says if len(says) <= MOST_WHY else says[: MOST_WHY - 3] + "..."


def _for(works: list[str]) -> str:
    return f"; for {', '.join(works)}"


def _refuse_another(path: Path, name: str, was: Fixture, works: list[str]) -> None:
    """FixtureError where a file is there that cannot be what this question will have written: the
    search takes long, and would end with the same words."""
    if not path.exists():
        return
    try:
        there = load_fixture(path)
    except InputError:
        raise FixtureError(already_there(path)) from None
    why = there.changed_why or ""
    for_these = why.endswith(_for(works)) or len(why) == MOST_WHY
    if (there.name, there.changed_from) != (name, was.name) or not for_these:
        raise FixtureError(already_there(path))


def _progress(done: int, most: int) -> None:
    print(f"\rplan {done} of at most {most}", end="", file=sys.stderr, flush=True)


def _fixture(given: str | None, own: list[Fixture | None]) -> Fixture:
    if given is not None:
        return load_fixture(given)
    named = {f.name: f for f in own if f is not None}
    if len(named) > 1:
        allowed = "one of them, by --fixture"
        raise InputError.of("fixture", "differs from work to work", ", ".join(named), allowed)
    return next(iter(named.values()), None) or load_fixture("porch")


def _allowed(given: list[str] | None, fixture: Fixture) -> list[Allowed] | None:
    """What a person allows; None for all that is usual."""
    if not given:
        return None
    known = usual(fixture)
    out: list[Allowed] = []
    for text in given:
        kind, *numbers = text.split(":")
        if kind not in KINDS or kind == "cutter" or len(numbers) > 2:
            raise InputError.of("allow", "is no change", shown(text), f"one of {', '.join(KINDS)}")
        try:
            amounts = [float(n) for n in numbers if n]
        except ValueError:
            amounts = [-1.0]
        if any(not 0 <= a < 1e6 for a in amounts):
            raise InputError.of("allow", "has no number there", shown(text), "KIND[:MOST[:PRICE]]")
        changed: dict[str, Any] = dict(zip(("most", "price"), amounts, strict=False))
        found = [c for c in known if c.kind == kind]
        if not found:
            raise InputError.of("allow", "has nothing to act on here", shown(kind), fixture.name)
        out += [attrs.evolve(c, **changed) for c in found]
    return out


def _chosen(found: Found, number: int) -> Option | None:
    """The option of that number; None where there is none to choose from."""
    if not found.options:
        return None
    if not 1 <= number <= len(found.options):
        raise InputError.of("option", "is no option", f"{number}", f"1 to {len(found.options)}")
    return found.options[number - 1]


def _gains(asked: argparse.Namespace) -> int:
    before, after = load_fixture(asked.before), load_fixture(asked.after)
    found = gains(folder_work(Path(asked.folder)), before, after)
    if asked.json:
        form = {
            "before": before.name,
            "after": after.name,
            "changed_from": after.changed_from,
            "changed_why": after.changed_why,
            "works": [g.to_dict() for g in found],
        }
        print(json.dumps(form, indent=2))
    else:
        if after.changed_why:
            print(f"{after.name}, changed from {after.changed_from}: {after.changed_why}")
        print("\n".join(gains_lines(found)))
    return 1 if any(g.change == "lost" for g in found) else 0
