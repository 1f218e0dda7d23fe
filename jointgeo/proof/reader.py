"""Takes numbers, texts and arrays out of plain data, and notes every one at fault.

Knows errors and numpy; no name of the contract. Nothing is coerced: ``true`` is not 1 and
"1.5" is no number. A value at fault is noted with its path and replaced by a
placeholder, so that reading goes on and a person mends a file once; ``done`` then raises.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from numbers import Real
from typing import Any

import numpy as np

from jointgeo.errors import InputError, Problem, shown
from jointgeo.proof.mesh import Array

__all__ = ["LEAST_EDGE_MM", "Reader"]

#: Beyond a kilometre the kernel's rounding would come near what is measured.
LARGEST_MM = 1e6
#: A body thinner than this has no inside that its volume could be told by.
LEAST_EDGE_MM = 1e-3


class Reader:
    """Takes values out of plain data and notes what is wrong; ``done`` raises."""

    def __init__(self) -> None:
        self.problems: list[Problem] = []
        self._unread: list[str] = []

    def fault(self, path: str, message: str, given: object, allowed: str, unit: str = "") -> None:
        # What is missing inside a thing that is no table at all goes without saying.
        if not any(path.startswith(where) for where in self._unread):
            self.problems.append(Problem(path, message, shown(given), allowed, unit))

    def done(self) -> None:
        if self.problems:
            raise InputError(*self.problems)

    def table(self, value: object, path: str) -> Mapping[str, Any]:
        if isinstance(value, Mapping):
            return value
        self.fault(path or "settings", "is not a table of names and values", value, "a table")
        self._unread.append(f"{path}." if path else "")
        return {}

    def items(self, table: Mapping[str, Any], key: str, path: str) -> list[tuple[Any, str]]:
        where = f"{path}.{key}" if path else key
        value = table.get(key)
        if isinstance(value, (list, tuple)):
            return [(v, f"{where}[{i}]") for i, v in enumerate(value)]
        self.fault(where, "is not a list", value, "a list")
        return []

    def tables(
        self, table: Mapping[str, Any], key: str, path: str
    ) -> list[tuple[Mapping[str, Any], str]]:
        return [(self.table(v, p), p) for v, p in self.items(table, key, path)]

    def number(
        self,
        table: Mapping[str, Any],
        key: str,
        path: str,
        unit: str,
        above: float | None = None,
        most: float = LARGEST_MM,
    ) -> float:
        value: Any = table.get(key)
        allowed = f"a number of at most {most:g} {unit} in size"
        if above is not None:
            allowed = f"a number above {above:g} and at most {most:g} {unit}"
        number = float(value) if _is_number(value) else math.nan
        if not (abs(number) <= most and (above is None or number > above)):
            self.fault(f"{path}.{key}", "cannot be used", value, allowed, unit)
            return math.nan
        return number

    def edges(self, table: Mapping[str, Any], path: str) -> Array:
        """``size_mm``: three edges of a box."""
        size = self.array(table, "size_mm", path, (3,))
        if np.any(size < LEAST_EDGE_MM):
            allowed = f"{LEAST_EDGE_MM:g} mm or more"
            self.fault(f"{path}.size_mm", "has too short an edge", size.tolist(), allowed, "mm")
        return size

    def text(self, table: Mapping[str, Any], key: str, path: str, empty: bool = False) -> str:
        value = table.get(key)
        if isinstance(value, str) and (value or empty):
            return value
        self.fault(f"{path}.{key}", "is not a text", value, "a text")
        return ""

    def choice(
        self, table: Mapping[str, Any], key: str, path: str, choices: tuple[str, ...]
    ) -> str:
        value = table.get(key)
        if isinstance(value, str) and value in choices:
            return value
        allowed = "one of " + ", ".join(f'"{c}"' for c in choices)
        self.fault(f"{path}.{key}", "is not a choice", value, allowed)
        return choices[0]

    def array(self, table: Mapping[str, Any], key: str, path: str, shape: tuple[int, ...]) -> Array:
        value: Any = table.get(key)
        rows = value if len(shape) == 2 else [value]
        width = shape[-1]
        usable = isinstance(rows, (list, tuple)) and (len(shape) == 1 or len(rows) == shape[0])
        usable = usable and all(
            isinstance(row, (list, tuple)) and len(row) == width and all(map(_is_number, row))
            for row in rows
        )
        if usable:
            array = np.array(value, dtype=float)
            if np.all(np.abs(array) <= LARGEST_MM):
                return array
        size = " × ".join(map(str, shape))
        allowed = f"{size} numbers of at most {LARGEST_MM:g} in size"
        self.fault(f"{path}.{key}", "cannot be used", value, allowed, "mm")
        return np.ones(shape)


def _is_number(value: Any) -> bool:
    if isinstance(value, bool) or not isinstance(value, Real):
        return False
    try:
        return math.isfinite(float(value))
    except OverflowError:
        return False
