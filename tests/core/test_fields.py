"""Fields and the reader: every kind of bad value is refused by name, with what is allowed."""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Any

import attrs
import numpy as np
import pytest

from jointgeo.errors import InputError, JobError, Problem, shown
from jointgeo.schema.fields import angle, choice, count, describe, flag, length, number, plain, text
from jointgeo.schema.tables import read


@attrs.frozen
class Shelf:
    wide_mm: float = length("How wide", above=0, high=2000)
    lean_deg: float = angle("How it leans", low=-30, high=30, default=0.0)
    share: float = number("1", "Share of something", low=0, high=1, default=0.5)
    boards: int = count("How many", low=1, high=12, default=3)
    wood: str = choice("What wood", ("oak", "ash"), default="oak")
    oiled: bool = flag("Whether it is oiled", default=False)
    label: str = text("What is written on it", most=10, default="shelf")

    def __attrs_post_init__(self) -> None:
        if self.wide_mm > 1000 and self.boards < 2:
            raise InputError(Problem("boards", "are too few", f"{self.boards}", "2 or more", "1"))


@attrs.frozen
class Room:
    name: str = text("Name")
    best: Shelf = attrs.field(kw_only=True)
    others: tuple[Shelf, ...] = attrs.field(kw_only=True, default=())
    spare: Shelf | None = attrs.field(kw_only=True, default=None)


def problems(cls: type, data: Any) -> dict[str, Problem]:
    with pytest.raises(InputError) as caught:
        read(cls, data)
    found = {p.field: p for p in caught.value.problems}
    assert len(found) == len(caught.value.problems)
    return found


HUGE = 10**400
WIDTH = "a number greater than 0 mm and at most 2000 mm"
BOARDS = "a whole number at least 1 and at most 12"

BAD = [
    ("wide_mm", True, WIDTH),
    ("wide_mm", False, WIDTH),
    ("wide_mm", "1.5", WIDTH),
    ("wide_mm", "", WIDTH),
    ("wide_mm", None, WIDTH),
    ("wide_mm", [300], WIDTH),
    ("wide_mm", {"mm": 300}, WIDTH),
    ("wide_mm", math.nan, WIDTH),
    ("wide_mm", math.inf, WIDTH),
    ("wide_mm", -math.inf, WIDTH),
    ("wide_mm", HUGE, WIDTH),
    ("wide_mm", -HUGE, WIDTH),
    ("wide_mm", 10**5000, WIDTH),
    ("wide_mm", 0, WIDTH),
    ("wide_mm", 0.0, WIDTH),
    ("wide_mm", -0.0, WIDTH),
    ("wide_mm", -1, WIDTH),
    ("wide_mm", math.nextafter(2000.0, math.inf), WIDTH),
    ("wide_mm", 2000.0001, WIDTH),
    ("wide_mm", 1j, WIDTH),
    ("lean_deg", 30.0001, "a number at least -30 deg and at most 30 deg"),
    ("lean_deg", np.float64("nan"), "a number at least -30 deg and at most 30 deg"),
    ("share", 1.0001, "a number at least 0 and at most 1"),
    ("boards", 2.5, BOARDS),
    ("boards", "3", BOARDS),
    ("boards", True, BOARDS),
    ("boards", math.nan, BOARDS),
    ("boards", math.inf, BOARDS),
    ("boards", 1e300, BOARDS),
    ("boards", HUGE, BOARDS),
    ("boards", 0, BOARDS),
    ("boards", 13, BOARDS),
    ("wood", "teak", 'one of "oak", "ash"'),
    ("wood", "OAK", 'one of "oak", "ash"'),
    ("wood", 1, 'one of "oak", "ash"'),
    ("wood", ["oak"], 'one of "oak", "ash"'),
    ("oiled", 1, "true or false"),
    ("oiled", 0, "true or false"),
    ("oiled", "true", "true or false"),
    ("oiled", None, "true or false"),
    ("label", "", "text of 1 to 10 characters on one line"),
    ("label", "x" * 11, "text of 1 to 10 characters on one line"),
    ("label", "two\nline", "text of 1 to 10 characters on one line"),
    ("label", "tab\t", "text of 1 to 10 characters on one line"),
    ("label", "\ud800", "text of 1 to 10 characters on one line"),
    ("label", "esc\x1b[31m", "text of 1 to 10 characters on one line"),
    ("label", 5, "text of 1 to 10 characters on one line"),
    ("label", b"shelf", "text of 1 to 10 characters on one line"),
]


