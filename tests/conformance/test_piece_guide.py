"""The guide to a first piece type keeps its word: its files, as printed, make a passing kit."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from jointgeo.conformance import PIECE_CHECKS

from .test_guide import BLOCK, run, section

HEADING = "## Your first piece type"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What a reader has after typing the guide's files; its distribution in ``installed``."""
    made = tmp_path_factory.mktemp("first_piece")
    for block in BLOCK.finditer(section(HEADING)):
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


def test_the_guide_has_the_files_it_speaks_of() -> None:
    blocks = list(BLOCK.finditer(section(HEADING)))
    files = [b["file"] for b in blocks if b["file"]]
    assert files == ["pyproject.toml", "plant_table.py", "test_plant_table.py"]
    assert [b["kind"] for b in blocks] == ["toml", "python", "python", "console"]


def test_its_own_test_passes(folder: Path) -> None:
    out = run(folder, "-W", "error", "-m", "pytest", "-q", "-p", "no:cacheprovider")
    assert f"{len(PIECE_CHECKS)} passed" in out


def test_the_commands_it_names_work(folder: Path) -> None:
    """With this Python in place of the new environment's."""
    console = next(b["body"] for b in BLOCK.finditer(section(HEADING)) if b["kind"] == "console")
    lines = [line.removeprefix("$ .venv/bin/").split() for line in console.splitlines()]
    assert [line[0] for line in lines] == ["python", "jointgeo", "python"]
    entry = "import sys; from jointgeo.command import main; sys.exit(main(sys.argv[1:]))"
    told = run(folder, "-c", entry, *lines[1][1:])
    assert told.startswith("plant_table: A plant table whose legs lean out to both ends")
    assert run(folder, *lines[2][1:]).startswith("plant_table: conforms")


def test_a_piece_file_may_name_it(folder: Path) -> None:
    """Legs that lean 50 in 500: 500 by the root of 1.01, and feet 620 and 40 by the same root."""
    (folder / "table.toml").write_text(
        """piece = 1
title = "Plant table"
fixture = "porch"
type = "plant_table"

[parameters]
height_mm = 500
top_length_mm = 520
feet_length_mm = 620
depth_mm = 260
leg_mm = 40
rail_width_mm = 60
rail_thickness_mm = 20

[measured_mm]
"leg, length" = 502.4938
"feet, left to right" = 660.1995
"feet, front to back" = 300
""",
        "utf-8",
    )
    entry = "import sys; from jointgeo.command import main; sys.exit(main(sys.argv[1:]))"
    told = run(folder, "-c", entry, "solve", "table.toml")
    assert "4 × leg" in told
