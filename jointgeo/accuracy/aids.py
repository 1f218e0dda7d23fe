"""Setting an angle better than a scale can: spacers, offsets, wedges, gauge blocks.

Knows one setup, its error budget and the fixture's ``aids`` table; prints nothing.

Theory. Each aid turns an angle a into a length at a distance d, and back (chord, sine or
tangent, see ``anglelengths``). The length is rounded to what can be made (0.01 mm, a
fraction of an inch, a stack of blocks); the angle it then gives, its error and its
standard uncertainty follow. The uncertainty is that of the length and of d through the
derivatives of those formulas, of the stop or mark the aid is measured from, and of a
correction that was learnt. It does not contain the scale, which an aid does without.

An aid is *enough* where |error| + 2·u stays within ``needed_deg``: how far that axis alone
may be off for the shoulder to close, divided by √2 since two axes share the limit. First
comes the least trouble that is enough; where none is, the most accurate.

Corrections. An aid is measured from the closed stop or the zero mark, as the scale is, so
it gives wanted + correction; ``angle_deg`` is the true angle that comes of it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from fractions import Fraction
from typing import Any

import attrs
import numpy as np

from jointgeo.accuracy.anglelengths import (
    chord_angle_deg,
    chord_mm,
    offset_angle_deg,
    offset_mm,
    sine_angle_deg,
    sine_height_mm,
)
from jointgeo.accuracy.blocks import Stack, block_stack
from jointgeo.accuracy.budget import setup_within_deg
from jointgeo.accuracy.combine import COVERAGE
from jointgeo.fixture import Fixture
from jointgeo.plan import SetupPlan
from jointgeo.units import MM_PER_INCH, nearest_fraction

__all__ = ["Aid", "axis_aids", "setting_aids"]

#: Trouble each aid takes, least first. Common practice, no published source.
TROUBLE = {
    "zero": 0,
    "scale": 1,
    "rule_offset": 2,
    "inch_offset": 2,
    "sine_spacer": 3,
    "inch_spacer": 3,
    "wedge": 4,
    "gauge_blocks": 5,
    "sine_bar": 6,
}


@attrs.frozen
class Aid:
    """One way to set one axis.

    says: what to do, one sentence. angle_deg: the true angle it gives, signed as the axis;
    error_deg: that minus the wanted angle; u_deg: its standard uncertainty. needed_deg: how
    near it must come; None where the axis does not matter here. numbers: sizes to make, names
    ending in their unit.
    """

    aid: str
    axis: str
    says: str
    angle_deg: float
    error_deg: float
    u_deg: float
    needed_deg: float | None
    numbers: dict[str, Any] = attrs.field(factory=dict)

    @property
    def reach_deg(self) -> float:
        """How far off it may be: |error| + 2·u."""
        return abs(self.error_deg) + COVERAGE * self.u_deg

    @property
    def enough(self) -> bool:
        return self.needed_deg is None or self.reach_deg <= self.needed_deg

    def to_dict(self) -> dict[str, Any]:
        out = attrs.asdict(self, recurse=False)
        del out["numbers"]
        return out | {"enough": self.enough} | self.numbers


def setting_aids(setup: SetupPlan, fixture: Fixture) -> tuple[Aid, ...]:
    """Aids for both axes of one setup: the swivel's, then the tilt's, each best first."""
    within = setup_within_deg(setup, fixture)
    chosen = setup.chosen
    out: list[Aid] = []
    for axis, wanted in (("swivel", chosen.swivel_deg), ("tilt", chosen.tilt_deg)):
        needed = float(within[axis]) / np.sqrt(2.0)
        out += axis_aids(fixture, axis, wanted, float(needed) if np.isfinite(needed) else None)
    return tuple(out)


def axis_aids(
    fixture: Fixture, axis: str, wanted_deg: float, needed_deg: float | None
) -> tuple[Aid, ...]:
    """Aids for one axis ("swivel" or "tilt") at one angle, best for ``needed_deg`` first.

    Outside the axis's range only a wedge is offered.
    """
    maker = _Maker(fixture, axis, wanted_deg, needed_deg)
    found = list(maker.all())
    found.sort(key=lambda a: (not a.enough, TROUBLE[a.aid] if a.enough else 0, a.reach_deg))
    return tuple(found)


@attrs.frozen
class _Maker:
    fixture: Fixture
    axis: str
    wanted_deg: float
    needed_deg: float | None

    @property
    def _correction_deg(self) -> float:
        c = self.fixture.correction
        return c.swivel_zero_deg if self.axis == "swivel" else c.tilt_zero_deg

    @property
    def _set_deg(self) -> float:
        return self.wanted_deg + self._correction_deg

    @property
    def _distance_mm(self) -> float:
        aids = self.fixture.aids
        return aids.fence_rule_mm if self.axis == "swivel" else aids.stop_distance_mm

    @property
    def _zero_u_deg(self) -> float:
        """The stop or mark that an aid is measured from, and what is known of its correction."""
        u, c = self.fixture.uncertainty, self.fixture.correction
        if self.axis == "swivel":
            return float(np.hypot(u.swivel_zero_deg, c.swivel_zero_u_deg))
        play = float(np.degrees(np.arctan(u.hinge_play_mm / u.tilt_lock_arm_mm)))
        return math.hypot(u.tilt_zero_deg, c.tilt_zero_u_deg, play)

    def _aid(
        self, name: str, says: str, given_deg: float, u_deg: list[float], numbers: dict[str, Any]
    ) -> Aid:
        """given_deg: what the aid opens, without sign; u_deg: its own parts, all uncorrelated."""
        true = float(np.copysign(given_deg, self._set_deg)) - self._correction_deg
        u = math.hypot(*u_deg, self._zero_u_deg)
        error = true - self.wanted_deg
        return Aid(name, self.axis, says, true, error, u, self.needed_deg, numbers)

    def all(self) -> Iterator[Aid]:
        size = abs(self._set_deg)
        if size < 1e-6:  # degrees; nothing is opened
            where = "at its zero mark" if self.axis == "swivel" else "against its closed stop"
            yield self._aid("zero", f"leave the {self.axis} {where}", size, [], {})
            return
        axis = self.fixture.swivel if self.axis == "swivel" else self.fixture.tilt
        if axis.min_deg - 1e-9 <= self._set_deg <= axis.max_deg + 1e-9:
            yield self._scale(size)
            yield from self._spacers(size)
            yield from self._blocks(size)
            if self.axis == "swivel":
                yield from self._offsets(size)
        yield self._wedge(size)

    def _scale(self, size: float) -> Aid:
        u, shown = self.fixture.uncertainty, round(size, 2)
        own = u.swivel_deg if self.axis == "swivel" else u.tilt_deg
        signed = float(np.copysign(shown, self._set_deg))
        says = f"set the {self.axis}'s scale to {signed:.2f}°"
        learnt = self.fixture.correction
        known = learnt.swivel_zero_u_deg if self.axis == "swivel" else learnt.tilt_zero_u_deg
        # Once the scale's offset was learnt, what is known of it stands for the scale.
        parts = [] if known else [own]
        return self._aid("scale", says, shown, parts, {"scale_deg": signed})

    @property
    def _between(self) -> str:
        d = f"{self._distance_mm:g} mm"
        if self.axis == "tilt":
            return f"between the plate and its closed stop, {d} from the hinge, alike on both sides"
        turn = "clockwise" if self._set_deg > 0 else "anticlockwise"
        return f"between the fence and a batten set at zero, {d} from the pivot, fence {turn} of it"

    def _chord_u(self, size: float, length_u_mm: float) -> list[float]:
        d, half = self._distance_mm, np.radians(size) / 2
        own = length_u_mm / (d * np.cos(half))
        distance = 2 * np.tan(half) * self.fixture.aids.distance_u_mm / d
        return [float(np.degrees(own)), float(np.degrees(distance))]

    def _spacers(self, size: float) -> Iterator[Aid]:
        aids, d = self.fixture.aids, self._distance_mm
        exact = float(chord_mm(d, size))
        u = self._chord_u(size, aids.spacer_u_mm)
        made = round(exact, 2)
        if made > 0:
            says = f"a spacer of {made:.2f} mm {self._between}"
            numbers: dict[str, Any] = {"spacer_mm": made, "distance_mm": d, "exact_mm": exact}
            yield self._aid("sine_spacer", says, float(chord_angle_deg(d, made)), u, numbers)
        inches, in_mm = _fraction(exact, aids.fraction_denominator)
        if in_mm > 0:
            says = f"a spacer of {inches} {self._between}"
            numbers = {"spacer_in": inches, "spacer_mm": in_mm, "distance_mm": d, "exact_mm": exact}
            yield self._aid("inch_spacer", says, float(chord_angle_deg(d, in_mm)), u, numbers)

    def _blocks(self, size: float) -> Iterator[Aid]:
        aids, d = self.fixture.aids, self._distance_mm
        stack = block_stack(float(chord_mm(d, size)), aids.block_set)
        if stack is not None:
            says = f"gauge blocks {_listed(stack)} {self._between}"
            numbers = _stack_numbers(stack) | {"distance_mm": d}
            u = self._chord_u(size, aids.block_u_mm)
            given = float(chord_angle_deg(d, stack.height_mm))
            yield self._aid("gauge_blocks", says, given, u, numbers)
        bar = aids.sine_bar_mm
        stack = block_stack(float(sine_height_mm(bar, size)), aids.block_set)
        if stack is not None and stack.height_mm < bar:
            what = "the fence" if self.axis == "swivel" else "the plate"
            says = f"a sine bar of {bar:g} mm against {what}, gauge blocks {_listed(stack)}"
            numbers = _stack_numbers(stack) | {"sine_bar_mm": bar}
            own = np.degrees(aids.block_u_mm / (bar * np.cos(np.radians(size))))
            given = float(sine_angle_deg(bar, stack.height_mm))
            yield self._aid("sine_bar", says, given, [float(own)], numbers)

    def _offsets(self, size: float) -> Iterator[Aid]:
        aids, d = self.fixture.aids, self._distance_mm
        exact = float(offset_mm(d, size))
        cosine = np.cos(np.radians(size))
        own = aids.rule_u_mm * cosine**2 / d
        distance = aids.distance_u_mm * np.sin(np.radians(size)) * cosine / d
        u = [float(np.degrees(own)), float(np.degrees(distance))]
        where = f"square to the zero line, {d:g} mm along it from the pivot"
        made = round(exact, 1)
        if made > 0:
            says = f"the fence {made:.1f} mm off, measured with a rule {where}"
            numbers: dict[str, Any] = {"offset_mm": made, "distance_mm": d, "exact_mm": exact}
            yield self._aid("rule_offset", says, float(offset_angle_deg(d, made)), u, numbers)
        inches, in_mm = _fraction(exact, aids.fraction_denominator)
        if in_mm > 0:
            says = f"the fence {inches} off, measured with a rule {where}"
            numbers = {"offset_in": inches, "offset_mm": in_mm, "distance_mm": d, "exact_mm": exact}
            yield self._aid("inch_offset", says, float(offset_angle_deg(d, in_mm)), u, numbers)

    def _wedge(self, size: float) -> Aid:
        """A wedge with the axis left at zero; several alike, stacked, where one is too thick."""
        aids, thin = self.fixture.aids, self.fixture.practice.wedge_thin_mm
        long = aids.wedge_length_mm
        room = max(aids.wedge_stock_mm - thin, 1e-9)
        most = float(offset_angle_deg(long, room))
        pieces = int(np.ceil(size / most - 1e-9))
        rise = round(float(offset_mm(long, size / pieces)), 1)
        thick = round(thin + rise, 1)
        one = float(offset_angle_deg(long, thick - thin))
        # Both ends of every wedge are made alike well; a stack adds their errors.
        end = np.sqrt(2.0) * aids.wedge_u_mm * np.cos(np.radians(one)) ** 2 / long
        u = float(np.degrees(end) * np.sqrt(pieces))
        if self.axis == "tilt":
            where = "behind the stock"
            thick_at = "cut end" if self._set_deg > 0 else "far end"
        else:
            where = "between stock and fence"
            left = self.fixture.fence.side == "left"
            thick_at = "far end" if (self._set_deg > 0) == left else "cut end"
        number = "a wedge" if pieces == 1 else f"{pieces} wedges alike, stacked, each"
        says = (
            f"with the {self.axis} at zero, {number} {long:g} mm long, {thin:.1f} mm to "
            f"{thick:.1f} mm high, {where}, thick at the {thick_at}, and as much again the other "
            "way round on the opposite side as a counter-wedge"
        )
        numbers = {
            "length_mm": long,
            "thin_mm": thin,
            "thick_mm": thick,
            "wedges": pieces,
            "counter_wedges": pieces,
            "wedge_deg": one,
            "thick_end_at": thick_at,
        }
        return self._aid("wedge", says, pieces * one, [u], numbers)


def _fraction(length_mm: float, denominator: int) -> tuple[str, float]:
    """The nearest common fraction of an inch in words, and what it is in millimetres."""
    words = nearest_fraction(length_mm, denominator)
    whole = sum((Fraction(part) for part in words.removesuffix(" in").split()), Fraction(0))
    return words, float(whole) * MM_PER_INCH


def _listed(stack: Stack) -> str:
    return " + ".join(f"{b:g}" for b in stack.blocks_mm) + f" = {stack.height_mm:.3f} mm"


def _stack_numbers(stack: Stack) -> dict[str, Any]:
    return {
        "blocks_mm": list(stack.blocks_mm),
        "height_mm": stack.height_mm,
        "height_error_mm": stack.error_mm,
    }
