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
from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache
from typing import Any

import attrs

from jointgeo.fixtures.model import Fixture
from jointgeo.geometry.arith import (
    Number,
    copysign,
    cos,
    degrees,
    isfinite,
    radians,
    sin,
    sqrt,
    tan,
    where,
    whole_above,
)
from jointgeo.geometry.columns import Column, Ranked, each, fixed
from jointgeo.planning.setups import SetupPlan
from jointgeo.schema.units import MM_PER_INCH, fraction_words, nearest_parts
from jointgeo.setting_aids.anglelengths import (
    chord_angle_deg,
    chord_mm,
    offset_angle_deg,
    offset_mm,
    sine_angle_deg,
    sine_height_mm,
)
from jointgeo.setting_aids.gauge_blocks import Stack, block_stack, block_stacks
from jointgeo.uncertainty.budget import setup_within_deg
from jointgeo.uncertainty.combine import COVERAGE

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
        if self.needed_deg is None:
            return True
        near: bool = self.reach_deg <= self.needed_deg
        return near

    @property
    def rank(self) -> tuple[Number, ...]:
        """Least comes first: what is enough by its trouble, then the rest by its reach."""
        enough = self.enough
        trouble = where(enough, TROUBLE[self.aid], 0)
        return ("swivel", "tilt").index(self.axis), where(enough, 0, 1), trouble, self.reach_deg

    def to_dict(self) -> dict[str, Any]:
        return {
            "aid": self.aid,
            "axis": self.axis,
            "says": self.says,
            "angle_deg": self.angle_deg,
            "error_deg": self.error_deg,
            "u_deg": self.u_deg,
            "needed_deg": self.needed_deg,
            "enough": self.enough,
            **self.numbers,
        }


@attrs.frozen
class _Measure:
    """A length that is made or measured, in millimetres or as a fraction of an inch.

    aids: the names of either. key: of the length among the numbers. decimals: of a millimetre.
    angle_deg: that it gives at a distance. says: with the size and the place to be put in.
    """

    aids: tuple[str, str]
    key: str
    decimals: int
    angle_deg: Callable[[float, float], float]
    says: str


_SPACER = _Measure(
    ("sine_spacer", "inch_spacer"), "spacer", 2, chord_angle_deg, "a spacer of {size} {where}"
)
_OFFSET = _Measure(
    ("rule_offset", "inch_offset"),
    "offset",
    1,
    offset_angle_deg,
    "the fence {size} off, measured with a rule {where}",
)


def setting_aids(setup: SetupPlan, fixture: Fixture) -> tuple[Aid, ...]:
    """Aids for both axes of one setup: the swivel's, then the tilt's, each best first."""
    return tuple(sorted(_made(setup, fixture), key=lambda a: a.rank))


def aid_tables(setup: SetupPlan, fixture: Fixture) -> list[dict[str, Any]]:
    """The same as plain data; in a batch of joints each has its own order."""
    found = _made(setup, fixture)
    ranks = [a.rank for a in found]
    if any(isinstance(part, Column) for rank in ranks for part in rank):
        return Ranked([a.to_dict() for a in found], ranks)
    order = sorted(range(len(found)), key=ranks.__getitem__)
    return [found[i].to_dict() for i in order]


def axis_aids(
    fixture: Fixture, axis: str, wanted_deg: float, needed_deg: float | None
) -> tuple[Aid, ...]:
    """Aids for one axis ("swivel" or "tilt") at one angle, best for ``needed_deg`` first.

    Outside the axis's range only a wedge is offered.
    """
    found = _maker(fixture, axis, wanted_deg, needed_deg).all()
    return tuple(sorted(found, key=lambda a: a.rank))


def _made(setup: SetupPlan, fixture: Fixture) -> list[Aid]:
    within = setup_within_deg(setup, fixture)
    chosen = setup.chosen
    out: list[Aid] = []
    for axis, wanted in (("swivel", chosen.swivel_deg), ("tilt", chosen.tilt_deg)):
        needed = within[axis] / math.sqrt(2.0)
        out += _maker(fixture, axis, wanted, needed if isfinite(needed) else None).all()
    return out


