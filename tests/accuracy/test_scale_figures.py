"""Where an axis is set by its scale, a person is told the scale's figure, and first.

The fixture has a tilt's and a swivel's correction; the figures are wanted angle and
correction added up, the wanted ones of the demo bench by hand (``tests/core/by_hand``).
"""

from __future__ import annotations

import argparse
import html
import re
from pathlib import Path

import attrs
import pytest

from jointgeo.command import main
from jointgeo.errors import FixtureError
from jointgeo.fixtures.corrections import Correction
from jointgeo.fixtures.file import fixture_words
from jointgeo.fixtures.model import Fixture
from jointgeo.fixtures.testcuts import AxisCut
from jointgeo.fixtures.text import fixture_toml
from jointgeo.jobs.file import load_job
from jointgeo.jobs.report import job_text
from jointgeo.jobs.solve import solve_job
from jointgeo.sheet import Book, page, sheet_of_job
from jointgeo.sheet.command import add
from jointgeo.solution.axis import axis_setting

#: What the bench's two positions must show: ±7.827 + 0.057 and 12 - 0.047, hundredths exact.
SWIVEL = "-7.770° or -7°46.2′ (true angle -7.827°, anticlockwise)"
OTHER = "7.884° or 7°53.1′ (true angle 7.827°, clockwise)"
TILT = "11.953° or 11°57.2′ (true angle 12.000°, cut end towards you)"


@pytest.fixture
def calibrated(porch: Fixture) -> Fixture:
    return attrs.evolve(porch, correction=Correction(swivel_zero_deg=0.057, tilt_zero_deg=-0.047))


@pytest.fixture
def doubted(porch: Fixture) -> Fixture:
    cuts = tuple(
        AxisCut(id=f"d/tilt/{n}", axis="tilt", scale_deg=at, off_deg=off, u_deg=0.006)
        for n, at, off in (("D", 0.0, 0.03), ("E", 0.0, 0.05), ("F", 12.0, 9.05))
    )
    return attrs.evolve(porch, test_cut=cuts)


def report_on(fixture: Fixture, job: str = "bench") -> str:
    return job_text(solve_job(attrs.evolve(load_job(job), fixture=fixture)))


def sheet_on(fixture: Fixture, job: str = "bench") -> tuple[str, Book]:
    book = Book()
    text = page(sheet_of_job(solve_job(attrs.evolve(load_job(job), fixture=fixture))), book)
    return words_of(text), book


def words_of(text: str) -> str:
    plain = html.unescape(re.sub(r"<[^>]+>", " ", text.partition("<body>")[2]))
    return " ".join(plain.split())


def test_the_report_says_figures_before_anything_else_of_a_setting(calibrated: Fixture) -> None:
    lines = report_on(calibrated).splitlines()
    start = lines.index("Operation 1: leg")
    clamp = next(i for i in range(start, len(lines)) if "on the plate" in lines[i])
    assert lines[clamp + 1] == f"    swivel's scale must show: {SWIVEL}"
    assert lines[clamp + 2] == f"    tilt's scale must show: {TILT}"
    assert lines[clamp + 3] == "    overhang 92.70 mm"
    assert lines[clamp + 4].startswith("    MIND: ")
    assert not any(re.match(r" +swivel -?7\.827°", line) for line in lines)


def test_an_axis_that_is_right_reads_as_before(porch: Fixture) -> None:
    one = attrs.evolve(porch, correction=Correction(tilt_zero_deg=-0.047))
    text = report_on(one)
    assert f"    tilt's scale must show: {TILT}\n    swivel -7.827° (-7°49.6′), antic" in text
    assert "swivel's scale must show" not in text
    # Less than is printed is no other figure.
    assert report_on(attrs.evolve(porch, correction=Correction(tilt_zero_deg=0.0001))) == report_on(
        porch
    )


def test_the_sheet_says_figures_wherever_an_axis_is_set(calibrated: Fixture) -> None:
    text, book = sheet_on(calibrated)
    set_to, near = "set its scale to , must be within ±", (0.068, 0.090)
    assert text.count(f"SWIVEL: {set_to} {near[0]:.3f}° {SWIVEL}") == 1
    assert text.count(f"SWIVEL: {set_to} {near[0]:.3f}° {OTHER}") == 1
    assert text.count(f"TILT: {set_to} {near[1]:.3f}° {TILT}") == 2
    for told in ("et the tilt to", "et the swivel to", "complement"):
        assert not re.search(rf"{told} -?\d", text), told
    facing = book.pictures["operation-1-facing"].svg("x")
    assert "swivel's scale -7.770°" in html.unescape(facing)
    assert "(true angle -7.827°," in html.unescape(facing)
    side = book.pictures["operation-1-side"].svg("x")
    assert "tilt's scale 11.953°" in html.unescape(side)


