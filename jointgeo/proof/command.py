"""The command ``jointgeo dry-fit``: cut every joint of a job in a virtual shop.

Knows jobs, the solver and feasibility, which the dry fit itself must not: it hands their
answer over as plain settings and prints what comes back. Imports without the boolean
kernel, so that help works; running says what to install.

Exit codes: 0 every joint goes together, 1 one does not, 2 bad input or no kernel.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import attrs

from jointgeo.errors import InputError, Problem, shown
from jointgeo.joints.check import VERDICT_WORDS, questions
from jointgeo.output.progress import progress
from jointgeo.proof.export import export, file_names
from jointgeo.proof.finding import Finding
from jointgeo.proof.fit import DryFit, dry_fit
from jointgeo.proof.form import ERRORS, read_errors
from jointgeo.proof.piece import PieceFit
from jointgeo.proof.piececommand import PieceProof, piece_lines, piece_proof

if TYPE_CHECKING:
    from jointgeo.jobs.file import Job
    from jointgeo.solution.setup import Hand
    from jointgeo.solution.solution import Solution

__all__ = ["add", "report"]

MOST_FAULTS = 12
ROUNDING = 1e-12  # a share of the joint's volume: the kernel's own rounding
#: mm³ and mm: what would print as zero.
LEAST_MM3, LEAST_MM = 0.0005, 0.00005


def add(subparsers: Any) -> None:
    """Register ``dry-fit`` with argparse's subparsers."""
    names = ", ".join(ERRORS)
    parser = subparsers.add_parser(
        "dry-fit",
        help="cut every joint of a job in a virtual shop and see whether it goes together",
        description="Rebuild every part from its settings alone, put the parts together, and "
        "measure overlap and gaps. Exit codes: 0 every joint goes together, 1 one does not, 2 bad "
        "input or no boolean kernel.",
    )
    parser.add_argument(
        "job", nargs="+", help="a job or piece file (.toml), or a job or set that ships"
    )
    parser.add_argument("--json", action="store_true", help="print JSON")
    parser.add_argument(
        "--fixture", help="a fixture's name or the path of its file, instead of the files' own"
    )
    parser.add_argument(
        "--output", metavar="DIR", help="write parts and assembly there as STL (mm) and glTF"
    )
    parser.add_argument(
        "--apart",
        action="store_true",
        help="take each piece apart along its steps of assembly as well (needs the extra assembly)",
    )
    parser.add_argument(
        "--error",
        metavar="NAME=VALUE",
        action="append",
        default=[],
        help=f"mis-set every clamping by that much; may be repeated; names: {names}",
    )
    parser.set_defaults(run=run)


@attrs.frozen
class _Answer:
    job: str
    joint: str
    hand: str
    fit: DryFit
    solution: Solution

    @property
    def name(self) -> str:
        return self.joint if self.hand == "as_drawn" else f"{self.joint} (mirrored)"

    def to_dict(self) -> dict[str, Any]:
        return {
            "job": self.job,
            "joint": self.joint,
            "hand": self.hand,
            "fit": self.fit.to_dict(),
            "feasibility": self.solution.feasibility_dict(),
        }


def run(asked: argparse.Namespace) -> int:
    """Dry-fit every joint of the jobs asked for, print, and give the exit code."""
    from jointgeo.jobs.file import Job
    from jointgeo.jobs.named import load_named

    errors = _errors(asked.error)
    named = [one for given in asked.job for one in load_named(given)]
    if asked.fixture is not None:
        named = [one.on(asked.fixture) for one in named]
    jobs = [one for one in named if isinstance(one, Job)]
    answers: list[_Answer] = []
    pieces: list[PieceProof] = []
    for one in progress(named, len(named), "cut and put together"):
        if isinstance(one, Job):
            answers += _job(one, errors)
        else:
            pieces.append(piece_proof(one, errors, apart=asked.apart))
    folders: list[str] = []
    whole: list[DryFit | PieceFit] = [p.fit for p in pieces]
    if asked.output:
        many = len(jobs) > 1
        titles = [f"{a.job} {a.name}" if many else a.name for a in answers]
        names = file_names(titles + [p.title for p in pieces])
        folders = [str(Path(asked.output) / name) for name in names]
        for folder, fit in zip(folders, [a.fit for a in answers] + whole, strict=True):
            export(fit, folder)
    if asked.json:
        listed = {
            "errors": errors,
            "joints": [a.to_dict() for a in answers],
            "pieces": [p.to_dict() for p in pieces],
            "written": folders,
        }
        print(json.dumps(listed, indent=2, allow_nan=False))
    else:
        print(_text(answers, pieces, errors, folders))
    every = [a.fit.goes_together for a in answers] + [p.goes_together for p in pieces]
    return 0 if all(every) else 1


