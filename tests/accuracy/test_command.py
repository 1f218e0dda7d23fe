"""The commands: text and JSON, exit codes, and files that are written only when asked."""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import Any

import pytest

import jointgeo
from jointgeo.calibration.command import add
from jointgeo.errors import InputError


def run(*words: str) -> int:
    parser = argparse.ArgumentParser()
    add(parser.add_subparsers(required=True))
    asked = parser.parse_args(list(words))
    return int(asked.run(asked))


def run_json(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, Any]:
    code = run(*words, "--json")
    return code, json.loads(capsys.readouterr().out)


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (("check-up", "porch-check-up"), 0, "tilt_zero"),
        (("calibrate", "porch-test-cuts"), 1, "NOT good enough yet"),
        (("calibrate", "porch-test-cuts", "--joint", "bench"), 1, "at -7.827°: "),
        (("test-pieces",), 0, "coupon of fits"),
        (
            ("estimate-fixture", "porch-limits"),
            0,
            "estimated: level from the hinge to the beam's face (G)",
        ),
        (("sweep", "splayed_bridle"), 1, "splayed_bridle, leg, clamping 1"),
        (("sweep", "angled_box_joint", "--steps", "3"), 1, "no"),
        (
            [
                "wood",
                "--species",
                "black_walnut",
                "--size-mm",
                "100",
                "--from-percent",
                "10",
                "--to-percent",
                "9",
            ],
            1,
            "-0.274 mm",
        ),
    ],
)
def test_text_and_exit_code(
    capsys: pytest.CaptureFixture[str], words: tuple[str, ...], code: int, said: str
) -> None:
    """Walnut: 100 · 0.00274 · 1 = 0.274 mm, more than the 0.15 mm a fit may change."""
    assert run(*words) == code
    assert said in capsys.readouterr().out


def test_json_of_every_command(capsys: pytest.CaptureFixture[str]) -> None:
    code, data = run_json(capsys, "check-up", "porch-check-up")
    assert (code, data["status"]) == (0, "caution")
    _, data = run_json(capsys, "calibrate", "porch-test-cuts")
    assert data["changes"]["correction.swivel_zero_deg"] > 0
    _, data = run_json(capsys, "test-pieces")
    assert len(data["pieces"]) > 6
    _, data = run_json(capsys, "estimate-fixture", "porch-limits")
    assert data["status"] == "estimated"
    _, data = run_json(capsys, "sweep", "splayed_bridle", "--axis", "swivel", "--steps", "3")
    budgets = data["sweeps"][0]["budgets"]
    assert [b["swivel_deg"] for b in budgets] == [-25.0, 0.0, 25.0]
    assert data["sweeps"][0]["closes"] == all(b["closes"] for b in budgets)
    words = [
        "wood",
        "--species",
        "red_oak",
        "--size-mm",
        "20",
        "--from-percent",
        "8",
        "--to-percent",
        "9",
    ]
    code, data = run_json(capsys, *words)
    assert code == 0
    assert data["piece_mm"] == pytest.approx(0.0738, abs=1e-9)


