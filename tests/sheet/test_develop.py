"""The unrolled layout: against the settings' marks, against the wood, and by hand."""

from __future__ import annotations

import attrs
import numpy as np
import pytest

import jointgeo
from jointgeo.sheet.canvas import Room
from jointgeo.sheet.develop import Development, develop
from jointgeo.sheet.layout_drawing import BAR_MM, layout_pages, layout_whole, piece_count
from jointgeo.sheet.lettering import FINE
from jointgeo.sheet.model import EndSheet, sheet_of_joint
from jointgeo.sheet.plane import between

from .samples import JOBS, LappedStake, joint_sheet, lines_of, points, sheet_of

#: A page that lies on its side, less its head: what both papers hold.
ROOM = Room(258.0, 165.0, FINE)
ENDS = [(job, end.number) for job in JOBS for end in sheet_of(job).ends]


def end_of(job: str, number: int) -> EndSheet:
    return sheet_of(job).ends[number - 1]


def area(polygon: np.ndarray) -> float:
    x, y = polygon[:, 0], polygon[:, 1]
    return abs(float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)) / 2))


def contains(polygon: np.ndarray, p: np.ndarray) -> bool:
    along, to = np.roll(polygon, -1, axis=0) - polygon, p - polygon
    turn = along[:, 0] * to[:, 1] - along[:, 1] * to[:, 0]
    return bool(np.all(turn >= 0) or np.all(turn <= 0))


@pytest.mark.parametrize(("job", "number"), ENDS)
def test_lines_cross_the_long_edges_where_the_marks_say(job: str, number: int) -> None:
    end = end_of(job, number)
    found = develop(end.solution.plan)
    assert [line.name for line in found.lines] == [m.line for m in end.solution.marks]
    for line, mark in zip(found.lines, end.solution.marks, strict=True):
        for (u, name), point in zip(found.edges, line.points, strict=False):
            assert point[0] == pytest.approx(u)
            assert point[1] == pytest.approx(mark.at_mm[name], abs=1e-9)
        assert line.points[4][1] == line.points[0][1]  # the paper closes round the stock


@pytest.mark.parametrize(("job", "number"), ENDS)
def test_waste_on_the_paper_is_waste_in_the_wood(
    job: str, number: int, rng: np.random.Generator
) -> None:
    """A point of the paper, wrapped round the stock, lies in a channel if and only if hatched."""
    plan = end_of(job, number).solution.plan
    found = develop(plan)
    w, t = plan.part.width_mm, plan.part.thickness_mm
    for u, v in rng.uniform([0, 0], [found.width, found.height], size=(300, 2)):
        if u < w:
            p = np.array([u, 0.0, v])
        elif u < w + t:
            p = np.array([w, u - w, v])
        elif u < 2 * w + t:
            p = np.array([2 * w + t - u, t, v])
        else:
            p = np.array([0.0, 2 * w + 2 * t - u, v])
        inside = False
        for setup in plan.setups:
            x, _, z = (row @ (p - setup.notch.at) for row in setup.notch.rows)
            inside |= any(c.low < x < c.high and 0 < z < c.depth for c in setup.notch.channels)
        drawn = any(contains(polygon, np.array([u, v])) for polygon in found.waste)
        assert drawn == inside, (u, v)


def square_tenon(**angles: float) -> Development:
    sheet = joint_sheet(
        "angled_tenon", **{"width_angle_deg": 0.0, "thickness_angle_deg": 0.0} | angles
    )
    return develop(sheet.ends[0].solution.plan)


def test_a_square_tenon_by_hand() -> None:
    """70 × 24 rail, trimmed by 1 mm, 25 mm tenon: trim at 1, shoulder at 26 on every side."""
    found = square_tenon()
    assert found.width == pytest.approx(2 * (70 + 24))
    assert [p.side for p in found.panels] == ["face_side", "back_edge", "back", "face_edge"]
    for line in found.lines:
        wanted = {"trim": 1.0, "shoulder": 26.0}[line.name]
        np.testing.assert_allclose(line.points[:, 1], wanted, atol=1e-9)
    faces = [between(p, [1.0, 0.0], -np.inf, 70.0) for p in found.waste]
    whole = max(area(p) for p in faces if len(p) > 2)
    assert whole == pytest.approx(70.0 * 25.0)  # the second setup takes the face side right across


