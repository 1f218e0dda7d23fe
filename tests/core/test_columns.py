"""Columns: a question is answered for all rows, or the batch parts; and nothing is lost in text."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from jointgeo.geometry.arith import least, place_of_least, snapped, where
from jointgeo.geometry.columns import Column, Each, Parted, each, fixed, texts


@pytest.fixture
def column() -> Any:
    return Column.of([1.0, 2.0, 3.0])


def test_a_question_is_answered_for_all_rows(column: Any) -> None:
    assert column > 0
    assert not column > 5
    assert 0 < column < 4
    assert min([5.0, column, 7.0]) is column
    assert sorted([7.0, column, 0.0], key=lambda v: v)[1] is column


def test_a_batch_parts_where_its_rows_do(column: Any) -> None:
    with pytest.raises(Parted) as parted:
        bool(column > 1.5)
    assert parted.value.mask.tolist() == [False, True, True]
    with pytest.raises(Parted) as parted:
        min([2.5, column])
    assert parted.value.mask.tolist() == [True, True, False]


def test_arithmetic_of_a_column_is_a_column(column: Any) -> None:
    for made in (
        column + 1,
        1 / column,
        -column,
        abs(column),
        round(column, 1),
        snapped(column),
        np.sin(column),
        where(column > 2, column, 0.0),
        least([column, 2.0]),
        place_of_least([column, 2.0]),
        divmod(column, 2)[1],
    ):
        assert type(made) is Column


def test_a_column_is_no_single_number(column: Any) -> None:
    for single in (
        float,
        int,
        math.sin,
        math.floor,
        hash,
        lambda c: {c: 1},
        lambda c: [1, 2, 3, 4][c],
    ):
        with pytest.raises(TypeError):
            single(column)


def test_the_greatest_of_a_column_is_one(column: Any) -> None:
    assert float(column.max()) == 3.0
    assert int(column.max()) == 3


def test_rounded_as_every_number_alone() -> None:
    """Where numpy's own rounding goes the other way."""
    values = [0.285, 1.005, 2.675, 0.5, 1.5, -0.285, 12.345]
    assert round(Column.of(values), 2).tolist() == [round(v, 2) for v in values]
    assert (np.round(values, 2) != [round(v, 2) for v in values]).any()


def test_a_text_says_of_each_row_what_it_would_say_alone(column: Any) -> None:
    other = Each(["a", "b", "c"])
    with texts() as said:
        whole = f"turn {column:.2f}° by {other}, {column}%"
        pieces = said.pieces(whole)
    rows = ["".join(p if isinstance(p, str) else p[i] for p in pieces) for i in range(3)]
    assert rows == ["turn 1.00° by a, 1.0%", "turn 2.00° by b, 2.0%", "turn 3.00° by c, 3.0%"]


def test_a_text_that_nobody_keeps_is_refused(column: Any) -> None:
    with pytest.raises(TypeError, match="nobody keeps"):
        f"{column:.2f}"


def test_a_function_of_single_values_row_by_row(column: Any) -> None:
    assert each(divmod, 7, 2) == (3, 1)
    doubled = each(lambda v: 2 * v, column)
    assert type(doubled) is Column
    assert doubled.tolist() == [2.0, 4.0, 6.0]
    worded = each(lambda v, w: f"{w}{v:g}", column, "no. ")
    assert type(worded) is Each
    assert worded == ["no. 1", "no. 2", "no. 3"]
    assert each(len, worded).tolist() == [5, 5, 5]
    assert each(lambda _: None, column) is None
    with pytest.raises(Parted) as parted:
        each(lambda v: None if v < 2 else v, column)
    assert parted.value.mask.tolist() == [True, False, False]


def test_what_is_fixed_is_one_value(column: Any) -> None:
    assert fixed(7) == 7
    assert fixed(Column.of([4, 4])) == 4
    assert type(fixed(Column.of([4, 4]))) is int
    with pytest.raises(Parted) as parted:
        fixed(column)
    assert parted.value.mask.tolist() == [True, False, False]
