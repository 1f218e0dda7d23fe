"""The README tells the truth: its two commands stand, and what it prints was really printed.

Every block marked ``python`` or ``console`` is run, and the ``text`` block behind it must
be what came out. In a console block ``.venv/bin/`` stands for wherever the product is
installed, here the environment that runs the tests.
"""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text("utf-8")
BLOCKS = re.findall(r"```(python|console)\n(.*?)```\n\n```text\n(.*?)```", README, re.DOTALL)


def test_the_readme_opens_with_the_job_and_then_exactly_two_commands() -> None:
    first = README.split("\n\n")[1]
    assert first.startswith("jointgeo is for people who")
    commands = re.findall(r"^ {4}(python3 -m venv .*)$", README, re.MULTILINE)
    assert len(commands) == 2
    assert commands[0].endswith("jointgeo solve porch-set")
    assert ".venv-test/bin/python -m pytest" in commands[1]
    assert README.index(commands[1]) < README.index("## ")


def test_every_example_has_its_output() -> None:
    runnable = re.findall(r"^```(?:python|console)$", README, re.MULTILINE)
    assert len(BLOCKS) == len(runnable) >= 2


@pytest.mark.parametrize(("kind", "code", "printed"), BLOCKS)
def test_what_the_readme_shows_was_really_printed(
    tmp_path: Path, kind: str, code: str, printed: str
) -> None:
    if kind == "python":
        command = [sys.executable, "-c", code]
    else:
        here = str(Path(sys.executable).parent) + "/"
        command = ["bash", "-ec", code.replace("$ ", "").replace(".venv/bin/", here)]
    done = subprocess.run(
        command, cwd=tmp_path, capture_output=True, text=True, timeout=120, check=False
    )
    assert done.stdout + done.stderr == printed


def test_the_usual_cautions_are_there() -> None:
    for words in ("1910.213", "L114", "EN 847-1", "Isolate the power", "test piece"):
        assert words in README
