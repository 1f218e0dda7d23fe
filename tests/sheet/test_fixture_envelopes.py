"""Several fixtures' greatest tilts as one drawing, against the table, and the command that draws.

Places on the page are read by the figures at the axes, not by the code that put them there.
"""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET
from pathlib import Path
from typing import Any

import attrs
import numpy as np
import pytest

from jointgeo.command import main
from jointgeo.errors import InputError
from jointgeo.fixture_changes.compare import envelope_of, envelopes
from jointgeo.fixtures.model import Fixture
from jointgeo.fixtures.text import fixture_toml
from jointgeo.jobs.file import load_job
from jointgeo.jobs.solve import solve_job
from jointgeo.sheet.fixture_envelopes import MOST_FIXTURES, fixture_envelopes
from jointgeo.sheet.svg import Drawing

from .samples import PORCH, SVG, lines_of, points, tree

BENCH = solve_job(load_job("bench"))
THICK = (20.0, 30.0, 50.0, 77.0)


def moved(by_mm: float, name: str, **changed: Any) -> Fixture:
    """The demo fixture with its beams that much further out."""
    beams = tuple(
        attrs.evolve(b, face_distance_mm=b.face_distance_mm + by_mm) for b in PORCH.front_beam
    )
    return attrs.evolve(PORCH, name=name, changed_from="porch", front_beam=beams, **changed)


FAR = moved(20.0, "porch-2")
NEAR = moved(-15.0, "porch-near")
STEEP = attrs.evolve(PORCH, name="steep", tilt=attrs.evolve(PORCH.tilt, max_deg=34.0))
FREE = attrs.evolve(PORCH, name="free", front_beam=())


def drawn(*fixtures: Fixture, thick: tuple[float, ...] = THICK) -> Drawing:
    return fixture_envelopes(envelopes(BENCH, fixtures, thick), "the bench")


def read_by(drawing: Drawing) -> Any:
    """Turns places on the page into (mm, degrees), by the figures that stand at the axes."""
    at = {words: ((b[0] + b[2]) / 2, (b[1] + b[3]) / 2) for words, b in drawing.texts}
    zero, most = at["0"][0], at["100"][0]
    foot, head = at["0°"][1], at["20°"][1]

    def read(page: Any) -> Any:
        places = np.asarray(page, float)
        across = (places[..., 0] - zero) * 100.0 / (most - zero)
        up = (places[..., 1] - foot) * 20.0 / (head - foot)
        return np.stack([across, up], -1)

    return read


def curves_of(drawing: Drawing) -> list[Any]:
    """(mm, degrees) of every curve, in the order of the fixtures."""
    read = read_by(drawing)
    return [read(points(e)) for e in lines_of(drawing, "curve")]


def test_curves_run_through_the_tables_numbers() -> None:
    """An SVG tells places to 0.001 mm, which is 0.0003°; 0.002 mm of figures at either end."""
    fixtures = (PORCH, FAR, NEAR, STEEP)
    drawing = drawn(*fixtures)
    curves = curves_of(drawing)
    assert len(curves) == len(fixtures)
    table = envelope_of(BENCH, fixtures, THICK)
    for curve, number in zip(curves, range(4), strict=True):
        for row in table:
            tilt = row.tilt_deg[number]
            wanted = fixtures[number].tilt.max_deg if tilt is None else tilt
            here = curve[np.abs(curve[:, 0] - row.thickness_mm) < 0.005]
            assert len(here) == 1, "the curve has a point of its own there"
            assert here[0, 1] == pytest.approx(wanted, abs=0.001)
    # 50 mm on the demo fixture: see tests/fixture_changes/test_command.py.
    (fifty,) = curves[0][np.abs(curves[0][:, 0] - 50.0) < 0.005]
    assert fifty[1] == pytest.approx(17.923, abs=0.001)


def test_what_the_table_tells_is_dotted() -> None:
    drawing = drawn(PORCH, FREE)
    read = read_by(drawing)
    dots = [
        read((float(e.get("cx", "")), float(e.get("cy", "")))) for e in lines_of(drawing, "asked")
    ]
    table = envelope_of(BENCH, (PORCH, FREE), THICK)
    wanted = [(p.thickness_mm, 24.0 if t is None else t) for p in table for t in p.tilt_deg]
    assert np.array(dots) == pytest.approx(np.array(wanted), abs=0.005)
    assert "30 mm: porch 22.52°, free the whole range." in drawing.description


