"""The command line as a person at a shell meets it."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import jointgeo
from jointgeo import joint_types, load_fixture, solve
from jointgeo.command import main
from jointgeo.fixtures.text import fixture_toml
from jointgeo.jobs.file import load_job
from jointgeo.jobs.named import demo_sets, load_named
from jointgeo.jobs.report import CAUTIONS, READING

JOBS = Path(jointgeo.__file__).parent / "data" / "jobs" / "porch-joints"


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
    assert out.count("Operation ") == 4
    assert "lay out on rail, face side: housing: from square 12.000°, width 44.00 mm" in out


def test_what_does_not_fit_is_an_answer_with_numbers(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = run(capsys, "solve", "planter-six")
    assert (code, err) == (1, "")
    assert "verdict: NOT FEASIBLE" in out
    for words in ("moved out by", "set-back beam in its place", "taken off", "no more than"):
        assert words in out
    # The set-back beam's 35 mm more room against 49.66 mm wanted: information and no remedy.
    assert "    no help: the set-back beam in its place would still be short by 14.7 mm\n" in out
    assert "leaves -" not in out


def test_what_does_not_fit_is_headed_so_before_its_numbers(
    capsys: pytest.CaptureFixture[str],
) -> None:
    _, out, _ = run(capsys, "solve", "planter-six", "bench")
    lines = out.splitlines()
    heading = "DO NOT CUT: 'corner' is not feasible; front_beam is short by 49.66 mm"
    settings = [i for i, line in enumerate(lines) if line.startswith("Operation ")]
    assert [lines[i - 1] for i in settings] == [heading] * 2 + [""] * 4


def test_a_remedy_is_printed_once_in_a_job(capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = run(capsys, "solve", "planter-six")
    remedies = [line for line in out.splitlines() if line.startswith("    remedy: ")]
    assert len(set(remedies)) == len(remedies) > 0
    assert "    other remedies as above\n" in out


def test_a_set_ends_with_a_table_and_says_once_how_to_read_it(
    capsys: pytest.CaptureFixture[str],
) -> None:
    _, out, _ = run(capsys, "solve", "porch-joints")
    rows = out.rpartition("All jobs\n--------\n")[2].splitlines()
    assert len(rows) == 4
    worst = [row for row in rows if "NOT FEASIBLE" in row]
    assert worst == [
        "Porch planter, six sides, too steep for the fixture (its joints by their angles)  "
        "NOT FEASIBLE: front_beam, margin -49.66 mm"
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


def test_the_bottom_of_the_cuts_is_not_called_a_floor(capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = run(capsys, "solve", "bench")
    line = "  bottom of the cuts from the square end: face side / face edge "
    assert line in out
    assert "  trim line from the square end: " in out
    assert "floor line" not in out


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
    again = "    already trimmed in clamping 1: do not trim again\n"
    assert out.count("  clamping 2: ") == out.count(again) == 4
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
    assert "verdict: feasible with cautions; 4 questions the fixture file does not answer\n" in out
    assert (
        "  NOT STATED clamp_contact (clamping 1): the fixture file does not state clamp.z_mm:"
        in out
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
    assert "verdict: feasible with cautions" in out
    assert "      in 3 steps, at heights 219.97 mm; 239.97 mm; 259.97 mm\n" in out
    assert "remedy: 3 equal steps of 20.00 mm, the last at full depth" in out


def test_a_set_that_ships_is_solved_whole(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "solve", "porch-joints")
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
        (["solve", "garden"], "is not the name of a job or piece that ships"),
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
        [command, "solve", "porch-joints"], stdout=subprocess.PIPE, stderr=subprocess.PIPE
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


@pytest.mark.parametrize(
    ("command", "name", "what"),
    [
        (["solve"], "bench", "job"),
        (["solve"], "porch-tray", "piece"),
        (["solve"], "porch-joints", "set"),
        (["what-helps"], "bench", "job"),
        (["what-helps"], "angled_tenon", "joint type"),
        (["compare-fixtures", "--fixture", "porch"], "bench", "job"),
        (["sweep"], "bench", "job"),
        (["sweep"], "angled_tenon", "joint type"),
    ],
)
def test_a_name_that_ships_and_a_file_here_are_told_apart(
    command: list[str],
    name: str,
    what: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    _, alone, err = run(capsys, *command, name)
    assert err == ""
    file = tmp_path / f"{name}.toml"
    shutil.copy(JOBS / "chair.toml", file)
    _, beside, err = run(capsys, *command, name)
    assert beside == alone
    says = f"{name} is the {what} that ships; for the file here write ./{name}.toml"
    assert err == f"jointgeo: {says}\n"
    for path in (f"./{name}.toml", f"{name}.toml", str(file)):
        _, here, err = run(capsys, *command, path)
        assert err == ""
        assert here != alone


def test_everything_that_ships_has_a_title_of_its_own() -> None:
    titles = [one.title for name in demo_sets() for one in load_named(name)]
    assert len(titles) == len(set(titles)) > 10