@pytest.mark.parametrize(
    ("field", "value", "allowed"), BAD, ids=[f"{f}-{shown(v, 20)!a}" for f, v, _ in BAD]
)
def test_a_bad_value_is_named_with_what_is_allowed(field, value, allowed) -> None:
    """The same whether it comes from a file or straight from Python."""
    data = {"wide_mm": 300, field: value}
    (problem,) = problems(Shelf, data).values()
    assert problem.field == field
    assert problem.given == shown(value)
    assert problem.allowed == allowed
    assert problem.message
    with pytest.raises(InputError) as caught:
        Shelf(**data)
    assert caught.value.problems == (problem,)
    line = str(caught.value)
    for part in (field, problem.given, allowed):
        assert part in line
    assert line.isprintable()


@pytest.mark.parametrize(
    ("field", "value", "kept"),
    [
        ("wide_mm", 300, 300.0),
        ("wide_mm", 2000, 2000.0),
        ("wide_mm", 5e-324, 5e-324),
        ("wide_mm", np.float32(0.5), 0.5),
        ("wide_mm", np.int64(7), 7.0),
        ("wide_mm", Fraction(1, 4), 0.25),
        ("lean_deg", -30, -30.0),
        ("boards", 3.0, 3),
        ("boards", np.int32(12), 12),
        ("oiled", True, True),
        ("label", "Ärmel 3/4", "Ärmel 3/4"),
    ],
)
def test_a_good_value_is_kept(field, value, kept) -> None:
    found = getattr(read(Shelf, {"wide_mm": 300, field: value}), field)
    assert found == kept
    assert type(found) is type(kept)


def test_every_mistake_is_named_at_once() -> None:
    found = problems(
        Room,
        {
            "nane": "hall",
            "best": {"wide_mm": 300, "lean_rad": 0.1, "boards": 0},
            "others": [{"wide_mm": 1}, {"wide_mm": "wide"}, 7],
            "spare": [],
        },
    )
    assert set(found) == {
        "name",
        "nane",
        "best.lean_rad",
        "best.boards",
        "others[1].wide_mm",
        "others[2]",
        "spare",
    }


def test_a_missing_key_says_what_belongs_there() -> None:
    found = problems(Room, {"best": {}})
    assert found["name"].allowed == "text of 1 to 80 characters on one line"
    assert found["best.wide_mm"].allowed == WIDTH
    assert found["best.wide_mm"].unit == "mm"
    assert "missing" in found["best.wide_mm"].message
    assert problems(Room, {"name": "hall"})["best"].allowed == "a table"


def test_an_unknown_key_is_given_the_known_ones() -> None:
    problem = problems(Shelf, {"wide_mm": 1, "shelves": 2})["shelves"]
    assert problem.given == "2"
    for name in ("wide_mm", "wide_in", "lean_deg", "boards", "wood", "oiled", "label", "share"):
        assert name in problem.allowed


@pytest.mark.parametrize(
    ("wrong", "right"),
    [("wide_cm", "wide_mm"), ("wide_m", "wide_mm"), ("lean_rad", "lean_deg"), ("wide", None)],
)
def test_another_unit_is_one_mistake_that_names_the_right_one(wrong, right) -> None:
    data = {wrong: 0.25} if wrong.startswith("wide_") else {"wide_mm": 300, wrong: 0.25}
    found = problems(Shelf, data)
    assert set(found) == {wrong}
    if right is not None:
        assert right in found[wrong].allowed
        assert "unit" in found[wrong].message


@pytest.mark.parametrize("data", [None, 5, "text", [], [1], True, math.nan, {1, 2}])
def test_what_is_no_table_is_refused(data) -> None:
    (problem,) = problems(Shelf, data).values()
    assert problem.allowed == "a table"
    assert not str(problem).startswith(":")


@pytest.mark.parametrize("given", [{"wide_mm": 1}, 5, "abc", None])
def test_what_is_no_list_of_tables_is_refused(given) -> None:
    found = problems(Room, {"name": "hall", "best": {"wide_mm": 1}, "others": given})
    assert found["others"].allowed == "a list of tables"


def test_keys_that_are_no_names_are_shown_on_one_line() -> None:
    with pytest.raises(InputError) as caught:
        read(Shelf, {"wide_mm": 1, "two\nlines\x1b[31m": 2, 7: 3, None: 4, "x" * 500: 5})
    assert len(caught.value.problems) == 4
    for line in str(caught.value).split("\n"):
        assert line.isprintable()
        assert "is not a known name" in line


