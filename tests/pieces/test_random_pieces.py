"""Random pieces of every type that ships, cut by the settings of their ends alone and put up.

``python -m tests.pieces.dry_fit_random --pieces 1000`` does the same for as many as one likes.
"""

from __future__ import annotations

import pytest

from jointgeo.pieces.registry import piece_types

from .dry_fit_random import run
from .random_pieces import RANDOM, Tally, fitted, random_pieces

PIECES = 20
ROUNDING_MM = 1e-9  # over metres it is 1e-12
NOTHING_MM3 = 1e-6  # the kernel's rounding over metres

#: Whose random ones are cut in a file of their own (``test_boxes_cut``).
ELSEWHERE = {"sloping_box"}


def test_every_type_that_ships_is_drawn() -> None:
    assert set(RANDOM) == set(piece_types())


@pytest.mark.parametrize("name", sorted(RANDOM.keys() - ELSEWHERE))
def test_random_pieces_go_together_and_measure_as_they_say(name: str) -> None:
    tally, found = Tally(), []
    for piece, answer in random_pieces(name, PIECES, 11, tally):
        figures = fitted(piece, answer)
        assert figures.faults == (), piece
        assert figures.overlap <= NOTHING_MM3
        found += [figures.gap, figures.press, figures.lowest, figures.feet, figures.height]
    assert len(found) == 5 * PIECES
    assert max(found) <= ROUNDING_MM
    # Most draws make a piece, so that the ranges are not cut down to what is easy.
    assert tally.refused + sum(tally.failing.values()) <= PIECES


def test_the_script_counts_and_prints_the_worst(capsys: pytest.CaptureFixture[str]) -> None:
    assert run("splayed_table", 1, 3) == 0
    out = capsys.readouterr().out
    assert out.startswith("splayed_table: 1 of 1 go together, in ")
    for words in ("drawn again: ", "worst: overlap ", "at the feet and "):
        assert words in out
