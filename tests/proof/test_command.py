"""``jointgeo dry-fit`` as a person meets it, through argparse and the exit code."""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
from pathlib import Path

import pytest

import jointgeo
from jointgeo.command import main
from jointgeo.errors import InputError
from jointgeo.jobs.file import demo_jobs
from jointgeo.proof import dry_fit
from jointgeo.proof.command import add, report

from .handmade import altered, cut, square_tenon

DEMO = "porch-joints"


def command(*words: str) -> int:
    parser = argparse.ArgumentParser()
    add(parser.add_subparsers(required=True))
    asked = parser.parse_args(["dry-fit", *words])
    return int(asked.run(asked))


def test_the_demo_set_fits(capsys: pytest.CaptureFixture[str]) -> None:
    assert command(DEMO) == 0
    out = capsys.readouterr().out
    assert out.count(": goes together") >= len(demo_jobs()[DEMO])
    assert "DOES NOT GO TOGETHER" not in out
    # One of the jobs asks for more than the fixture can do, and goes together all the same.
    assert "  on porch: NOT FEASIBLE" in out
    # A member of the other hand is fitted too.
    assert "(mirrored)" in out


def test_mis_set_it_does_not_fit(capsys: pytest.CaptureFixture[str]) -> None:
    job = demo_jobs()[DEMO][0]
    assert command(job, "--error", "tilt_deg=0.3", "--error", "travel_mm=-0.1") == 1
    out = capsys.readouterr().out
    assert out.startswith("every clamping mis-set: tilt_deg by +0.3 deg, travel_mm by -0.1 mm")
    assert "DOES NOT GO TOGETHER" in out
    assert "not right: " in out


def test_json(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    job = demo_jobs()[DEMO][0]
    assert command(job, "--json", "--output", str(tmp_path), "--error", "tilt_deg=0.3") == 1
    answer = json.loads(capsys.readouterr().out)
    assert answer["errors"] == {"tilt_deg": 0.3}
    first = answer["joints"][0]
    assert first["fit"]["verdict"] == "does not go together"
    assert first["feasibility"]["feasible"] is True
    assert len(answer["written"]) == len(answer["joints"])
    for folder in answer["written"]:
        assert {"assembly.stl", "assembly.glb"} <= {p.name for p in Path(folder).iterdir()}


@pytest.mark.parametrize(
    ("text", "field"),
    [
        ("tilt_deg", "--error"),
        ("tilt_deg=much", "--error"),
        ("=1", "errors."),
        ("lean_deg=1", "errors.lean_deg"),
        ("tilt_deg=nan", "errors.tilt_deg"),
    ],
)
def test_an_error_that_cannot_be_read(text: str, field: str) -> None:
    with pytest.raises(InputError) as raised:
        command(DEMO, "--error", text)
    assert raised.value.problems[0].field == field


def test_an_error_given_twice() -> None:
    with pytest.raises(InputError):
        command(DEMO, "--error", "tilt_deg=1", "--error", "tilt_deg=2")


def test_a_job_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "one.toml"
    path.write_text(
        """
        title = "One joint"
        fixture = "porch"
        [[joint]]
        name = "corner"
        type = "angled_box_joint"
        [joint.parameters]
        board_width_mm = 150
        thickness_a_mm = 18
        thickness_b_mm = 18
        length_a_mm = 320
        length_b_mm = 320
        plan_corner_deg = 90
        slope_deg = 15
        finger_count = 7
        """
    )
    assert command(str(path)) == 0
    assert capsys.readouterr().out.startswith("One joint\n=========\ncorner: goes together\n")


def test_report_of_what_fits_and_what_does_not() -> None:
    good = dry_fit(square_tenon())
    loose = dry_fit(altered(square_tenon(), "parts[0].setups[1].cuts[1]", cut(14, 21, 25)))
    joint = jointgeo.joint_type("splayed_bridle").examples()[0]
    solution = jointgeo.solve(joint, jointgeo.load_fixture("porch"))
    text = report([("snug", good, None), ("loose", loose, solution)])
    snug, slack = text.split("loose: ")
    assert snug.splitlines() == [
        "snug: goes together",
        "  no overlap",
        "  no gap beyond the stated ones, and none tighter",
    ]
    assert slack.startswith("DOES NOT GO TOGETHER\n")
    assert "open by 1.0000 mm at most" in slack
    assert "  on porch: feasible" in slack
    assert "greatest gap at rail, cheeks, channel 1, high cheek: 1 mm, not 0 " in slack


def test_importing_and_help_need_no_kernel() -> None:
    """With the kernel made unimportable in a fresh interpreter."""
    program = (
        "import argparse, sys\n"
        "sys.modules['manifold3d'] = None\n"
        "from jointgeo.errors import MissingExtraError\n"
        "from jointgeo.proof.command import add\n"
        "parser = argparse.ArgumentParser()\n"
        "add(parser.add_subparsers())\n"
        "asked = parser.parse_args(['dry-fit', 'porch-set'])\n"
        "try:\n"
        "    asked.run(asked)\n"
        "except MissingExtraError as error:\n"
        "    print(error)\n"
        "parser.parse_args(['dry-fit', '--help'])\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, timeout=60, check=True
    )
    assert "in the folder of jointgeo: python -m pip install '.[proof]'" in done.stdout
    assert "--output" in done.stdout


def test_it_stands_among_the_installed_commands(capsys: pytest.CaptureFixture[str]) -> None:
    job = demo_jobs()[DEMO][0]
    assert main(["dry-fit", job]) == 0
    assert main(["dry-fit", "no-such-job"]) == 2
    assert "no-such-job" in capsys.readouterr().err
