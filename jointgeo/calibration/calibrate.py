"""From measured test cuts to what is known of each axis, kerf and the lead, and what to cut next.

Knows readings, rows, estimates and the fixture; writes nothing (``changes`` does).

The readings become rows among those the fixture has (``rows``, ``taking``), and everything is
estimated from all rows together (``fixtures.estimate``), so that the order and repetition of
files cannot matter:

    cut turned over      angle - scale           = offset, gain and unevenness there
    angle measured       measured - scale        = the same
    groove, one pass     width - kerf            = kerf error
    two grooves          measured / travel - 1   = lead
    coupon of fits       tongue - slot           = kerf error + (slot - kerf) · lead

Enough. A later cut, set anew, comes within ``needed`` at 95 %: of an axis the joint's own tolerance
(``needs``), of a kerf the glue line; and nothing that was found stays open
(``findings``). A person with a few cuts is told what they have, what one more would bring, and
that a setting left untouched is known far better than one set anew.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Mapping, Sequence
from typing import Any

import attrs

from jointgeo.calibration.advice import AxisTask, NextCut, cuts_needed, next_cut
from jointgeo.calibration.changes import Changes, apply_changes, changed_numbers
from jointgeo.calibration.needs import Need, joint_needs, rough_need
from jointgeo.calibration.readings import CutReadings
from jointgeo.calibration.rows import cut_rows
from jointgeo.calibration.taking import Taken, take
from jointgeo.fixtures.calibrated import axis_error, kerf_error, lead_error, scale_figure
from jointgeo.fixtures.estimate import COVERAGE, Estimate, Known
from jointgeo.fixtures.findings import Finding, findings
from jointgeo.fixtures.model import Fixture
from jointgeo.fixtures.testcuts import AXES
from jointgeo.jobs.file import Job
from jointgeo.joints.joint_type import JointType

__all__ = ["Calibrated", "CalibratedAt", "CalibratedValue", "calibrate"]

UNTESTED_DEG = 2.0  # no cut within this of an angle: it counts as untested; our choice
#: Standard uncertainty of one cut turned over (a gap to 0.02 mm across 98 mm) and of a vernier
#: bevel protractor read to 5′; common practice, no published source.
TURNED_OVER_U_DEG = 0.006
PROTRACTOR_U_DEG = 0.024


@attrs.frozen
class CalibratedAt:
    """One unknown at one wanted value (an axis at an angle; else 0). scale: what to set; in_range:
    whether the axis gets there. before: as it was known before these readings. possible: whether
    exact knowledge would be enough. untested: no cut was within 2°."""

    wanted: float
    scale: float
    in_range: bool
    known: Known
    before: Known
    needed: float
    possible: bool
    enough: bool
    untested: bool

    def to_dict(self, unit: str) -> dict[str, Any]:
        return {
            f"wanted_{unit}": self.wanted,
            f"scale_{unit}": self.scale,
            "in_range": self.in_range,
            f"off_{unit}": self.known.off,
            f"mean_{unit}": self.known.mean,
            f"later_{unit}": self.known.later,
            f"before_off_{unit}": self.before.off,
            f"before_later_{unit}": self.before.later,
            f"needed_{unit}": self.needed,
            "possible": self.possible,
            "enough": self.enough,
            "untested": self.untested,
        }


@attrs.frozen
class CalibratedValue:
    """One unknown. unit: "deg", "mm" or "1". cuts: settings used, left_out: and not. untouched:
    name and expanded uncertainty of the last setting, if nobody touches it. more_cuts: how many
    bring every wanted value within what is needed, the other axis left as it is known; None where
    no number does."""

    name: str
    unit: str
    cuts: int
    left_out: int
    error: Estimate
    at: tuple[CalibratedAt, ...]
    untouched: tuple[str, float] | None
    more_cuts: int | None
    findings: tuple[Finding, ...]

    @property
    def open(self) -> bool:
        return any(f.open for f in self.findings)

    @property
    def enough(self) -> bool:
        return all(a.enough for a in self.at)

    @property
    def hopeless(self) -> bool:
        """However well the error were known, a setting's own scatter is too much."""
        return not all(a.possible for a in self.at)

    def to_dict(self) -> dict[str, Any]:
        out: dict[str, Any] = {
            "name": self.name,
            "cuts": self.cuts,
            "left_out": self.left_out,
            "enough": self.enough,
            "more_cuts": self.more_cuts,
            f"repeats_{self.unit}": self.error.repeats,
            "scatter_factor": self.error.scatter,
            "freedom": self.error.freedom,
            "coverage_factor": self.error.factor,
            "at": [a.to_dict(self.unit) for a in self.at],
            "findings": [f.to_dict() for f in self.findings],
        }
        if self.untouched is not None:
            out |= {"untouched": {"cut": self.untouched[0], f"u95_{self.unit}": self.untouched[1]}}
        return out


