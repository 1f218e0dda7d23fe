"""Many lines at once, each divided at places along it.

Knows arrays only. A stretch is told by the line that it is of and by where along that it starts and
stops; stretches come line by line and in order.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["Indices", "divided", "runs"]

Array = NDArray[np.float64]
Indices = NDArray[np.intp]


def divided(
    which: Indices, at: Array, low: Array, high: Array, least: float
) -> tuple[Indices, Array, Array]:
    """Lines from ``low`` to ``high`` (n,) divided at places ``at`` of the lines ``which``: of each
    stretch longer than ``least`` its line, start and stop."""
    every = np.arange(len(low))
    lines, places = np.concatenate([every, which, every]), np.concatenate([low, at, high])
    order = np.lexsort((places, lines))
    lines, places = lines[order], places[order]
    whole = (lines[1:] == lines[:-1]) & (places[1:] - places[:-1] > least)
    return lines[:-1][whole], places[:-1][whole], places[1:][whole]


def runs(which: Indices, wanted: NDArray[np.bool_]) -> tuple[Indices, Indices]:
    """The first and the last of every run of ``wanted`` stretches on one line."""
    on = (which[1:] == which[:-1]) & wanted[1:] & wanted[:-1]
    first, last = wanted.copy(), wanted.copy()
    first[1:] &= ~on
    last[:-1] &= ~on
    return np.flatnonzero(first), np.flatnonzero(last)
