"""Every command where its answer, or a file it writes, cannot be written whole.

A full disk is the system's device that is always full; a file's own disk is full by the limit on a
file's size (POSIX, setrlimit). The commands are those the command line itself lists.
"""

from __future__ import annotations

import argparse
import json
import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from jointgeo.command import _parser

NAME = str(Path(sys.executable).with_name("jointgeo"))
BENCH = Path(__file__).parents[1] / "pieces" / "data" / "bench.toml"
FULL = Path("/dev/full")
pytestmark = pytest.mark.skipif(os.name != "posix", reason="descriptors and limits of POSIX")

#: Each command as it is asked for; {} is a folder of the test's own. What it serves has no end.
ASKED = {
    "types": "types",
    "pieces": "pieces splayed_bench",
    "solve": "solve bench --json",
    "solve a piece": f"solve {BENCH}",
    "sheet": "sheet planter --output {}",
    "dry-fit": "dry-fit planter",
    "check-up": "check-up porch-check-up --json",
    "calibrate": "calibrate porch-test-cuts",
    "test-pieces": "test-pieces",
    "estimate-fixture": "estimate-fixture porch-limits",
    "sweep": "sweep splayed_bridle --steps 2",
    "wood": "wood --size-mm 100 --from-percent 8 --to-percent 12 --species white_oak",
    "what-helps": "what-helps planter-six --allow beam_off",
    "compare-fixtures": "compare-fixtures bench --fixture porch",
    "gains": f"gains {BENCH.parent} --before porch --after porch",
    "parts": "parts porch tilt_quadrant --json",
    "serve": "serve --help",
    "version": "--version",
}


def commands() -> dict[str, argparse.ArgumentParser]:
    (found,) = [a for a in _parser()._actions if isinstance(a, argparse._SubParsersAction)]
    return dict(found.choices)


def test_every_command_is_asked_and_tells_its_exit_codes() -> None:
    assert set(commands()) == {name.partition(" ")[0] for name in ASKED} - {"version"}
    for name, parser in commands().items():
        assert "xit codes: 0" in " ".join(parser.format_help().split()), name


#: Runs every command in turn, its output into a full disk, a closed descriptor or a pipe that
#: nobody reads, and tells its exit code and what it said.
LOST = """
import io, json, os, sys
from jointgeo.command import main
kind, error = sys.argv[1], os.dup(2)
for asked in json.loads(sys.argv[2]):
    os.close(1)
    if kind == "full":
        assert os.open("/dev/full", os.O_WRONLY) == 1
    elif kind == "left":
        read, write = os.pipe()
        write = write if write == 1 else os.dup2(write, 1)
        os.close(read) if read != 1 else None
    bare = sys.argv[3] == "bare"
    sys.stdout = None if kind == "closed" else io.TextIOWrapper(
        open(1, "wb", buffering=0 if bare else -1, closefd=False), write_through=bare
    )
    sys.stderr = io.StringIO()
    try:
        code = main(asked.split())
    except SystemExit as ended:
        code = ended.code
    os.write(error, json.dumps([asked, code, sys.stderr.getvalue()]).encode() + b"\\n")
    if kind == "closed":
        os.open(os.devnull, os.O_WRONLY)
"""
SAID = "jointgeo: the answer cannot be written: "


@pytest.mark.parametrize(
    ("kind", "codes", "said"),
    [
        pytest.param(
            "full",
            {4},
            f"{SAID}No space left on device\n",
            marks=pytest.mark.skipif(not FULL.exists(), reason="no device that is always full"),
        ),
        ("closed", {4}, f"{SAID}standard output is closed\n"),
        # As into a pager that was left: no word, and the code of an answer, not of a fault.
        ("left", {0, 1}, ""),
    ],
)
@pytest.mark.parametrize("form", ["buffered", "bare"])
def test_no_answer_that_is_lost_is_a_success(
    tmp_path: Path, kind: str, codes: set[int], said: str, form: str
) -> None:
    asked = json.dumps([each.format(tmp_path) for each in ASKED.values()])
    done = subprocess.run(
        [sys.executable, "-c", LOST, kind, asked, form],
        capture_output=True,
        check=True,
    )
    told = [json.loads(line) for line in done.stderr.splitlines()]
    assert len(told) == len(ASKED)
    assert [(each, error) for each, _, error in told if error != said] == []
    assert [(each, code) for each, code, _ in told if code not in codes] == []


#: Ends every file at 1,000 bytes, as a disk does that has no more.
SHORT = (
    "import resource, signal, sys; signal.signal(signal.SIGXFSZ, signal.SIG_IGN); "
    "resource.setrlimit(resource.RLIMIT_FSIZE, (1000, 1000)); "
    "from jointgeo.command import main; sys.exit(main(sys.argv[1:]))"
)


@pytest.mark.parametrize(
    "asked",
    [
        "sheet planter --output {}",
        "sheet planter --svg --dxf --output {}",
        "dry-fit planter --output {}",
        "check-up porch-check-up --output {}/porch.toml",
        "calibrate porch-test-cuts --output {}/porch.toml",
    ],
)
def test_a_file_whose_disk_is_full_is_told_and_leaves_nothing(tmp_path: Path, asked: str) -> None:
    command = [sys.executable, "-c", SHORT, *asked.format(tmp_path).split()]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 4
    assert done.stderr.startswith(f"jointgeo: {tmp_path}/")
    assert done.stderr.endswith(": file too large\n")
    assert [p for p in tmp_path.rglob("*") if p.is_file()] == []


def test_a_replaced_fixture_whose_disk_is_full_stays_as_it_was(tmp_path: Path) -> None:
    path = tmp_path / "porch.toml"
    path.write_text("# mine\n")
    path.chmod(0o640)
    asked = f"calibrate porch-test-cuts --output {path} --overwrite"
    done = subprocess.run(
        [sys.executable, "-c", SHORT, *asked.split()], capture_output=True, text=True, check=False
    )
    assert done.returncode == 4
    assert [p.name for p in tmp_path.iterdir()] == ["porch.toml"]
    assert path.read_text() == "# mine\n"
    done = subprocess.run([NAME, *asked.split()], capture_output=True, text=True, check=False)
    assert done.returncode == 1  # written; the cuts are not good enough yet
    assert sorted(p.name for p in tmp_path.iterdir()) == ["porch.toml", "porch.toml.1"]
    assert stat.S_IMODE(path.stat().st_mode) == 0o640
    assert (tmp_path / "porch.toml.1").read_text() == "# mine\n"


def test_a_folder_that_may_not_be_written_is_the_callers_to_mend(tmp_path: Path) -> None:
    (tmp_path / "planter.html").mkdir()
    command = [NAME, *f"sheet planter --output {tmp_path}".split()]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 2
    assert done.stderr.startswith(f"jointgeo: {tmp_path}/planter.html: ")
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize("lost", [">/dev/full", ">&-"])
def test_the_kits_report_is_no_success_where_it_is_lost(lost: str) -> None:
    if "full" in lost and not FULL.exists():
        pytest.skip("this system has no device that is always full")
    command = f"{sys.executable} -m jointgeo.conformance splayed_bridle {lost}"
    done = subprocess.run(["sh", "-c", command], capture_output=True, text=True, check=False)
    assert done.returncode == 4
    assert done.stderr.startswith(SAID)
    assert len(done.stderr.splitlines()) == 1
