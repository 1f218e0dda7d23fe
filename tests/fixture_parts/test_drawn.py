"""Parts on paper and as DXF: sizes, sheets, layers; and the command line.

Reference: ezdxf reads what was written; sizes by hand from the figures.
"""

from __future__ import annotations

import json
import re
from math import hypot
from xml.etree import ElementTree

import ezdxf
import pytest

import jointgeo
from jointgeo.command import main
from jointgeo.fixture_parts import Wanted, fixture_part, fixture_parts
from jointgeo.fixture_parts.drawing import draw, points_of
from jointgeo.fixture_parts.dxf import write_part_dxf
from jointgeo.fixture_parts.page import parts_page
from jointgeo.fixture_parts.tiles import HIGH_MM, WIDE_MM, tiles

PORCH = jointgeo.load_fixture("porch")
WANTED = Wanted(tilt_deg=33, swivel_deg=11, lean_mm=0.2, lean_over_mm=300)
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def parts():
    return fixture_parts(PORCH, WANTED)


def test_dxf_holds_the_part_at_full_size(parts, tmp_path):
    part = next(p for p in parts.parts if p.kind == "tilt_quadrant")
    path = tmp_path / "quadrant.dxf"
    write_part_dxf(part, path)
    space = ezdxf.readfile(path).modelspace()
    slot = [a for a in space.query("ARC") if a.dxf.layer == "slot"]
    # Two sides of the slot about the hinge line and two round ends of half its width.
    about = [a for a in slot if hypot(a.dxf.center.x - 12, a.dxf.center.y - 250) < 1e-9]
    assert sorted(a.dxf.radius for a in about) == pytest.approx([225.75, 234.25], abs=1e-9)
    for a in about:
        assert (a.dxf.end_angle - a.dxf.start_angle) % 360 == pytest.approx(25, abs=1e-9)
        # Straight down is 270°; towards you is clockwise from there, so at 270° - 24.5°.
        assert a.dxf.start_angle % 360 == pytest.approx(245.5, abs=1e-9)
    ends = [a.dxf for a in slot if a not in about]
    assert [d.radius for d in ends] == pytest.approx([4.25, 4.25], abs=1e-9)
    apart = hypot(ends[0].center.x - ends[1].center.x, ends[0].center.y - ends[1].center.y)
    assert apart == pytest.approx(99.5622, abs=0.00005)
    assert space.query('CIRCLE[layer=="trammel centre"]')
    bar = list(space.query('LINE[layer=="check bar 100 mm"]'))
    assert max(abs(e.dxf.end.x - e.dxf.start.x) for e in bar) == 100


def test_every_part_is_written_as_dxf(parts, tmp_path):
    for part in parts.parts:
        write_part_dxf(part, tmp_path / f"{part.kind}.dxf")
        assert len(ezdxf.readfile(tmp_path / f"{part.kind}.dxf").modelspace()) > 4


def test_round_ends_bulge_outwards(parts):
    """Slot and quadrant end half a width past their middles, not before them."""
    part = next(p for p in parts.parts if p.kind == "tilt_quadrant")
    slot = next(s for s in part.shapes if s.layer == "slot")
    marks = [m - 360 * (m > 180) for m in _marks(points_of(slot.pieces))]
    assert min(marks) < -0.5 - 0.9  # 4.25 at 230 is 1.06°
    assert max(marks) > 24.5 + 0.9


def _marks(points):
    from math import atan2, degrees

    return [(-degrees(atan2(v - 250, u - 12)) - 90) % 360 for u, v in points]


def test_sheets_are_full_size_with_a_bar(parts):
    for part in parts.parts:
        found = tiles(part)
        assert found
        for tile in found:
            root = ElementTree.fromstring(tile.svg)  # noqa: S314  # our own text
            wide, high = (float(root.get(n).removesuffix("mm")) for n in ("width", "height"))
            box = [float(v) for v in root.get("viewBox").split()]
            assert (box[2], box[3]) == (wide, high)  # one unit of the drawing is one millimetre
            bars = [e for e in root.iter(f"{SVG}line") if e.get("class") == "check-bar"]
            longest = max(abs(float(e.get("x2")) - float(e.get("x1"))) for e in bars)
            assert longest == pytest.approx(100, abs=0.002)
            # Letter is 215.9 × 279.4, A4 210 × 297; margins 15 and 14.
            assert wide <= 180
            assert high <= 279.4 - 28


