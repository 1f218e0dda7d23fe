"""Linting, formatting and typing hold for the whole checkout, as part of the test command."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize(
    "tool",
    [
        ["ruff", "check", "."],
        ["ruff", "format", "--check", "."],
        ["mypy"],
    ],
    ids=" ".join,
)
def test_the_tool_finds_nothing(tool: list[str]) -> None:
    done = subprocess.run(
        [sys.executable, "-m", *tool],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
