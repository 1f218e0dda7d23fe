"""Readings as the rows a fixture's file keeps: one for each setting, places of a cut averaged.

Knows readings, rows and the fixture; estimates nothing. A row keeps the axis's angle, not the
figure its scale showed.

A row's ``print`` is a digest of what was read, without date and names, so that readings which
are taken in a second time under another date are known again. Readings that tell of one
setting are a weighted mean, weights 1/u²: the setting's own scatter is in all of them alike.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Sequence

import attrs

from jointgeo.calibration.readings import (
    AngleReading,
    CheckUpReadings,
    CouponReading,
    CutReadings,
    GrooveReading,
    SpacingReading,
    StopReading,
    TurnedOver,
)
from jointgeo.errors import InputError, Problem, shown
from jointgeo.fixtures.model import Cutter, Fixture
from jointgeo.fixtures.testcuts import AxisCut, KerfCut, LeadCut
from jointgeo.uncertainty.combine import rectangular_u

__all__ = ["AT_STOP", "Rows", "check_up_rows", "cut_rows"]

#: How the plate at its stop is named among the settings of the tilt.
AT_STOP = "at its stop, by the square"

#: A scale may be read this far outside its axis's range: marks and stops are not that exact.
#: Our choice.
PAST_THE_END_DEG = 0.5

#: Pieces turned over show twice the angle: a gap one can measure only near square. Our choice.
NEAR_ZERO_DEG = 2.0

Reading = TurnedOver | AngleReading | StopReading


@attrs.frozen
class Rows:
    """Of one file of readings. zeros: of each axis whose zero the readings state by number."""

    cuts: tuple[AxisCut, ...] = ()
    grooves: tuple[KerfCut, ...] = ()
    spacings: tuple[LeadCut, ...] = ()
    zeros: tuple[tuple[str, int], ...] = ()

    @property
    def all(self) -> tuple[AxisCut | KerfCut | LeadCut, ...]:
        return (*self.cuts, *self.grooves, *self.spacings)


def cut_rows(readings: CutReadings, fixture: Fixture) -> Rows:
    """Rows of test cuts. InputError where a reading names a cutter the fixture has not got, or a
    scale that its axis cannot show."""
    zeros = _zeros(readings, fixture)
    cuts = _axis_cuts(readings.date, fixture, zeros, readings.turned_over, readings.angle)
    grooves = (*_grooves(readings, fixture), *_coupons(readings, fixture))
    spacings = tuple(_spacing(readings.date, s) for s in readings.spacing)
    return Rows(cuts, grooves, spacings, _stated(readings))


def check_up_rows(readings: CheckUpReadings, fixture: Fixture) -> Rows:
    """Rows of a check-up: its cuts turned over, and the plate at its stop if read on both sides."""
    zeros = _zeros(readings, fixture)
    cuts = _axis_cuts(readings.date, fixture, zeros, readings.turned_over, ())
    at_stop = _at_stop(readings.date, readings.tilt_at_stop, zeros["tilt"], fixture)
    return Rows((*at_stop, *cuts), zeros=_stated(readings))


def _zeros(readings: CutReadings | CheckUpReadings, fixture: Fixture) -> dict[str, int]:
    known = fixture.correction
    return {
        "swivel": readings.swivel_zero or known.swivel_zero,
        "tilt": readings.tilt_zero or known.tilt_zero,
    }


def _stated(readings: CutReadings | CheckUpReadings) -> tuple[tuple[str, int], ...]:
    given = (("swivel", readings.swivel_zero), ("tilt", readings.tilt_zero))
    return tuple((axis, number) for axis, number in given if number is not None)


def _axis_cuts(
    date: str,
    fixture: Fixture,
    zeros: dict[str, int],
    turned: Sequence[TurnedOver],
    measured: Sequence[AngleReading],
) -> tuple[AxisCut, ...]:
    settings: dict[tuple[str, str], list[tuple[str, TurnedOver | AngleReading]]] = {}
    listed: dict[str, Sequence[TurnedOver | AngleReading]]
    listed = {"turned_over": turned, "angle": measured}
    for table, readings in listed.items():
        for index, reading in enumerate(readings):
            where = f"{table}[{index}]"
            check_scale(fixture, reading.axis, reading, where)
            settings.setdefault((reading.axis, reading.cut), []).append((where, reading))
    return tuple(
        _axis_cut(fixture, f"{date}/{axis}/{cut}", places, zeros[axis])
        for (axis, cut), places in settings.items()
    )


def meant_deg(fixture: Fixture, axis: str, reading: Reading) -> float:
    """The axis's angle that a reading means. A figure of the scale is turned into one; what was
    set by a stop, a spacer or the like was meant as an angle."""
    if getattr(reading, "set_with", "scale") != "scale":
        return reading.scale_deg
    limits = fixture.swivel if axis == "swivel" else fixture.tilt
    return limits.angle_of_figure_deg(reading.scale_deg)


def check_scale(fixture: Fixture, axis: str, reading: Reading, where: str) -> None:
    """InputError where the axis's scale cannot have shown that, or turning over cannot tell it."""
    limits = fixture.swivel if axis == "swivel" else fixture.tilt
    low, high = limits.min_deg, limits.max_deg
    meant = meant_deg(fixture, axis, reading)
    given, field = f"{reading.scale_deg:g}", f"{where}.scale_deg"
    if not low - PAST_THE_END_DEG <= meant <= high + PAST_THE_END_DEG:
        ends = sorted(limits.figure_deg(end) for end in (low, high))
        allowed = f"{ends[0]:g} to {ends[1]:g} deg, the {axis}'s range"
        raise InputError(Problem(field, "is nothing its scale can show", given, allowed, "deg"))
    if isinstance(reading, TurnedOver) and abs(meant) > NEAR_ZERO_DEG:
        ends = sorted(limits.figure_deg(end) for end in (-NEAR_ZERO_DEG, NEAR_ZERO_DEG))
        allowed = f"{ends[0]:g} to {ends[1]:g} deg"
        message = "is too far from square for turning over"
        raise InputError(Problem(field, message, given, allowed, "deg"))