def test_a_curve_between_the_tables_thicknesses_is_as_near_as_can_be_read() -> None:
    """Straight lines between points: 0.05° is a sixth of a millimetre on the page."""
    drawing = drawn(PORCH, NEAR, thick=())
    for curve, number in zip(curves_of(drawing), range(2), strict=True):
        for thick in np.linspace(1.0, 99.0, 40).tolist():
            (row,) = envelope_of(BENCH, (PORCH, NEAR), [thick])
            tilt = row.tilt_deg[number]
            wanted = PORCH.tilt.max_deg if tilt is None else tilt
            assert np.interp(thick, curve[:, 0], curve[:, 1]) == pytest.approx(wanted, abs=0.05)


def test_a_curve_bends_where_a_beam_begins_to_limit_the_tilt() -> None:
    found = envelopes(BENCH, (PORCH,), ())
    level = [p.thickness_mm for p in found.points if p.tilt_deg == (None,)]
    bend = max(level)
    before, after = envelope_of(BENCH, (PORCH,), [bend, bend + 0.01])
    assert before.tilt_deg == (None,)
    assert after.tilt_deg[0] == pytest.approx(24.0, abs=0.01)
    assert after.tilt_deg[0] < 24.0


def test_without_a_beam_the_curve_is_level_at_the_tilts_end() -> None:
    (curve,) = curves_of(drawn(FREE))
    assert curve[:, 1] == pytest.approx(24.0, abs=0.001)


def test_the_work_is_marked_at_its_own_thickness_and_tilt() -> None:
    """The bench: 44 mm at 12°."""
    drawing = drawn(PORCH, FAR)
    (mark,) = lines_of(drawing, "work")
    place = read_by(drawing)((float(mark.get("cx", "")), float(mark.get("cy", ""))))
    assert place == pytest.approx([44.0, 12.0], abs=0.005)
    assert "44.00 mm thick and tilted by 12.00°" in drawing.description


def test_curves_are_told_apart_by_dashes_and_names_and_not_by_colour() -> None:
    fixtures = (PORCH, FAR, NEAR, STEEP, FREE)
    assert len(fixtures) == MOST_FIXTURES
    drawing = drawn(*fixtures)
    looks = [(e.get("stroke-dasharray"), e.get("stroke-width")) for e in lines_of(drawing, "curve")]
    assert len(set(looks)) == len(fixtures)
    assert {e.get("stroke") for e in tree(drawing).iter() if e.get("stroke")} == {"black"}
    words = [w for w, _ in drawing.texts]
    assert [words.count(f.name) for f in fixtures] == [3, 1, 1, 1, 1]  # porch: changed from it, too
    assert words.count("changed from") == 2
    with pytest.raises(InputError, match="fixture: is given too often; given 6"):
        drawn(*fixtures, moved(1.0, "sixth"))


def test_a_label_points_at_its_own_curve_alone() -> None:
    """Two curves that end as one part where their tilts' ranges end: there they are named."""
    drawing = drawn(PORCH, STEEP)
    porch, steep = curves_of(drawing)
    dots = [e for e in tree(drawing).iter(f"{SVG}circle") if e.get("class") is None]
    ends = [(float(e.get("cx", "")), float(e.get("cy", ""))) for e in dots]
    targets = read_by(drawing)(ends)

    def on(curve: Any, target: Any) -> bool:
        return bool(abs(np.interp(target[0], curve[:, 0], curve[:, 1]) - target[1]) < 0.01)

    alone = [t for t in targets if on(steep, t) and not on(porch, t)]
    assert len(alone) == 1
    assert alone[0][1] > 24.0


def test_fixtures_that_can_do_the_same_share_a_curve() -> None:
    drawing = drawn(PORCH, moved(0.0, "twin"))
    assert len(lines_of(drawing, "curve")) == 1
    words = [w for w, _ in drawing.texts]
    assert "and" in words
    assert "twin" in words


