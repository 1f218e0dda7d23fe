"""Messages of a piece file name the bar that they mean, or count it as people do."""

from __future__ import annotations

import copy
import tomllib
from pathlib import Path
from typing import Any

import pytest

from jointgeo.errors import PieceError
from jointgeo.pieces.file import read_piece_data

BENCH = tomllib.loads((Path(__file__).parent / "data" / "bench.toml").read_text("utf-8"))


def fields(data: dict[str, Any]) -> dict[str, str]:
    with pytest.raises(PieceError) as caught:
        read_piece_data(data, Path(), "bench.toml")
    return {p.field: p.message for p in caught.value.problems}


def bench() -> Any:
    return copy.deepcopy(BENCH)


def test_a_bar_is_called_by_its_name() -> None:
    data = bench()
    name = data["bar"][1]["name"]
    data["bar"][1]["width_mm"] = "28,5"
    data["bar"][1]["far"]["cut"] = "flat"
    found = fields(data)
    assert found[f"bar {name}.width_mm"] == "is not a number; write 28.5 with a point"
    assert f"bar {name}.far.cut" in found
    assert not any("[" in field for field in found)


def test_a_bar_that_no_name_tells_is_counted_from_one() -> None:
    data = bench()
    del data["bar"][1]["name"]
    assert "bar 2.name" in fields(data)
    data = bench()
    data["bar"][1]["name"] = data["bar"][0]["name"]
    assert "bar 2.name" in fields(data)
    data["bar"][1]["width_mm"] = "wide"
    assert fields(data)["bar 2.width_mm"] == "is not a number"


def test_a_program_that_posts_a_piece_is_told_the_path_in_its_data() -> None:
    data = bench()
    data["bar"][1]["width_mm"] = "wide"
    with pytest.raises(PieceError) as caught:
        read_piece_data(data, None)
    assert [p.field for p in caught.value.problems] == ["bar[1].width_mm"]
