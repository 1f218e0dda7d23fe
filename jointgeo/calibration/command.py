"""Commands of the accuracy part: check-up, calibrate, test-pieces, estimate-fixture, sweep, wood.

Knows this package, fixtures, jobs and the registry; computes nothing itself. Entered in
the entry-point group ``jointgeo.commands``. Exit codes: 0 good, 1 not good enough, 2 bad
input (an InputError, which the command line turns into a message).
"""

from __future__ import annotations

import argparse
import json
import math
from pathlib import Path
from typing import Any

import attrs

from jointgeo.calibration.calibrate import calibrate
from jointgeo.calibration.changes import Changes, apply_changes, holds, write_fixture
from jointgeo.calibration.checkup import MENDS, check_up
from jointgeo.calibration.contacts import Split
from jointgeo.calibration.limits import Predicted, estimate_limits
from jointgeo.calibration.readingfiles import load_readings, reading_names
from jointgeo.calibration.readings import (
    CheckUpReadings,
    CutReadings,
    LimitReadings,
)
from jointgeo.calibration.sweeping import SweepQuestion, named_cut, named_setups, sweep_text
from jointgeo.calibration.telling import calibration_lines
from jointgeo.calibration.trialpieces import trial_pieces
from jointgeo.fixtures.file import load_fixture
from jointgeo.fixtures.model import Fixture
from jointgeo.fixtures.testcuts import AXES
from jointgeo.schema.fields import describe
from jointgeo.schema.tables import read
from jointgeo.uncertainty.moisture import WoodMove

__all__ = ["add"]


def add(subparsers: Any) -> None:
    """Register every command of this package."""
    checking = _readings_parser(
        subparsers, "check-up", "readings of a check-up into corrections", _check_up
    )
    checking.add_argument(
        "--mend",
        choices=MENDS,
        default="correction",
        help="what takes up a tilt that is off: the scale's correction, as written, or the stop "
        "screws, which you then turn and check up again",
    )
    calibrating = _readings_parser(
        subparsers, "calibrate", "measured test cuts into corrections", _calibrate
    )
    _across(calibrating)
    calibrating.add_argument(
        "--joint",
        help="a joint type (its first example), or a job's name or file: what is to be cut, its "
        "angles and how close is close enough, instead of the size and the angles",
    )
    for axis in AXES:
        calibrating.add_argument(
            f"--{axis}-deg",
            type=float,
            action="append",
            metavar="ANGLE",
            help=f"{axis} of a joint to be cut; may be given several times (default: 0 and what "
            "was tested)",
        )
    pieces = _parser(subparsers, "test-pieces", "what to cut and measure to calibrate by", _pieces)
    pieces.add_argument("--fixture", default="porch", help="a fixture's name or file")
    _across(pieces)
    estimating = _parser(
        subparsers,
        "estimate-fixture",
        "where the beam of an unmeasured fixture stands",
        _estimate_fixture,
    )
    _readings(estimating)
    estimating.add_argument(
        "--thickness-mm",
        type=_positive,
        action="append",
        help="stock to tell the limit of; may be given several times (default 20, 50, 100)",
    )
    estimating.add_argument(
        "--overhang-mm", type=float, help="how far that stock hangs below the plate's edge"
    )
    sweep = _parser(subparsers, "sweep", "error budget of a joint over a range of angles", _sweep)
    sweep.add_argument("joint", help="a joint type (its first example), or a job's name or file")
    sweep.add_argument("--fixture", default=None, help="a fixture's name or file")
    _fields(sweep, SweepQuestion)
    wood = _parser(subparsers, "wood", "what a change of moisture does to a piece or a fit", _wood)
    _fields(wood, WoodMove)
    wood.add_argument(
        "--limit-mm", type=_positive, default=0.15, help="most the fit may change (default 0.15)"
    )


def _readings_parser(subparsers: Any, name: str, help: str, run: Any) -> argparse.ArgumentParser:
    parser = _parser(subparsers, name, help, run)
    _readings(parser)
    _writing(parser)
    return parser


def _readings(parser: argparse.ArgumentParser) -> None:
    shipped = ", ".join(reading_names())
    parser.add_argument("readings", help=f"a readings file (.toml), or one that ships: {shipped}")


def _parser(subparsers: Any, name: str, help: str, run: Any) -> argparse.ArgumentParser:
    parser: argparse.ArgumentParser = subparsers.add_parser(name, help=help, description=help)
    parser.add_argument("--json", action="store_true", help="print JSON")
    parser.set_defaults(run=run)
    return parser


