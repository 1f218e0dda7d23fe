"""Gauge blocks: which to wring together for a height.

Knows numbers only.

A set is described by its series, so that another set is another table and no other code.
The metric set of 87 pieces is common practice in workshops (its make-up is written here
from memory of many catalogues; no standard fixes it): 1.001 to 1.009 by 0.001, 1.01 to
1.49 by 0.01, 0.5 to 9.5 by 0.5, 10 to 100 by 10.

Theory. At most four blocks are wrung together, which is what the set is made for: one each
for thousandths, hundredths, halves and tens. A stack of four is picked as it is at the bench
(common practice, no published source): the last digit is taken away first, then the next
ones. Sizes are counted in whole micrometres, so that no sum is rounded.

Which heights can be made at all is asked before a stack is looked for. The heights of k blocks
are the bits of one long whole number: a block more is that number shifted by the block's size,
and each block is taken once if the larger k are done first. So the nearest height that can be
made is the nearest bit, found without a search. That matters near 0° and above 110 mm, where
most heights cannot be made; to look through all pairs of pairs takes a hundred times as long.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from functools import lru_cache, reduce
from operator import or_

import attrs

__all__ = ["BLOCK_SETS", "Stack", "block_sizes", "block_stack"]

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
    if not known.sizes[0] / 2 <= target <= sum(known.sizes[-MOST_BLOCKS:]) + 1000.0:
        return None
    whole = known.nearest(target)
    blocks = known.stack(whole, known.fewest(whole))
    height = whole / 1000.0
    return Stack(tuple([b / 1000.0 for b in sorted(blocks)]), height, height - height_mm)


@attrs.frozen(eq=False)
class _Set:
    """One set, ready to be looked up; all in whole micrometres.

    of: for k = 0 to 4 blocks, bytes whose bit h says that k of them make h together. every: the
    same for any number of them, as one number.
    pairs: every pair by its sum, thinnest first. series: first, last, step, and the step of the
    next series (of the last one its own).
    """

    sizes: tuple[int, ...]
    of: tuple[bytes, ...]
    every: int
    pairs: dict[int, list[tuple[int, int]]]
    series: tuple[tuple[int, int, int, int], ...]

    def fewest(self, height: int) -> int:
        """The least number of blocks of that height; 0 where none make it."""
        return next((k for k in range(1, MOST_BLOCKS + 1) if self._make(k, height)), 0)

    def _make(self, many: int, height: int) -> bool:
        """Whether so many blocks make that height."""
        bits, place = self.of[many], height >> 3
        return 0 <= place < len(bits) and bool(bits[place] >> (height & 7) & 1)

    def nearest(self, target: float) -> int:
        """The height nearest to ``target`` that can be made; of two the one of fewer blocks."""
        whole = round(target)
        if self.fewest(whole):  # nothing comes nearer to a height than its own micrometre
            return whole
        below, above = self.every & ((1 << whole) - 1), self.every >> whole
        found = [below.bit_length() - 1] if below else []
        if above:
            found.append(whole + (above & -above).bit_length() - 1)
        return min(found, key=lambda h: (abs(h - target), self.fewest(h)))

    def stack(self, height: int, many: int) -> tuple[int, ...]:
        """So many blocks, of which there are some: as picked at the bench if four, else the
        thinnest first."""
        if many == 1:
            return (height,)
        if many == MOST_BLOCKS and (digits := self._by_digits(height)):
            return digits
        return next(self._thinnest_first(height, many, 0))

    def _thinnest_first(self, height: int, many: int, least: int) -> Iterator[tuple[int, ...]]:
        """Stacks of ``many`` blocks thicker than ``least``, two at least."""
        if many == 2:
            yield from (pair for pair in self.pairs.get(height, ()) if pair[0] > least)
            return
        for first in self.sizes:
            if first > least and self._make(many - 1, height - first):
                for rest in self._thinnest_first(height - first, many - 1, first):
                    yield (first, *rest)
            if first * many >= height:
                return

    def _by_digits(self, height: int) -> tuple[int, ...] | None:
        """A block of each series, finest first, each chosen to leave a whole number of the next
        series' steps; None where there are no such blocks."""
        taken = []
        for low, high, step, coarser in self.series[:-1]:
            size = low + (height - low) % coarser
            if size > high or (size - low) % step:
                return None
            taken.append(size)
            height -= size
        low, high, step, _ = self.series[-1]
        if not low <= height <= high or (height - low) % step:
            return None
        return (*taken, height)


@lru_cache(maxsize=4)
def _set(name: str) -> _Set:
    sizes, series = block_sizes(name), BLOCK_SETS[name]
    heights = [1, *[0] * MOST_BLOCKS]
    for size in sizes:
        for many in range(MOST_BLOCKS, 0, -1):
            heights[many] |= heights[many - 1] << size
    pairs: dict[int, list[tuple[int, int]]] = {}
    for pair in itertools.combinations(sizes, 2):
        pairs.setdefault(sum(pair), []).append(pair)
    coarser = [after[2] for after in series[1:]] + [series[-1][2]]
    steps = tuple((*one, step) for one, step in zip(series, coarser, strict=True))
    length = heights[MOST_BLOCKS].bit_length() // 8 + 1
    of = tuple(h.to_bytes(length, "little") for h in heights)
    return _Set(sizes, of, reduce(or_, heights[1:]), pairs, steps)
