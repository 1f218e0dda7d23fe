"""Gauge blocks: which to wring together for a height.

Knows numbers and columns of them only.

A set is described by its series, so that another set is another table and no other code.
The metric set of 87 pieces is common practice in workshops (its make-up is written here
from memory of many catalogues; no standard fixes it): 1.001 to 1.009 by 0.001, 1.01 to
1.49 by 0.01, 0.5 to 9.5 by 0.5, 10 to 100 by 10.

Theory. At most four blocks are wrung together, which is what the set is made for: one each
for thousandths, hundredths, halves and tens. A stack of four is picked as it is at the bench
(common practice, no published source): the last digit is taken away first, then the next
ones. Where that ends in nothing, all pairs of blocks, listed once, are looked through for two
that share no block. Sizes are counted in whole micrometres, so that no sum is rounded.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from functools import lru_cache
from itertools import combinations
from typing import Any, cast

import attrs
import numpy as np
from numpy.typing import NDArray

from jointgeo.geometry.arith import Number, number
from jointgeo.geometry.columns import Column, Each

__all__ = ["BLOCK_SETS", "Stack", "block_sizes", "block_stack", "block_stacks"]

#: (first, last, step) in micrometres, for each series of a set.
BLOCK_SETS: dict[str, tuple[tuple[int, int, int], ...]] = {
    "metric_87": (
        (1001, 1009, 1),
        (1010, 1490, 10),
        (500, 9500, 500),
        (10_000, 100_000, 10_000),
    )
}

MOST_BLOCKS = 4

Whole = NDArray[np.integer[Any]]


@attrs.frozen
class Stack:
    """blocks_mm: the blocks, thinnest first; height_mm: their sum; error_mm: sum minus wanted."""

    blocks_mm: tuple[float, ...]
    height_mm: float
    error_mm: float


@lru_cache(maxsize=4)
def block_sizes(name: str) -> tuple[int, ...]:
    """Sizes of the set ``name`` in whole micrometres, ascending; KeyError for an unknown set."""
    sizes = [s for low, high, step in BLOCK_SETS[name] for s in range(low, high + 1, step)]
    return tuple(sorted(sizes))


def block_stack(height_mm: float, name: str = "metric_87") -> Stack | None:
    """The stack of at most four blocks nearest to ``height_mm``; of equal ones the fewest blocks.

    None where no stack is of any use: below half the thinnest block, or more than 1 mm above
    the four thickest together. KeyError for an unknown set.
    """
    known, target = _set(name), height_mm * 1000.0
    if not known.least <= target <= known.most:
        return None
    best = known.nearest(target)
    height = sum(best) / 1000.0
    return Stack(tuple(sorted([b / 1000.0 for b in best])), height, height - height_mm)


def block_stacks(heights_mm: Column, name: str) -> Stack | None:
    """``block_stack`` of every row: a stack of columns, its blocks an ``Each`` of lists.

    Parted where some heights are of use and others are not.
    """
    known, target = _set(name), heights_mm * 1000.0
    if not (known.least <= target) & (target <= known.most):
        return None
    wanted = np.asarray(target)
    whole = np.rint(wanted).astype(int)
    few = np.asarray(known.few)
    place = np.where(whole < len(few), few[np.minimum(whole, len(few) - 1)], 0)
    fits, digits = known.by_digits(whole)
    blocks = np.where(fits[:, None], np.stack(digits, axis=-1), 0)
    blocks[place > 0] = known.stacks[place[place > 0]]
    for row in np.flatnonzero((place == 0) & ~fits).tolist():
        best = known.nearest(float(wanted[row]))
        blocks[row] = (*best, *[0] * (MOST_BLOCKS - len(best)))
    height = blocks.sum(axis=1) / 1000.0
    listed = [[b for b in row if b] for row in (np.sort(blocks, axis=1) / 1000.0).tolist()]
    return Stack(cast(Any, Each(listed)), number(Column.of(height)), height - heights_mm)


@attrs.frozen(eq=False)
class _Set:
    """One set, ready to be looked up. least, most: between which a stack is of use (µm). few: for
    each height in µm the stack of at most three blocks, as a place in ``stacks``; 0 for none.
    series: first, last, step, and the step of the next series."""

    sizes: tuple[int, ...]
    least: float
    most: float
    few: Sequence[int]
    stacks: Whole
    series: tuple[tuple[int, int, int, int], ...]
    last: tuple[int, int, int]

    def nearest(self, target: float) -> tuple[int, ...]:
        """The nearest stack; of equal ones that of the fewest blocks.

        Nothing comes nearer to a height than its own whole micrometre, so a hit needs no
        search of all stacks, which is what takes the time.
        """
        whole = round(target)
        if whole < len(self.few) and self.few[whole]:
            return tuple([size for size in self.stacks[self.few[whole]].tolist() if size])
        fits, digits = self.by_digits(whole)
        if fits:
            return digits
        pairs = _pairs_by_sum(self.sizes)
        for total, firsts in pairs.items():
            for second in pairs.get(whole - total, ()):
                for first in firsts:
                    if not set(first) & set(second):
                        return (*first, *second)
        return min(_stacks(self.sizes, target), key=lambda s: (abs(sum(s) - target), len(s), s))

    def by_digits(self, target: Number) -> tuple[Number, tuple[Number, ...]]:
        """A block of each series, finest first, each chosen to leave a whole number of the next
        series' steps; and whether there are such blocks. target: an int or an array of them."""
        taken, fits = [], True
        for low, high, step, coarser in self.series:
            size = low + (target - low) % coarser
            fits = fits & (size <= high) & ((size - low) % step == 0)
            taken.append(size)
            target = target - size
        low, high, step = self.last
        fits = fits & (low <= target) & (target <= high) & ((target - low) % step == 0)
        return fits, (*taken, target)