def _axis_cut(
    fixture: Fixture, name: str, places: Sequence[tuple[str, TurnedOver | AngleReading]], zero: int
) -> AxisCut:
    where, first = places[0]
    for other, reading in places:
        for key in ("scale_deg", "set_with"):
            if getattr(reading, key) != getattr(first, key):
                message = f"is not that of {where}, which names the same cut"
                given = shown(getattr(reading, key))
                raise InputError(Problem(f"{other}.{key}", message, given, "one cut, one setting"))
    meant = meant_deg(fixture, first.axis, first)
    read = [_off(reading, meant) for _, reading in places]
    lasting = [r for _, r in places if isinstance(r, AngleReading) and r.instrument]
    off, u = _mean(read)
    return AxisCut(
        id=name,
        axis=first.axis,
        set_with=first.set_with,
        scale_deg=meant,
        off_deg=off,
        u_deg=u,
        instrument=lasting[0].instrument if lasting else None,
        instrument_u_deg=lasting[0].instrument_u_deg if lasting else 0.0,
        zero=zero,
        print=_digest([_raw(reading) for _, reading in places]),
        left_out=next((r.left_out for _, r in places if r.left_out), None),
    )


def _off(reading: TurnedOver | AngleReading, meant: float) -> tuple[float, float]:
    """True angle less the one meant, and its standard uncertainty."""
    if isinstance(reading, TurnedOver):
        return reading.angle_deg - meant, reading.u_deg
    return reading.measured_deg - meant, reading.u_deg


def _mean(read: Sequence[tuple[float, float]]) -> tuple[float, float]:
    weight = sum(u**-2 for _, u in read)
    return sum(off * u**-2 for off, u in read) / weight, 1 / math.sqrt(weight)


