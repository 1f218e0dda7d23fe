"""Checking a fixture up, in the order in which each step rests on the one before.

Knows readings, least squares and the fixture; writes nothing (``changes`` does).

Order. First the fixed plate, square to the base at its left and at its right: everything
hangs on it, and a plate in wind cannot be helped by any scale. Then the tilt at its stop, at
both sides, with the same spacer under both. Then the swivel. A step that rests on one that
is out is worked out all the same and marked *provisional*: do it again after mending.

Theory. A screw of pitch p at arm d turns the plate by a with tan(a)·d / p turns; turned in,
it brings the lower edge towards you (more tilt). Zeros are estimated from all settings of an
axis that the fixture has (``fixtures.estimate``), the plate at its stop by the square at both sides
and cuts tested by turning over among them. A zero that is off is mended by the screws or taken
up by the scale, never by both: turning the screws makes a new zero, of which the readings
before tell nothing, and so the check-up then writes no correction. What the scale must show may
lie outside the axis's range though the angle does not: at its stop a tilt cannot go lower, and
then only the screws help. Play found as a whole movement m counts
as a rectangle of that width, u = m / (2·√3) (GUM 4.3.7). A known difference that is left
as it is counts as an uncertainty of its size (after GUM F.2.4.5), since nothing corrects it.

What is allowed follows from the fixture's glue line g over the size s of stock that must
close: atan(g / s), divided by √2 for two axes. Spacers may differ by g / (s·(1/w + 1/2d)):
over stock s deep, a difference x twists the plate by x / w (w between the two sides) and
tilts its middle by x / 2d.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, Literal

import attrs

from jointgeo.calibration.changes import Changes, apply_changes, changed_numbers
from jointgeo.calibration.readings import CheckUpReadings, SpacerReading, SquareReading
from jointgeo.calibration.rows import Rows, check_up_rows
from jointgeo.fixtures.calibrated import axis_error, scale_figure
from jointgeo.fixtures.findings import findings
from jointgeo.fixtures.model import Fixture
from jointgeo.joints.check import Status
from jointgeo.uncertainty.combine import COVERAGE, rectangular_u

__all__ = ["MENDS", "CheckUp", "Mend", "Step", "check_up", "turns_of_screw"]

Mend = Literal["correction", "screws"]
MENDS: tuple[Mend, ...] = ("correction", "screws")

_WORST: dict[Status, int] = {"pass": 0, "caution": 1, "fail": 2}


def turns_of_screw(angle_deg: float, arm_mm: float, pitch_mm: float) -> float:
    """Turns that change the plate's lean by ``angle_deg``; positive: in, lower edge towards you."""
    return arm_mm * math.tan(math.radians(angle_deg)) / pitch_mm


@attrs.frozen
class Step:
    """One line of the check-up. says: what was found and what to do. numbers: the same, under
    names that end in their unit. provisional: rests on an earlier step that is out."""

    name: str
    status: Status
    says: str
    numbers: dict[str, float]
    provisional: bool = False

    def to_dict(self) -> dict[str, Any]:
        head = {"name": self.name, "status": self.status, "provisional": self.provisional}
        return {**head, "says": self.says, **self.numbers}


@attrs.frozen
class CheckUp:
    """steps: in order. changes: what to write into the fixture file, without rows where nothing was
    found for good; fixture: with them; changed: its numbers that differ. allowed_deg: see the
    module's text. notes: about single readings."""

    steps: tuple[Step, ...]
    changes: Changes
    fixture: Fixture
    changed: Mapping[str, float]
    allowed_deg: float
    notes: tuple[str, ...]

    @property
    def status(self) -> Status:
        return max((s.status for s in self.steps), key=_WORST.__getitem__, default="pass")

    def to_dict(self) -> dict[str, Any]:
        return {
            "status": self.status,
            "allowed_deg": self.allowed_deg,
            "steps": [s.to_dict() for s in self.steps],
            "changes": dict(self.changed),
            "notes": list(self.notes),
        }


