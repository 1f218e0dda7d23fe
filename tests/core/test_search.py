"""The search for the greatest value that still holds, and the plain arithmetic of a check."""

from __future__ import annotations

import math

import pytest

from jointgeo.geometry.search import greatest
from jointgeo.joints.check import Check, at_least, at_most, worst


@pytest.mark.parametrize("limit", [0.1, 1.0, math.pi, 99.999999])
def test_the_greatest_value_is_found_from_the_side_that_holds(limit) -> None:
    found = greatest(lambda x: limit**3 - x**3, 0.0, 100.0)
    assert found is not None
    assert limit**3 - found**3 >= 0
    # What is left of the bracket of 100 is rounding, 1e-14.
    assert found == pytest.approx(limit, rel=1e-12)


def test_where_all_of_it_holds_or_none_does() -> None:
    assert greatest(lambda _: 1.0, 2.0, 5.0) == 5.0
    assert greatest(lambda x: 5.0 - x, 2.0, 5.0) == 5.0
    assert greatest(lambda _: -1.0, 2.0, 5.0) is None
    assert greatest(lambda x: 2.0 - x, 2.0, 5.0) == 2.0


@pytest.mark.parametrize(
    ("room", "limit", "most"),
    [
        (lambda x: 40.0 - 288.0 * math.sin(x) - 60.0 * (math.cos(x) - 1.0), 0.14144, 12),
        (lambda x: min(3.0, 40.0 - 51.0 * x), 40 / 51, 12),
        (lambda x: math.inf if x < 0.7 else 1.0 - x, 1.0, 70),
        (lambda x: 1.0 if x <= 0.7 else -1e-9, 0.7, 70),
        (lambda x: math.inf if x <= 0.7 else -math.inf, 0.7, 70),
        (lambda x: -x, 0.0, 70),
    ],
    ids=["a swing", "bent", "unlimited at first", "a jump", "a jump without end", "at the start"],
)
def test_a_limit_takes_few_tries_and_a_jump_not_many_more_than_halving(room, limit, most) -> None:
    """The swing: 288 sin x + 60 cos x = 100 at x = asin(100 / 294.18) - atan(60 / 288) = 0.14144.

    A double has 53 binary digits, so halving takes as many tries.
    """
    tried: list[float] = []

    def watched(x: float) -> float:
        tried.append(x)
        return float(room(x))

    found = greatest(watched, 0.0, 1.5)
    assert found is not None
    assert found == pytest.approx(limit, abs=5e-6)  # as many digits as were worked out by hand
    assert room(found) >= 0
    assert room(found + 1e-12) < 0
    assert len(tried) <= most


@pytest.mark.parametrize(
    ("value", "status"), [(4.0, "pass"), (5.0, "pass"), (5 + 1e-12, "pass"), (5 + 1e-6, "fail")]
)
def test_a_limit_from_above(value, status) -> None:
    """Rounding is no finding: 1e-9 mm or degree is far below any setting."""
    check = at_most("x", value, 5.0, "mm", "because")
    assert check.status == status
    assert check.margin == pytest.approx(5.0 - value, abs=1e-15)


@pytest.mark.parametrize(
    ("value", "status"), [(6.0, "pass"), (5.0, "pass"), (5 - 1e-12, "pass"), (5 - 1e-6, "caution")]
)
def test_a_limit_from_below(value, status) -> None:
    check = at_least("x", value, 5.0, "mm", "because", short="caution")
    assert check.status == status
    assert check.margin == pytest.approx(value - 5.0, abs=1e-15)


def test_the_worst_of_all() -> None:
    good = at_most("a", 1, 2, "mm", "because")
    so_so = at_most("b", 3, 2, "mm", "because", short="caution")
    bad = at_most("c", 3, 2, "mm", "because")
    assert worst(()) == "pass"
    assert worst((good, good)) == "pass"
    assert worst((good, so_so)) == "caution"
    assert worst((so_so, bad, good)) == "fail"


def test_a_check_as_plain_data() -> None:
    data = at_most("a", 1, 2, "mm", "because").as_dict()
    assert data == {
        "name": "a",
        "value": 1.0,
        "limit": 2.0,
        "margin": 1.0,
        "unit": "mm",
        "status": "pass",
        "because": "because",
        "remedies": [],
        "part": "",
    }
    numbered = Check("a", 1, 2, 1, "mm", "pass", "because", part="leg", setup=2).as_dict()
    assert (numbered["part"], numbered["setup"]) == ("leg", 2)
