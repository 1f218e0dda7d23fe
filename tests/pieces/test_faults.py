"""Whatever a third-party piece type does ends as one PluginError that names it."""

from __future__ import annotations

import importlib.metadata
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from jointgeo.command import main
from jointgeo.errors import PluginError
from jointgeo.joints.registry import Failure
from jointgeo.pieces import registry
from jointgeo.pieces.piece_type import PieceType

Found = tuple[dict[str, type[PieceType]], tuple[Failure, ...]]
Install = Callable[[str, str], Found]

STOOL = """\
import attrs
from jointgeo.pieces.piece_type import PieceType
from jointgeo.schema.fields import length

@attrs.frozen
class Stool(PieceType):
    name = "NAME"
    summary = "A stool"
    height_mm: float = length("Height of the seat", above=0, default=430.0)

    def piece(self):
        raise ValueError("not today")

    def measured(self):
        print("hello")
        return {}

    @classmethod
    def examples(cls):
        return (cls(),)
"""


@pytest.fixture
def install(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Install]:
    """What a distribution "sticks 1.2" with one piece type of that name gives, beside those that
    ship."""

    def made(name: str, source: str) -> Found:
        info = tmp_path / "sticks-1.2.dist-info"
        info.mkdir()
        (info / "METADATA").write_text("Metadata-Version: 2.1\nName: sticks\nVersion: 1.2\n")
        entry = f"[{registry.GROUP}]\n{name} = faulty_stool:Stool\n"
        (info / "entry_points.txt").write_text(entry)
        (tmp_path / "faulty_stool.py").write_text(source.replace("NAME", name), "utf-8")
        monkeypatch.syspath_prepend(str(tmp_path))
        own = importlib.metadata.entry_points(group=registry.GROUP)
        theirs = importlib.metadata.Distribution.at(info).entry_points
        found = registry.of({(e.name, e.value): e for e in (*own, *theirs)}.values())
        monkeypatch.setattr(registry, "_installed", lambda: found)
        return found

    yield made
    sys.modules.pop("faulty_stool", None)


def test_a_fault_is_named_with_kind_type_distribution_file_and_line(install: Install) -> None:
    types, failures = install("stool", STOOL)
    assert failures == ()
    stool = types["stool"].from_dict({})
    with pytest.raises(PluginError) as caught:
        stool.piece()
    line = STOOL[: STOOL.index("raise ValueError")].count("\n") + 1
    assert str(caught.value) == (
        "The piece type stool from sticks 1.2 failed: ValueError: not today "
        f"(faulty_stool.py:{line})"
    )
    with pytest.raises(PluginError, match="writes to standard output"):
        stool.measured()


def test_a_plug_in_at_fault_has_its_exit_code(
    install: Install, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    install("stool", STOOL)
    path = tmp_path / "stool.toml"
    head = 'piece = 1\ntitle = "Stool"\nfixture = "porch"\n'
    path.write_text(f'{head}type = "stool"\nparameters = {{}}\n', "utf-8")
    assert main(["solve", str(path)]) == 3
    assert "The piece type stool from sticks 1.2 failed" in capsys.readouterr().err


def test_a_name_that_ships_is_reserved(install: Install) -> None:
    types, (failure,) = install("splayed_bench", STOOL)
    assert types["splayed_bench"].__module__.startswith("jointgeo.")
    assert failure.distribution == "sticks"
    assert "that of a piece type that ships with jointgeo" in failure.reason


def test_a_field_that_no_list_could_show_is_refused(install: Install) -> None:
    types, (failure,) = install("stool", STOOL.replace("Height of the seat", "High"))
    assert "stool" not in types
    assert "height_mm: help must be a line of 3 words or more" in failure.reason