def _writing(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--fixture", help="a fixture's name or file, instead of the readings' own")
    parser.add_argument("--output", metavar="FILE", help="write the corrected fixture to this file")
    parser.add_argument(
        "--overwrite",
        action="store_true",
        help="if FILE exists, keep it under a number and write over it",
    )


def _across(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--across-mm",
        type=_positive,
        default=100.0,
        help="size of stock that must close (default 100)",
    )


def _positive(given: str) -> float:
    try:
        value = float(given)
    except ValueError:
        value = math.nan
    if not 0 < value <= 10_000:
        raise argparse.ArgumentTypeError(f"{given!r} is not a number above 0, at most 10000 (mm)")
    return value


def _fields(parser: argparse.ArgumentParser, cls: type) -> None:
    """One option for each declared field; ranges are held by the fields themselves."""
    for info in describe(cls):
        kind = {"number": float, "integer": int}.get(info.kind, str)
        default = "" if info.required or info.default is None else f" (default {info.default})"
        parser.add_argument(
            "--" + info.name.replace("_", "-"),
            type=kind,
            required=info.required,
            default=argparse.SUPPRESS,
            help=f"{info.help}: {info.allowed}{default}".replace("%", "%%"),
        )


def _given(asked: argparse.Namespace, cls: type) -> Any:
    names = [info.name for info in describe(cls)]
    return read(cls, {n: getattr(asked, n) for n in names if hasattr(asked, n)})


def _print(asked: argparse.Namespace, data: Any, text: str) -> None:
    print(json.dumps(data, indent=2, allow_nan=False) if asked.json else text)


# Readings into corrections ----------------------------------------------------------------


def _fixture_of(asked: argparse.Namespace, name: str) -> Fixture:
    """--fixture, or what the readings name: a name, or a path beside the readings file."""
    if asked.fixture is not None:
        return load_fixture(asked.fixture)
    path = Path(name)
    if path.name != name or path.suffix == ".toml":
        return load_fixture(Path(asked.readings).parent / path)
    return load_fixture(name)


def _written(asked: argparse.Namespace, fixture: Fixture, changes: Changes) -> tuple[str, bool]:
    """Write the fixture if that was asked for; what to tell, and whether it could be done."""
    if asked.output is None:
        return "nothing was written; --output FILE writes the corrected fixture", True
    if not changes.calibrates:
        return "nothing was found for good, so no file was written", False
    path, after = Path(asked.output), apply_changes(fixture, changes)
    if holds(path, after):
        return f"{path} holds all of this already and was left as it is", True
    # Where a file is read and written, nothing that another run found meanwhile is lost.
    same = asked.fixture is not None and path.exists() and _is_file(asked.fixture, path)
    kept = write_fixture(after, path, overwrite=asked.overwrite, was=fixture if same else None)
    return f"written to {path}" + (f"; the old file is kept as {kept}" if kept else ""), True


def _is_file(name: str, path: Path) -> bool:
    """Whether a fixture's name or path, as it was given, is that very file."""
    return Path(name).exists() and Path(name).samefile(path)


def _check_up(asked: argparse.Namespace) -> int:
    readings = load_readings(CheckUpReadings, asked.readings)
    fixture = _fixture_of(asked, readings.fixture)
    found = check_up(readings, fixture, asked.mend)
    told, done = _written(asked, fixture, found.changes)
    lines = [f"Check-up of {fixture.name}, {readings.date}; allowed ± {found.allowed_deg:.3f}°"]
    lines += [f"{s.status:8} {s.name}: {s.says}" for s in found.steps]
    lines += [f"note     {n}" for n in found.notes]
    _print(asked, found.to_dict() | {"told": told}, "\n".join([*lines, told]))
    unread = any(s.provisional for s in found.steps)
    return 1 if found.status == "fail" or unread or not done else 0


def _calibrate(asked: argparse.Namespace) -> int:
    readings = load_readings(CutReadings, asked.readings)
    fixture = _fixture_of(asked, readings.fixture)
    wanted = {a: getattr(asked, f"{a}_deg") for a in AXES if getattr(asked, f"{a}_deg")}
    cut = None if asked.joint is None else named_cut(asked.joint)
    found = calibrate(readings, fixture, asked.across_mm, wanted, cut)
    told, done = _written(asked, fixture, found.changes)
    lines = [f"Test cuts on {fixture.name}, {readings.date}", *calibration_lines(found), told]
    _print(asked, found.to_dict() | {"told": told}, "\n".join(lines))
    return 0 if found.enough and done else 1


# The rest -----------------------------------------------------------------------------------


def _pieces(asked: argparse.Namespace) -> int:
    pieces = trial_pieces(load_fixture(asked.fixture), asked.across_mm)
    lines = []
    for p in pieces:
        size = " × ".join(f"{v:g}" for v in p.section_mm)
        expected = ", ".join(f"{k} = {v:.3f}" for k, v in p.expected.items())
        lines += [f"{p.name}: {size} mm", f"  measure: {p.measure}"]
        lines += [f"  expect {expected}; enter under [[{p.enter}]]"]
        lines += [f"  cut {i}: {_cut_text(c)}" for i, c in enumerate(p.cuts, 1)]
    _print(asked, {"pieces": [p.to_dict() for p in pieces]}, "\n".join(lines))
    return 0


def _cut_text(cut: dict[str, Any]) -> str:
    parts = []
    for name, value in cut.items():
        if name == "passes":
            wheel = ", ".join(f"{p['turns']} turns + {p['divisions']}" for p in value)
            parts.append(f"handwheel {wheel}")
        else:
            shown = f"{value:.3f}" if isinstance(value, float) else str(value)
            parts.append(f"{name} {shown}")
    return "; ".join(parts)


def _estimate_fixture(asked: argparse.Namespace) -> int:
    readings = load_readings(LimitReadings, asked.readings)
    found = estimate_limits(readings)
    lines = [f"First: {found.first}", f"{found.status}: {found.says}"]
    for split in found.splits:
        lines.append(f"hinge to face {split.distance_mm:.1f} mm: beam {_beam(split, readings)}")
        for limit, kind, off in zip(readings.limit, split.kinds, split.residual_deg, strict=True):
            where = f"{limit.thickness_mm:g} mm at {limit.angle_deg:g}°"
            lines.append(f"  {where}, {kind}: {off:+.2f}° off the estimate")
    lines += [f"not determined: {u}" for u in found.undetermined]
    limits = [found.predict(t, asked.overhang_mm) for t in asked.thickness_mm or (20, 50, 100)]
    if found.splits and found.status != "contradictory" and None in limits:
        lines.append("no limits are told: they need --overhang-mm, how far that stock hangs down")
    lines += [_limit_text(p) for p in limits if p is not None]
    told = [attrs.asdict(p) for p in limits if p is not None]
    _print(asked, found.to_dict() | {"limits": told}, "\n".join(lines))
    return 0 if found.good else 1


def _beam(split: Split, readings: LimitReadings) -> str:
    face = f"face {split.distance_mm - readings.plate_offset_mm:.1f} mm before the plate's face"
    if split.edge_mm is None:
        return face
    return f"{face}, lower edge {split.edge_mm:.1f} mm below the hinge"


def _limit_text(p: Predicted) -> str:
    if p.limit_deg is None or p.u_deg is None:
        return f"{p.thickness_mm:g} mm stock never meets the beam"
    known = f"{p.thickness_mm:g} mm stock: limit {p.limit_deg:.2f}° ± {2 * p.u_deg:.2f}° (k = 2)"
    if p.safe_deg is None or p.safe_deg < 0:
        return f"{known}; not sure to be free even upright"
    return f"{known}; tilt no further than {p.safe_deg:.2f}°"


def _sweep(asked: argparse.Namespace) -> int:
    question: SweepQuestion = _given(asked, SweepQuestion)
    answers = [question.answer(found) for found in named_setups(asked.joint, asked.fixture)]
    data = {"sweeps": [a.to_dict() for a in answers]}
    _print(asked, data, "\n\n".join(sweep_text(a) for a in answers))
    return 0 if all(a.closes for a in answers) else 1


def _wood(asked: argparse.Namespace) -> int:
    question: WoodMove = _given(asked, WoodMove)
    found = question.answer()
    what = "the piece" if found.fit_mm is None else "the slot"
    lines = [f"{what} of {question.size_mm:g} mm changes by {found.piece_mm:+.3f} mm"]
    moved = found.piece_mm
    if found.fit_mm is not None:
        moved = found.fit_mm
        way = "looser" if moved > 0 else "tighter"
        lines.append(f"the tongue changes by {found.tongue_mm:+.3f} mm")
        lines.append(f"the fit (clearance) gets {abs(moved):.3f} mm {way}")
    if not found.within_range:
        lines.append("outside 6 to 14 % of moisture the rule is only rough")
    lines.append("guidance by the Wood Handbook's Table 13-5 and Eq. 13-2, not design")
    good = abs(moved) <= asked.limit_mm
    _print(asked, found.to_dict() | {"limit_mm": asked.limit_mm, "good": good}, "\n".join(lines))
    return 0 if good else 1