def test_every_marked_point_is_on_a_sheet(parts):
    for part in parts.parts:
        windows = []
        for tile in tiles(part):
            box = [float(v) for v in re.search(r'viewBox="([^"]+)"', tile.svg)[1].split()]
            windows.append((box[0], box[0] + WIDE_MM, -box[1] - HIGH_MM, -box[1]))
        for shape in part.shapes:
            if shape.layer == "ghost":
                continue
            points = points_of(shape.pieces) if hasattr(shape, "pieces") else [shape.centre]
            for u, v in points:
                assert any(a <= u <= b and c <= v <= d for a, b, c, d in windows)


def test_the_picture_is_to_scale(parts):
    """The board's 420 mm, drawn at full and at half size."""
    part = next(p for p in parts.parts if p.kind == "swivel_slots")
    for scale in (1.0, 0.5):
        svg = draw(part, scale, names=False).svg("x")
        points = re.search(r'<polyline points="([^"]+)"[^>]*class="outline"', svg)[1]
        across = [float(p.split(",")[0]) for p in points.split()]
        assert max(across) - min(across) == pytest.approx(420 * scale, abs=0.002)


def test_the_page_names_sources_checks_and_what_is_left_out():
    page = parts_page(fixture_parts(PORCH), "porch")
    for words in (
        "assumed: common practice, no published source",
        "from the fixture file",
        "as good as that file",
        "Measure before cutting: slot chord 99.56 mm.",
        "Left out",
        "not stated",
        "from the fixture's right-hand end",
        "power isolated",
    ):
        assert words in page.replace("&#x27;", "'")


def test_command(tmp_path, capsys):
    arguments = ["parts", "porch", "tilt_quadrant", "--screw-mm", "10"]
    assert main(arguments) == 0
    told = capsys.readouterr().out
    assert "slot width" in told
    assert "10.50 mm" in told
    assert "measure this before cutting" in told
    assert main([*arguments, "--json", "--output", str(tmp_path), "--dxf", "--svg"]) == 0
    data = json.loads(capsys.readouterr().out)
    (part,) = data["parts"]
    assert part["kind"] == "tilt_quadrant"
    names = {p.name for p in tmp_path.iterdir()}
    assert {
        "porch-parts.html",
        "porch-tilt-quadrant.dxf",
        "porch-tilt-quadrant-sheet-1.svg",
    } <= names


def test_command_says_what_is_wrong(capsys):
    for arguments, words in (
        (["porch", "lid"], "is no part of a fixture"),
        (["porch", "--hole", "1,2"], "three numbers"),
        (["porch", "--screw-mm", "-3"], "is too small"),
        (["porch", "--dxf"], "--output"),
        (["porch", "wedges"], "needs no wedge"),
    ):
        assert main(["parts", *arguments]) == 2
        assert words in capsys.readouterr().err


def test_command_takes_holes(capsys):
    main(
        ["parts", "porch", "swivel_slots", "--hole=150,100,10", "--screw-hole=-75,200,8", "--json"]
    )
    (part,) = json.loads(capsys.readouterr().out)["parts"]
    figures = {f["name"]: f["value"] for f in part["figures"]}
    assert figures["slot_1_radius_mm"] == pytest.approx(hypot(75, 140))
    assert any("(150, 100)" in c["because"] for c in part["checks"])


def test_exit_code_says_what_does_not_work():
    assert main(["parts", "porch", "hinge_gap", "--fixed-above-mm", "20"]) == 1
    assert fixture_part(PORCH, "hinge_gap").status == "pass"
