"""A plug-in whose very import never ends, ends the process, or prints: nobody else notices.

With a distribution "sticks 1.2" beside the installed ones, each command in a process of its own.
Times are upper bounds that a busy machine keeps (common practice, no published source).
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from jointgeo.joints import trial

NAME = str(Path(sys.executable).with_name("jointgeo"))
#: A piece that is written as a piece type that ships.
PIECE = str(Path(__file__).parents[1] / "pieces" / "data" / "typed.toml")
FAULTS = {
    "sleeps": ("import time\ntime.sleep(3600)", "its import did not end within 10 s"),
    "dies": ("import os\nos._exit(0)", "its import ended the process with code 0"),
    "ends": ("import sys\nsys.exit(0)", "SystemExit: 0"),
    "recurses": ("def f(): return f()\nf()", "RecursionError"),
    "prints": ("print('hello')", "it writes to standard output"),
}
Command = Callable[..., tuple[subprocess.CompletedProcess[str], float]]


@pytest.fixture
def command(tmp_path: Path) -> Command:
    info = tmp_path / "sticks-1.2.dist-info"
    info.mkdir()
    (info / "METADATA").write_text("Metadata-Version: 2.1\nName: sticks\nVersion: 1.2\n")
    (info / "entry_points.txt").write_text(
        "[jointgeo.joint_types]\nstick = sticks:Stick\n"
        "[jointgeo.piece_types]\nstool = sticks:Stool\n"
    )

    def ran(fault: str, *arguments: str) -> tuple[subprocess.CompletedProcess[str], float]:
        (tmp_path / "sticks.py").write_text(FAULTS[fault][0])
        began = time.monotonic()
        done = subprocess.run(
            [NAME, *arguments],
            capture_output=True,
            text=True,
            check=False,
            env=os.environ | {"PYTHONPATH": str(tmp_path)},
        )
        return done, time.monotonic() - began

    return ran


@pytest.mark.parametrize("fault", ["sleeps", "dies"])
def test_what_ships_waits_for_nobody(command: Command, fault: str) -> None:
    """The demo and a piece, and the words of the demo are those that it has alone."""
    alone = subprocess.run(
        [NAME, "solve", "porch-joints"], capture_output=True, text=True, check=False
    )
    done, seconds = command(fault, "solve", "porch-joints")
    assert (done.returncode, done.stdout, done.stderr) == (1, alone.stdout, "")
    assert seconds < trial.SECONDS
    done, seconds = command(fault, "solve", PIECE)
    assert (done.returncode, done.stderr) == (0, "")
    assert seconds < trial.SECONDS


@pytest.mark.parametrize("fault", FAULTS)
def test_it_is_listed_with_the_reason_and_the_others_with_their_summaries(
    command: Command, fault: str
) -> None:
    kinds = ("types", "pieces") if fault == "dies" else ("types",)
    for listing in kinds:
        done, seconds = command(fault, listing)
        assert (done.returncode, done.stderr) == (0, "")
        refused = [line for line in done.stdout.splitlines() if line.startswith("refused: ")]
        assert len(refused) == 1
        assert "(from sticks 1.2): " in refused[0]
        assert FAULTS[fault][1] in refused[0]
        assert "hello" not in done.stdout
        assert ("angled_tenon" if listing == "types" else "splayed_bench") in done.stdout
        assert seconds < 3 * trial.SECONDS


def test_who_asks_for_it_is_told(command: Command) -> None:
    done, _ = command("dies", "types", "stick")
    assert done.returncode == 3
    assert "stick from sticks 1.2" in done.stderr
    assert "its import ended the process with code 0" in done.stderr
