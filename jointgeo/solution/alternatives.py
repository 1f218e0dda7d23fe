"""Which single change of a joint's numbers would let a fixture cut it.

Knows joint types by their contract, fixtures and solutions; knows no joint type by name.

    >>> import attrs, jointgeo
    >>> from jointgeo.solution.alternatives import alternatives
    >>> leg = attrs.evolve(jointgeo.joint_type("splayed_bridle").examples()[0], splay_along_deg=27)
    >>> found = alternatives(leg, jointgeo.load_fixture("porch"))
    >>> [(a.name, a.value) for a in found]
    [('splay_along_deg', 19.3)]

Theory of operation. A remedy says what is short at one check; this asks the whole answer. Each
length and angle is moved alone, either way: first a little, to see whether what fails comes nearer
to its limit at all, then in growing steps until nothing fails, then back by halving. What is found
is rounded towards more room and solved once more as rounded, so that whatever is offered has been
seen to be feasible. The trap is a margin that does not grow evenly, from one clamping to the next;
so no step is trusted but by its own answer. Two numbers at once are not tried.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping

import attrs

from jointgeo.errors import InputError
from jointgeo.fixtures.model import Fixture
from jointgeo.joints.check import Check, Verdict
from jointgeo.joints.joint_type import JointType
from jointgeo.schema.fields import FieldInfo, describe
from jointgeo.solution.setup import Hand
from jointgeo.solution.solution import solve

__all__ = ["Alternative", "alternatives"]

#: As shares of the number, and for a small angle of ``LEAST_DEG``. No further: a joint that is
#: changed by more than half is another joint. Our choice.
STEPS = (0.04, 0.1, 0.2, 0.35, 0.5)
PROBE = 0.02
LEAST_DEG = 10.0
HALVINGS = 6
#: What a person sets out to, by unit.
GRAINS = {"mm": 0.5, "deg": 0.1}


@attrs.frozen
class Alternative:
    """The joint with one number changed. value: in the unit of the field ``name``; status: of the
    whole answer then, never "fail"."""

    name: str
    value: float
    given: float
    status: Verdict


def alternatives(
    joint: JointType, fixture: Fixture, hand: Hand = "as_drawn", most: int = 4
) -> tuple[Alternative, ...]:
    """Changes of one number each, with which nothing fails; the least change first.

    Empty where nothing fails as it is, and where no single change that was tried is enough.
    """
    now = solve(joint, fixture, hand).checks
    if not any(c.status == "fail" for c in now):
        return ()
    trial = _Trial(joint, fixture, hand, _short(now))
    found = [a for info in describe(type(joint)) for a in trial.of(info)]
    found.sort(key=lambda a: abs(a.value - a.given) / _size(a.given, a.name))
    return tuple(found[:most])


def _short(checks: Iterable[Check]) -> dict[tuple[object, ...], float]:
    """By how much each that fails is short, in its own unit."""
    return {(c.name, c.part, c.setup): -c.margin for c in checks if c.status == "fail"}


def _size(given: float, name: str) -> float:
    return max(abs(given), LEAST_DEG) if name.endswith("_deg") else abs(given)


@attrs.frozen
class _Trial:
    joint: JointType
    fixture: Fixture
    hand: Hand
    short: Mapping[tuple[object, ...], float]

    def of(self, info: FieldInfo) -> Iterator[Alternative]:
        given = getattr(self.joint, info.name)
        if info.kind != "number" or info.unit not in GRAINS or not isinstance(given, float):
            return
        size = _size(given, info.name)
        if not size:
            return
        for way in (-1.0, 1.0):
            if not self._nears(info, given + way * PROBE * size):
                continue
            value = self._nearest(info, given, way * size)
            if value is not None and (status := self._status(info, value)) != "fail":
                yield Alternative(info.name, value, given, status)

    def _nearest(self, info: FieldInfo, given: float, size: float) -> float | None:
        """The least change that way that was seen to be enough, rounded outwards."""
        low = 0.0
        for high in STEPS:
            if self._status(info, given + high * size) != "fail":
                break
            low = high
        else:
            return None
        for _ in range(HALVINGS):
            middle = (low + high) / 2
            if self._status(info, given + middle * size) == "fail":
                low = middle
            else:
                high = middle
        grain = GRAINS[info.unit]
        whole = (math.floor if size < 0 else math.ceil)((given + high * size) / grain)
        # Halving ends near the limit; what is set out to may lie on it.
        nearer = round((whole - math.copysign(1, size)) * grain, 1)
        between = abs(nearer - given) < high * abs(size) and nearer != given
        if between and self._status(info, nearer) != "fail":
            return nearer
        return round(whole * grain, 1)

    def _checks(self, info: FieldInfo, value: float) -> tuple[Check, ...] | None:
        """None where there is no such joint."""
        try:
            joint = type(self.joint).from_dict(self.joint.to_dict() | {info.name: value})
            return solve(joint, self.fixture, self.hand).checks
        except InputError:
            return None

    def _status(self, info: FieldInfo, value: float) -> Verdict:
        checks = self._checks(info, value)
        if checks is None or any(c.status == "fail" for c in checks):
            return "fail"
        return "caution" if any(c.status == "caution" for c in checks) else "pass"

    def _nears(self, info: FieldInfo, value: float) -> bool:
        """Whether anything that fails comes nearer to its limit."""
        checks = self._checks(info, value)
        if checks is None:
            return False
        found = _short(checks)
        return any(found.get(k, 0.0) < v - 1e-9 for k, v in self.short.items())