def test_limits_are_told_for_the_stock_asked_about(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """G 151.2, v 207.3 from the demo's readings. 50 mm stock: acos(80/√(G²+v²)) - atan2(v, G) =
    17.93°; 130 mm stock has T 160, more than G, and touches upright."""
    asked = ("estimate-fixture", "porch-limits", "--thickness-mm", "50", "--thickness-mm", "130")
    assert run(*asked) == 0
    told = capsys.readouterr().out
    assert "First: measure two lengths with a rule" in told
    assert "50 mm stock: limit 17.93°" in told
    assert "130 mm stock: limit -" in told
    assert "not sure to be free even upright" in told
    _, data = run_json(capsys, *asked)
    assert [p["thickness_mm"] for p in data["limits"]] == [50.0, 130.0]
    assert data["limits"][0]["limit_deg"] == pytest.approx(17.93, abs=0.005)
    file = tmp_path / "hung.toml"
    rows = ((12, 10, 27.6), (40, 40, 19.0), (60, 10, 18.4))
    file.write_text(
        "backing_mm = 18\nplate_offset_mm = 12\n"
        + "".join(
            f"[[limit]]\nthickness_mm = {t}\noverhang_mm = {o}\nangle_deg = {a}\n"
            'touched = "end_on_face"\n'
            for t, o, a in rows
        )
    )
    run("estimate-fixture", str(file))
    assert "they need --overhang-mm" in capsys.readouterr().out
    run("estimate-fixture", str(file), "--overhang-mm", "40", "--thickness-mm", "40")
    assert "40 mm stock: limit 19." in capsys.readouterr().out


def test_a_demo_job_can_be_swept(capsys: pytest.CaptureFixture[str]) -> None:
    name = next(iter(next(iter(jointgeo_jobs().values()))))
    run("sweep", name, "--steps", "2")
    assert "clamping 1" in capsys.readouterr().out


def jointgeo_jobs() -> dict[str, tuple[str, ...]]:
    from jointgeo.jobs.file import demo_jobs

    return demo_jobs()


def test_calibrating_writes_a_file_that_is_honoured(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    path = tmp_path / "calibrated.toml"
    code, data = run_json(capsys, "calibrate", "porch-test-cuts", "--output", str(path))
    assert code == 1  # the cuts are not good enough yet, and are written all the same
    calibrated = jointgeo.load_fixture(path)
    wanted = data["changes"]["correction.tilt_zero_deg"]
    assert calibrated.correction.tilt_zero_deg == wanted
    # The same once more changes nothing, asked to replace or not.
    run(
        "calibrate", "porch-test-cuts", "--fixture", str(path), "--output", str(path), "--overwrite"
    )
    assert "holds all of this already" in capsys.readouterr().out
    assert not (tmp_path / "calibrated.toml.1").exists()
    with pytest.raises(InputError, match="exists"):
        run("check-up", "porch-check-up", "--output", str(path))
    run("check-up", "porch-check-up", "--output", str(path), "--overwrite")
    capsys.readouterr()
    assert (tmp_path / "calibrated.toml.1").exists()


def test_angles_of_a_joint_can_be_asked_for(capsys: pytest.CaptureFixture[str]) -> None:
    """Small stock needs less: atan(.15/20)/√2 = .304°."""
    words = ("calibrate", "porch-test-cuts", "--tilt-deg", "5", "--tilt-deg", "12")
    code, data = run_json(capsys, *words, "--across-mm", "20")
    tilt = next(v for v in data["values"] if v["name"] == "tilt")
    assert [a["wanted_deg"] for a in tilt["at"]] == [5.0, 12.0]
    assert tilt["at"][0]["needed_deg"] == pytest.approx(0.3038, abs=1e-4)
    assert (code, data["enough"]) == (0, True)


def test_a_check_up_that_fails_writes_no_corrections(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    readings = tmp_path / "r.toml"
    readings.write_text(
        'date = "today"\nfixture = "porch"\n'
        '[[fixed_plate]]\nside = "left"\ngap_mm = 1.0\nopen_at = "top"\nheight_mm = 200\n'
        '[[fixed_plate]]\nside = "right"\ngap_mm = 0.0\nopen_at = "top"\nheight_mm = 200\n'
        '[[turned_over]]\naxis = "swivel"\ncut = "A"\ngap_mm = 0.2\nopen_at = "left"\n'
        "length_mm = 90\nscale_deg = 0\n"
    )
    path = tmp_path / "f.toml"
    assert run("check-up", str(readings), "--output", str(path)) == 1
    assert "nothing was found for good" in capsys.readouterr().out
    assert not path.exists()


def test_a_fixture_named_by_path_lies_beside_its_readings(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    from jointgeo.calibration.changes import write_fixture

    write_fixture(jointgeo.load_fixture("porch"), tmp_path / "mine.toml")
    readings = tmp_path / "r.toml"
    readings.write_text('date = "today"\nfixture = "mine.toml"\n')
    assert run("check-up", str(readings)) == 1
    assert "no reading of the fixed plate" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("check-up", "nowhere"), "not the name of readings that ship"),
        (("check-up", "porch-limits"), "backing_mm: is not a known name"),
        (("sweep", "splayed_bridle", "--from-deg", "5", "--to-deg", "5"), "from_deg"),
        (("sweep", "nothing"), "job"),
        (("sweep", "splayed_bridle", "--steps", "1"), "steps: is too small"),
        (
            [
                "wood",
                "--species",
                "oak",
                "--size-mm",
                "20",
                "--from-percent",
                "8",
                "--to-percent",
                "90",
            ],
            "(?s)species.*to_percent",
        ),
        (
            [
                "wood",
                "--species",
                "red_oak",
                "--size-mm",
                "nan",
                "--from-percent",
                "8",
                "--to-percent",
                "9",
            ],
            "finite",
        ),
    ],
)
def test_bad_input_names_the_field(words: tuple[str, ...], said: str) -> None:
    with pytest.raises(InputError, match=said):
        run(*words)


def test_bad_options_end_with_code_2(capsys: pytest.CaptureFixture[str]) -> None:
    for bad in ("nan", "-3", "x"):
        with pytest.raises(SystemExit) as caught:
            run("test-pieces", f"--across-mm={bad}")
        assert caught.value.code == 2
        assert "is not a number above 0" in capsys.readouterr().err


def test_a_fit_of_two_woods(capsys: pytest.CaptureFixture[str]) -> None:
    """30·(0.00365 - 0.00158)·4 = 0.248 mm tighter on drying by 4 %, and a rough rule above 14 %."""
    words = ["wood", "--species", "white_oak", "--size-mm", "30", "--tongue-species", "red_oak"]
    words += ["--tongue-grain", "radial", "--from-percent", "16", "--to-percent", "12"]
    assert run(*words, "--limit-mm", "0.3") == 0
    said = capsys.readouterr().out
    assert "the fit (clearance) gets 0.248 mm tighter" in said
    assert "only rough" in said
    assert run(*words) == 1
