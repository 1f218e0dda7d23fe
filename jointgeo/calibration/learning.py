"""From measured test cuts to corrections: each axis's offset, each kerf, the screw.

Knows readings, least squares and the fixture; writes nothing (``changes`` does).

Theory. Unknown are the true angle of each axis when its scale reads 0 (offset), what each
cutter cuts beyond its kerf, and the screw's lead error as a fraction. Every reading is a
linear form of these (below), so weighted least squares with a prior gives the estimate and
its uncertainty (``fitting``).

    cut turned over      angle - scale           = offset
    angle measured       measured - scale        = offset
    groove, one pass     width - kerf            = kerf error
    two grooves          measured / travel - 1   = lead
    coupon of fits       tongue - slot           = kerf error + (slot - kerf) · lead

The coupon's ``slot`` is the setting at which the tongue would just go in, from how many of
the slots it enters: widest - (entered - 1/2)·step. Counting has no bias (Spearman and
Kärber's estimate of a threshold); the rejected alternative, the first slot it enters, is
taken too early as soon as the slots scatter. The variance is step²/12 for the steps and
step·s/√π for slots that scatter by s.

Prior. What lasts from one setting to the next is what a scale, a kerf or a lead is out by,
and the fixture file says how large that may be; once something was learnt, the correction
and its own uncertainty take that place. What is new at every setting (re-zeroing, play,
lock) is noise of each cut. The rejected alternative, taking a scale's whole uncertainty
for noise as well, made learning look useless: nothing can be learnt that does not last.

Enough. An axis is as good as needed when 2·√(u² + setting²) is within atan(glue line / size)
divided by √2 for two axes. From n cuts of uncertainty c the offset is known to
1/u² = 1/prior² + n/c²; where the setting's own part is already too much, no number is enough.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import attrs
import numpy as np

from jointgeo.calibration.changes import Changes
from jointgeo.calibration.fitting import Fit, Observation, solve
from jointgeo.calibration.readings import CouponReading, CutReadings, GrooveReading
from jointgeo.calibration.zeros import setting_u_deg, turned_over_observation
from jointgeo.errors import InputError, Problem, shown
from jointgeo.fixtures.model import Cutter, Fixture
from jointgeo.uncertainty.combine import COVERAGE, rectangular_u

__all__ = ["Learned", "LearnedValue", "cuts_needed", "learn", "prior_of"]

LEAST_U = 1e-7  # degree, mm or fraction: a prior of exactly 0 would divide by it


@attrs.frozen
class LearnedValue:
    """One unknown. offset: estimate (true less nominal); u: its standard uncertainty; prior and
    prior_u: the same before these readings; readings: how many cuts told of it. needed: what
    2·√(u² + setting²) must stay within. more_cuts: how many more cuts like these until then,
    None where no number is enough."""

    name: str
    unit: str
    offset: float
    u: float
    prior: float
    prior_u: float
    readings: int
    needed: float
    setting_u: float
    more_cuts: int | None

    @property
    def enough(self) -> bool:
        return self.more_cuts == 0

    def to_dict(self) -> dict[str, Any]:
        unit = self.unit
        return {
            "name": self.name,
            f"offset_{unit}": self.offset,
            f"u_{unit}": self.u,
            f"prior_{unit}": self.prior,
            f"prior_u_{unit}": self.prior_u,
            "readings": self.readings,
            f"needed_{unit}": self.needed,
            "enough": self.enough,
            "more_cuts": self.more_cuts,
        }


@attrs.frozen
class Learned:
    """values: every unknown that is told of by readings or file; changes: what to write into
    the fixture file; outliers, contradicting: readings by name; notes: the same in sentences."""

    values: tuple[LearnedValue, ...]
    changes: Changes
    notes: tuple[str, ...]
    outliers: tuple[str, ...]
    contradicting: tuple[str, ...]

    @property
    def enough(self) -> bool:
        """Everything that was read is as good as needed."""
        return all(v.enough for v in self.values if v.readings)

    def to_dict(self) -> dict[str, Any]:
        return {
            "enough": self.enough,
            "values": [v.to_dict() for v in self.values],
            "changes": dict(self.changes.values),
            "outliers": list(self.outliers),
            "contradicting": list(self.contradicting),
            "notes": list(self.notes),
        }


def prior_of(fixture: Fixture) -> dict[str, tuple[float, float]]:
    """What the fixture file says of each unknown: (value, standard uncertainty)."""
    u, c = fixture.uncertainty, fixture.correction
    roll = math.degrees(math.atan(u.rail_height_difference_mm / u.rail_spacing_mm))
    out = {
        "swivel": (0.0 - c.swivel_zero_deg, c.swivel_zero_u_deg or math.hypot(u.swivel_deg, roll)),
        "tilt": (0.0 - c.tilt_zero_deg, c.tilt_zero_u_deg or u.tilt_deg),
        "lead": (c.lead_fraction, c.lead_fraction_u or u.traverse_lead_fraction),
    }
    learnt = {k.cutter: (k.kerf_mm, k.kerf_u_mm or u.kerf_mm) for k in c.kerf}
    for cutter in fixture.cutter:
        out[f"kerf of {cutter.name}"] = learnt.get(cutter.name, (0.0, u.kerf_mm))
    return {name: (value, max(own, LEAST_U)) for name, (value, own) in out.items()}


def cuts_needed(prior_u: float, cut_u: float, setting_u: float, needed: float) -> int | None:
    """How many cuts bring 2·√(u² + setting²) within ``needed``; None where no number does.

    All in one unit; prior_u, cut_u (one cut: setting and measuring together) and setting_u
    are standard uncertainties.
    """
    left = (needed / COVERAGE) ** 2 - setting_u**2
    if left <= 0:
        return None
    # Rounding of the square roots must not ask for one cut too many.
    return max(0, math.ceil((1 / left - 1 / prior_u**2) * cut_u**2 - 1e-9))


def learn(readings: CutReadings, fixture: Fixture, across_mm: float = 100.0) -> Learned:
    """Corrections from test cuts. across_mm: size of stock that must close.

    InputError where a reading names a cutter the fixture has not got.
    """
    prior = prior_of(fixture)
    observations = list(_observations(readings, fixture))
    fit = solve(observations, tuple(prior), prior)
    limit = fixture.practice.glue_line_mm
    angle = math.degrees(math.atan(limit / across_mm)) / math.sqrt(2.0)
    values = []
    for name, (before, before_u) in prior.items():
        unit = "deg" if name in ("swivel", "tilt") else "1" if name == "lead" else "mm"
        needed = {"deg": angle, "mm": limit, "1": limit / across_mm}[unit]
        setting = setting_u_deg(fixture, name) if unit == "deg" else 0.0
        told = [math.hypot(o.u, o.shared_u) for o in observations if list(o.terms) == [name]]
        cut = float(np.sqrt(np.mean(np.square(told)))) if told else math.hypot(setting, before_u)
        more = cuts_needed(fit.u[name], cut, setting, needed)
        values.append(
            LearnedValue(
                name,
                unit,
                fit.value[name],
                fit.u[name],
                before,
                before_u,
                fit.readings[name],
                needed,
                setting,
                more,
            )
        )
    changes = Changes(_changes(values), readings.date, f"test cuts of {readings.date}"[:80])
    outliers = tuple(o.name for o in fit.outliers)
    return Learned(tuple(values), changes, _notes(fit), outliers, fit.contradicting)


def _observations(readings: CutReadings, fixture: Fixture) -> Iterator[Observation]:
    u = fixture.uncertainty
    for turned in readings.turned_over:
        yield turned_over_observation(turned, fixture)
    for a in readings.angle:
        yield Observation(
            f"{a.axis} angle {a.cut}",
            a.measured_deg - a.scale_deg,
            a.u_deg,
            {a.axis: 1.0},
            f"{a.axis} {a.cut}",
            setting_u_deg(fixture, a.axis),
        )
    for index, groove in enumerate(readings.groove):
        cutter = _cutter(fixture, groove, f"groove[{index}]")
        own = math.hypot(groove.u_mm, u.runout_mm)
        terms = {f"kerf of {cutter.name}": 1.0}
        yield Observation(f"groove {groove.name}", groove.width_mm - cutter.kerf_mm, own, terms)
    walls = math.sqrt(2.0) * u.backlash_mm
    for pair in readings.spacing:
        own = math.hypot(pair.u_mm, walls) / pair.travel_mm
        value = pair.measured_mm / pair.travel_mm - 1
        yield Observation(f"grooves {pair.name}", value, own, {"lead": 1.0})
    for index, coupon in enumerate(readings.coupon):
        cutter = _cutter(fixture, coupon, f"coupon[{index}]")
        slot = coupon.widest_mm - (coupon.entered - 0.5) * coupon.step_mm
        span = slot - cutter.kerf_mm
        scatter = math.hypot(u.runout_mm, walls if span > 0 else 0.0)
        own = math.sqrt(
            coupon.u_mm**2
            + rectangular_u(coupon.step_mm / 2) ** 2
            + coupon.step_mm * scatter / math.sqrt(math.pi)
        )
        value = coupon.tongue_mm - slot
        terms = {f"kerf of {cutter.name}": 1.0, "lead": span}
        yield Observation(f"coupon {coupon.name}", value, own, terms)


def _cutter(fixture: Fixture, reading: GrooveReading | CouponReading, where: str) -> Cutter:
    for cutter in fixture.cutter:
        if cutter.name == reading.cutter:
            return cutter
    allowed = "one of " + ", ".join(f'"{c.name}"' for c in fixture.cutter)
    message = "is no cutter of this fixture"
    raise InputError(Problem(f"{where}.cutter", message, shown(reading.cutter), allowed))


def _changes(values: list[LearnedValue]) -> dict[str, float]:
    out: dict[str, float] = {}
    for v in values:
        if not v.readings:
            continue
        if v.name in ("swivel", "tilt"):
            out[f"correction.{v.name}_zero_deg"] = -v.offset
            out[f"correction.{v.name}_zero_u_deg"] = v.u
        elif v.name == "lead":
            out["correction.lead_fraction"] = v.offset
            out["correction.lead_fraction_u"] = v.u
        else:
            key = f"correction.kerf.{v.name.removeprefix('kerf of ')}"
            out[f"{key}.kerf_mm"] = v.offset
            out[f"{key}.kerf_u_mm"] = v.u
    return out


def _notes(fit: Fit) -> tuple[str, ...]:
    out = [
        f"{o.name} is {abs(o.deviation):.1f} standard deviations off all the others "
        f"({o.residual:+.4f}) and was left out: cut or measure it again"
        for o in fit.outliers
    ]
    out += [
        f"the readings of the {name} agree with each other and not with the fixture file: its "
        "figure was set aside"
        for name in fit.prior_aside
    ]
    if fit.contradicting:
        names = "; ".join(fit.contradicting)
        out.append(
            f"at odds with each other or with the fixture file, and too few to tell which is "
            f"right: {names}; make another cut"
        )
    out += [
        f"the readings of the {name} scatter {ratio:.1f} times more than their uncertainties "
        "allow; its uncertainty was widened by that"
        for name, ratio in fit.widened.items()
    ]
    return tuple(out)