@attrs.frozen(eq=False)
class Calibrated:
    """values: every unknown these readings tell of, and every axis that was asked about. changes:
    what to write into the fixture file; fixture: with them; changed: its numbers that differ.
    taken: what was new. next: the cut to make next, None where all is good enough or no cut
    helps."""

    values: tuple[CalibratedValue, ...]
    changes: Changes
    fixture: Fixture
    changed: Mapping[str, float]
    taken: Taken
    next: NextCut | None

    @property
    def enough(self) -> bool:
        """Everything that was read or asked is as good as needed, and nothing is open."""
        return all(v.enough for v in self.values)

    def __getitem__(self, name: str) -> CalibratedValue:
        """The unknown of that name; KeyError where nothing tells of it."""
        for value in self.values:
            if value.name == name:
                return value
        raise KeyError(name)

    def to_dict(self) -> dict[str, Any]:
        return {
            "enough": self.enough,
            "new": list(self.taken.new),
            "replaced": list(self.taken.replaced),
            "already_known": list(self.taken.known),
            "values": [v.to_dict() for v in self.values],
            "changes": dict(self.changed),
            "next_cut": None if self.next is None else self.next.to_dict(),
            "notes": list(self.taken.notes),
        }


def calibrate(
    readings: CutReadings,
    fixture: Fixture,
    across_mm: float = 100.0,
    wanted: Mapping[str, Sequence[float]] | None = None,
    cut: JointType | Job | None = None,
) -> Calibrated:
    """What the fixture's test cuts and these tell.

    cut: joint or job to be cut; it says the angles and how close is close enough. Without it:
    across_mm, size of stock that must close; wanted, true angles by axis, and for an axis that is
    not named, 0 and whatever was tested. InputError where a reading names a cutter the fixture has
    not got, a scale its axis cannot show, or is known under another date.
    """
    rows = cut_rows(readings, fixture)
    taken = take(fixture, rows, again=readings.again)
    source = f"test cuts of {readings.date}"[:80]
    changes = Changes({}, readings.date, source, rows, readings.again)
    after = apply_changes(fixture, changes)
    asked = wanted or {}
    needs = {} if cut is None else joint_needs(cut, after)
    told = set(needs) if cut is not None else {r.axis for r in rows.cuts} | set(asked)
    limit = fixture.practice.glue_line_mm
    values: list[CalibratedValue] = []
    tasks: dict[str, AxisTask] = {}
    for axis in (a for a in AXES if a in told):
        error = axis_error(after, axis)
        of_axis = needs.get(axis)
        if of_axis is None:
            rough = rough_need(limit, across_mm, error.repeats)
            of_axis = dict.fromkeys(tuple(asked.get(axis, ())) or _tested(error), rough)
        value = _axis(fixture, after, axis, of_axis)
        values.append(value)
        if not value.enough and not value.hopeless:
            weights = {angle: need.weight for angle, need in of_axis.items()}
            tasks[axis] = AxisTask(error, weights, _places(after, axis, tuple(of_axis)))
    if rows.spacings:
        before, error = lead_error(fixture), lead_error(after)
        values.append(_single("lead", "1", before, error, limit / across_mm, after.test_spacing))
    for name in dict.fromkeys(r.cutter for r in rows.grooves):
        before, error = kerf_error(fixture, name), kerf_error(after, name)
        own = [r for r in after.test_groove if r.cutter == name]
        values.append(_single(f"kerf of {name}", "mm", before, error, limit, own))
    changed = changed_numbers(fixture, after)
    return Calibrated(
        tuple(values), changes, after, changed, taken, _on_scale(next_cut(tasks), after)
    )


