"""Stretches against the same questions asked place by place."""

from __future__ import annotations

import numpy as np
import pytest

from jointgeo.geometry.stretches import Stretch, both, either, where_at_least


def some(rng: np.random.Generator) -> tuple[Stretch, ...]:
    ends = np.sort(rng.uniform(0, 10, size=2 * int(rng.integers(0, 4)))).tolist()
    return tuple(Stretch(a, b) for a, b in zip(ends[::2], ends[1::2], strict=True))


def holds(stretches: tuple[Stretch, ...], x: float) -> bool:
    return any(s.low <= x <= s.high for s in stretches)


@pytest.mark.parametrize("seed", range(20))
def test_both_and_either_at_many_places(seed: int) -> None:
    rng = np.random.default_rng(seed)
    one, two = some(rng), some(rng)
    together, any_of = both(one, two), either((*one, *two))
    for x in map(float, rng.uniform(0, 10, size=200)):
        assert holds(together, x) == (holds(one, x) and holds(two, x))
        assert holds(any_of, x) == (holds(one, x) or holds(two, x))
    for found in (together, any_of):
        assert [s.low for s in found] == sorted(s.low for s in found)


def test_how_a_beginning_was_found_goes_with_it() -> None:
    read, closed = Stretch(1, 5), Stretch(2, 6, exact=False)
    assert both([read], [closed]) == (Stretch(2, 5, exact=False),)
    assert both([closed], [Stretch(3, 9)]) == (Stretch(3, 6),)
    assert either([closed, read]) == (Stretch(1, 6),)


def test_two_that_miss_each_other_by_rounding_touch() -> None:
    assert both([Stretch(0, 1)], [Stretch(1 + 1e-12, 2)]) == (Stretch(1 + 1e-12, 1 + 1e-12),)
    assert both([Stretch(0, 1)], [Stretch(1.001, 2)]) == ()


@pytest.mark.parametrize("wide", [1e-5, 0.01, 1.0, 40.0])
def test_a_dip_of_any_width_is_found_with_both_its_ends(wide: float) -> None:
    """Steep to one side and less so to the other, or a parabola: below 2 over a known width. Ends
    to 1e-9 of the 60 looked over, which takes more than single steps of either function."""
    for middle in np.linspace(1.0, 59.0, 23).tolist():
        low, high = middle - wide / 3, middle + 2 * wide / 3
        for convex in (
            lambda x, m=middle: 2 - 1e-3 + 1e-3 * max((m - x) * 3 / wide, (x - m) * 1.5 / wide),
            lambda x, a=low, b=high: 2 + (x - a) * (x - b),
        ):
            found = where_at_least(convex, 2.0, 60.0)
            ends = [(s.low, s.high) for s in found]
            parts = [p for p in ((0.0, low), (high, 60.0)) if p[0] <= p[1]]
            assert np.allclose(ends, parts, rtol=0, atol=6e-8), (middle, ends, parts)
            assert [s.exact for s in found] == [p[0] == 0.0 for p in parts]


def test_where_there_is_no_dip_all_of_it_is_enough() -> None:
    whole = (Stretch(0.0, 60.0),)
    assert where_at_least(lambda _: 2.0, 2.0, 60.0) == whole
    assert where_at_least(lambda x: 2 + 1e-9 + abs(x - 31.4), 2.0, 60.0) == whole
    assert where_at_least(lambda x: 2 + abs(x - 31.4), 2.0, 60.0) == whole
    assert where_at_least(lambda x: 2 + x, 2.0, 60.0) == whole
    assert where_at_least(lambda x: 1 - x, 2.0, 60.0) == ()
