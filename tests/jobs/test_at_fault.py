"""The command where something is at fault that is no joint: a plug-in, the output, a file."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from jointgeo import joint_types
from jointgeo.command import main


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    code = main(list(arguments))
    out = capsys.readouterr()
    return code, out.out, out.err


THIRD_PARTY = """
from typing import ClassVar
import attrs
from jointgeo.plugin import Bar, Drawing, JointType, Notch, Plane, Vec, X, Y, Z, mm

@attrs.frozen
class Slot(JointType):
    name: ClassVar[str] = "slot"
    summary: ClassVar[str] = "A slot in a stick"
    wide_mm: float = mm("Width of the slot", 0.1, default=10.0)

    def draw(self):
        FAULT
        stick = Bar("stick", 40, 20, 300, Z, -Y, -X, Vec(0.0, 0.0, 0.0))
        rail = Bar("rail", 40, 20, 300, Y, -X, -Z, Vec(0.0, -150.0, 20.0))
        cut = Notch("slot", stick, Plane(-Z, 0.0), X, [(-5, 5, 15)])
        return Drawing((stick, rail), (cut,))

    @classmethod
    def measure(cls, bar, mate):
        return {}

    @classmethod
    def examples(cls):
        return (cls(),)

    def notes(self):
        return ()
"""
THIRD_PARTY_JOB = """
title = "A slot"
fixture = "porch"
[[joint]]
name = "slot"
type = "slot"
[joint.parameters]
wide_mm = 10
"""


@pytest.fixture
def command(tmp_path: Path) -> Callable[..., subprocess.CompletedProcess[bytes]]:
    """The installed command beside a distribution "sticks 1.2", in a process of its own."""

    def ran(
        *arguments: str, fault: str = "pass", source: str = THIRD_PARTY, **options: Any
    ) -> subprocess.CompletedProcess[bytes]:
        info = tmp_path / "sticks-1.2.dist-info"
        info.mkdir(exist_ok=True)
        (info / "METADATA").write_text("Metadata-Version: 2.1\nName: sticks\nVersion: 1.2\n")
        (info / "entry_points.txt").write_text("[jointgeo.joint_types]\nslot = sticks:Slot\n")
        (tmp_path / "sticks.py").write_text(source.replace("FAULT", fault))
        (tmp_path / "slot.toml").write_text(THIRD_PARTY_JOB)
        environment = os.environ | {"PYTHONPATH": str(tmp_path)} | options.pop("env", {})
        return subprocess.run(
            [str(Path(sys.executable).with_name("jointgeo")), *arguments],
            check=False,
            cwd=tmp_path,
            env=environment,
            **({"capture_output": True} | options),
        )

    return ran


@pytest.mark.parametrize(
    ("fault", "says"),
    [
        ("raise ValueError('not today')", "ValueError: not today"),
        ("raise SystemExit(0)", "SystemExit: 0"),
        ("raise KeyboardInterrupt", "KeyboardInterrupt"),
        ("return self.draw()", "RecursionError"),
        ("print('hello')", "it writes to standard output"),
        ("return None", "draw must give a Drawing, not NoneType"),
    ],
)
@pytest.mark.parametrize("form", [(), ("--json",)])
def test_a_plug_in_at_fault_is_named_and_the_other_jobs_are_answered(
    command: Callable[..., subprocess.CompletedProcess[bytes]],
    fault: str,
    says: str,
    form: tuple[str, ...],
) -> None:
    done = command("solve", "slot.toml", "bench", *form, fault=fault)
    assert done.returncode == 3
    error = done.stderr.decode()
    assert error.startswith("jointgeo: The joint type slot from sticks 1.2 failed: ")
    assert says in error
    assert "sticks.py:" in error or fault == "return None"
    assert len(error.splitlines()) == 1
    out = done.stdout.decode()
    assert "Porch bench, four splayed legs" in out
    assert "hello" not in out
    if form:
        assert [job["feasible"] for job in json.loads(out)] == [True]


def test_a_number_that_is_none_is_the_plug_ins_fault_in_either_form(
    command: Callable[..., subprocess.CompletedProcess[bytes]],
) -> None:
    check = (
        "def checks(self):\n        from jointgeo.plugin import at_least\n"
        "        return (at_least('own', float('nan'), 0.0, 'mm', 'because'),)\n\n    def notes"
    )
    for form in ((), ("--json",)):
        done = command("solve", "slot.toml", *form, source=THIRD_PARTY.replace("def notes", check))
        assert done.returncode == 3
        assert b"slot from sticks 1.2 failed: check own" in done.stderr
        assert done.stdout == b""


def test_a_plug_in_that_ends_the_program_on_import_is_refused_and_named(
    command: Callable[..., subprocess.CompletedProcess[bytes]],
) -> None:
    source = "raise SystemExit(0)\n"
    listed = command("types", source=source)
    assert listed.returncode == 0
    assert b"refused: slot (from sticks 1.2): SystemExit: 0 (sticks.py:1)" in listed.stdout
    for arguments in (("types", "slot"), ("solve", "slot.toml")):
        done = command(*arguments, source=source)
        assert done.returncode == 3
        assert b"slot from sticks 1.2" in done.stderr


def test_a_fault_of_our_own_has_a_code_of_its_own(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> str:
        raise ZeroDivisionError("of ours")

    monkeypatch.setattr("jointgeo.command.job_text", broken)
    code, out, err = run(capsys, "solve", "bench")
    assert (code, out) == (4, "")
    assert err.startswith("jointgeo: a fault of jointgeo itself: ZeroDivisionError: of ours (")
    with pytest.raises(SystemExit):
        main(["--help"])
    said = " ".join(capsys.readouterr().out.split())
    assert "3 a plug-in is at fault (it is named), 4 jointgeo itself is" in said


@pytest.mark.parametrize("encoding", ["ascii", "cp1252", "cp437", "latin-1", "utf-8", "utf-16"])
def test_output_in_any_encoding(
    command: Callable[..., subprocess.CompletedProcess[bytes]], encoding: str
) -> None:
    env = {"PYTHONIOENCODING": encoding}
    for arguments in (("solve", "bench", "--inches"), ("types",), ("--help",)):
        done = command(*arguments, env=env)
        assert (done.returncode, done.stderr) == (0, b"")
        assert done.stdout.decode(encoding)
    said = command("solve", "bench", env=env).stdout.decode(encoding)
    degrees, minutes = ("°", "′") if encoding.startswith("utf") else ("°", "'")
    degrees = " deg" if encoding == "ascii" else degrees
    assert f"swivel 7.827{degrees} (7{degrees}49.6{minutes})" in said
    refused = command("solve", "größe.toml", env=env)
    assert refused.returncode == 2
    assert b"Traceback" not in refused.stderr


@pytest.mark.parametrize(
    "arguments", [("solve", "bench"), ("solve", "bench", "--json"), ("types",), ("--help",)]
)
def test_an_answer_that_cannot_be_written_is_no_success(
    command: Callable[..., subprocess.CompletedProcess[bytes]], arguments: tuple[str, ...]
) -> None:
    if not Path("/dev/full").exists():
        pytest.skip("this system has no device that is always full")
    with Path("/dev/full").open("wb") as full:
        done = command(*arguments, capture_output=False, stdout=full, stderr=subprocess.PIPE)
    assert done.returncode == 4
    assert done.stderr == b"jointgeo: the answer cannot be written: No space left on device\n"


@pytest.mark.skipif(os.name != "posix", reason="a shell that closes a descriptor")
@pytest.mark.parametrize(("closed", "code"), [(">&-", 4), ("2>&-", 0), (">&- 2>&-", 4)])
def test_a_closed_descriptor_is_no_success_and_no_traceback(closed: str, code: int) -> None:
    name = Path(sys.executable).with_name("jointgeo")
    shell = f"{name} solve bench {closed}"
    done = subprocess.run(["sh", "-c", shell], capture_output=True, check=False)
    assert done.returncode == code
    assert b"Traceback" not in done.stderr
    assert (b"standard output is closed" in done.stderr) == (closed == ">&-")
    assert (b"Porch bench" in done.stdout) == (code == 0)


@pytest.mark.parametrize("width", ["1e-320", "1e-300", "0.001"])
def test_a_finger_of_next_to_nothing_is_bad_input(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, width: str
) -> None:
    joint = joint_types()["angled_box_joint"].examples()[0].to_dict()
    joint |= {"finger_count": 0, "finger_width_mm": "WIDTH"}
    lines = [f"{k} = {json.dumps(v)}" for k, v in joint.items() if v is not None]
    head, _, _ = THIRD_PARTY_JOB.replace('type = "slot"', 'type = "angled_box_joint"').partition(
        "wide_mm"
    )
    job = tmp_path / "box.toml"
    job.write_text(head + "\n".join(lines).replace('"WIDTH"', width))
    code, _, err = run(capsys, "solve", str(job))
    assert code == 2
    assert "finger_width_mm: gives 100 fingers" in err


def test_a_file_with_a_byte_order_mark_is_read(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """As editors on Windows write it."""
    job = tmp_path / "slot.toml"
    text = THIRD_PARTY_JOB.replace('type = "slot"', 'type = "angled_tenon"')
    job.write_bytes(b"\xef\xbb\xbf" + text.encode())
    code, _, err = run(capsys, "solve", str(job))
    assert code == 2
    assert "wide_mm: is not a known name" in err  # so it was read as far as its own mistakes