def test_the_sheet_of_a_fixture_that_is_not_calibrated_is_as_it_was(porch: Fixture) -> None:
    text, book = sheet_on(porch)
    assert text.count("TILT cut end towards you, must be within ± 0.090° 12.000° 12°00.0′") == 2
    assert text.count("SWIVEL anticlockwise, must be within ± 0.068° -7.827° -7°49.6′") == 1
    assert "scale to -" not in text.replace("'s scale to -7.83°", "")
    assert "true angle" not in text
    assert "tilt 12.000°" in book.pictures["operation-1-side"].svg("x")


def test_a_zero_that_is_off_is_set_by_its_figure_too(calibrated: Fixture) -> None:
    """The planter's ends stand at no swivel or no tilt at all; the scale does not show 0 there."""
    axis = axis_setting(calibrated, "swivel", 0.0)
    assert axis.figure_words == "0.057° or 0°03.4′ (true angle 0.000°, at zero)"
    low = axis_setting(calibrated, "tilt", 0.0)
    assert low.figure_words.endswith("(true angle 0.000°, at zero), beyond its range")


def test_a_scale_numbered_otherwise_is_within_its_range(porch: Fixture) -> None:
    """89.8 is a figure, and the range -25 to 25° is one of angles."""
    gauge = attrs.evolve(porch.swivel, scale_sense="against_axis", scale_zero_deg=90.0)
    axis = axis_setting(attrs.evolve(porch, swivel=gauge), "swivel", 0.2)
    assert axis.figure_deg == pytest.approx(89.8, abs=1e-12)
    assert not axis.beyond
    assert axis.differs


def test_no_figure_is_given_while_test_cuts_contradict(doubted: Fixture) -> None:
    text = report_on(doubted)
    why = "the test cuts of the tilt contradict each other (tilt F is "
    assert f"verdict: NOT FEASIBLE\nDO NOT CUT YET: {why}" in text
    assert "tilt's scale must show: not known, its test cuts contradict each other (true" in text
    assert "\n    tilt to ±" not in text
    assert "\n    swivel to ±" in text
    sheet, book = sheet_on(doubted)
    assert f"DO NOT CUT YET: {why}" in sheet
    assert sheet.count("TILT: do not set , its test cuts contradict each other. The drawing") == 4
    assert "tilt's scale not known" in html.unescape(book.pictures["operation-1-side"].svg("x"))
    figure = axis_setting(doubted, "tilt", 12.0).figure_deg
    assert abs(figure - 12.0) > 1.0
    for said in (text, sheet):
        assert f"{figure:.2f}°" not in said
        assert f"{figure:.3f}°" not in said


def test_a_fixture_says_which_file_it_is_of(porch: Fixture, calibrated: Fixture) -> None:
    assert fixture_words(porch, "") == "porch"
    assert fixture_words(porch, "own/porch.toml") == "own/porch.toml, porch"
    assert fixture_words(calibrated, "calibrated.toml") == "calibrated.toml, changed from porch"
    mine = attrs.evolve(calibrated, name="mine")
    assert fixture_words(mine, "mine.toml") == "mine.toml, mine"


def sheet(*words: str) -> int:
    parser = argparse.ArgumentParser()
    add(parser.add_subparsers(required=True))
    asked = parser.parse_args(["sheet", *words])
    return int(asked.run(asked))


def test_both_commands_take_a_fixture_and_name_its_file(
    calibrated: Fixture, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "calibrated.toml"
    file.write_text(fixture_toml(calibrated), "utf-8")
    assert main(["solve", "bench", "--fixture", str(file)]) == 0
    assert f"fixture: {file}, changed from porch, Porch fixture" in capsys.readouterr().out
    assert sheet("bench", "--fixture", str(file), "--output", str(tmp_path / "out")) == 0
    for name in ("bench", "bench-leg-and-rail"):
        text = words_of((tmp_path / "out" / f"{name}.html").read_text("utf-8"))
        assert f"On {file}, changed from porch (Porch fixture" in text
        figure = OTHER if "rail" in name else SWIVEL
        assert f"SWIVEL: set its scale to , must be within ± 0.068° {figure}" in text
    with pytest.raises(FixtureError):
        sheet("bench", "--fixture", str(tmp_path / "none.toml"), "--output", str(tmp_path))


def test_a_jobs_own_fixture_file_is_named_as_the_job_names_it(
    calibrated: Fixture, tmp_path: Path
) -> None:
    (tmp_path / "mine.toml").write_text(fixture_toml(calibrated), "utf-8")
    job = """
    title = "One leg"
    fixture = "mine.toml"
    [[joint]]
    name = "leg"
    type = "splayed_bridle"
    parameters = { leg_width_mm = 66, leg_thickness_mm = 44, leg_length_mm = 430, """
    job += """rail_thickness_mm = 30, tongue_thickness_mm = 20, rail_depth_mm = 60, """
    job += """rail_length_mm = 900, splay_along_deg = 12, splay_across_deg = 8, fit_mm = 0.1 }"""
    (tmp_path / "job.toml").write_text(job, "utf-8")
    found = load_job(tmp_path / "job.toml")
    assert "\nfixture: mine.toml, changed from porch, Porch" in job_text(solve_job(found))
    assert found.on("porch").fixture_source == ""
