"""``jointgeo sheet`` as a person runs it: files, exit codes, progress on a terminal only."""

from __future__ import annotations

import argparse
import builtins
import os
import pty
import subprocess
import sys
import xml.etree.ElementTree as ET
from pathlib import Path
from typing import Any

import pytest

from jointgeo.errors import InputError, MissingExtraError
from jointgeo.sheet.command import add

from .pieces import DATA

#: The command line with this subcommand alone, whether or not it is installed.
MAIN = (
    "import argparse, sys; from jointgeo.sheet.command import add; "
    "parser = argparse.ArgumentParser(prog='jointgeo'); add(parser.add_subparsers(required=True)); "
    "asked = parser.parse_args(); sys.exit(asked.run(asked))"
)


def run(*arguments: str) -> int:
    parser = argparse.ArgumentParser(prog="jointgeo")
    add(parser.add_subparsers(required=True))
    asked = parser.parse_args(["sheet", *arguments])
    return int(asked.run(asked))


def test_a_page_for_the_job_and_one_for_each_joint(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run("bench", "--output", str(tmp_path / "new" / "folder")) == 0
    folder = tmp_path / "new" / "folder"
    names = sorted(p.name for p in folder.iterdir())
    assert names == ["bench-leg-and-rail.html", "bench.html"]
    said = capsys.readouterr()
    assert sorted(said.out.split()) == [str(folder / n) for n in names]
    assert said.err == ""
    for path in folder.iterdir():
        assert path.read_text("utf-8").startswith("<!DOCTYPE html>")


def test_a_page_for_a_whole_piece(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(str(DATA / "bench.toml"), "--output", str(tmp_path), "--svg") == 0
    names = {p.name for p in tmp_path.iterdir()}
    assert {"bench.html", "bench-together.svg", "bench-three-views.svg"} <= names
    assert {f"bench-member-{i}.svg" for i in range(1, 6)} <= names
    assert str(tmp_path / "bench.html") in capsys.readouterr().out
    assert "Bench from its footprint" in (tmp_path / "bench.html").read_text("utf-8")


def test_one_that_does_not_fit_is_written_all_the_same_and_told_by_the_exit_code(
    tmp_path: Path,
) -> None:
    assert run("planter-six", "--output", str(tmp_path)) == 1
    assert (tmp_path / "planter-six.html").stat().st_size > 50_000


def test_drawings_and_templates_as_files(tmp_path: Path) -> None:
    assert run("bench", "--output", str(tmp_path), "--svg", "--dxf", "--paper", "a4") == 0
    names = {p.name for p in tmp_path.iterdir()}
    assert {
        "bench-operation-1-facing.svg",
        "bench-operation-1-side.svg",
        "bench-operation-1-end.svg",
        "bench-layout-1.svg",
        "bench-operation-1-layout-whole.svg",
        "bench-joint-1-together.svg",
        "bench-leg-and-rail-envelope.svg",
        "bench-operation-1-layout.dxf",
        "bench-leg-and-rail-operation-1-layout.dxf",
    } <= names
    for path in tmp_path.glob("*.svg"):
        assert ET.parse(path).getroot().get("role") == "img"  # noqa: S314  # our own file
    assert "size: A4" in (tmp_path / "bench.html").read_text("utf-8")


def test_two_files_of_one_name_do_not_overwrite_each_other(tmp_path: Path) -> None:
    assert run("bench", "bench", "--output", str(tmp_path)) == 0
    assert {"bench.html", "bench-2.html"} <= {p.name for p in tmp_path.iterdir()}


def test_a_folder_that_cannot_be_made_is_the_callers_fault(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(InputError, match="--output: cannot be made"):
        run("bench", "--output", str(tmp_path / "file" / "below"))


def test_dxf_without_ezdxf_says_what_to_install(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = builtins.__import__

    def missing(name: str, *args: Any, **kwargs: Any) -> Any:
        if name.startswith("ezdxf"):
            raise ImportError(name)
        return real(name, *args, **kwargs)

    monkeypatch.setattr(builtins, "__import__", missing)
    with pytest.raises(MissingExtraError, match=r"pip install '\.\[draw\]'"):
        run("bench", "--output", str(tmp_path), "--dxf")


def test_progress_goes_to_a_terminal_and_not_into_a_pipe(tmp_path: Path) -> None:
    command = [sys.executable, "-c", MAIN, "sheet", "bench", "--output", str(tmp_path)]
    piped = subprocess.run(command, capture_output=True, text=True, timeout=120, check=True)
    assert piped.stderr == ""
    assert piped.stdout.count("\n") == 2
    ours, theirs = pty.openpty()
    try:
        with subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=theirs) as process:
            assert process.wait(timeout=120) == 0
        os.close(theirs)
        heard = b""
        while True:
            try:
                piece = os.read(ours, 4096)
            except OSError:  # on Linux a terminal whose other end is closed gives EIO
                break
            if not piece:
                break
            heard += piece
    finally:
        os.close(ours)
    assert b"bench: operation 1 of 4" in heard
    assert heard.endswith(b"\r\x1b[K")  # and leaves the line empty
