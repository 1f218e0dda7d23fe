"""Functions of one number that are straight between break points, and may jump there.

Knows floats and nothing else. What lies in no step, or has the value -inf, asks for nothing.

Theory. The greatest and the least of such functions are such functions again: between two
neighbouring break points all of them are straight, so two can only cross there once, and the
crossing is a break point of the result. Nothing is sampled and nothing can be stepped over.
"""

from __future__ import annotations

import bisect
import itertools
import math
from collections.abc import Callable, Iterable, Iterator

import attrs

__all__ = ["NOTHING", "Piecewise", "Step", "greatest_of", "least_of"]


@attrs.frozen
class Step:
    """Straight from (start, first) to (end, last), start < end; -inf at both ends for nothing."""

    start: float
    end: float
    first: float
    last: float

    def at(self, x: float) -> float:
        if self.first == self.last:  # -inf too
            return self.first
        return self.first + (self.last - self.first) * (x - self.start) / (self.end - self.start)


@attrs.frozen
class Piecewise:
    """Steps in order, without overlap."""

    steps: tuple[Step, ...] = ()

    @classmethod
    def through(cls, points: Iterable[tuple[float, float]]) -> Piecewise:
        """Straight from each point (x, value) to the next; points in order of x."""
        steps, last = [], None
        for x, value in points:
            if last is not None and x > last[0]:
                steps.append(Step(last[0], x, last[1], value))
            last = x, value
        return cls(tuple(steps))

    @property
    def breaks(self) -> list[float]:
        """Where a step begins or ends, each once."""
        return sorted({x for s in self.steps for x in (s.start, s.end)})

    def but_within(self, other: Piecewise, value: float) -> Piecewise:
        """The same, and ``value`` where ``other`` asks for something and this for nothing."""
        breaks = sorted({*self.breaks, *other.breaks})
        more = []
        for start, end in itertools.pairwise(breaks):
            middle = (start + end) / 2
            if self.at(middle) == -math.inf < other.at(middle):
                more.append(Step(start, end, value, value))
        return Piecewise(tuple(sorted((*self.steps, *more), key=lambda s: s.start)))

    def at(self, x: float) -> float:
        """The value; the greater one where it jumps."""
        index = bisect.bisect_left(self.steps, x, key=lambda s: s.end)
        near = [s.at(x) for s in self.steps[index : index + 2] if s.start <= x <= s.end]
        return max(near, default=-math.inf)


NOTHING = Piecewise()


def greatest_of(functions: Iterable[Piecewise]) -> Piecewise:
    """At each place the greatest."""
    return _all(functions, max)


def least_of(functions: Iterable[Piecewise]) -> Piecewise:
    """At each place the least; where one of them asks for nothing, so does the least."""
    return _all(functions, min)


Pick = Callable[[float, float], float]


def _all(functions: Iterable[Piecewise], pick: Pick) -> Piecewise:
    found = list(functions)
    if not found:
        return NOTHING
    while len(found) > 1:  # in pairs, so that long results are merged seldom
        pairs = [_two(a, b, pick) for a, b in zip(found[::2], found[1::2], strict=False)]
        found = pairs + found[len(pairs) * 2 :]
    return found[0]


def _two(one: Piecewise, two: Piecewise, pick: Pick) -> Piecewise:
    steps: list[Step] = []
    for start, end, (a0, a1), (b0, b1) in _together(one, two):
        parts = [(start, end, a0, a1, b0, b1)]
        finite = all(map(math.isfinite, (a0, a1, b0, b1)))
        if finite and (a0 - b0) * (a1 - b1) < 0:
            part = (a0 - b0) / ((a0 - b0) - (a1 - b1))
            x, value = start + part * (end - start), a0 + part * (a1 - a0)
            if start < x < end:
                parts = [(start, x, a0, value, b0, value), (x, end, value, a1, value, b1)]
        for begin, stop, p0, p1, q0, q1 in parts:
            # Both ends from the one function that is picked in the middle.
            first = pick((p0 + p1), (q0 + q1)) == (p0 + p1)
            values = (p0, p1) if first else (q0, q1)
            if math.isfinite(values[0]):
                steps.append(Step(begin, stop, *values))
    return Piecewise(tuple(_joined(steps)))


def _together(
    one: Piecewise, two: Piecewise
) -> Iterator[tuple[float, float, tuple[float, float], tuple[float, float]]]:
    """Every stretch without a break in either, with the values of both at its ends."""
    breaks = sorted({*one.breaks, *two.breaks})
    i = j = 0
    for start, end in itertools.pairwise(breaks):
        middle = (start + end) / 2
        while i < len(one.steps) and one.steps[i].end < middle:
            i += 1
        while j < len(two.steps) and two.steps[j].end < middle:
            j += 1
        yield start, end, _ends(one, i, start, end), _ends(two, j, start, end)


def _ends(function: Piecewise, index: int, start: float, end: float) -> tuple[float, float]:
    if index < len(function.steps) and function.steps[index].start <= start:
        step = function.steps[index]
        return step.at(start), step.at(end)
    return -math.inf, -math.inf


def _joined(steps: list[Step]) -> Iterator[Step]:
    """Without break points at which nothing breaks."""
    kept: Step | None = None
    for step in steps:
        if (
            kept is not None
            and kept.end == step.start
            and kept.last == step.first
            and kept.first == kept.last == step.last
        ):
            kept = Step(kept.start, step.end, kept.first, step.last)
            continue
        if kept is not None:
            yield kept
        kept = step
    if kept is not None:
        yield kept
