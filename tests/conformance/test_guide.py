"""The guide to a first joint type keeps its word: its files, as printed, make a passing kit.

Reads the section of DEVELOPERS.md, writes the files its code blocks name into an empty
folder, installs that folder like any distribution, and runs what the guide says to run.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from jointgeo.conformance import CHECKS

HEADING = "## Your first joint type"
GUIDE = Path(__file__).parent.parent.parent / "DEVELOPERS.md"
BLOCK = re.compile(r"^```(?P<kind>\w+)(?: (?P<file>\S+))?\n(?P<body>.*?)^```$", re.S | re.M)


def section(heading: str = HEADING) -> str:
    text = GUIDE.read_text("utf-8")
    assert text.count(f"\n{heading}\n") == 1, f"DEVELOPERS.md needs one section '{heading}'"
    return re.split(r"\n## ", text.split(f"\n{heading}\n")[1])[0]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What a reader has after typing the guide's files; its distribution in ``installed``."""
    made = tmp_path_factory.mktemp("first")
    for block in BLOCK.finditer(section()):
        if block["file"]:
            (made / block["file"]).write_text(block["body"], "utf-8")
    command = [sys.executable, "-m", "pip", "install", "--quiet", "--no-deps"]
    done = subprocess.run(
        [*command, "--target", str(made / "installed"), str(made)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return made


def run(folder: Path, *command: str) -> str:
    path = os.pathsep.join(
        p for p in (str(folder / "installed"), os.environ.get("PYTHONPATH", "")) if p
    )
    done = subprocess.run(
        [sys.executable, *command],
        capture_output=True,
        text=True,
        check=False,
        cwd=folder,
        env=os.environ | {"PYTHONPATH": path},
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def test_the_guide_has_the_files_it_speaks_of() -> None:
    files = [b["file"] for b in BLOCK.finditer(section()) if b["file"]]
    assert len(files) == 3
    assert files[0] == "pyproject.toml"
    assert [b["kind"] for b in BLOCK.finditer(section())] == ["toml", "python", "python", "console"]


def test_its_own_test_passes(folder: Path) -> None:
    out = run(folder, "-W", "error", "-m", "pytest", "-q", "-p", "no:cacheprovider")
    assert f"{len(CHECKS)} passed" in out


def test_the_commands_it_names_work(folder: Path) -> None:
    """Those that need no network are run, with this Python in place of the new environment's."""
    console = next(b["body"] for b in BLOCK.finditer(section()) if b["kind"] == "console")
    lines = [line.removeprefix("$ ") for line in console.splitlines()]
    programs = [line.split()[0].removeprefix(".venv/bin/") for line in lines]
    assert programs == ["python3", "pip", "pip", "python", "jointgeo", "python"]
    listing, report = (line.split() for line in lines[-2:])
    entry = "import sys; from jointgeo.command import main; sys.exit(main(sys.argv[1:]))"
    told = run(folder, "-c", entry, *listing[1:])
    assert told.startswith(f"{listing[-1]}: ")
    assert run(folder, *report[1:]).startswith(f"{report[-1]}: conforms")