def _job(job: Job, errors: dict[str, float]) -> Iterator[_Answer]:
    from jointgeo.solution.solution import solve

    for named in job.joints:
        for hand in _hands(job, named.name):
            solution = solve(named.joint, job.fixture, hand)
            fit = dry_fit(solution.settings_dict(aids=False), errors)
            yield _Answer(job.title, named.name, hand, fit, solution)


def _hands(job: Job, joint: str) -> list[Hand]:
    """As drawn, and the mirror image where a member is cut so."""
    ends = [(m, end) for m in job.members for end in (m.near, m.far) if end.joint == joint]
    mirrored = any((m.hand == "mirrored") != (end.hand == "mirrored") for m, end in ends)
    return ["as_drawn", "mirrored"] if mirrored else ["as_drawn"]


def _errors(given: list[str]) -> dict[str, float]:
    out: dict[str, float] = {}
    for text in given:
        name, equals, amount = text.partition("=")
        try:
            value = float(amount)
        except ValueError:
            value = None
        if not equals or value is None or name in out:
            allowed = "NAME=VALUE, each name once, e.g. tilt_deg=0.1"
            raise InputError(Problem("--error", "cannot be read", shown(text), allowed))
        out[name] = value
    read_errors(out)
    return out


def _text(
    answers: list[_Answer], pieces: list[PieceProof], errors: dict[str, float], folders: list[str]
) -> str:
    lines = []
    if errors:
        said = ", ".join(f"{n} by {v:+g} {ERRORS[n]}" for n, v in errors.items())
        lines.append(f"every clamping mis-set: {said}\n")
    for title in dict.fromkeys(a.job for a in answers):
        pairs = [(a.name, a.fit, a.solution) for a in answers if a.job == title]
        lines += [title, "=" * len(title), report(pairs), ""]
    for piece in pieces:
        lines += [*piece_lines(piece), *fault_lines(piece.faults), ""]
    lines += [f"written to {folder}" for folder in folders]
    return "\n".join(lines).rstrip()


def report(pairs: Sequence[tuple[str, DryFit, Solution | None]]) -> str:
    """For each named joint: whether the cut parts go together, overlap and gap, and whether the
    fixture can cut them."""
    return "\n".join(line for pair in pairs for line in _lines(*pair))


def _lines(name: str, fit: DryFit, solution: Solution | None) -> Iterator[str]:
    yield f"{name}: {'goes together' if fit.goes_together else 'DOES NOT GO TOGETHER'}"
    # A share of rounding size would print another digit on every machine.
    share = fit.overlap_fraction if fit.overlap_fraction > ROUNDING else 0.0
    if fit.overlap_mm3 < LEAST_MM3:
        yield "  no overlap"
    else:
        yield f"  overlap {fit.overlap_mm3:.3f} mm3, {share:.1e} of the joint's volume"
    if fit.interference_mm3 > 0:
        yield f"  interference as planned {fit.interference_mm3:.3f} mm3"
    if max(fit.gap_mm, fit.press_mm) < LEAST_MM:
        yield "  no gap beyond the stated ones, and none tighter"
    else:
        yield (
            f"  beyond the stated gaps: open by {fit.gap_mm:.4f} mm at most, "
            f"tight by {fit.press_mm:.4f} mm at most"
        )
    if solution is not None:
        told = VERDICT_WORDS[solution.status] + questions(solution.not_stated)
        yield f"  on {solution.fixture.name}: {told}"
    yield from fault_lines(fit.faults)


def fault_lines(faults: Sequence[Finding]) -> Iterator[str]:
    """What is not right, the first dozen."""
    for fault in faults[:MOST_FAULTS]:
        yield f"  not right: {_fault(fault)}"
    if len(faults) > MOST_FAULTS:
        yield f"  and {len(faults) - MOST_FAULTS} more"


def _fault(fault: Finding) -> str:
    named = any(part in fault.what for part in fault.parts)
    where = "" if named or not fault.parts else f"{fault.parts[0]}: "
    unit = "" if fault.unit == "1" else f" {fault.unit}"
    because = f" ({fault.because})" if fault.because else ""
    if fault.measured is None:
        return f"{where}{fault.what}: could not be measured{because}"
    return f"{where}{fault.what}: {fault.measured:.4g}{unit}, not {fault.expected:.4g}{because}"
