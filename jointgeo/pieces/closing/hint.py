"""Clamping some of the ends the other way: where that lets errors of the settings cancel.

Knows ties and what is added up of them; no fixture and no text.

Theory. A channel has no front: an end can be clamped with either of two sides on the plate, at
opposite swivel and tilt. An error of a zero then turns the cut the other way, so that what two ends
do to a frame can cancel instead of adding up. Every choice is tried where there are few ends; where
there are many, ends are turned over one or two at a time as long as that helps.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence

import numpy as np

from jointgeo.geometry.arrays import Array
from jointgeo.pieces.closing.sums import turns_of
from jointgeo.pieces.closing.ties import KINDS, Tie

__all__ = ["best_turned_over", "can_turn_over"]

MOST = 10  # ends of which every choice is tried
WORTH = 0.98  # of the worst; a choice of more ends must do better than that


def can_turn_over(ties: Sequence[Tie]) -> tuple[tuple[str, str], ...]:
    """Ends that can be clamped either way."""
    ends = [e for t in ties for e in t.ends]
    return tuple(e.name for e in ends if len(e.ways) > 1 and all(w.usable for w in e.ways))


def best_turned_over(
    ties: Sequence[Tie], of_turns: Array, roots: Array
) -> frozenset[tuple[str, str]]:
    """The ends to turn over for the least that the worst joint must give; few of them.

    of_turns: what joints must give of ω. roots: (5,), uncertainty of each kind that all ends share.
    """
    able = can_turn_over(ties)
    if not able:
        return frozenset()
    names = [e.name for t in ties for e in t.ends]
    plain, over = (_given(ties, of_turns, roots, frozenset(n)) for n in ((), able))
    change = np.stack([(over - plain)[:, names.index(n)] for n in able])
    base = plain.sum(axis=1)

    def best(choices: Iterable[tuple[int, ...]], of: Array, least: float) -> tuple[int, ...]:
        found: tuple[int, ...] = ()
        for choice in choices:
            worst = _worst(of + change[list(choice)].sum(axis=0))
            if worst < WORTH * least - 1e-12:
                found, least = choice, worst
        return found

    numbers = range(len(able))
    if len(able) <= MOST:
        every = (c for k in numbers for c in itertools.combinations(numbers, k + 1))
        return frozenset(able[i] for i in best(every, base, _worst(base)))
    chosen: set[int] = set()
    for _ in numbers:
        pairs = [(i,) for i in numbers] + list(itertools.combinations(numbers, 2))
        more = best(pairs, base, _worst(base))
        if not more:
            break
        for i in more:
            base, change[i] = base + change[i], -change[i]
        chosen ^= set(more)
    return frozenset(able[i] for i in chosen)


def _given(
    ties: Sequence[Tie], of_turns: Array, roots: Array, turned_over: frozenset[tuple[str, str]]
) -> Array:
    """(3 T, E, 5): what joints must give of each kind of error in each end."""
    turns = of_turns @ turns_of(ties, turned_over)
    return np.asarray(turns.reshape(len(turns), -1, len(KINDS)) * roots)


def _worst(given: Array) -> float:
    """given: (3 T, 5); the kinds are independent of each other."""
    rows = (given**2).reshape(-1, 3 * len(KINDS)).sum(axis=1)
    return float(np.sqrt(rows.max(initial=0.0)))