@lru_cache(maxsize=4)
def _set(name: str) -> _Set:
    sizes, series = block_sizes(name), BLOCK_SETS[name]
    every = np.array(sizes)
    # Of equal heights the fewest blocks, then the thinnest: what is written last, stays.
    stacks = [np.zeros((1, MOST_BLOCKS), dtype=int)]
    for many in range(MOST_BLOCKS - 1, 0, -1):
        places = np.array(list(combinations(range(len(sizes)), many)))
        padded = np.zeros((len(places), MOST_BLOCKS), dtype=int)
        padded[:, : places.shape[1]] = every[places[::-1]]
        stacks.append(padded)
    whole = np.concatenate(stacks)
    few = np.zeros(int(whole.sum(axis=1).max()) + 1, dtype=np.int32)
    few[whole.sum(axis=1)[1:]] = np.arange(1, len(whole))
    return _Set(
        sizes,
        sizes[0] / 2,
        sum(sizes[-MOST_BLOCKS:]) + 1000.0,
        memoryview(few.data),
        whole.astype(np.int32),
        tuple((*one, after[2]) for one, after in itertools.pairwise(series)),
        series[-1],
    )


@lru_cache(maxsize=4)
def _pairs_by_sum(sizes: tuple[int, ...]) -> dict[int, list[tuple[int, int]]]:
    """Every pair of blocks by its sum, thinnest first."""
    out: dict[int, list[tuple[int, int]]] = {}
    for pair in combinations(sizes, 2):
        out.setdefault(sum(pair), []).append(pair)
    return out


def _stacks(sizes: tuple[int, ...], target: float) -> list[tuple[int, ...]]:
    """The nearest stacks of each number of blocks."""
    found: list[tuple[int, ...]] = [min(((s,) for s in sizes), key=lambda s: abs(s[0] - target))]
    pairs, sums = _pairs(sizes)
    for rest in (0, 1, 2):
        found += _with_pairs(sizes, pairs, sums, target, rest)
    return found


@lru_cache(maxsize=4)
def _pairs(sizes: tuple[int, ...]) -> tuple[Whole, Whole]:
    """Every pair of blocks (n, 2) and its sum (n,), in order of the sums."""
    pairs = np.array(list(combinations(sizes, 2)))
    sums = pairs.sum(axis=1)
    order = np.argsort(sums, kind="stable")
    return pairs[order], sums[order]


def _with_pairs(
    sizes: tuple[int, ...], pairs: Whole, sums: Whole, target: float, rest: int
) -> list[tuple[int, ...]]:
    """The nearest stack of a pair and ``rest`` further blocks (none, one or a pair)."""
    if rest == 0:
        first, first_sums = np.zeros((1, 0), dtype=int), np.zeros(1, dtype=int)
    elif rest == 1:
        first = np.array(sizes)[:, None]
        first_sums = first[:, 0]
    else:
        first, first_sums = pairs, sums
    at = np.searchsorted(sums, target - first_sums)
    best: tuple[int, ...] | None = None
    off = np.inf
    # A few neighbours of the complement, since the nearest may share a block.
    for shift in range(-4, 4):
        index = np.clip(at + shift, 0, len(sums) - 1)
        second = pairs[index]
        shared = np.zeros(len(first), dtype=bool)
        for column in range(first.shape[1]):
            shared |= (second == first[:, [column]]).any(axis=1)
        error = np.where(shared, np.inf, np.abs(first_sums + sums[index] - target))
        place = int(np.argmin(error))
        if error[place] < off:
            off = float(error[place])
            best = (*map(int, first[place]), *map(int, second[place]))
    return [] if best is None else [best]
