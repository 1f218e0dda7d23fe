"""Stretches of one number: where several things hold together, and where any of them does.

Knows floats and nothing else. Both ends of a stretch belong to it.

Theory. Where a convex function is less than some value is one stretch, and the function falls all
the way to its least and rises all the way after it. The line through two places of it lies below
it on either side of the two, so four places in a row bound it all along: a dip is either found or
shown not to be there, however narrow. From a place in it each end is closed in on by halving.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

import attrs

__all__ = ["Stretch", "both", "either", "where_at_least"]

#: Two that miss each other by less touch; it is rounding of numbers below a thousand.
TOUCH = 1e-9
NARROWINGS = 90  # each by a third, to where a convex function is least: 1e-16 of the whole
HALVINGS = 60


@attrs.frozen
class Stretch:
    """From low to high. exact: whether low was read off, not closed in on."""

    low: float
    high: float
    exact: bool = True


def both(one: Iterable[Stretch], two: Iterable[Stretch]) -> tuple[Stretch, ...]:
    """What lies in one and in two, by rising low."""
    others = tuple(two)
    out = []
    for a in one:
        for b in others:
            later = a if a.low >= b.low else b
            high = min(a.high, b.high)
            if later.low <= high + TOUCH:
                out.append(Stretch(later.low, max(later.low, high), later.exact))
    return tuple(sorted(out, key=lambda s: s.low))


def either(stretches: Iterable[Stretch]) -> tuple[Stretch, ...]:
    """What lies in any of them, by rising low; those that meet are one."""
    out: list[Stretch] = []
    for s in sorted(stretches, key=lambda s: (s.low, not s.exact)):
        if out and s.low <= out[-1].high:
            out[-1] = attrs.evolve(out[-1], high=max(out[-1].high, s.high))
        else:
            out.append(s)
    return tuple(out)


def where_at_least(
    convex: Callable[[float], float], least: float, high: float
) -> tuple[Stretch, ...]:
    """Where, from 0 to ``high``, a convex function is ``least`` or more; at both ends it is."""
    dip = _dip(convex, least, high)
    if dip is None:
        return (Stretch(0.0, high),)
    out = []
    if convex(0.0) >= least:
        out.append(Stretch(0.0, _edge(convex, least, 0.0, dip)))
    if convex(high) >= least:
        out.append(Stretch(_edge(convex, least, high, dip), high, exact=False))
    return tuple(out)


def _dip(convex: Callable[[float], float], least: float, high: float) -> float | None:
    """A place where it is less; None where there is none."""
    low, first, last = 0.0, convex(0.0), convex(high)
    for _ in range(NARROWINGS):
        one, two = low + (high - low) / 3, high - (high - low) / 3
        a, b = convex(one), convex(two)
        for place, value in ((low, first), (one, a), (two, b), (high, last)):
            if value < least:
                return place
        between = max(min(a, 2 * a - first), min(b, 2 * b - last))
        if min(between, 2 * a - b, 2 * b - a) >= least:
            return None
        if a < b:
            high, last = two, b
        else:
            low, first = one, a
    return None


def _edge(convex: Callable[[float], float], least: float, good: float, bad: float) -> float:
    """The place nearest to ``bad`` that is still good, between the two."""
    for _ in range(HALVINGS):
        middle = (good + bad) / 2
        good, bad = (middle, bad) if convex(middle) >= least else (good, middle)
    return good
