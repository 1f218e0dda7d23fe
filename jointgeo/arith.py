"""Arithmetic on a number or on a column of numbers, in one text.

Knows math and numpy only; nothing of geometry.

Theory. The geometry of the library is written in single numbers: x, y and z by name, and
the operators +, -, * and /, which a float and an array of floats (a *column*, of any shape)
understand alike. What they do not share stands here: each function answers a number by
``math`` and a column by ``numpy``. So one joint and a million variants run the same lines,
and one joint pays for arithmetic only. The rejected alternatives: numpy throughout takes
ten to thirty times as long over three numbers; one text for each would drift apart.

Traps. No ``if`` and no ``min`` on a value: ``where``, ``least`` and ``greatest`` are for
that. A number divided by zero raises, a column gives inf and a warning, so a divisor is made
safe first. Where numbers and columns meet, the columns' shapes broadcast.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import reduce
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "Number",
    "among",
    "arcsin",
    "arctan",
    "arctan2",
    "column",
    "cos",
    "degrees",
    "greatest",
    "hypot",
    "least",
    "nearest_whole",
    "place_of_least",
    "radians",
    "sign",
    "sin",
    "sqrt",
    "tan",
    "where",
]

#: ``float | NDArray[float64]``. The stubs of numpy know no arithmetic of that sum, so it is Any.
Number: TypeAlias = Any

_RADIANS = math.pi / 180.0
_DEGREES = 180.0 / math.pi


def sin(angle_rad: Number) -> Number:
    """Sine."""
    return np.sin(angle_rad) if isinstance(angle_rad, np.ndarray) else math.sin(angle_rad)


def cos(angle_rad: Number) -> Number:
    """Cosine."""
    return np.cos(angle_rad) if isinstance(angle_rad, np.ndarray) else math.cos(angle_rad)


def tan(angle_rad: Number) -> Number:
    """Tangent."""
    return np.tan(angle_rad) if isinstance(angle_rad, np.ndarray) else math.tan(angle_rad)


def arcsin(ratio: Number) -> Number:
    """Arcsine, radians; nan where no angle has that sine."""
    if isinstance(ratio, np.ndarray):
        return np.arcsin(np.where(np.abs(ratio) <= 1.0, ratio, np.nan))
    return math.asin(ratio) if -1.0 <= ratio <= 1.0 else math.nan


def arctan(ratio: Number) -> Number:
    """Arctangent, radians."""
    return np.arctan(ratio) if isinstance(ratio, np.ndarray) else math.atan(ratio)


def arctan2(y: Number, x: Number) -> Number:
    """The angle of the point (x, y), radians in [-π, π]."""
    if isinstance(y, np.ndarray) or isinstance(x, np.ndarray):
        return np.arctan2(y, x)
    return math.atan2(y, x)


def hypot(x: Number, y: Number) -> Number:
    """√(x² + y²)."""
    if isinstance(y, np.ndarray) or isinstance(x, np.ndarray):
        return np.hypot(x, y)
    return math.hypot(x, y)


def sqrt(value: Number) -> Number:
    """Square root."""
    return np.sqrt(value) if isinstance(value, np.ndarray) else math.sqrt(value)


def radians(angle_deg: Number) -> Number:
    """Degrees as radians."""
    return angle_deg * _RADIANS


def degrees(angle_rad: Number) -> Number:
    """Radians as degrees."""
    return angle_rad * _DEGREES


def sign(value: Number) -> Number:
    """-1, 0 or 1."""
    if isinstance(value, np.ndarray):
        return np.sign(value)
    return float((value > 0) - (value < 0))


def nearest_whole(value: Number) -> Number:
    """The nearest whole number, a half to the even one: an int, or a column of them."""
    return np.rint(value).astype(int) if isinstance(value, np.ndarray) else round(value)


def least(values: Sequence[Number]) -> Number:
    """The least of several."""
    if np.ndarray in map(type, values):
        return reduce(np.minimum, values)
    return min(values)


def greatest(values: Sequence[Number]) -> Number:
    """The greatest of several."""
    if np.ndarray in map(type, values):
        return reduce(np.maximum, values)
    return max(values)


def place_of_least(values: Sequence[Number]) -> Any:
    """Which of several is the least, the first where some are equal: an int, or a column."""
    if np.ndarray in map(type, values):
        return np.argmin(np.stack(np.broadcast_arrays(*values)), axis=0)
    return values.index(min(values))


def where(condition: Any, holds: Number, else_: Number) -> Number:
    """``holds`` where the condition does. Both are worked out, so neither may fail."""
    if isinstance(condition, np.ndarray):
        return np.where(condition, holds, else_)
    return holds if condition else else_


def among(index: Any, choices: Sequence[Number]) -> Number:
    """The choice at ``index``, an int or a column of them."""
    if isinstance(index, np.ndarray):
        return np.choose(index, np.broadcast_arrays(*choices))
    return choices[index]


def column(value: object) -> Number:
    """Anything array-like: a number as a float, all else as an array of floats."""
    if isinstance(value, (float, int)):
        return float(value)
    array: NDArray[np.float64] = np.asarray(value, dtype=float)
    return float(array) if array.ndim == 0 else array