@pytest.mark.parametrize(
    "fixtures",
    [
        (PORCH,),
        (PORCH, FAR),
        (PORCH, FAR, NEAR, STEEP, FREE),
        tuple(moved(2.0 * i, f"{'W' * 39}{i}") for i in range(5)),
    ],
    ids=["one", "two", "five", "longest names"],
)
def test_it_is_large_enough_to_read_and_nothing_lies_beyond_an_edge(
    fixtures: tuple[Fixture, ...],
) -> None:
    """Letter is 215.9 mm and A4 210 mm wide; 12 mm at either side leave 186, so that it is not
    shrunk. Capitals of Arial, the lowest of the page's faces, are 0.716 of the letters' size."""
    drawing = drawn(*fixtures)
    root = tree(drawing)
    left, top, wide, high = (float(v) for v in root.get("viewBox", "").split())
    assert root.get("width") == f"{wide:g}mm"
    assert wide <= 186.0
    assert high <= 279.4 - 24.0
    sizes = [float(e.get("font-size", "")) for e in root.iter() if e.get("font-size")]
    assert sizes
    assert min(sizes) * 0.716 >= 2.2
    for words, (a, b, c, e) in drawing.texts:
        assert left <= a <= c <= left + wide, words
        assert top <= b <= e <= top + high, words
    for line in root.iter(f"{SVG}polyline"):
        for x, y in points(line).tolist():
            assert left <= x <= left + wide
            assert top <= y <= top + high
    for curve in curves_of(drawing):
        assert np.all(np.diff(curve[:, 0]) >= 0)
        assert curve[:, 0].min() >= 0
        assert curve[:, 0].max() <= 100.0 + 0.005
        assert curve[:, 1].min() >= -0.001


def test_words_do_not_cover_one_another() -> None:
    for fixtures in ((PORCH, FAR), (PORCH, FAR, NEAR, STEEP, FREE)):
        boxes = drawn(*fixtures).texts
        for i, (words, a) in enumerate(boxes):
            for other, b in boxes[i + 1 :]:
                across = min(a[2], b[2]) - max(a[0], b[0])
                # A line's box is a little higher than its letters.
                up = min(a[3], b[3]) - max(a[1], b[1])
                assert across <= 0.001 or up <= 0.25, (words, other)


@pytest.mark.parametrize("thick", [0.0, -5.0, 500.1, math.inf, math.nan])
def test_a_thickness_that_cannot_be_drawn_is_named(thick: float) -> None:
    with pytest.raises(InputError, match="thickness_mm: cannot be drawn"):
        envelopes(BENCH, (PORCH,), [thick])


@pytest.fixture
def asked(tmp_path: Path) -> list[str]:
    """A comparison of two fixtures, one of them a file."""
    (tmp_path / "two.toml").write_text(fixture_toml(FAR), "utf-8")
    two = str(tmp_path / "two.toml")
    return ["compare-fixtures", "bench", "--fixture", "porch", "--fixture", two]


def test_the_command_draws_and_tells_the_same(
    asked: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    asked += ["--thickness-mm", "50"]
    assert main(asked) == 0
    told = capsys.readouterr().out
    path = tmp_path / "both.svg"
    assert main([*asked, "--output", str(path)]) == 0
    assert capsys.readouterr().out == f"{told}Drawn in {path}.\n"
    root = ET.parse(path).getroot()  # noqa: S314  # our own file
    assert root.get("role") == "img"
    title = root.find(f"{SVG}title")
    assert title is not None
    assert title.text == "Greatest tilt for each thickness on porch and porch-2"
    said = root.find(f"{SVG}desc")
    assert said is not None
    number = re.search(r"50 mm +([\d.]+°) +([\d.]+°)", told)
    assert number is not None
    assert f"50 mm: porch {number[1]}, porch-2 {number[2]}." in (said.text or "")


def test_a_drawing_is_not_written_over_unasked(
    asked: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "both.svg"
    path.write_text("mine", "utf-8")
    asked += ["--output", str(path)]
    assert main(asked) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert "--output: names a file that exists" in said.err
    assert path.read_text("utf-8") == "mine"
    assert main([*asked, "--overwrite"]) == 0
    assert path.read_text("utf-8").startswith("<svg")
    assert (tmp_path / "both.svg.1").read_text("utf-8") == "mine"
    names = sorted(p.name for p in tmp_path.iterdir())
    assert names == ["both.svg", "both.svg.1", "two.toml"]


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (["--output", "both.png"], "--output: is no drawing"),
        (["--output", "nowhere/both.svg"], "--output: cannot be written"),
        (["--output", "both.svg", "--thickness-mm", "900"], "thickness_mm: cannot be drawn"),
        (["--output", "both.svg", *["--fixture", "porch"] * 4], "fixture: is given too often"),
    ],
)
def test_a_drawing_that_cannot_be_made_leaves_nothing(
    asked: list[str],
    more: list[str],
    words: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main([*asked, *more]) == 2
    assert words in capsys.readouterr().err
    assert [p.name for p in tmp_path.iterdir()] == ["two.toml"]
