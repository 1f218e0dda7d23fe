"""How often two normal errors both stay within a bound: the exact probability, and its inverse.

Knows ``math`` only; no joint, no fixture.

Theory. Two errors of standard deviations s₁, s₂ and correlation r, both of mean 0, stay within
± g with the probability

    P = ∫ φ(x)·[Φ((g/s₂ - r·x)/√(1 - r²)) - Φ((-g/s₂ - r·x)/√(1 - r²))] dx,  |x| ≤ g/s₁

(φ, Φ of the standard normal). Written so it fails in numbers as r goes to ± 1, where the bracket
becomes a step. Seen from the middle, the region is a parallelogram, h₁ = g/s₁ and h₂ = g/s₂ away,
and what lies beyond one of its edges is a sector's share (Owen, Ann. Math. Statist. 27 (1956)
1075, the function T):

    P = 1 - (1/π)·[A(h₁, h₂) + A(h₂, h₁)],  A(h, k) = ∫ exp(-h²/(2·cos²θ)) dθ
                                            from atan((-k - r·h)/(q·h)) to atan((k - r·h)/(q·h))

with q = √(1 - r²), which holds at r = ± 1 as well: an edge that the other covers has no width.
Its integrand is smooth and flat where the cosine vanishes, so 48 points (24 on each edge) give it
to 2e-8 from g = 2·s₁ on, and to 1e-6 from g = s₁ on.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import lru_cache
from math import atan2, cos, erf, exp, inf, pi, sqrt

__all__ = ["PROBABILITY", "bound", "chance", "root"]

#: What "at 95 %" means.
PROBABILITY = 0.95

POINTS = 24  # on each of two edges


def chance(limit: float, s1: float, s2: float, r: float) -> float:
    """Probability that both errors stay within ± limit.

    s1, s2: standard deviations, in the limit's unit, not negative. r: correlation, -1 to 1.
    """
    large, small = max(s1, s2), min(s1, s2)
    if large == 0.0:
        return 1.0
    if small <= 1e-9 * large:
        return erf(limit / large / sqrt(2.0))
    return _chance(limit / large, small / large, r)


def bound(probability: float, s1: float, s2: float, r: float) -> float:
    """What both errors stay within, ±, with that probability (above 0, below 1); the inverse of
    ``chance``."""
    large, small = max(s1, s2), min(s1, s2)
    if large == 0.0:
        return 0.0
    h = _alone(probability)
    if small <= 1e-9 * large:
        return h * large
    ratio = small / large
    # P is concave in the bound: after one of Newton's steps they come from below, and all the
    # same way. A first guess near what two errors of one size need saves one or two.
    h *= 1.0 + 0.14 * ratio**4 * sqrt(1.0 - abs(r))
    for _ in range(50):
        step = (probability - _chance(h, ratio, r)) / _slope(h, ratio, r)
        h += step
        if abs(step) < 1e-6:  # the next would be of its square
            break
    return h * large


def root(rises: Callable[[float], float], low: float, high: float) -> float:
    """Where a function that does not fall passes 0 between ``low`` and ``high``, to 1e-13 of what
    lies between them; either of the two where it does not. By false position, the end that stays
    counted for half (Dowell and Jarratt, BIT 11 (1971) 168)."""
    below, above = rises(low), rises(high)
    if below >= 0 or above <= 0:
        return low if below >= 0 else high
    near, stayed = 1e-13 * (high - low), 0
    for _ in range(200):
        at = high - above * (high - low) / (above - below)
        value = rises(at)
        if value == 0:
            return at
        if value < 0:
            moved, low, below = at - low, at, value
            above, stayed = (above / 2 if stayed < 0 else above), -1
        else:
            moved, high, above = high - at, at, value
            below, stayed = (below / 2 if stayed > 0 else below), 1
        if moved < near or high - low < near:
            return at
    return (low + high) / 2


@lru_cache(maxsize=4)
def _alone(probability: float) -> float:
    """What one error of s = 1 stays within: 1.959964 for 95 %."""
    return root(lambda h: erf(h / sqrt(2.0)) - probability, 0.0, 8.0)


def _chance(h: float, ratio: float, r: float) -> float:
    """P for s₁ = 1, s₂ = ratio and a bound h."""
    beyond = 0.0
    for mine, first, last in _edges(h, ratio, r):
        # 2·cos²θ = 1 + cos(2·θ)
        middle, half, square = first + last, last - first, -mine * mine
        beyond += (half / 2) * sum(
            [w * exp(square / (1.0 + cos(middle + half * x))) for x, w in _nodes()]
        )
    return 1.0 - beyond / pi


def _slope(h: float, ratio: float, r: float) -> float:
    """What P grows by for each unit of h: the density along either edge and its opposite."""
    total, q = 0.0, max(sqrt(max(0.0, 1.0 - r * r)), 1e-12) * sqrt(2.0)
    for mine, its, size in ((h, h / ratio, 1.0), (h / ratio, h, ratio)):
        along = erf((its - r * mine) / q) - erf((-its - r * mine) / q)
        total += exp(-mine * mine / 2) / size * along
    return total / sqrt(2.0 * pi)


def _edges(h: float, ratio: float, r: float) -> Iterator[tuple[float, float, float]]:
    """Either edge's distance from the middle, and the angles it is seen between."""
    q, other = sqrt(max(0.0, 1.0 - r * r)), h / ratio
    for mine, its in ((h, other), (other, h)):
        first, last = atan2(-its - r * mine, q * mine), atan2(its - r * mine, q * mine)
        if last > first:
            yield mine, first, last


@lru_cache(maxsize=1)
def _nodes() -> tuple[tuple[float, float], ...]:
    """Points and weights of Gauss and Legendre on -1 to 1, by Newton's steps (Abramowitz and
    Stegun, 25.4.29)."""
    out = []
    for i in range(POINTS):
        x = cos(pi * (i + 0.75) / (POINTS + 0.5))
        step = inf
        while abs(step) > 1e-15:
            value, slope = _legendre(x)
            step = value / slope
            x -= step
        _, slope = _legendre(x)
        out.append((x, 2.0 / ((1.0 - x * x) * slope * slope)))
    return tuple(out)


def _legendre(x: float) -> tuple[float, float]:
    """The polynomial of degree POINTS and its slope."""
    before, now = 1.0, x
    for n in range(2, POINTS + 1):
        before, now = now, ((2 * n - 1) * x * now - (n - 1) * before) / n
    return now, POINTS * (x * now - before) / (x * x - 1.0)
