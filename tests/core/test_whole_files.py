"""A file is written whole or not at all, whatever stands in the way.

A disk that runs full is played by the system's own limit on a file's size, which ends a write with
an error of its own half way (POSIX, setrlimit, RLIMIT_FSIZE).
"""

from __future__ import annotations

import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from jointgeo.output import keep_under_a_number, one_at_a_time, write_whole

posix = pytest.mark.skipif(os.name != "posix", reason="permissions and limits of POSIX")


def names(folder: Path) -> list[str]:
    return sorted(p.name for p in folder.iterdir())


@posix
def test_a_new_file_has_the_permissions_that_new_files_have(tmp_path: Path) -> None:
    plain = tmp_path / "plain"
    plain.touch()
    write_whole(tmp_path / "ours", b"x")
    assert (tmp_path / "ours").stat().st_mode == plain.stat().st_mode


@posix
@pytest.mark.parametrize("mode", [0o600, 0o640, 0o755])
def test_a_replaced_file_keeps_its_permissions(tmp_path: Path, mode: int) -> None:
    path = tmp_path / "ours"
    path.write_bytes(b"before")
    path.chmod(mode)
    write_whole(path, b"after")
    assert path.read_bytes() == b"after"
    assert stat.S_IMODE(path.stat().st_mode) == mode


@posix
def test_a_link_stays_a_link_and_its_target_is_replaced(tmp_path: Path) -> None:
    (tmp_path / "shop").mkdir()
    target, link = tmp_path / "shop" / "target.toml", tmp_path / "link.toml"
    target.write_bytes(b"before")
    link.symlink_to(target)
    assert keep_under_a_number(link) == tmp_path / "shop" / "target.toml.1"
    write_whole(link, b"after")
    assert link.is_symlink()
    assert target.read_bytes() == b"after"
    assert (tmp_path / "shop" / "target.toml.1").read_bytes() == b"before"
    assert names(tmp_path) == ["link.toml", "shop"]


def test_what_is_new_takes_nobody_elses_name(tmp_path: Path) -> None:
    path = tmp_path / "ours"
    write_whole(path, b"first", new=True)
    with pytest.raises(FileExistsError) as taken:
        write_whole(path, b"second", new=True)
    assert taken.value.filename == str(path)
    assert path.read_bytes() == b"first"
    assert names(tmp_path) == ["ours"]


FULL = """
import resource, signal, sys
from pathlib import Path
from jointgeo.output import write_whole
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (1000, 1000))
try:
    write_whole(Path(sys.argv[1]), b"x" * 5000)
except OSError as error:
    print(error.errno, error.filename)
"""


@posix
@pytest.mark.parametrize("before", [None, b"before"])
def test_a_disk_that_runs_full_leaves_what_was_there(tmp_path: Path, before: bytes | None) -> None:
    path = tmp_path / "ours"
    if before is not None:
        path.write_bytes(before)
    done = subprocess.run(
        [sys.executable, "-c", FULL, str(path)], capture_output=True, text=True, check=True
    )
    assert done.stdout.split() == ["27", str(path)]  # EFBIG
    assert names(tmp_path) == ([] if before is None else ["ours"])
    assert before is None or path.read_bytes() == before


WRITES = """
import sys
from pathlib import Path
from jointgeo.output import keep_under_a_number, one_at_a_time, write_whole
path, own = Path(sys.argv[1]), sys.argv[2]
for turn in range(40):
    with one_at_a_time(path):
        keep_under_a_number(path)
        write_whole(path, f"{own} {turn} ".encode() * 500)
"""


@posix
def test_two_at_once_lose_nothing_and_mix_nothing(tmp_path: Path) -> None:
    """After each keeps and replaces forty times, every version is there once, whole."""
    path = tmp_path / "ours"
    path.write_bytes(b"first " * 500)
    command = [sys.executable, "-c", WRITES, str(path)]
    both = [subprocess.Popen([*command, own]) for own in ("a", "b")]
    assert [each.wait() for each in both] == [0, 0]
    texts = [p.read_text() for p in tmp_path.iterdir()]
    assert len(texts) == 81
    found = sorted({text[: len(text) // 500] for text in texts})
    assert found == sorted({"first ", *(f"{own} {turn} " for own in "ab" for turn in range(40))})
    assert all(text == text[: len(text) // 500] * 500 for text in texts)


def test_a_lock_goes_with_whoever_holds_it(tmp_path: Path) -> None:
    with pytest.raises(KeyError), one_at_a_time(tmp_path / "ours"):
        raise KeyError
    with one_at_a_time(tmp_path / "ours"):
        write_whole(tmp_path / "ours", b"x")
    assert names(tmp_path) == ["ours"]
