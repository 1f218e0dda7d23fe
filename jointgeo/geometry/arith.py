"""Arithmetic on a number or on a column of numbers, in one text.

Knows math, numpy and ``columns``; nothing of geometry.

Theory. The geometry of the library is written in single numbers: x, y and z by name, and
the operators +, -, * and /, which a float and an array of floats (a *column*, of any shape)
understand alike. What they do not share stands here: each function answers a number by
``math`` and a column by ``numpy``. So one joint and a million variants run the same lines,
and one joint pays for arithmetic only. The rejected alternatives: numpy throughout takes
ten to thirty times as long over three numbers; one text for each would drift apart.

Traps. An array answers no ``if``; a ``Column`` does, and the batch parts where its rows do
not agree. So a value is picked with ``where``, ``least`` and ``most``; a question is for
what really goes two ways. A number divided by zero raises, a column gives inf and a warning,
so a divisor is made safe first. Where numbers and columns meet, shapes broadcast.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import reduce
from typing import Any, TypeAlias, cast

import numpy as np
from numpy.typing import NDArray

from jointgeo.geometry.columns import Column

__all__ = [
    "Number",
    "among",
    "anywhere",
    "arcsin",
    "arctan",
    "arctan2",
    "column",
    "copysign",
    "cos",
    "degrees",
    "hypot",
    "isfinite",
    "least",
    "most",
    "nearest_whole",
    "number",
    "place_of_least",
    "radians",
    "sign",
    "sin",
    "snapped",
    "sqrt",
    "tan",
    "where",
    "whole_above",
    "whole_below",
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
        return np.arcsin(where(np.abs(ratio) <= 1.0, ratio, np.nan))
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


def snapped(value: Number) -> Number:
    """The value to the ninth decimal: what should be equal is, whatever rounding made of it."""
    return _like(np.round(value, 9), value) if isinstance(value, np.ndarray) else round(value, 9)


def sign(value: Number) -> Number:
    """-1, 0 or 1."""
    if isinstance(value, np.ndarray):
        return np.sign(value)
    return float(value > 0) - float(value < 0)  # numpy's truth values take no minus


def whole_below(value: Number) -> Number:
    """The next whole number below: an int, or a column of them."""
    return np.floor(value).astype(int) if isinstance(value, np.ndarray) else math.floor(value)


def whole_above(value: Number) -> Number:
    """The next whole number above: an int, or a column of them."""
    return np.ceil(value).astype(int) if isinstance(value, np.ndarray) else math.ceil(value)


def copysign(size: Number, like: Number) -> Number:
    """``size`` with the sign of ``like``."""
    if isinstance(size, np.ndarray) or isinstance(like, np.ndarray):
        return np.copysign(size, like)
    return math.copysign(size, like)


def isfinite(value: Number) -> Any:
    """Neither infinite nor nan."""
    return np.isfinite(value) if isinstance(value, np.ndarray) else math.isfinite(value)


def nearest_whole(value: Number) -> Number:
    """The nearest whole number, a half to the even one: an int, or a column of them."""
    return np.rint(value).astype(int) if isinstance(value, np.ndarray) else round(value)


def least(values: Sequence[Number]) -> Number:
    """The least of several."""
    for value in values:
        if isinstance(value, np.ndarray):
            return reduce(np.minimum, values)
    return min(values)


def most(values: Sequence[Number]) -> Number:
    """The greatest of several."""
    for value in values:
        if isinstance(value, np.ndarray):
            return reduce(np.maximum, values)
    return max(values)


def place_of_least(values: Sequence[Number]) -> Any:
    """Which of several is the least, the first where some are equal: an int, or a column."""
    for value in values:
        if isinstance(value, np.ndarray):
            places = np.argmin(np.stack(np.broadcast_arrays(*values)), axis=0)
            return _like(np.asarray(places), *values)
    return values.index(min(values))


def where(condition: Any, holds: Number, else_: Number) -> Number:
    """``holds`` where the condition does. Both are worked out, so neither may fail."""
    if isinstance(condition, np.ndarray):
        return _like(np.where(condition, holds, else_), condition, holds, else_)
    return holds if condition else else_


def among(index: Any, choices: Sequence[Number]) -> Number:
    """The choice at ``index``, an int or a column of them."""
    if isinstance(index, np.ndarray):
        picked = np.choose(index, list(np.broadcast_arrays(*choices)))
        return _like(np.asarray(picked), index, *choices)
    return choices[index]


def anywhere(condition: Any) -> bool:
    """Whether it holds for the number, or in some row of the column: then it is worth a step."""
    if condition is True or condition is False:
        return condition
    return b"\x01" in condition.tobytes()


def number(value: Any) -> float:
    """A column as it is, anything else as a float; TypeError or ValueError where it is none.

    To a type checker all of it is one number: what is written for one joint is read as that.
    """
    return cast(float, value) if isinstance(value, Column) else float(value)


def column(value: object) -> Number:
    """Anything array-like: a number as a float, all else as an array of floats."""
    if isinstance(value, (float, int)):
        return float(value)
    if isinstance(value, Column):
        return value
    array: NDArray[np.float64] = np.asarray(value, dtype=float)
    return float(array) if array.ndim == 0 else array


def _like(result: Any, *given: Any) -> Any:
    """numpy's picking functions forget what kind of array they were given."""
    return result.view(Column) if Column in map(type, given) else result