def test_the_shoulder_rises_to_the_right_on_the_face_side() -> None:
    """A positive width angle, seen with the cut end down: tan 10° over 70 mm is 12.343 mm."""
    found = square_tenon(width_angle_deg=10.0)
    shoulder = next(line for line in found.lines if line.name == "shoulder").points
    assert shoulder[1][1] - shoulder[0][1] == pytest.approx(12.3429, abs=1e-4)
    assert shoulder[2][1] == pytest.approx(shoulder[1][1], abs=1e-9)  # level on the edge


def test_the_shoulder_rises_from_face_side_to_back() -> None:
    """A positive thickness angle: tan 6° over 24 mm is 2.5225 mm."""
    found = square_tenon(thickness_angle_deg=6.0)
    shoulder = next(line for line in found.lines if line.name == "shoulder").points
    assert shoulder[2][1] - shoulder[1][1] == pytest.approx(2.5225, abs=1e-4)
    assert shoulder[1][1] == pytest.approx(shoulder[0][1], abs=1e-9)


def test_a_mirrored_piece_unrolls_as_its_mirror_image() -> None:
    bench = sheet_of("bench").ends
    mirrored, drawn = (develop(bench[i].solution.plan) for i in (0, 2))
    assert [p.side for p in mirrored.panels] == ["face_side", "face_edge", "back", "back_edge"]
    # Face panel: left and right are exchanged.
    for a, b in zip(mirrored.lines, drawn.lines, strict=True):
        assert a.points[0][1] == pytest.approx(b.points[1][1], abs=1e-9)
        assert a.points[1][1] == pytest.approx(b.points[0][1], abs=1e-9)


@pytest.mark.parametrize(("job", "number"), ENDS)
def test_pages_together_show_all_of_it_at_full_size(job: str, number: int) -> None:
    found = develop(end_of(job, number).solution.plan)
    base = 0.0
    for drawing in layout_pages([("x", found)], ROOM):
        assert drawing.size_mm[0] <= ROOM.wide_mm
        assert drawing.size_mm[1] <= ROOM.high_mm
        (bar,) = lines_of(drawing, "check-bar")
        assert np.ptp(points(bar)[:, 0]) == pytest.approx(BAR_MM) == 100.0
        for line in lines_of(drawing, "square-end"):
            base += float(np.ptp(points(line)[:, 0]))
    assert base == pytest.approx(found.width, abs=0.01)  # once round the stock, in millimetres
    whole = layout_whole(found, "x")
    trims = np.concatenate([points(e) for e in lines_of(whole, "trim")])
    assert np.ptp(trims[:, 0]) == pytest.approx(found.width, abs=0.01)
    assert -trims[:, 1].min() == pytest.approx(found.lines[0].points[:, 1].max(), abs=0.01)


def test_a_leg_is_laid_out_in_one_piece_and_a_wide_board_is_divided_at_a_long_edge() -> None:
    """Two sides of 66 mm and two of 44 mm go on paper 258 mm wide with the names of their lines;
    two of 150 mm and two of 18 mm make 336 mm and do not, but 168 mm do."""
    leg, board = (develop(end_of(job, 1).solution.plan) for job in ("bench", "planter"))
    assert piece_count(leg, ROOM) == 1
    assert piece_count(board, ROOM) == 2
    (page,) = layout_pages([("board", board)], ROOM)
    lines = [float(np.ptp(points(e)[:, 0])) for e in lines_of(page, "square-end")]
    assert lines == [pytest.approx(168.0, abs=0.01)] * 2


def test_several_ends_stand_on_one_page() -> None:
    """Trimmed only, an end takes some 35 mm of height: three go on a page of 154 mm."""
    ends = [develop(end_of("bench", 2).solution.plan)] * 3
    pages = layout_pages([(f"end {i}", e) for i, e in enumerate(ends)], ROOM)
    assert len(pages) == 1
    assert len(lines_of(pages[0], "square-end")) == 3
    assert len(lines_of(pages[0], "check-bar")) == 1


def test_an_end_too_large_to_wrap_is_left_to_a_plotter() -> None:
    found = attrs.evolve(develop(end_of("bench", 1).solution.plan), height=5000.0)
    assert layout_pages([("x", found)], ROOM) == []


def test_a_third_partys_joint_unrolls() -> None:
    sheet = sheet_of_joint(LappedStake(), jointgeo.load_fixture("porch"))
    found = develop(sheet.ends[0].solution.plan)
    assert {line.name for line in found.lines} == {"trim", "shoulder"}
    assert len(found.waste) >= 3  # half of the face side, the whole edge, half of the back