def _maker(fixture: Fixture, axis: str, wanted_deg: float, needed_deg: float | None) -> _Maker:
    u, learnt, aids = fixture.uncertainty, fixture.correction, fixture.aids
    if axis == "swivel":
        correction, distance = learnt.swivel_zero_deg, aids.fence_rule_mm
        zero_u = math.hypot(u.swivel_zero_deg, learnt.swivel_zero_u_deg)
    else:
        correction, distance = learnt.tilt_zero_deg, aids.stop_distance_mm
        play = math.degrees(math.atan(u.hinge_play_mm / u.tilt_lock_arm_mm))
        zero_u = math.hypot(u.tilt_zero_deg, learnt.tilt_zero_u_deg, play)
    wanted = wanted_deg + correction
    return _Maker(
        fixture, axis, wanted_deg, needed_deg, wanted, abs(wanted), correction, distance, zero_u
    )


@attrs.frozen
class _Maker:
    """set_deg: what the axis is set to, correction_deg more than is wanted; size_deg: the same
    without sign. zero_u_deg: of the stop or mark that an aid is measured from, and of what is
    known of its correction."""

    fixture: Fixture
    axis: str
    wanted_deg: float
    needed_deg: float | None
    set_deg: float
    size_deg: float
    correction_deg: float
    distance_mm: float
    zero_u_deg: float

    def _aid(
        self, name: str, says: str, given_deg: float, u_deg: list[float], numbers: dict[str, Any]
    ) -> Aid:
        """given_deg: what the aid opens, without sign; u_deg: its own parts, all uncorrelated."""
        true = copysign(given_deg, self.set_deg) - self.correction_deg
        u = sqrt(sum(part * part for part in (*u_deg, self.zero_u_deg)))
        error = true - self.wanted_deg
        return Aid(name, self.axis, says, true, error, u, self.needed_deg, numbers)

    def all(self) -> Iterator[Aid]:
        if self.size_deg < 1e-6:  # degrees; nothing is opened
            where = "at its zero mark" if self.axis == "swivel" else "against its closed stop"
            yield self._aid("zero", f"leave the {self.axis} {where}", self.size_deg, [], {})
            return
        axis = self.fixture.swivel if self.axis == "swivel" else self.fixture.tilt
        if axis.min_deg - 1e-9 <= self.set_deg <= axis.max_deg + 1e-9:
            yield self._scale()
            yield from self._spacers()
            if self.axis == "swivel":
                yield from self._offsets()
        yield self._wedge()

    def _scale(self) -> Aid:
        u, shown = self.fixture.uncertainty, round(self.size_deg, 2)
        own = u.swivel_deg if self.axis == "swivel" else u.tilt_deg
        signed = copysign(shown, self.set_deg)
        says = f"set the {self.axis}'s scale to {signed:.2f}°"
        learnt = self.fixture.correction
        known = learnt.swivel_zero_u_deg if self.axis == "swivel" else learnt.tilt_zero_u_deg
        # Once the scale's offset was learnt, what is known of it stands for the scale.
        parts = [] if known else [own]
        return self._aid("scale", says, shown, parts, {"scale_deg": signed})

    @property
    def _between(self) -> str:
        d = f"{self.distance_mm:g} mm"
        if self.axis == "tilt":
            return f"between the plate and its closed stop, {d} from the hinge, alike on both sides"
        turn = "clockwise" if self.set_deg > 0 else "anticlockwise"
        return f"between the fence and a batten set at zero, {d} from the pivot, fence {turn} of it"

    def _measured(
        self, measure: _Measure, exact_mm: float, u_deg: list[float], where: str
    ) -> Iterator[Aid]:
        """The length rounded to what can be made, and to the nearest fraction of an inch."""
        d, denominator = self.distance_mm, self.fixture.aids.fraction_denominator
        rest: dict[str, Any] = {"distance_mm": d, "exact_mm": exact_mm}
        metric, inch = measure.aids
        made = round(exact_mm, measure.decimals)
        if made > 0:
            says = measure.says.format(size=f"{made:.{measure.decimals}f} mm", where=where)
            numbers = {f"{measure.key}_mm": made} | rest
            yield self._aid(metric, says, measure.angle_deg(d, made), u_deg, numbers)
        parts = nearest_parts(exact_mm, denominator)
        if parts > 0:
            words, made = (
                each(fraction_words, parts, denominator),
                parts / denominator * MM_PER_INCH,
            )
            says = measure.says.format(size=words, where=where)
            numbers = {f"{measure.key}_in": words, f"{measure.key}_mm": made} | rest
            yield self._aid(inch, says, measure.angle_deg(d, made), u_deg, numbers)

    def _spacers(self) -> Iterator[Aid]:
        """Between a leaf and its stop: a spacer, gauge blocks, and a sine bar instead."""
        aids, d, where = self.fixture.aids, self.distance_mm, self._between
        half = radians(self.size_deg) / 2
        exact = chord_mm(d, self.size_deg)
        per_mm = degrees(1.0 / (d * cos(half)))
        distance = degrees(2 * tan(half) * aids.distance_u_mm / d)
        yield from self._measured(_SPACER, exact, [per_mm * aids.spacer_u_mm, distance], where)
        stack = _stack(exact, aids.block_set)
        if stack is not None:
            says = f"gauge blocks {_listed(stack)} {where}"
            numbers = _stack_numbers(stack) | {"distance_mm": d}
            given = chord_angle_deg(d, stack.height_mm)
            u = [per_mm * aids.block_u_mm, distance]
            yield self._aid("gauge_blocks", says, given, u, numbers)
        bar = aids.sine_bar_mm
        stack = _stack(sine_height_mm(bar, self.size_deg), aids.block_set)
        if stack is not None and stack.height_mm < bar:
            what = "the fence" if self.axis == "swivel" else "the plate"
            says = f"a sine bar of {bar:g} mm against {what}, gauge blocks {_listed(stack)}"
            numbers = _stack_numbers(stack) | {"sine_bar_mm": bar}
            own = degrees(aids.block_u_mm / (bar * cos(2 * half)))
            given = sine_angle_deg(bar, stack.height_mm)
            yield self._aid("sine_bar", says, given, [own], numbers)

    def _offsets(self) -> Iterator[Aid]:
        aids, d, size = self.fixture.aids, self.distance_mm, radians(self.size_deg)
        own = aids.rule_u_mm * cos(size) ** 2 / d
        distance = aids.distance_u_mm * sin(size) * cos(size) / d
        where = f"square to the zero line, {d:g} mm along it from the pivot"
        u = [degrees(own), degrees(distance)]
        yield from self._measured(_OFFSET, offset_mm(d, self.size_deg), u, where)

    def _wedge(self) -> Aid:
        """A wedge with the axis left at zero; several alike, stacked, where one is too thick."""
        aids, thin = self.fixture.aids, self.fixture.practice.wedge_thin_mm
        long = aids.wedge_length_mm
        room = max(aids.wedge_stock_mm - thin, 1e-9)
        pieces = fixed(whole_above(self.size_deg / offset_angle_deg(long, room) - 1e-9))
        rise = round(offset_mm(long, self.size_deg / pieces), 1)
        thick = round(thin + rise, 1)
        one = offset_angle_deg(long, thick - thin)
        # Both ends of every wedge are made alike well; a stack adds their errors.
        end = math.sqrt(2.0) * aids.wedge_u_mm * cos(radians(one)) ** 2 / long
        u = degrees(end) * math.sqrt(pieces)
        if self.axis == "tilt":
            where = "behind the stock"
            thick_at = "cut end" if self.set_deg > 0 else "far end"
        else:
            where = "between stock and fence"
            left = self.fixture.fence.side == "left"
            thick_at = "far end" if (self.set_deg > 0) == left else "cut end"
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


def _stack(height_mm: Number, name: str) -> Stack | None:
    if isinstance(height_mm, Column):
        return block_stacks(height_mm, name)
    return block_stack(height_mm, name)


def _listed(stack: Stack) -> str:
    return f"{each(_sum, stack.blocks_mm)} = {stack.height_mm:.3f} mm"


def _sum(blocks_mm: Sequence[float]) -> str:
    return " + ".join(map(_words, blocks_mm))


@lru_cache(maxsize=1024)
def _words(block_mm: float) -> str:
    return f"{block_mm:g}"


def _stack_numbers(stack: Stack) -> dict[str, Any]:
    return {
        "blocks_mm": each(list, stack.blocks_mm),
        "height_mm": stack.height_mm,
        "height_error_mm": stack.error_mm,
    }
