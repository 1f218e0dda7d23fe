"""The command ``jointgeo``: list joint types, solve job and piece files; more by entry point.

Knows jobs and reports; knows no joint type by name, and no extra. A subcommand that needs
an extra stands in the entry-point group ``jointgeo.commands`` as a function
``add(subparsers)``; its module imports without the extra, so that help works, and says
what to install when it is run.

Exit codes: 0 all feasible, 1 something is not, 2 bad input or something missing, 3 a plug-in is at
fault, 4 jointgeo itself is. Where several hold, the greatest: a fault is never hidden by an answer.
"""

from __future__ import annotations

import argparse
import importlib.metadata
import json
import os
import sys
import traceback
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

from jointgeo.errors import JointgeoError, PluginError
from jointgeo.fixtures.file import load_fixture, shown_path
from jointgeo.jobs.file import Job
from jointgeo.jobs.named import Named, demo_sets, named_loaders
from jointgeo.jobs.piece_report import piece_text
from jointgeo.jobs.report import CAUTIONS, job_text, summary
from jointgeo.jobs.solve import JobAnswer, solve_job
from jointgeo.joints.faults import told
from jointgeo.joints.joint_type import JointType
from jointgeo.joints.registry import Failure, failures, joint_type, joint_types
from jointgeo.output import NO_ROOM, OWN_FAULT, ready
from jointgeo.output.progress import progress
from jointgeo.pieces.answerfile import AnsweredPiece, solve_piece_file
from jointgeo.pieces.piece_type import PieceType
from jointgeo.pieces.registry import piece_failures, piece_type, piece_types
from jointgeo.pieces.solve import PARTS
from jointgeo.schema.fields import FieldInfo, describe

Kind = TypeVar("Kind", bound=type[JointType] | type[PieceType])

__all__ = ["COMMANDS", "main"]

COMMANDS = "jointgeo.commands"
BAD_INPUT, PLUGIN_FAULT = 2, 3
CODES = (
    "Exit codes: 0 all is well, 1 not all is feasible, 2 bad input, 3 a plug-in is at fault "
    "(it is named), 4 jointgeo itself is, or its answer cannot be written."
)


def main(arguments: list[str] | None = None) -> int:
    """Run the command line; returns the exit code."""
    writing = ready()
    parser = _parser()
    try:
        asked = parser.parse_args(arguments)
    except BrokenPipeError:
        writing.give_up()
        return 0
    except OSError as error:
        return writing.lost(error)
    except SystemExit as ended:  # after --help or --version, or bad usage
        if ended.code == 0 and (failed := writing.finish()):
            return failed
        raise
    try:
        code = int(asked.run(asked))
    except BrokenPipeError:
        # The reader (a pager, `head`) has gone; what is left to write has nowhere to go.
        writing.give_up()
        return int(getattr(asked, "outcome", 0))
    except OSError as error:
        # Of a file it would hold the name; of the answer, which was begun, it holds none.
        return writing.lost(error) if error.filename is None else _of_file(error)
    except Exception as error:  # what nobody foresaw is told in a line, with a code of its own
        return _told(error)
    return writing.finish(code)


def _of_file(error: OSError) -> int:
    """Say which file cannot be read or written; the exit code."""
    name, reason = shown_path(Path(str(error.filename))), error.strerror or str(error)
    print(f"jointgeo: {name}: {reason[:1].lower()}{reason[1:]}", file=sys.stderr)
    return OWN_FAULT if error.errno in NO_ROOM else BAD_INPUT


def _told(error: Exception) -> int:
    """Say whose fault it is; the exit code."""
    if isinstance(error, JointgeoError):
        print(f"jointgeo: {error}", file=sys.stderr)
        return PLUGIN_FAULT if isinstance(error, PluginError) else BAD_INPUT
    frame = traceback.extract_tb(error.__traceback__)[-1]
    where = f"{os.path.basename(frame.filename)}:{frame.lineno}"  # noqa: PTH119  # as the system spells it
    print(
        f"jointgeo: a fault of jointgeo itself: {type(error).__name__}: {told(error)} ({where})",
        file=sys.stderr,
    )
    return OWN_FAULT


class _Parser(argparse.ArgumentParser):
    """Lets an error of writing help or version out, which argparse would swallow."""

    def _print_message(self, message: str, file: Any = None) -> None:
        if message:
            (file or sys.stderr).write(message)


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="jointgeo",
        description="Settings and feasibility of angled joints on a shop-made fixture.",
        epilog=f"{CODES} {CAUTIONS[2]}",
    )
    parser.add_argument(
        "--version", action="version", version=importlib.metadata.version("jointgeo")
    )
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", required=True)
    listing = commands.add_parser("types", help="list joint types, or one with its parameters")
    listing.add_argument("name", nargs="?", help="one joint type, with every parameter")
    listing.add_argument("--json", action="store_true", help="print JSON")
    listing.set_defaults(run=_types)
    pieces = commands.add_parser("pieces", help="list piece types, or one with its parameters")
    pieces.add_argument("name", nargs="?", help="one piece type, with every parameter")
    pieces.add_argument("--json", action="store_true", help="print JSON")
    pieces.set_defaults(run=_pieces)
    sets = ", ".join(f"{s} ({', '.join(names)})" for s, names in demo_sets().items())
    solving = commands.add_parser("solve", help="settings and feasibility of job and piece files")
    solving.add_argument(
        "job",
        nargs="+",
        help=f"a job or piece file (.toml), or one or a set of those that ship: {sets}",
    )
    solving.add_argument("--json", action="store_true", help="print JSON, one list of all")
    solving.add_argument(
        "--also",
        action="append",
        choices=PARTS,
        default=[],
        help="with --json, of a piece: whether it closes, or how it is put together; may be given "
        "twice (the text says both)",
    )
    solving.add_argument(
        "--inches", action="store_true", help="the nearest sixty-fourth beside each millimetre"
    )
    solving.add_argument(
        "--checks", action="store_true", help="name the checks that passed, not their number alone"
    )
    solving.add_argument(
        "--fixture", help="a fixture's name or the path of its file, instead of the jobs' own"
    )
    solving.set_defaults(run=_solve)
    _add_others(commands)
    for command in commands.choices.values():
        if "xit code" not in f"{command.description} {command.epilog}":
            command.epilog = CODES
    return parser