def _at_stop(
    date: str, readings: Sequence[StopReading], zero: int, fixture: Fixture
) -> tuple[AxisCut, ...]:
    """The plate at its stop: the mean of both sides, so that a twist is not taken for a tilt."""
    sides = []
    for side in ("left", "right"):
        own = [
            (r.angle_deg - meant_deg(fixture, "tilt", r), r.u_deg)
            for r in readings
            if r.side == side
        ]
        if not own:
            return ()
        sides.append(_mean(own))
    for index, reading in enumerate(readings):
        check_scale(fixture, "tilt", reading, f"tilt_at_stop[{index}]")
        if reading.scale_deg != readings[0].scale_deg:
            message = "is not that of tilt_at_stop[0], and the tilt has one stop"
            given = f"{reading.scale_deg:g}"
            raise InputError(Problem(f"tilt_at_stop[{index}].scale_deg", message, given))
    (left, left_u), (right, right_u) = sides
    row = AxisCut(
        id=f"{date}/tilt/{AT_STOP}",
        axis="tilt",
        scale_deg=meant_deg(fixture, "tilt", readings[0]),
        off_deg=(left + right) / 2,
        u_deg=math.hypot(left_u, right_u) / 2,
        zero=zero,
        print=_digest([_raw(r) for r in readings]),
    )
    return (row,)


def _grooves(readings: CutReadings, fixture: Fixture) -> tuple[KerfCut, ...]:
    out = []
    for index, groove in enumerate(readings.groove):
        cutter = _cutter(fixture, groove, f"groove[{index}]")
        row = KerfCut(
            id=f"{readings.date}/{cutter.name}/groove {groove.name}",
            cutter=cutter.name,
            off_mm=groove.width_mm - cutter.kerf_mm,
            u_mm=groove.u_mm,
            print=_digest([_raw(groove)]),
            left_out=groove.left_out,
        )
        out.append(row)
    return tuple(out)


def _coupons(readings: CutReadings, fixture: Fixture) -> tuple[KerfCut, ...]:
    """A coupon's ``slot`` is the setting at which the tongue would just go in, from how many slots
    it enters: widest - (entered - 1/2)·step. Counting has no bias (Spearman and Kärber's estimate
    of a threshold, from memory); the rejected alternative, the first slot it enters, is taken too
    early as soon as the slots scatter. Steps bring step²/12; slots that scatter by s bring
    step·s/√π, which is new with every coupon and so belongs to the estimate."""
    out = []
    for index, coupon in enumerate(readings.coupon):
        cutter = _cutter(fixture, coupon, f"coupon[{index}]")
        slot = coupon.widest_mm - (coupon.entered - 0.5) * coupon.step_mm
        row = KerfCut(
            id=f"{readings.date}/{cutter.name}/coupon {coupon.name}",
            cutter=cutter.name,
            off_mm=coupon.tongue_mm - slot,
            u_mm=math.hypot(coupon.u_mm, rectangular_u(coupon.step_mm / 2)),
            span_mm=slot - cutter.kerf_mm,
            step_mm=coupon.step_mm,
            print=_digest([_raw(coupon)]),
            left_out=coupon.left_out,
        )
        out.append(row)
    return tuple(out)


def _spacing(date: str, pair: SpacingReading) -> LeadCut:
    return LeadCut(
        id=f"{date}/lead/{pair.name}",
        travel_mm=pair.travel_mm,
        off_fraction=pair.measured_mm / pair.travel_mm - 1,
        u_fraction=pair.u_mm / pair.travel_mm,
        print=_digest([_raw(pair)]),
        left_out=pair.left_out,
    )


def _cutter(fixture: Fixture, reading: GrooveReading | CouponReading, where: str) -> Cutter:
    for cutter in fixture.cutter:
        if cutter.name == reading.cutter:
            return cutter
    allowed = "one of " + ", ".join(f'"{c.name}"' for c in fixture.cutter)
    message = "is no cutter of this fixture"
    raise InputError(Problem(f"{where}.cutter", message, shown(reading.cutter), allowed))


#: What names a reading, and is no part of what was read.
NAMES = ("cut", "name", "place", "left_out", "instrument")


def _raw(reading: attrs.AttrsInstance) -> str:
    values = attrs.asdict(reading, recurse=False)
    return repr([type(reading).__name__, *((k, v) for k, v in values.items() if k not in NAMES)])


def _digest(raw: Sequence[str]) -> str:
    return hashlib.sha256("\n".join(sorted(raw)).encode()).hexdigest()[:12]
