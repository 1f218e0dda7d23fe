"""Gauge blocks: the set's make-up, and stacks against exhaustive search on a small set."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from jointgeo.setting_aids.gauge_blocks import BLOCK_SETS, block_sizes, block_stack


def test_the_metric_set_has_its_87_pieces() -> None:
    """9 + 49 + 19 + 10 pieces (common practice, no published source), none twice."""
    sizes = block_sizes("metric_87")
    assert len(sizes) == len(set(sizes)) == 87
    assert (sizes[0], sizes[-1]) == (500, 100_000)


def test_every_thousandth_from_2_to_110_mm_can_be_stacked(rng: np.random.Generator) -> None:
    """What the set is made for: sizes on a whole micrometre come out exactly, with no block
    twice. A sample of 400, since all 108000 would take minutes."""
    for size in rng.integers(2_000, 110_000, 400).tolist():
        stack = block_stack(size / 1000)
        assert stack is not None
        assert stack.error_mm == pytest.approx(0.0, abs=1e-9), size
        assert sum(stack.blocks_mm) == pytest.approx(size / 1000, abs=1e-9)
        assert len(stack.blocks_mm) == len(set(stack.blocks_mm)) <= 4


def test_in_between_sizes_are_off_by_half_a_micrometre_at_most(rng: np.random.Generator) -> None:
    for size in rng.uniform(2.0, 110.0, 200).tolist():
        stack = block_stack(size)
        assert stack is not None
        assert abs(stack.error_mm) <= 0.0005 + 1e-9


def test_stacks_are_the_nearest_there_are(
    monkeypatch: pytest.MonkeyPatch, rng: np.random.Generator
) -> None:
    """A set of 14 made-up blocks, against every stack of up to four of them: none is nearer, and
    none as near has fewer blocks."""
    monkeypatch.setitem(
        BLOCK_SETS, "few", ((1003, 1009, 3), (1100, 1400, 100), (2000, 14000, 2000))
    )
    sizes = block_sizes("few")
    stacks = [c for n in (1, 2, 3, 4) for c in combinations(sizes, n)]
    for target in rng.uniform(1.0, 40.0, 200).tolist():
        stack = block_stack(target, "few")
        assert stack is not None
        off, few = min((abs(sum(c) - 1000 * target), len(c)) for c in stacks)
        assert abs(stack.error_mm) == pytest.approx(off / 1000, abs=1e-9)
        assert len(stack.blocks_mm) == few


def test_fewest_blocks_of_equally_good_ones() -> None:
    assert block_stack(10.0) is not None
    stack = block_stack(10.0)
    assert stack is not None
    assert stack.blocks_mm == (10.0,)


@pytest.mark.parametrize("height", [0.1, 420.0])
def test_nothing_for_heights_out_of_reach(height: float) -> None:
    """Four thickest: 100 + 90 + 80 + 70 = 340 mm; thinnest 0.5 mm."""
    assert block_stack(height) is None
