"""The commands as a person calls them, with what they write."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

import jointgeo
from jointgeo.command import main
from jointgeo.fixture_changes import command

JOBS = Path(jointgeo.__file__).parent / "data" / "jobs" / "porch-joints"


def test_what_helps_writes_a_fixture_on_which_it_is_feasible(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    made = tmp_path / "porch-2.toml"
    assert main(["what-helps", "planter-six", "--output", str(made), "--name", "porch-2"]) == 0
    said = capsys.readouterr().out
    assert "Falls short now: front beam, tilt range." in said
    assert "1. the straight beam off for this cut and a tilt that goes 9.95° further" in said
    assert "to do again afterwards: the zero of that axis" in said
    fixture = jointgeo.load_fixture(made)
    assert (fixture.name, fixture.changed_from) == ("porch-2", "porch")
    assert fixture.changed_why is not None
    assert fixture.changed_why.startswith("the straight beam off for this cut")
    assert fixture.tilt.max_deg == pytest.approx(33.9514, abs=5e-5)
    assert main(["solve", "planter-six"]) == 1
    assert main(["solve", "planter-six", "--fixture", str(made)]) == 0
    capsys.readouterr()
    assert main(["what-helps", "planter-six", "--fixture", str(made)]) == 0
    assert "Nothing needs to change" in capsys.readouterr().out


#: A leg that is short of room to the beam, under a rail of 60 mm that stands out of its housing
#: whatever cuts it.
FAULTY = """
title = "Trial bench"
fixture = "porch"
[[joint]]
name = "leg"
type = "splayed_bridle"
[joint.parameters]
leg_width_mm = 66
leg_thickness_mm = {thickness}
leg_length_mm = 430
rail_thickness_mm = 60
tongue_thickness_mm = 22
rail_depth_mm = 60
rail_length_mm = 900
splay_along_deg = {along}
splay_across_deg = 8
[[member]]
name = "leg"
near = {{ cut = "joint", joint = "leg", part = "leg" }}
"""


def test_what_no_fixture_cures_is_told_with_what_is_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job, made = tmp_path / "trial.toml", tmp_path / "porch-2.toml"
    job.write_text(FAULTY.format(thickness=80, along=15), "utf-8")
    asked = ["what-helps", str(job), "--allow", "beam_off", "--output", str(made)]
    assert main(asked) == 1
    said = capsys.readouterr().out.splitlines()
    assert "Falls short now: front beam." in said
    assert said[-1] == (
        f"Written to {made}: the straight beam off for this cut. Still NOT FEASIBLE, and no "
        "fixture cures it: housing covered (leg)."
    )
    assert main([*asked, "--json"]) == 1  # the same again: the file is what it would be
    found = json.loads(capsys.readouterr().out)
    assert (found["feasible_now"], found["feasible_after"]) == (False, False)
    written = found["written"]
    assert (written["file"], written["says"]) == (str(made), "the straight beam off for this cut")
    assert [c["name"] for c in written["still_not_feasible"]] == ["housing_covered"]
    assert main(["solve", str(job), "--fixture", str(made), "--json"]) == 1
    (answer,) = json.loads(capsys.readouterr().out)
    assert {c["name"] for c in _checks(answer) if c["status"] == "fail"} == {"housing_covered"}


def _checks(data: object) -> list[dict[str, object]]:
    """Every check of an answer's plain data."""
    if isinstance(data, list):
        return [check for item in data for check in _checks(item)]
    if not isinstance(data, dict):
        return []
    if "margin" in data:
        return [data]
    return [check for item in data.values() for check in _checks(item)]


