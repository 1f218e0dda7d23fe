"""Inches in, common fractions out, degrees and minutes. An inch is 25.4 mm, exactly."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest

from jointgeo.schema.units import decimals_apart, degrees_minutes, nearest_fraction, read_inches

EXACT_MM = 1e-12


@pytest.mark.parametrize(
    ("given", "millimetres"),
    [
        (1, 25.4),
        (0, 0.0),
        (2.5, 63.5),
        (-0.25, -6.35),
        (Fraction(1, 8), 3.175),
        ("2 1/2", 63.5),
        ("2-1/2", 63.5),
        ("2  1/2", 63.5),
        ("1/2", 12.7),
        ("1 / 2", 12.7),
        ("2.5", 63.5),
        ("12", 304.8),
        ("+3/4", 19.05),
        ("-3/4", -19.05),
        ("-2 1/2", -63.5),
        ("- 2-1/2", -63.5),
        (' 2 1/2 " ', 63.5),
        ("2 1/2 in", 63.5),
        ("2 1/2in", 63.5),
        ("7/64", 2.778125),
        ("0", 0.0),
    ],
)
def test_forms_of_an_inch(given, millimetres) -> None:
    assert read_inches(given) == pytest.approx(millimetres, abs=EXACT_MM)


@pytest.mark.parametrize(
    "given",
    [
        "",
        " ",
        "two",
        "1/0",
        "1 1/0",
        "1/",
        "/2",
        "1//2",
        "1 2",
        "1.5/2",
        "2 1.5",
        "1e3",
        "nan",
        "inf",
        "2,5",
        "2 1/2 mm",
        "2 1/2 in in",
        "--2",
        "1/-2",
        "２ １/２",
        "½",
        "1" * 10,
        "2 1/2\n3",
        math.nan,
        math.inf,
        -math.inf,
        10**400,
        -(10**5000),
        True,
        False,
        None,
        [1],
        {"in": 1},
        b"1/2",
        1 + 2j,
    ],
    ids=lambda v: repr(v) if not isinstance(v, int) or abs(v) < 9 else "a huge whole number",
)
def test_what_is_no_length_in_inches_says_what_is(given) -> None:
    with pytest.raises(ValueError, match="inch") as caught:
        read_inches(given)
    assert type(caught.value) is ValueError


@pytest.mark.parametrize(
    ("millimetres", "printed"),
    [
        (63.5, "2 1/2 in"),
        (25.4, "1 in"),
        (0.0, "0 in"),
        (12.7, "1/2 in"),
        (3.175, "1/8 in"),
        (0.396875, "1/64 in"),
        (-6.35, "-1/4 in"),
        (-50.8, "-2 in"),
        (0.15, "0.006 in"),  # 0.15 / 25.4 = 0.0059: below 1/64 a decimal
        (-0.15, "-0.006 in"),
        (0.3968, "0.016 in"),  # a hair under 1/64
        (0.012, "0 in"),  # less than half of 0.001
        (0.595, "1/64 in"),  # a hair under 1.5 / 64
        (0.596, "1/32 in"),
        (25.3, "1 in"),  # 63.75 / 64 carries over
        (100.0, "3 15/16 in"),  # 251.97 / 64 = 252 / 64
    ],
)
def test_the_nearest_sixty_fourth_by_hand(millimetres, printed) -> None:
    assert nearest_fraction(millimetres) == printed


def test_a_fraction_is_read_back_within_half_of_a_sixty_fourth(rng) -> None:
    for length in rng.uniform(-3000, 3000, size=300):
        off = abs(read_inches(nearest_fraction(length)) - length)
        assert off <= 25.4 / 128 + EXACT_MM * 1000


def test_other_denominators() -> None:
    assert nearest_fraction(20.0, denominator=16) == "13/16 in"  # 12.598 / 16
    assert nearest_fraction(20.0, denominator=8) == "3/4 in"  # 6.299 / 8


@pytest.mark.parametrize(
    ("angle", "printed"),
    [
        (0.0, "0°00.0′"),
        (7.8274, "7°49.6′"),  # 0.8274 · 60 = 49.644
        (-7.8274, "-7°49.6′"),
        (0.5, "0°30.0′"),
        (-0.5, "-0°30.0′"),
        (53.198833, "53°11.9′"),
        (9.9999, "10°00.0′"),  # 59.994 carries over
        (-9.9999, "-10°00.0′"),
        (0.0001, "0°00.0′"),
        (-0.0001, "0°00.0′"),
        (15 + 5.25 / 60, "15°05.3′"),
    ],
)
def test_degrees_and_minutes_by_hand(angle, printed) -> None:
    assert degrees_minutes(angle) == printed


@pytest.mark.parametrize(
    ("value", "limit", "decimals"),
    [
        (1.0, 2.0, 2),
        (0.15, 0.15, 2),  # equal: more digits tell nothing
        (0.152, 0.15, 3),
        (0.1451, 0.1449, 4),  # they print otherwise, and what lies between them as 0.00
        (0.15000001, 0.15, 5),  # no more than three digits more
    ],
)
def test_decimals_that_tell_apart(value: float, limit: float, decimals: int) -> None:
    assert decimals_apart(value, limit, 2) == decimals
