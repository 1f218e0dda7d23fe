"""The greatest value that still holds: a bracket that closes on it, nothing else.

Knows nothing of the library. Limits found here come from the same functions that
judge, so a remedy can never promise what the check would refuse.

Theory. The limit stays between a value that holds and one that does not. A curve through the
last three points says where to try next as long as it is to be trusted there, else the bracket is
halved: T. R. Chandrupatla, Advances in Engineering Software 28 (1997) 145. A smooth room takes
about ten tries, one with a jump as many as bisection.
"""

from __future__ import annotations

import math
from collections.abc import Callable

__all__ = ["greatest"]


def greatest(room: Callable[[float], float], low: float, high: float) -> float | None:
    """The greatest x in [low, high] with room(x) ≥ 0, where room falls as x grows.

    None if there is no room even at ``low``. The answer is from the holding side: it is within
    rounding of the limit, and room there is not negative. ``room`` may be infinite.
    """
    b, fb = low, room(low)
    if fb < 0:
        return None
    a, fa = high, room(high)
    if fa >= 0:
        return high
    part, coarsest = 0.5, 1e-16 * (high - low)  # a limit at 0 has no last bit
    while abs(b - a) > (tiny := max(2 * math.ulp(max(abs(a), abs(b))), coarsest)):
        least = min(0.5, tiny / abs(b - a))
        x = a + min(max(part, least), 1 - least) * (b - a)
        value = room(x)
        # a: tried last; b: the other end; c: the end that a stands for now.
        if (value < 0) == (fa < 0):
            c, fc = a, fa
        else:
            c, fc, b, fb = b, fb, a, fa
        a, fa = x, value
        part = _part(a, fa, b, fb, c, fc)
    return a if fa >= 0 else b


def _part(a: float, fa: float, b: float, fb: float, c: float, fc: float) -> float:
    """How far from a to b to try next, as a part of the way; c lies beyond a."""
    if math.isfinite(fa - fb) and math.isfinite(fc - fb):
        x, y = (a - b) / (c - b), (fa - fb) / (fc - fb)
        if y * y < x and (1 - y) * (1 - y) < 1 - x and fa != fc:
            straight = fa / (fb - fa) * fc / (fb - fc)
            return straight + (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb)
    return 0.5