def _on_scale(found: NextCut | None, fixture: Fixture) -> NextCut | None:
    """The same, with the figure to set where the scale is not numbered with the axis from 0."""
    if found is None:
        return None
    figure = (fixture.swivel if found.axis == "swivel" else fixture.tilt).figure_deg(found.at_deg)
    return found if figure == found.at_deg else attrs.evolve(found, figure_deg=figure)


def _tested(error: Estimate) -> tuple[float, ...]:
    """0, and every whole degree near which a cut was made."""
    near = {float(round(r.at)) for r in error.rows if r.on_scale and abs(r.at) > UNTESTED_DEG}
    return (0.0, *sorted(near))


def _axis(
    fixture: Fixture, after: Fixture, axis: str, needs: Mapping[float, Need]
) -> CalibratedValue:
    error = axis_error(after, axis)
    found = findings(error, axis, "°")
    is_open = any(f.open for f in found)
    at = []
    for angle, need in needs.items():
        figure = scale_figure(after, axis, angle)
        near = [abs(r.at - figure.scale_deg) for r in error.rows if r.on_scale]
        at.append(
            CalibratedAt(
                angle,
                figure.figure_deg,
                figure.in_range,
                figure.known,
                axis_error(fixture, axis).at(figure.scale_deg),
                need.needed,
                need.possible,
                figure.known.later <= need.needed and figure.in_range and not is_open,
                min(near, default=math.inf) > UNTESTED_DEG,
            )
        )
    rows = [r for r in after.test_cut if r.axis == axis]
    used = [
        r
        for r in rows
        if r.left_out is None and r.zero == getattr(after.correction, f"{axis}_zero")
    ]
    last = next((i for i, r in enumerate(error.rows) if used and r.name == used[-1].id), None)
    untouched = None if last is None else (error.rows[last].name, error.untouched(last).mean)
    alone = {angle: need.alone for angle, need in needs.items()}
    more = cuts_needed(error, {a: _reading_u(error, a) for a in needs}, alone)
    dropped = sum(1 for r in rows if r.left_out)
    return CalibratedValue(
        axis, "deg", len(error.rows), dropped, error, tuple(at), untouched, more, found
    )


def _places(fixture: Fixture, axis: str, angles: Sequence[float]) -> dict[float, float]:
    """Where the axis may be tested, the wanted angles first: only what its scale can show."""
    limits = fixture.swivel if axis == "swivel" else fixture.tilt
    error = axis_error(fixture, axis)
    places = dict.fromkeys((*angles, 0.0, limits.min_deg, limits.max_deg))
    reached = (p for p in places if limits.min_deg <= p <= limits.max_deg)
    return {p: _reading_u(error, p) for p in reached}


def _reading_u(error: Estimate, at: float) -> float:
    """How well one more cut there would be measured: near 0 as those before, turned over."""
    if abs(at) > UNTESTED_DEG:
        return PROTRACTOR_U_DEG
    near = [r.u for r in error.rows if abs(r.at) <= UNTESTED_DEG]
    return statistics.median(near) if near else TURNED_OVER_U_DEG


def _single(
    name: str, unit: str, before: Estimate, error: Estimate, needed: float, rows: Sequence[Any]
) -> CalibratedValue:
    """An unknown that is the same everywhere: a kerf, the lead."""
    found = findings(error, name, " mm" if unit == "mm" else "")
    known = error.at(0.0)
    enough = known.later <= needed and not any(f.open for f in found)
    possible = COVERAGE * error.repeats <= needed
    at = CalibratedAt(0.0, 0.0, True, known, before.at(0.0), needed, possible, enough, False)
    u = statistics.median(r.u for r in error.rows) if error.rows else error.prior.offset_u
    more = cuts_needed(error, {0.0: u}, {0.0: needed})
    dropped = sum(1 for r in rows if r.left_out)
    return CalibratedValue(name, unit, len(error.rows), dropped, error, (at,), None, more, found)
