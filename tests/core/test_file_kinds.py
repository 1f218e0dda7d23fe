"""Files of one kind given where another is asked for: one line says what it is.

The kinds' own names are held against the classes that read them.
"""

from __future__ import annotations

import tomllib
from importlib.resources import files
from itertools import combinations
from pathlib import Path

import attrs
import pytest

import jointgeo
from jointgeo.calibration.readingfiles import load_readings
from jointgeo.calibration.readings import CheckUpReadings, CutReadings, LimitReadings
from jointgeo.command import main
from jointgeo.errors import InputError
from jointgeo.fixture_changes.work import folder_work
from jointgeo.fixtures.file import load_fixture
from jointgeo.jobs import file as jobs
from jointgeo.pieces.entries import PieceEntry, TypedEntry
from jointgeo.schema.filekinds import JOINTS, OWN, kind_of

DATA = Path(str(files("jointgeo") / "data"))
SHIPPED = {
    "fixture": DATA / "fixtures" / "porch.toml",
    "job": DATA / "jobs" / "porch-joints" / "bench.toml",
    "piece": DATA / "pieces" / "porch-set" / "porch-bench.toml",
    "readings": DATA / "readings" / "porch-test-cuts.toml",
}
READERS = {
    "fixture": (jointgeo.fixtures.model.Fixture,),
    "job": (jobs._JobFile,),
    "piece": (PieceEntry, TypedEntry),
    "readings": (CheckUpReadings, CutReadings, LimitReadings),
}


def names(kind: str) -> set[str]:
    own = {"symmetry"} if kind == "piece" else set()
    return own.union(*({f.name for f in attrs.fields(cls)} for cls in READERS[kind]))


@pytest.mark.parametrize("kind", OWN)
def test_its_own_names_are_read_there_and_nowhere_else(kind: str) -> None:
    assert OWN[kind] <= names(kind)
    for other in OWN:
        if other != kind:
            assert not OWN[kind] & names(other)


def test_names_of_two_kinds_tell_nothing() -> None:
    for one, two in combinations(OWN.values(), 2):
        assert kind_of(dict.fromkeys([*one, *two])) is None
    for data in ({}, {"title": "x"}, [], None, "text"):
        assert kind_of(data) is None
    assert kind_of({JOINTS: []}) == "job"
    assert kind_of({JOINTS: [], "bar": []}) == "piece"


@pytest.mark.parametrize("path", sorted(DATA.rglob("*.toml")), ids=lambda p: p.stem)
def test_every_file_that_ships_is_of_its_kind(path: Path) -> None:
    folder = path.relative_to(DATA).parts[0]
    assert f"{kind_of(tomllib.loads(path.read_text('utf-8')))}".rstrip("s") == folder.rstrip("s")


OTHERS = [
    (given, wanted)
    for given in SHIPPED
    for wanted in ("fixture", "readings", "work")
    if given != wanted and (wanted != "work" or given in ("fixture", "readings"))
]


@pytest.mark.parametrize(("given", "wanted"), OTHERS)
def test_one_line_says_what_it_is(given: str, wanted: str, capsys) -> None:
    path = str(SHIPPED[given])
    told = {
        "fixture": "this is a fixture file; give it with --fixture",
        "job": "this is a job file; give it to solve, sheet or draw",
        "piece": "this is a piece file; give it to solve, sheet or draw",
        "readings": "this is a file of readings; give it to check-up, calibrate or "
        "estimate-fixture",
    }[given]
    command = {
        "fixture": ["solve", "bench", "--fixture", path],
        "readings": ["calibrate", path],
        "work": ["solve", path],
    }[wanted]
    assert main(command) == 2
    assert capsys.readouterr().err == f"jointgeo: {path}: {told}\n"


def test_a_piece_file_that_does_not_say_so_is_told_what_it_lacks(tmp_path, capsys) -> None:
    text = SHIPPED["piece"].read_text("utf-8").replace("piece = 1\n", "")
    (tmp_path / "mine.toml").write_text(text, "utf-8")
    assert main(["solve", str(tmp_path / "mine.toml")]) == 2
    (line,) = capsys.readouterr().err.splitlines()
    assert "piece: is missing" in line


def test_a_folder_of_work_leaves_fixtures_and_readings_out(tmp_path) -> None:
    for kind, path in SHIPPED.items():
        (tmp_path / f"{kind}.toml").write_bytes(path.read_bytes())
    assert [w.name for w in folder_work(tmp_path)] == ["job.toml", "piece.toml"]


def test_what_two_kinds_share_is_read_as_what_was_asked_for(tmp_path) -> None:
    path = tmp_path / "both.toml"
    path.write_text(SHIPPED["fixture"].read_text("utf-8") + "\n[[member]]\n", "utf-8")
    with pytest.raises(InputError, match="member: is not a known name"):
        load_fixture(path)
    with pytest.raises(InputError, match="this is a fixture file"):
        load_readings(CutReadings, SHIPPED["fixture"])
