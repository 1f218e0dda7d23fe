"""The command line as a person at a shell meets it."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from jointgeo import joint_types, load_fixture, solve
from jointgeo.command import main
from jointgeo.fixtures.text import fixture_toml
from jointgeo.jobs.file import load_job
from jointgeo.jobs.report import CAUTIONS, READING


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    code = main(list(arguments))
    out = capsys.readouterr()
    return code, out.out, out.err


def test_solve_prints_cautions_first_then_every_setting(
    capsys: pytest.CaptureFixture[str],
) -> None:
    code, out, err = run(capsys, "solve", "bench")
    assert (code, err) == (0, "")
    assert out.startswith(CAUTIONS[0])
    assert (
        "swivel 7.827° (7°49.6′), clockwise   tilt 12.000° (12°00.0′), cut end towards you" in out
    )
    assert out.count("Setting ") == 4
    assert "lay out on rail, face side: housing: from square 12.000°, width 44.00 mm" in out


def test_what_does_not_fit_is_an_answer_with_numbers(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = run(capsys, "solve", "planter-six")
    assert (code, err) == (1, "")
    assert "verdict: DOES NOT FIT" in out
    for words in ("moved out by", "cranked beam in its place", "taken off", "no more than"):
        assert words in out
    # The cranked beam's 35 mm more room against 49.66 mm wanted: information and no remedy.
    assert "    no help: the cranked beam in its place would still be short by 14.7 mm\n" in out
    assert "leaves -" not in out


def test_what_does_not_fit_is_headed_so_before_its_numbers(
    capsys: pytest.CaptureFixture[str],
) -> None:
    _, out, _ = run(capsys, "solve", "planter-six", "bench")
    lines = out.splitlines()
    heading = "DO NOT CUT: 'corner' does not fit; front_beam is short by 49.66 mm"
    settings = [i for i, line in enumerate(lines) if line.startswith("Setting ")]
    assert [lines[i - 1] for i in settings] == [heading] * 2 + [""] * 4


def test_a_remedy_is_printed_once_in_a_job(capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = run(capsys, "solve", "planter-six")
    remedies = [line for line in out.splitlines() if line.startswith("    remedy: ")]
    assert len(set(remedies)) == len(remedies) > 0
    assert "    other remedies as above\n" in out


def test_a_wedge_that_the_clamp_does_not_take_is_no_remedy(
    capsys: pytest.CaptureFixture[str],
) -> None:
    _, out, _ = run(capsys, "solve", "planter-six")
    wedges = [line for line in out.splitlines() if "more than the clamp's 110 mm" in line]
    assert wedges
    assert all(line.startswith("    no help: a wedge of") for line in wedges)


def test_a_set_ends_with_a_table_and_says_once_how_to_read_it(
    capsys: pytest.CaptureFixture[str],
) -> None:
    _, out, _ = run(capsys, "solve", "porch-set")
    rows = out.rpartition("All jobs\n--------\n")[2].splitlines()
    assert len(rows) == 4
    worst = [row for row in rows if "DOES NOT FIT" in row]
    assert worst == [
        "Porch planter, six sloping sides (more than the fixture can do)  "
        "DOES NOT FIT: front_beam, margin -49.66 mm"
    ]
    assert [out.count(line) for line in READING] == [1] * len(READING)
    _, single, _ = run(capsys, "solve", "bench")
    assert "All jobs" not in single


def test_checks_that_passed_are_a_number_and_names_when_asked(
    capsys: pytest.CaptureFixture[str],
) -> None:
    _, out, _ = run(capsys, "solve", "bench")
    assert re.search(r"^  \d+ checks passed$", out, re.MULTILINE)
    assert "swivel_range" not in out
    _, out, _ = run(capsys, "solve", "bench", "--checks")
    assert re.search(r"^  \d+ checks passed: swivel_range, ", out, re.MULTILINE)


def test_the_trim_says_how_many_passes_and_a_second_setup_does_not_trim(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """A leg of 66 × 44 mm at swivel s = 7.827° and tilt t = 12°, trimmed by h = 18.94 mm, is
    66 / cos s + (44 tan t + h / cos t) tan s = 70.57 mm wide; 1 mm past it on both sides makes
    72.57 mm; (72.57 - 6) / (6 - 0.5) = 12.1, so 13 steps and 14 passes."""
    _, out, _ = run(capsys, "solve", "bench")
    assert "      14 passes over the whole width, 72.57 mm: from the cutter's left-hand" in out
    assert "1.00 mm left of the wood to its right-hand face 1.00 mm right of it, each no" in out
    assert "each no more than 5.50 mm further right than the last\n" in out
    _, out, _ = run(capsys, "solve", "chair")
    again = "    already trimmed in setup 1: do not trim again\n"
    assert out.count("  setup 2: ") == out.count(again) == 4
    assert "trimmed before" not in out


def test_what_a_fixture_file_leaves_open_stands_beside_the_verdict(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """Without the clamp's height and the cutters' depth: contact, force, cuts and trim."""
    porch = fixture_toml(load_fixture("porch"))
    keys = ("z_mm = 155", "depth_per_pass_mm")
    kept = [line for line in porch.splitlines() if not line.startswith(keys)]
    mute = tmp_path / "mute.toml"
    mute.write_text("\n".join(kept), "utf-8")
    code, out, err = run(capsys, "solve", "bench", "--fixture", str(mute))
    assert (code, err) == (0, "")
    assert "verdict: fits, with cautions; 4 questions the fixture file does not answer\n" in out
    assert (
        "  NOT STATED clamp_contact (setup 1): the fixture file does not state clamp.z_mm:" in out
    )
    code, out, _ = run(capsys, "solve", "bench", "--fixture", str(mute), "--json")
    (job,) = json.loads(out)
    assert (job["feasible"], job["status"], job["not_stated"]) == (True, "caution", 4)


def test_depth_that_is_taken_in_steps_is_printed_step_by_step(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """60 mm of slot by 25 at a time: three steps of 20, from the trim at 199.97 to 259.97 mm."""
    porch = fixture_toml(load_fixture("porch"))
    slow = tmp_path / "slow.toml"
    slow.write_text(porch.replace("pass_mm = 95.0", "pass_mm = 25.0"), "utf-8")
    _, out, _ = run(capsys, "solve", "bench", "--fixture", str(slow))
    assert "verdict: fits, with cautions" in out
    assert "      in 3 steps, at heights 219.97 mm; 239.97 mm; 259.97 mm\n" in out
    assert "remedy: 3 equal steps of 20.00 mm, the last at full depth" in out


def test_a_set_that_ships_is_solved_whole(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "solve", "porch-set")
    assert code == 1
    listed, _, table = out.partition("All jobs\n")
    for text in (listed, table):
        assert len([line for line in text.splitlines() if line.startswith("Porch ")]) == 4


def test_json_holds_the_very_numbers_of_the_library(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "solve", "bench", "chair", "--json")
    assert code == 0
    jobs = json.loads(out)
    named = load_job("bench").joints[0]
    wanted = solve(named.joint, load_fixture("porch")).settings_dict()
    assert jobs[0]["joints"][0]["settings"] == wanted
    assert [job["feasible"] for job in jobs] == [True, True]


def test_inches_stand_beside_millimetres_never_instead(capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = run(capsys, "solve", "bench", "--inches")
    # 66 mm is 2.598 in; the nearest sixty-fourth is 2 38/64.
    assert "66.00 mm (2 19/32 in)" in out


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["solve", "garden"], "is not the name of a job that ships"),
        (["solve", "no/such.toml"], "no/such.toml: file: there is no such file"),
        (["types", "dovetailed_stool"], "is not a known joint type"),
    ],
)
def test_bad_input_is_exit_code_2_and_no_traceback(
    capsys: pytest.CaptureFixture[str], arguments: list[str], words: str
) -> None:
    code, out, err = run(capsys, *arguments)
    assert (code, out) == (2, "")
    assert words in err
    assert "Traceback" not in err


def test_types_lists_all_and_shows_one_with_units_and_ranges(
    capsys: pytest.CaptureFixture[str],
) -> None:
    code, out, _ = run(capsys, "types")
    assert code == 0
    assert [line.split()[0] for line in out.splitlines()] == list(joint_types())
    for name in joint_types():
        _, one, _ = run(capsys, "types", name)
        assert one.startswith(f"{name}: ")
        _, as_json, _ = run(capsys, "types", name, "--json")
        parameters = json.loads(as_json)["parameters"]
        assert all(p["help"] and p["allowed"] for p in parameters)
    _, listed, _ = run(capsys, "types", "--json")
    assert [t["name"] for t in json.loads(listed)["joint_types"]] == list(joint_types())


def test_one_bad_file_keeps_nobody_from_the_others(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = run(capsys, "solve", "no/such.toml", "bench")
    assert code == 2
    assert "no/such.toml" in err
    assert "Porch bench, four splayed legs" in out


def test_wrong_usage_is_exit_code_2() -> None:
    with pytest.raises(SystemExit) as caught:
        main(["carve"])
    assert caught.value.code == 2


def test_the_installed_command_survives_a_reader_that_goes_away() -> None:
    command = Path(sys.executable).with_name("jointgeo")
    with subprocess.Popen(
        [command, "solve", "porch-set"], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.read(10)
        process.stdout.close()
        assert process.stderr.read() == b""
        assert process.wait(timeout=60) in (0, 1)


def test_a_subcommand_that_cannot_be_loaded_says_why_and_stops_nobody(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    import importlib.metadata

    broken = importlib.metadata.EntryPoint("plane", "no_such_module:add", "jointgeo.commands")
    real = importlib.metadata.entry_points

    def with_broken(**params: str) -> object:
        found = real(**params)
        return [*found, broken] if params.get("group") == "jointgeo.commands" else found

    monkeypatch.setattr(importlib.metadata, "entry_points", with_broken)
    code, _, err = run(capsys, "plane")
    assert code == 3
    assert "the command plane cannot be used: ModuleNotFoundError" in err
    assert run(capsys, "types")[0] == 0


STRANGER = """
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
STRANGERS_JOB = """
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
        *arguments: str, fault: str = "pass", source: str = STRANGER, **options: Any
    ) -> subprocess.CompletedProcess[bytes]:
        info = tmp_path / "sticks-1.2.dist-info"
        info.mkdir(exist_ok=True)
        (info / "METADATA").write_text("Metadata-Version: 2.1\nName: sticks\nVersion: 1.2\n")
        (info / "entry_points.txt").write_text("[jointgeo.joint_types]\nslot = sticks:Slot\n")
        (tmp_path / "sticks.py").write_text(source.replace("FAULT", fault))
        (tmp_path / "slot.toml").write_text(STRANGERS_JOB)
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
        done = command("solve", "slot.toml", *form, source=STRANGER.replace("def notes", check))
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
    lines = [f"{k} = {json.dumps(v)}" for k, v in joint.items()]
    head, _, _ = STRANGERS_JOB.replace('type = "slot"', 'type = "angled_box_joint"').partition(
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
    text = STRANGERS_JOB.replace('type = "slot"', 'type = "angled_tenon"')
    job.write_bytes(b"\xef\xbb\xbf" + text.encode())
    code, _, err = run(capsys, "solve", str(job))
    assert code == 2
    assert "wide_mm: is not a known name" in err  # so it was read as far as its own mistakes