def _add_others(commands: Any) -> None:
    """Subcommands from entry points; one that cannot be loaded says so when it is called."""
    for entry in sorted(importlib.metadata.entry_points(group=COMMANDS), key=lambda e: e.name):
        try:
            entry.load()(commands)
        # A third-party module may raise anything; the rest must work.
        except (Exception, SystemExit) as error:
            reason = (
                f"the command {entry.name} cannot be used: {type(error).__name__}: {told(error)}"
            )
            broken = commands.add_parser(entry.name, help="(cannot be used; run it for the reason)")
            broken.set_defaults(run=_broken, reason=reason)


def _broken(asked: argparse.Namespace) -> int:
    print(f"jointgeo: {asked.reason}", file=sys.stderr)
    return PLUGIN_FAULT


def _types(asked: argparse.Namespace) -> int:
    return _kinds(asked, joint_type, joint_types, failures, "joint_types")


def _pieces(asked: argparse.Namespace) -> int:
    return _kinds(asked, piece_type, piece_types, piece_failures, "piece_types")


def _kinds(
    asked: argparse.Namespace,
    named: Callable[[str], Kind],
    every: Callable[[], dict[str, Kind]],
    refused: Callable[[], tuple[Failure, ...]],
    key: str,
) -> int:
    """One type with its parameters, or all of them and what is refused."""
    if asked.name is not None:
        cls = named(asked.name)
        print(json.dumps(_as_dict(cls), indent=2) if asked.json else _type_text(cls))
        return 0
    found = every()
    if asked.json:
        faults = [
            {"name": f.name, "distribution": f.distribution, "reason": f.reason} for f in refused()
        ]
        listed = [_as_dict(cls) for cls in found.values()]
        print(json.dumps({key: listed, "refused": faults}, indent=2))
        return 0
    for name, cls in found.items():
        print(f"{name:20} {cls.summary}")
    for failure in refused():
        print(f"refused: {failure}")
    return 0


def _as_dict(cls: type[JointType | PieceType]) -> dict[str, Any]:
    parameters = [
        {"name": i.name, "unit": i.unit, "allowed": i.allowed, "help": i.help}
        | ({} if i.required else {"default": i.default})
        for i in describe(cls)
    ]
    return {"name": cls.name, "summary": cls.summary, "parameters": parameters}


def _type_text(cls: type[JointType | PieceType]) -> str:
    return "\n".join([f"{cls.name}: {cls.summary}", *(_parameter(i) for i in describe(cls))])


def _parameter(info: FieldInfo) -> str:
    default = "" if info.required else f", default {info.default}"
    default = ", may be left out" if info.may_be_none else default
    inches = f" (or {info.inches_name})" if info.inches_name else ""
    return f"  {info.name}{inches}: {info.allowed}{default}\n      {info.help}"


def _solve(asked: argparse.Namespace) -> int:
    answers: list[str] = []
    solved: list[JobAnswer | AnsweredPiece] = []
    worst = 0
    if asked.fixture is not None:
        load_fixture(asked.fixture)  # if it is at fault, that is said once and not for each job
    loaders = [one for given in asked.job for one in named_loaders(given).values()]
    for load in progress(loaders, len(loaders), "solved"):
        try:
            answer = _solved(load(), asked.fixture)
            # Written before anything is printed: what fails while it is written spoils no other.
            if asked.json:
                answers.append(
                    json.dumps([_data(answer, asked.also)], indent=2, allow_nan=False)[2:-2]
                )
            else:
                options = {"inches": asked.inches, "checks": asked.checks, "reading": not solved}
                answers.append("\n" + _text(answer, options))
            solved.append(answer)
            worst = max(worst, 0 if answer.feasible else 1)
        except Exception as error:  # one file at fault keeps nobody from the others
            worst = max(worst, _told(error))
    # Known before anything is printed, so that a reader who leaves early does not change it.
    asked.outcome = worst
    if asked.json and answers:
        print("[\n" + ",\n".join(answers) + "\n]")
    elif answers:
        print("\n".join(CAUTIONS))
        print("\n".join(answers))
        if len(solved) > 1:
            print("\n" + summary(solved, inches=asked.inches))
    return int(asked.outcome)


def _data(answer: JobAnswer | AnsweredPiece, also: list[str]) -> dict[str, Any]:
    return answer.to_dict() if isinstance(answer, JobAnswer) else answer.to_dict(*also)


def _text(answer: JobAnswer | AnsweredPiece, options: dict[str, bool]) -> str:
    if isinstance(answer, JobAnswer):
        return job_text(answer, **options)
    return piece_text(answer, **options)


def _solved(named: Named, fixture: str | None) -> JobAnswer | AnsweredPiece:
    """The answer, on ``fixture`` if given."""
    named = named if fixture is None else named.on(fixture)
    return solve_job(named) if isinstance(named, Job) else solve_piece_file(named)
