"""The greatest value that still holds: bisection, nothing else.

Knows nothing of the library. Limits found here come from the same functions that
judge, so a remedy can never promise what the check would refuse.
"""

from __future__ import annotations

from collections.abc import Callable

__all__ = ["greatest"]


def greatest(
    room: Callable[[float], float], low: float, high: float, steps: int = 60
) -> float | None:
    """The greatest x in [low, high] with room(x) ≥ 0, where room falls as x grows.

    None if there is no room even at ``low``. The answer is from the holding side: after
    60 halvings it is within rounding of the limit, and room there is not negative.
    """
    if room(low) < 0:
        return None
    if room(high) >= 0:
        return high
    for _ in range(steps):
        middle = (low + high) / 2
        if room(middle) >= 0:
            low = middle
        else:
            high = middle
    return low
