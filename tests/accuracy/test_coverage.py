"""Intervals hold as often as they say, over simulated shops with a fixed seed.

Bounds are the long-run share, as ``python -m tests.accuracy.coverage`` finds it with many more
shops, less three standard deviations of a binomial: 3·√(p·(1 - p)/n), .05 at .93 and .03 at .98
for 200. Aim is .95; where settings scatter far more than the file says, three cuts come to .90.
"""

from __future__ import annotations

import pytest

from tests.accuracy.coverage import BOTH, LINES, THREE
from tests.accuracy.shops import count, held_out

SHOPS = 200
KINDS = {name: (make, cuts) for name, make, cuts in LINES}


@pytest.mark.parametrize(
    ("name", "least"),
    [
        ("honest, 1", 0.97),
        ("honest, 3", 0.96),
        ("honest, 3+3", 0.95),
        ("reading new each time, 3", 0.89),
        ("gain 1 %, 3+3", 0.95),
        ("scatter 3 times, 3", 0.83),
        ("scatter 3 times, 10", 0.90),
        ("errors 5 times, 3", 0.96),
        ("1 wrong of 3", 0.98),
        ("three cuts at one setting", 0.92),
        ("uneven 0.03°, 3+3", 0.92),
    ],
)
def test_a_later_cut_lies_within_what_was_stated(name: str, least: float) -> None:
    make, cuts = KINDS[name]
    found = count(make, cuts, (0.0, 12.0), SHOPS, seed=11)
    assert min(found.share(0.0), found.share(12.0)) >= least


def test_shops_no_choice_was_made_by() -> None:
    """.977 in the long run, and at least .94 is asked: √(.977·.023/600) = .006."""
    by_cuts = held_out(600, seed=12)
    inside, seen = (sum(part) for part in zip(*by_cuts.values(), strict=True))
    assert seen == 600
    assert inside / seen >= 0.94


def test_a_cut_called_good_enough_is() -> None:
    """Honest shops with six cuts: told so in .71, and then .98 come within what is needed."""
    found = count(KINDS["honest, 3+3"][0], BOTH, (0.0,), SHOPS, seed=13)
    assert 0.61 <= found.told / SHOPS <= 0.81
    assert found.told_right / found.told >= 0.94


@pytest.mark.parametrize("name", ["1 wrong of 1", "1 wrong of 3", "errors 5 times, 1"])
def test_what_contradicts_is_never_called_good_enough(name: str) -> None:
    make, cuts = KINDS[name]
    assert count(make, cuts, (0.0,), SHOPS, seed=14).told == 0


def test_a_gain_no_cut_has_tested_is_the_limit_of_the_method() -> None:
    """Five times what the file allows, seen at 0° only: covered there, and nowhere else."""
    make, _ = KINDS["gain 2.5 %, 3: unseen"]
    found = count(make, THREE, (0.0, 12.0), SHOPS, seed=15)
    assert found.share(0.0) >= 0.96
    assert found.share(12.0) <= 0.1