def test_no_change_of_the_fixture_cures_what_is_not_its_fault(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job, made = tmp_path / "trial.toml", tmp_path / "porch-2.toml"
    job.write_text(FAULTY.format(thickness=44, along=12), "utf-8")
    assert main(["what-helps", str(job), "--output", str(made)]) == 1
    said = capsys.readouterr().out
    assert "The fixture needs no change: nothing falls short on it with 2 mm of room." in said
    assert "No fixture cures housing covered (leg)" in said
    assert "Still NOT FEASIBLE, and no fixture cures it: housing covered (leg)." in said
    assert not made.exists()


@pytest.mark.parametrize("more", [[], ["--option", "3"]])
def test_where_nothing_needs_to_change_nothing_is_written(
    more: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    made = tmp_path / "porch-2.toml"
    asked = ["what-helps", "bench", "--output", str(made), *more]
    assert main(asked) == 0
    said = capsys.readouterr().out
    assert said.startswith("Nothing needs to change: everything is feasible")
    assert said.endswith(f"Nothing was written to {made}: the fixture needs no change.\n")
    assert main([*asked, "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert (found["feasible_now"], found["feasible_after"]) == (True, True)
    assert found["written"] is None
    assert not made.exists()


def test_where_nothing_is_enough_nothing_is_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    made = tmp_path / "porch-2.toml"
    asked = ["what-helps", "planter-six", "--allow", "beam_off", "--output", str(made)]
    assert main(asked) == 1
    said = capsys.readouterr().out
    assert f"Nothing was written to {made}: nothing that is allowed is enough." in said
    assert not made.exists()


def test_a_file_in_the_way_is_refused_before_the_search(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    made = tmp_path / "porch-2.toml"
    asked = ["what-helps", "planter-six", "--allow", "beam_off", "--allow", "range_more"]
    assert main([*asked, "--output", str(made)]) == 0
    text = made.read_text("utf-8")
    assert main([*asked, "--output", str(made)]) == 0  # it holds the very result
    assert made.read_text("utf-8") == text
    assert [p.name for p in tmp_path.iterdir()] == ["porch-2.toml"]
    (tmp_path / "mine.toml").write_text("mine", "utf-8")
    made.with_name("folder.toml").mkdir()

    def searched(*_: object, **__: object) -> None:
        raise AssertionError("searched")

    monkeypatch.setattr(command, "what_would_do", searched)
    capsys.readouterr()
    for given in (
        [*asked, "--output", str(made), "--name", "another"],
        [*asked, "--output", str(made), "--fixture", str(made), "--name", "porch-2"],
        ["what-helps", "planter", "--output", str(made)],
        [*asked, "--output", str(tmp_path / "mine.toml")],
        [*asked, "--output", str(tmp_path / "folder.toml")],
    ):
        assert main(given) == 2, given
        assert "--output: names a file that exists" in capsys.readouterr().err
    assert made.read_text("utf-8") == text
    main([*asked, "--output", str(made)])  # what would come of it is not known before
    assert "AssertionError: searched" in capsys.readouterr().err


def test_a_file_is_not_written_over_unasked(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    made = tmp_path / "porch-2.toml"
    made.write_text("mine", "utf-8")
    asked = ["what-helps", "planter-six", "--output", str(made)]
    assert main(asked) == 2
    assert made.read_text("utf-8") == "mine"
    assert main([*asked, "--overwrite"]) == 0
    assert [p.name for p in sorted(tmp_path.iterdir())] == ["porch-2.toml", "porch-2.toml.1"]
    capsys.readouterr()


def test_nothing_allowed_is_enough(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["what-helps", "planter-six", "--allow", "beam_out", "--allow", "beam_off"]) == 1
    said = capsys.readouterr().out
    assert "No change that is allowed acts on tilt range." in said
    assert "Nothing that is allowed is enough." in said
    near = ["what-helps", "planter-six", "--allow", "range_more", "--allow", "beam_out:5"]
    assert main(near) == 1
    assert "would be enough if its bound were lifted: the straight beam" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (["--allow", "no_such"], "is no change"),
        (["--allow", "beam_out:x"], "has no number there"),
        (["--allow", "beam_out:-3"], "has no number there"),
        (["--room-mm", "-1"], "room_mm: is out of range"),
        (["--output", "x.toml", "--option", "99"], "option: is no option"),
        (["--fixture", "no-such"], "is not the name of a known fixture"),
    ],
)
def test_bad_questions(
    more: list[str],
    words: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["what-helps", "planter-six", *more]) == 2
    assert words in capsys.readouterr().err
    assert not list(tmp_path.iterdir())


def test_json_of_what_helps(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["what-helps", "planter-six", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    first = found["options"][0]
    assert first["changes"][0] == {
        "change": "beam_off",
        "target": "straight beam",
        "made": True,
        "found": "tried",
        "says": "the straight beam off for this cut",
    }
    assert first["changes"][1]["amount_deg"] == pytest.approx(9.9514, abs=5e-5)
    assert found["whole"] is True


def test_work_on_several_fixtures_and_the_greatest_tilt(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    made = tmp_path / "two.toml"
    main(["what-helps", "planter-six", "--output", str(made), "--name", "porch-2"])
    capsys.readouterr()
    asked = ["compare-fixtures", "bench", "planter-six", "--fixture", "porch"]
    assert main([*asked, "--fixture", str(made), "--thickness-mm", "50"]) == 1
    lines = capsys.readouterr().out.splitlines()
    assert [line.split()[:2] for line in lines if line.startswith("  porch")] == [
        ["porch", "feasible"],
        ["porch-2", "feasible"],
        ["porch", "NOT"],
        ["porch-2", "feasible"],
    ]
    # 17.923°: where the face of 50 mm stock meets the low edge of the beam, see test_limits
    assert lines[-1].split() == ["50", "mm", "17.92°", "whole", "range"]
    assert main(["compare-fixtures", "planter-six", "--fixture", str(made), "--json"]) == 0
    (cell,) = json.loads(capsys.readouterr().out)["cells"]
    assert cell["verdict"] == "caution"
    assert (cell["units"]["clamp_force"], cell["units"]["tilt_range"]) == ("N", "deg")
    assert cell["units"].keys() == cell["least"].keys()


def test_gains_of_a_folder(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shop, made = tmp_path / "shop", tmp_path / "two.toml"
    (shop / "boxes").mkdir(parents=True)
    shutil.copy(JOBS / "bench.toml", shop / "bench.toml")
    shutil.copy(JOBS / "planter-six.toml", shop / "boxes" / "six.toml")
    main(["what-helps", "planter-six", "--output", str(made), "--name", "porch-2"])
    shutil.copy(made, shop / "fixture.toml")
    capsys.readouterr()
    forth = ["gains", str(shop), "--before", "porch", "--after", str(made)]
    assert main(forth) == 0
    said = capsys.readouterr().out
    assert said.startswith("porch-2, changed from porch: the straight beam off")
    assert "gained  boxes/six.toml: feasible" in said
    assert said.rstrip().endswith("1 gained, 0 lost, 1 as before")
    back = ["gains", str(shop), "--before", str(made), "--after", "porch", "--json"]
    assert main(back) == 1
    works = json.loads(capsys.readouterr().out)["works"]
    assert {w["work"]: w["change"] for w in works} == {
        "bench.toml": "same",
        "boxes/six.toml": "lost",
    }
    assert main(["gains", str(tmp_path / "none"), "--before", "porch", "--after", "porch"]) == 2
    (tmp_path / "empty").mkdir()
    assert main(["gains", str(tmp_path / "empty"), "--before", "porch", "--after", "porch"]) == 2
    err = capsys.readouterr().err
    assert "is no folder" in err
    assert "holds no job and no piece" in err