@pytest.mark.parametrize(
    ("given", "millimetres"), [(10, 254.0), ("2 1/2", 63.5), (0.5, 12.7), ("78.5", 1993.9)]
)
def test_a_length_may_be_given_in_inches(given, millimetres) -> None:
    assert read(Shelf, {"wide_in": given}).wide_mm == pytest.approx(millimetres, abs=1e-9)


def test_a_length_given_twice_is_refused() -> None:
    (problem,) = problems(Shelf, {"wide_in": 10, "wide_mm": 254}).values()
    assert "wide_in" in problem.message
    assert "wide_mm" in problem.message
    assert problem.allowed == "one of the two"


@pytest.mark.parametrize(
    "given", ["2,5", "wide", True, None, [1], math.nan, HUGE, 10**5000], ids=lambda v: shown(v, 20)
)
def test_what_is_no_length_in_inches_is_refused(given) -> None:
    (problem,) = problems(Shelf, {"wide_in": given}).values()
    assert problem.field == "wide_in"
    assert problem.unit == "in"
    assert "2 1/2" in problem.allowed


@pytest.mark.parametrize("given", [0, -1, 79, "90 1/2"])
def test_inches_out_of_range_say_so_in_inches(given) -> None:
    """2000 mm / 25.4 = 78.7402 in, at most three decimals and never past the limit."""
    (problem,) = problems(Shelf, {"wide_in": given}).values()
    assert problem.field == "wide_in"
    assert problem.given == f"{given} in"
    assert problem.allowed == "a number greater than 0 in and at most 78.74 in"
    assert problem.unit == "in"


def test_only_lengths_have_inches() -> None:
    assert set(problems(Shelf, {"wide_mm": 1, "lean_in": 2})) == {"lean_in"}
    names = {info.name: info.inches_name for info in describe(Shelf)}
    assert names["wide_mm"] == "wide_in"
    assert {k for k, v in names.items() if v} == {"wide_mm"}


def test_a_rule_between_fields_is_told_like_any_other() -> None:
    found = problems(Room, {"name": "hall", "best": {"wide_mm": 1500, "boards": 1}})
    assert found["best.boards"].allowed == "2 or more"


def test_the_callers_kind_of_error_is_raised() -> None:
    with pytest.raises(JobError):
        read(Shelf, {"wide_mm": 1500, "boards": 1}, JobError)
    with pytest.raises(JobError):
        read(Shelf, {}, JobError)


def test_an_error_is_put_under_a_prefix_with_its_source() -> None:
    with pytest.raises(InputError) as caught:
        read(Shelf, {"wide_mm": -1})
    moved = caught.value.under("joint[2].parameters", "bench.toml")
    assert moved.problems[0].field == "joint[2].parameters.wide_mm"
    assert str(moved).startswith("bench.toml: joint[2].parameters.wide_mm: ")


def test_plain_data_is_read_back_unchanged() -> None:
    shelf = Shelf(wide_mm=10 / 3, lean_deg=-0.1, boards=7, wood="ash", oiled=True, label="Ä")
    assert read(Shelf, plain(shelf)) == shelf


def test_a_field_says_what_it_is() -> None:
    info = {i.name: i for i in describe(Shelf)}
    assert (info["wide_mm"].unit, info["wide_mm"].required) == ("mm", True)
    assert (info["boards"].kind, info["boards"].default) == ("integer", 3)
    assert info["wood"].choices == ("oak", "ash")
    assert all(i.help for i in info.values())


def test_a_value_is_shown_short_and_safe() -> None:
    loop: list[Any] = []
    loop.append(loop)
    for value in ("x" * 500, "a\nb", 10**5000, loop, "\x1b[31m", "\ud800"):
        line = shown(value)
        assert len(line) <= 60
        assert line.isprintable()


def test_what_lies_at_the_very_bounds_is_taken() -> None:
    """The least float above 0, and 2000 itself; a field without bounds takes every finite float."""
    for wide in (5e-324, 2000.0):
        assert read(Shelf, {"wide_mm": wide}).wide_mm == Shelf(wide_mm=wide).wide_mm == wide

    @attrs.frozen
    class Free:
        at: float = number("1", "Anywhere")

    for at in (1.7976931348623157e308, -1.7976931348623157e308, -0.0):
        assert read(Free, {"at": at}).at == Free(at=at).at == at
    for at in (math.inf, -math.inf, math.nan):
        assert problems(Free, {"at": at}).keys() == {"at"}
        with pytest.raises(InputError, match="is not a finite number"):
            Free(at=at)
