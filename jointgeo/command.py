"""The command ``jointgeo``: list joint types, solve job files; more enters by entry point.

Knows jobs and reports; knows no joint type by name, and no extra. A subcommand that needs
an extra stands in the entry-point group ``jointgeo.commands`` as a function
``add(subparsers)``; its module imports without the extra, so that help works, and says
what to install when it is run.

Exit codes: 0 all feasible, 1 something is not, 2 bad input or something missing.
"""

from __future__ import annotations

import argparse
import importlib.metadata
import json
import os
import sys
from typing import Any

from jointgeo.errors import JointgeoError
from jointgeo.fixtures.file import load_fixture
from jointgeo.jobs.file import demo_jobs, load_job
from jointgeo.jobs.report import CAUTIONS, job_text
from jointgeo.jobs.solve import solve_job
from jointgeo.joints.joint_type import JointType
from jointgeo.joints.registry import failures, joint_type, joint_types
from jointgeo.schema.fields import FieldInfo, describe

__all__ = ["COMMANDS", "main"]

COMMANDS = "jointgeo.commands"


def main(arguments: list[str] | None = None) -> int:
    """Run the command line; returns the exit code."""
    parser = _parser()
    asked = parser.parse_args(arguments)
    try:
        code = int(asked.run(asked))
        sys.stdout.flush()
    except JointgeoError as error:
        print(f"jointgeo: {error}", file=sys.stderr)
        return 2
    except BrokenPipeError:
        # The reader (a pager, `head`) has gone; what is left to write has nowhere to go.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return int(getattr(asked, "outcome", 0))
    return code


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="jointgeo",
        description="Settings and feasibility of angled joints on a shop-made fixture.",
        epilog="Exit codes: 0 all is well, 1 something does not fit, 2 bad input. " + CAUTIONS[2],
    )
    parser.add_argument(
        "--version", action="version", version=importlib.metadata.version("jointgeo")
    )
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", required=True)
    listing = commands.add_parser("types", help="list joint types, or one with its parameters")
    listing.add_argument("name", nargs="?", help="one joint type, with every parameter")
    listing.add_argument("--json", action="store_true", help="print JSON")
    listing.set_defaults(run=_types)
    sets = ", ".join(f"{s} ({', '.join(names)})" for s, names in demo_jobs().items())
    solving = commands.add_parser("solve", help="settings and feasibility of job files")
    solving.add_argument(
        "job", nargs="+", help=f"a job file (.toml), or a job or set that ships: {sets}"
    )
    solving.add_argument("--json", action="store_true", help="print JSON, one list of jobs")
    solving.add_argument(
        "--inches", action="store_true", help="the nearest sixty-fourth beside each millimetre"
    )
    solving.add_argument(
        "--fixture", help="a fixture's name or the path of its file, instead of the jobs' own"
    )
    solving.set_defaults(run=_solve)
    _add_others(commands)
    return parser


def _add_others(commands: Any) -> None:
    """Subcommands from entry points; one that cannot be loaded says so when it is called."""
    for entry in sorted(importlib.metadata.entry_points(group=COMMANDS), key=lambda e: e.name):
        try:
            entry.load()(commands)
        except Exception as error:  # a stranger's module may raise anything; the rest must work
            reason = f"the command {entry.name} cannot be used: {type(error).__name__}: {error}"
            broken = commands.add_parser(entry.name, help="(cannot be used; run it for the reason)")
            broken.set_defaults(run=_broken, reason=reason)


def _broken(asked: argparse.Namespace) -> int:
    print(f"jointgeo: {asked.reason}", file=sys.stderr)
    return 2


def _types(asked: argparse.Namespace) -> int:
    if asked.name is not None:
        cls = joint_type(asked.name)
        print(json.dumps(_as_dict(cls), indent=2) if asked.json else _type_text(cls))
        return 0
    if asked.json:
        refused = [
            {"name": f.name, "distribution": f.distribution, "reason": f.reason} for f in failures()
        ]
        listed = [_as_dict(cls) for cls in joint_types().values()]
        print(json.dumps({"joint_types": listed, "refused": refused}, indent=2))
        return 0
    for name, cls in joint_types().items():
        print(f"{name:20} {cls.summary}")
    for failure in failures():
        print(f"refused: {failure}")
    return 0


def _as_dict(cls: type[JointType]) -> dict[str, Any]:
    parameters = [
        {"name": i.name, "unit": i.unit, "allowed": i.allowed, "help": i.help}
        | ({} if i.required else {"default": i.default})
        for i in describe(cls)
    ]
    return {"name": cls.name, "summary": cls.summary, "parameters": parameters}


def _type_text(cls: type[JointType]) -> str:
    return "\n".join([f"{cls.name}: {cls.summary}", *(_parameter(i) for i in describe(cls))])


def _parameter(info: FieldInfo) -> str:
    default = "" if info.required else f", default {info.default}"
    inches = f" (or {info.inches_name})" if info.inches_name else ""
    return f"  {info.name}{inches}: {info.allowed}{default}\n      {info.help}"


def _solve(asked: argparse.Namespace) -> int:
    answers, refused = [], False
    if asked.fixture is not None:
        load_fixture(asked.fixture)  # if it is at fault, that is said once and not for each job
    for name in (job for given in asked.job for job in demo_jobs().get(given, (given,))):
        try:
            job = load_job(name)
            answers.append(solve_job(job if asked.fixture is None else job.on(asked.fixture)))
        except JointgeoError as error:  # one file at fault keeps nobody from the others
            print(f"jointgeo: {error}", file=sys.stderr)
            refused = True
    # Known before anything is printed, so that a reader who leaves early does not change it.
    asked.outcome = 2 if refused else 0 if all(a.feasible for a in answers) else 1
    if asked.json and answers:
        print(json.dumps([a.to_dict() for a in answers], indent=2, allow_nan=False))
    elif answers:
        print("\n".join(CAUTIONS))
        for answer in answers:
            print("\n" + job_text(answer, inches=asked.inches))
    return int(asked.outcome)