def check_up(readings: CheckUpReadings, fixture: Fixture, mend: Mend = "correction") -> CheckUp:
    """Judge one check-up. Missing steps are named, not guessed; no measured number is too bad.

    mend: what takes up a tilt that is off. InputError where a scale was read that its axis cannot
    show, or the readings are known under another date.
    """
    work = _Work(readings, fixture, check_up_rows(readings, fixture), mend)
    work.fixed_plate()
    work.tilt_at_stop()
    work.swivel()
    after = apply_changes(fixture, work.changes)
    changed = changed_numbers(fixture, after)
    steps, notes = tuple(work.steps), tuple(work.notes)
    return CheckUp(steps, work.changes, after, changed, work.allowed_deg, notes)


@attrs.define
class _Work:
    readings: CheckUpReadings
    fixture: Fixture
    rows: Rows
    mend: Mend
    steps: list[Step] = attrs.field(factory=list)
    values: dict[str, float] = attrs.field(factory=dict)
    notes: list[str] = attrs.field(factory=list)
    out: bool = False  # a step that later ones rest on is out
    calibrated: list[str] = attrs.field(factory=list)  # axes whose zero was found for good
    moved: list[str] = attrs.field(factory=list)  # axes whose screws are to be turned

    @property
    def changes(self) -> Changes:
        rows = tuple(r for r in self.rows.cuts if r.axis in self.calibrated)
        return self._changes(attrs.evolve(self.rows, cuts=rows), tuple(self.moved))

    def _changes(self, rows: Rows, moved: tuple[str, ...]) -> Changes:
        date = self.readings.date
        source = f"check-up of {date}"[:80]
        return Changes(self.values, date, source, rows, self.readings.again, moved)

    @property
    def allowed_deg(self) -> float:
        g, s = self.fixture.practice.glue_line_mm, self.readings.across_mm
        return math.degrees(math.atan(g / s)) / math.sqrt(2.0)

    def _add(
        self, name: str, status: Status, says: str, numbers: dict[str, float] | None = None
    ) -> None:
        if self.out:
            says += "; provisional: an earlier step is out or was not read, do it again after that"
        self.steps.append(Step(name, status, says, numbers or {}, self.out))

    def _judged(self, angle: float, u: float, short: Status) -> Status:
        """pass where the angle is surely small enough, ``short`` where it is not, else caution."""
        if abs(angle) + COVERAGE * u <= self.allowed_deg:
            return "pass"
        return short if abs(angle) > self.allowed_deg else "caution"

    # The fixed plate --------------------------------------------------------------------

    def fixed_plate(self) -> None:
        found = _by_side(self.readings.fixed_plate)
        aids = self.fixture.aids
        failed = False
        for side in ("left", "right"):
            if side not in found:
                self._add(
                    f"fixed_plate_{side}", "caution", f"no reading of the fixed plate, {side}"
                )
                failed = True
                continue
            angle, u = found[side]
            turns = turns_of_screw(-angle, aids.square_screw_arm_mm, aids.stop_screw_pitch_mm)
            status = self._judged(angle, u, "fail")
            says = f"the fixed plate leans {angle:+.3f}° ± {COVERAGE * u:.3f}° at its {side}"
            if status != "pass":
                says += f": {_turns(turns, f'{side} squaring screw')}"
            numbers = {"lean_deg": angle, "u_deg": u, "turns": turns}
            self._add(f"fixed_plate_{side}", status, says, numbers)
            failed = failed or status == "fail"
        if len(found) == 2:
            self._twist("fixed_plate_twist", "fixed plate", found)
        self.out = self.out or failed or any(s.status == "fail" for s in self.steps)

    def _twist(self, name: str, what: str, found: dict[str, tuple[float, float]]) -> None:
        """Wind of a plate whose two sides lean differently, as a turn about its upright."""
        u = self.fixture.uncertainty
        lean = found["left"][0] - found["right"][0]
        lean_u = math.hypot(found["left"][1], found["right"][1])
        arm, wide = u.tilt_lock_arm_mm, u.tilt_lock_spacing_mm
        twist = math.degrees(math.atan(arm * math.tan(math.radians(lean)) / wide))
        twist_u = lean_u * arm / wide
        status = self._judged(twist, twist_u, "fail")
        says = f"left and right of the {what} differ by {lean:+.3f}°, a twist of {twist:+.3f}°"
        self._add(
            name, status, says, {"difference_deg": lean, "twist_deg": twist, "u_deg": twist_u}
        )

    # The tilt ---------------------------------------------------------------------------

    def tilt_at_stop(self) -> None:
        r, u = self.readings, self.fixture.uncertainty
        found = _by_side(r.tilt_at_stop)
        before = len(self.steps)
        if len(found) == 2:
            self._twist("tilt_at_stop_twist", "plate at the tilt's stop", found)
        elif found:
            missing = "right" if "left" in found else "left"
            says = f"no reading of the tilt at its stop on the {missing}: its twist is not known"
            self._add("tilt_at_stop_twist", "caution", says)
        if r.spacers is not None:
            self._spacers(r.spacers)
        for play in (p for p in r.play if p.axis == "tilt"):
            movement = play.movement_mm * u.tilt_lock_arm_mm / play.arm_mm
            value = rectangular_u(movement / 2)
            self.values["uncertainty.hinge_play_mm"] = value
            says = f"the hinge gives {movement:.3f} mm at the locks, u = {value:.3f} mm"
            numbers = {"movement_mm": movement, "u_mm": value}
            angle = math.degrees(math.atan(value / u.tilt_lock_arm_mm))
            self._add("hinge_play", self._judged(0.0, angle, "caution"), says, numbers)
        self.out = self.out or any(s.status == "fail" for s in self.steps[before:])
        self._zero("tilt")

    def _spacers(self, spacers: SpacerReading) -> None:
        u = self.fixture.uncertainty
        difference = spacers.right_mm - spacers.left_mm
        known = math.sqrt(2.0) * spacers.u_mm
        per_mm = self.readings.across_mm * (
            1 / u.tilt_lock_spacing_mm + 1 / (2 * u.tilt_lock_arm_mm)
        )
        allowed = self.fixture.practice.glue_line_mm / per_mm
        twist = math.degrees(math.atan(difference / u.tilt_lock_spacing_mm))
        sure = abs(difference) + COVERAGE * known <= allowed
        status: Status = "pass" if sure else "fail" if abs(difference) > allowed else "caution"
        self.values["uncertainty.tilt_lock_difference_mm"] = math.hypot(difference, known)
        says = (
            f"the spacers differ by {difference:+.3f} mm (right less left), {allowed:.3f} mm "
            f"allowed, and twist the plate by {twist:+.4f}°"
        )
        numbers = {
            "difference_mm": difference,
            "u_mm": known,
            "allowed_mm": allowed,
            "twist_deg": twist,
        }
        self._add("tilt_spacers", status, says, numbers)

    # The swivel -------------------------------------------------------------------------

    def swivel(self) -> None:
        r, u = self.readings, self.fixture.uncertainty
        cuts = [c for c in self.rows.cuts if c.axis == "swivel"]
        if r.rails is not None:
            angle, angle_u = r.rails.angle_deg, r.rails.u_deg
            says = (
                f"the {r.rails.higher} rail is {r.rails.difference_mm:.3f} mm higher: the fixture "
                f"rolls by {angle:+.4f}°, which the swivel's zero takes up"
            )
            numbers = {"roll_deg": angle, "u_deg": angle_u}
            self._add("rails", self._judged(angle, angle_u, "caution"), says, numbers)
            # A cut sees the roll together with the swivel; without a cut it stays as it is.
            left = 0.0 if cuts else r.rails.difference_mm
            self.values["uncertainty.rail_height_difference_mm"] = math.hypot(left, r.rails.u_mm)
        for play in (p for p in r.play if p.axis == "swivel"):
            value = math.degrees(math.atan(rectangular_u(play.movement_mm / 2) / play.arm_mm))
            self.values["uncertainty.swivel_zero_deg"] = max(value, u.swivel_zero_deg)
            says = f"the locked fence gives {play.movement_mm:.3f} mm at {play.arm_mm:g} mm"
            self._add("swivel_play", self._judged(0.0, value, "caution"), says, {"u_deg": value})
        self._zero("swivel")

    # Zeros ------------------------------------------------------------------------------

    def _zero(self, axis: str) -> None:
        if not any(c.axis == axis for c in self.rows.cuts):
            self._add(f"{axis}_zero", "caution", f"nothing measured tells of the {axis}'s zero")
            return
        # Judged by the play and lock of this check-up, as they will stand in the file.
        after = apply_changes(self.fixture, self._changes(self.rows, ()))
        error = axis_error(after, axis)
        known, figure = error.at(0.0), scale_figure(after, axis, 0.0)
        found = findings(error, axis, "°")
        self.notes += [f.says for f in found]
        status = self._judged(known.off, known.mean / COVERAGE, "caution")
        if any(f.open for f in found):
            status = "caution"
        says = f"the {axis} truly stands at {known.off:+.3f}° ± {known.mean:.3f}° when its scale "
        zero = (after.swivel if axis == "swivel" else after.tilt).scale_zero_deg
        says += f"reads {zero:g}, by {error.told} setting{'' if error.told == 1 else 's'}"
        numbers = {"zero_deg": known.off, "u95_deg": known.mean, "correction_deg": -known.off}
        if axis == "tilt":
            aids = self.fixture.aids
            turns = turns_of_screw(-known.off, aids.stop_distance_mm, aids.stop_screw_pitch_mm)
            numbers["turns"] = turns
        if status != "pass":
            says += self._mending(axis, numbers, -known.off, figure.in_range)
        self._add(f"{axis}_zero", status, says, numbers)
        if not self.out:
            self.calibrated.append(axis)
            if axis == "tilt" and status != "pass" and self.mend == "screws":
                self.moved.append(axis)

    def _mending(
        self, axis: str, numbers: dict[str, float], correction: float, in_range: bool
    ) -> str:
        """One way to mend a zero that is off, and what the other would be."""
        limits = self.fixture.swivel if axis == "swivel" else self.fixture.tilt
        shown, more = limits.figure_deg(correction), limits.scale_sign * correction
        zero = f"{limits.scale_zero_deg:g}°"
        # A figure that counts from 0 is told with its sign, which says which way.
        end = f"{shown:+.3f}°" if limits.scale_zero_deg == 0 else f"{shown:.3f}°"
        reach = "" if in_range else f", though at {zero} it cannot show {end}"
        taken = f"add {more:+.3f}° to the scale{reach}"
        if axis == "swivel":
            return f": {taken}"
        screws = _turns(numbers["turns"], "two stop screws")
        if self.mend == "screws":
            return f": {screws} and check up again; nothing is added to the scale"
        return f": leave the stop screws and {taken} (or --mend screws: {screws}; never both)"


def _by_side(readings: tuple[SquareReading, ...]) -> dict[str, tuple[float, float]]:
    """Weighted mean lean of each side that was measured, and its standard uncertainty."""
    out = {}
    for side in ("left", "right"):
        own = [r for r in readings if r.side == side]
        if own:
            weight = sum(r.u_deg**-2 for r in own)
            mean = sum(r.u_deg**-2 * r.angle_deg for r in own) / weight
            out[side] = (mean, 1 / math.sqrt(weight))
    return out


def _turns(turns: float, screw: str) -> str:
    return f"turn the {screw} {abs(turns):.2f} turns {'in' if turns > 0 else 'out'}"
