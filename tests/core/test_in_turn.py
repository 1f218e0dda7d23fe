"""A row whose members are made one after another, and only as far as somebody asks."""

from __future__ import annotations

import pytest

from jointgeo.planning.in_turn import InTurn


@pytest.fixture
def row() -> tuple[InTurn[list[int]], list[int]]:
    """Four members, each a list of how long those before it are; and which were made, in order."""
    made: list[int] = []

    def make(before: tuple[list[int], ...]) -> list[int]:
        made.append(len(before))
        return [len(one) for one in before]

    return InTurn(4, make), made


def test_no_more_is_made_than_is_asked_for(row: tuple[InTurn[list[int]], list[int]]) -> None:
    members, made = row
    assert (len(members), made) == (4, [])
    assert members[1] == [0]
    assert made == [0, 1]
    assert members[0] == []
    assert made == [0, 1]
    assert members[-1] == [0, 1, 2]
    assert made == [0, 1, 2, 3]


def test_each_is_made_once_and_kept(row: tuple[InTurn[list[int]], list[int]]) -> None:
    members, made = row
    assert members[1:3] == ([0], [0, 1])
    first = list(members)
    assert first == [[], [0], [0, 1], [0, 1, 2]]
    assert all(a is b for a, b in zip(first, members, strict=True))
    assert made == [0, 1, 2, 3]


def test_there_is_none_behind_the_last(row: tuple[InTurn[list[int]], list[int]]) -> None:
    members, made = row
    for place in (4, -5):
        with pytest.raises(IndexError):
            members[place]
    assert made == []
    assert not InTurn(0, lambda _: 1)
