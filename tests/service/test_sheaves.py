"""Rows of a sheaf as JSON: what each would be alone, or refused before the first is written."""

from __future__ import annotations

import json
from typing import Any

import numpy as np
import pytest

from jointgeo.geometry.columns import Column, Each, Ranked, Texts, texts
from jointgeo_service.sheaves import ROWS, written


def rows(answer: Any, said: Texts, count: int) -> list[Any]:
    return [json.loads(row) for row in written(answer, said, count)]


def test_each_row_has_its_own_numbers_texts_and_lists() -> None:
    count = 2 * ROWS + 3
    angle, size = Column.of([i / 7 for i in range(count)]), Column.of(list(range(count)))
    lists = Each([[i, i + 0.5] for i in range(count)])
    with texts() as said:
        answer = {
            'a "name"': f'{angle:.2f}° of 100% "so"\n',
            "b": [angle, size, lists, None, True, angle > 5, "7 %s"],
            "c": {},
            "d": Each([f"{i} 1/2 in" for i in range(count)]),
        }
        found = rows(answer, said, count)
    assert found == [
        {
            'a "name"': f'{i / 7:.2f}° of 100% "so"\n',
            "b": [i / 7, i, [i, i + 0.5], None, True, i / 7 > 5, "7 %s"],
            "c": {},
            "d": f"{i} 1/2 in",
        }
        for i in range(count)
    ]


def test_tables_come_in_each_rows_own_order() -> None:
    near = Column.of([3.0, 1.0, 2.0])
    tables = [{"name": "near", "by": near}, {"name": "two"}, {"name": "last"}]
    found = rows(Ranked(tables, [(0, near), (0, 2.0), (1, 0.0)]), Texts(), 3)
    assert [[t["name"] for t in row] for row in found] == [
        ["two", "near", "last"],
        ["near", "two", "last"],
        ["near", "two", "last"],
    ]
    assert found[0][1]["by"] == 3.0


def test_what_all_rows_share_may_be_a_strangers_data() -> None:
    answer = {"n": np.float64(0.5), "half a pair": "\ud800", "own": Column.of([1.0, 2.0])}
    assert rows(answer, Texts(), 2) == [
        {"n": 0.5, "half a pair": "\ud800", "own": own} for own in (1.0, 2.0)
    ]


@pytest.mark.parametrize(
    "bad",
    [
        Column.of([1.0, np.nan]),
        Column.of([1.0, 2.0, 3.0]),
        Column.of([1.0, 2.0]).max(),
        Column.of([1.0, None]),
        Each([[1.0], [np.inf]]),
        Each([1.0]),
        np.inf,
        object(),
    ],
)
def test_what_cannot_be_written_is_refused_before_the_first_row(bad: Any) -> None:
    with pytest.raises((ValueError, TypeError)):
        written({"a": [Column.of([1.0, 2.0]), bad]}, Texts(), 2)
