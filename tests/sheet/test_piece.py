"""The sheet of a whole piece: its solids against cut ones, its marks by hand, its pages."""

from __future__ import annotations

import html
import re
from pathlib import Path

import attrs
import numpy as np
import pytest

from jointgeo.pieces.answerfile import solve_piece_file
from jointgeo.pieces.file import load_piece
from jointgeo.proof import fit_piece
from jointgeo.sheet import Book, page, sheet_of_piece
from jointgeo.sheet.canvas import Room
from jointgeo.sheet.diagonals import diagonals
from jointgeo.sheet.lettering import FINE
from jointgeo.sheet.member_drawing import member_drawing
from jointgeo.sheet.member_marks import Housing, mark_words, planed_words, struck_at
from jointgeo.sheet.piece_model import MemberSheet
from jointgeo.sheet.piece_views import three_views

from .pieces import DATA, NAMES, piece_book, piece_sheet
from .samples import lines_of, points, scale_of


def member(piece: str, name: str) -> MemberSheet:
    return next(m for m in piece_sheet(piece).members if m.name == name)


def words(piece: str) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", piece_book(piece)[0])).split())


@pytest.mark.parametrize("name", NAMES)
def test_edges_that_are_drawn_end_in_corners_of_the_cut_wood(name: str) -> None:
    """Reference: every bar cut in the virtual shop from its settings alone, by the boolean kernel,
    and put in the room. A corner may be away by the kernel's own rounding, 1e-3 mm."""
    sheet = piece_sheet(name)
    fit = fit_piece(sheet.solved.to_dict())
    cut = {placed.part: placed.mesh for placed in fit.assembly}
    for bar, lines in sheet.sharp.items():
        corners = np.asarray(cut[bar].vertices, float)
        for line in lines:
            for end in line:
                away = np.sqrt(((corners - np.array(end)) ** 2).sum(axis=1)).min()
                assert away < 1e-3, (bar, end)
        # And no corner of the wood is without an edge, but for those within a flat face.
        ends = np.array([end for line in lines for end in line])
        assert ends.min(axis=0) == pytest.approx(corners.min(axis=0), abs=1e-3)
        assert ends.max(axis=0) == pytest.approx(corners.max(axis=0), abs=1e-3)


def test_the_views_are_as_large_as_the_bench() -> None:
    """Footprint 1040 × 480 and seat 430, as its file gives them; the dimension lines are drawn that
    long, to a thousandth of a millimetre on paper."""
    drawing = three_views(piece_sheet("bench"), Room(190.0, 125.0, FINE))
    scale = scale_of(drawing)
    long = sorted(float(np.ptp(points(e), axis=0).max()) / scale for e in lines_of(drawing, "tape"))
    assert long == pytest.approx([430.0, 480.0, 1040.0], abs=0.004 / scale)
    told = [w for w, _ in drawing.texts]
    assert {"feet 1040.00", "feet 480.00", "430.00"} <= set(told)
    assert [w for w in told if w.startswith("from")] == [
        "from the front",
        "from the right",
        "from above",
    ]


def test_a_housing_is_struck_on_both_corner_edges() -> None:
    """The leg's middle crosses the rail's top edge 390 mm right of the middle, 110 mm from the end
    of a rail of 1000 mm. It leans by atan((520 - 390 - …)/430) = 14.014° outwards: over the rail's
    60 mm that is 60·tan 14.014° = 14.98 mm, and a leg of 44 mm is 44/cos 14.014° = 45.35 wide."""
    rail = member("bench", "rail")
    lean = np.radians(14.0141)
    found = struck_at(rail, 0)
    assert isinstance(found, Housing)
    places = {side: (a, b) for side, a, b in found.at}
    half = 44.0 / np.cos(lean) / 2
    top, bottom = 110.0, 110.0 - 60.0 * np.tan(lean)
    assert places["back_edge"] == pytest.approx((top - half, top + half), abs=2e-3)
    assert places["face_edge"] == pytest.approx((bottom - half, bottom + half), abs=2e-3)
    first = next(iter(mark_words(rail)))
    assert first.startswith("Housing for leg over rail, on the face side and on the back: strike")
    assert "at 72.3 and 117.7 on the corner edge with the face edge, at 87.3 and 132.7" in first


def test_a_mortise_is_gauged_and_an_askew_one_has_two_points() -> None:
    """The stretcher's tenon of 36 × 7 in the middle of a leg 44 mm thick: gauge 22, 36 mm long.
    In the three-legged stand rails meet leaning legs, so middle lines run askew."""
    (said,) = mark_words(member("bench", "leg"))
    assert "from 281.4 to 317.4 on the corner edge with the face side" in said
    assert "set the marking gauge to 22.0 against the face side for its middle line" in said
    assert said.endswith("7.0 wide, 17.0 deep.")
    (across,) = mark_words(member("bench", "end stretcher"))
    assert "square across at 166.2 along, from 4.3 to 40.3 in from the face edge" in across
    askew = list(mark_words(member("stand", "leg")))
    assert len(askew) == 4
    assert all("askew: its middle line runs from the point" in text for text in askew)


def test_an_outline_is_told_as_one_where_nothing_is_cut() -> None:
    """An apron 22 mm thick that ends plain on a leg, for dowels."""
    for said in mark_words(member("plain_table", "leg")):
        assert said.startswith("Outline for dowelled end, on the")
        assert said.endswith("22.0 wide, nothing is cut there.")


def test_edges_that_are_planed_off_are_told() -> None:
    """A back that leans 5° on both its edges: over 14 mm of board that is 14·tan 5° = 1.2 mm, of
    which one edge loses it on the face side, and the rest goes with the height."""
    first, second = planed_words(member("trapezoid", "back"))
    assert "plane the face edge: 2.8 off the face side and 4.0 off the back" in first
    assert "plane the back edge: 1.2 off the face side and 0.0 off the back" in second
    lean = 14.0 * np.tan(np.radians(5.0))
    assert lean == pytest.approx(4.0 - 2.8, abs=0.06)  # the figures are tenths


@pytest.mark.parametrize("piece", NAMES)
def test_marks_lie_in_the_wood_where_the_words_say(piece: str) -> None:
    """From the square near end of the blank: just under the side, at the middle of every mark,
    there is no wood; and there would be without it. No drawing is asked."""
    sheet = piece_sheet(piece)
    for m in sheet.members:
        near, more = m.bar.placed.near, m.bar.allowances_mm[0]
        wood = sheet.woods[near.name]
        uncut = attrs.evolve(wood, cuts=())
        for index, mark in enumerate(m.bar.marks):
            if isinstance(struck_at(m, index), Housing) or mark.size_mm[2] == 0:
                continue  # told by its walls, or an outline where nothing is cut
            along = sum(p.datum_mm + more for p in mark.points) / 2
            gauge = sum(p.gauge_mm for p in mark.points) / 2
            side, beside = near.side(mark.side), near.side(mark.gauged_from)
            start = near.middle + near.grain * (along - more)
            at = start - side.normal * (side.out(start) + 0.5)
            at = at - beside.normal * (beside.out(at) + gauge)
            assert not wood.holds(np.array([at]))[0], (m.name, mark)
            assert uncut.holds(np.array([at]))[0], (m.name, mark)


def test_mirrored_members_are_drawn_separately_and_mirrored() -> None:
    """Face side towards you and the near end at the left, the face edge is above on the one and
    below on the other; the marks keep their places along the length."""
    sheet = piece_sheet("bench")
    names = [m.name for m in sheet.members]
    assert names == ["rail", "leg", "leg, mirrored", "end stretcher", "long stretcher"]
    room = Room(190.0, 70.0, FINE)
    views = [member_drawing(sheet, member("bench", n), room) for n in names[1:3]]
    tops = [next(w for w, _ in d.texts if w.startswith("above")) for d in views]
    assert tops == [
        "above: corner edge between face side and face edge",
        "above: corner edge between face side and back edge",
    ]
    for drawing in views:
        assert {"281.4", "317.4"} <= {w for w, _ in drawing.texts}


def test_a_blank_is_drawn_as_long_as_it_is() -> None:
    sheet = piece_sheet("bench")
    for m in sheet.members:
        drawing = member_drawing(sheet, m, Room(190.0, 150.0, FINE))
        for e in lines_of(drawing, "blank"):
            long = np.ptp(points(e)[:, 0]) / scale_of(drawing)
            assert long == pytest.approx(m.bar.blank_mm, abs=0.002 / scale_of(drawing))


def test_long_edges_are_told_and_named() -> None:
    """End stretcher: 282.96 and 300.01 between its shoulders, as its file says that it measures."""
    told = words("bench")
    assert "a trapezoid: its long edges differ" in told
    assert "a parallelogram: its long edges are alike" in told
    table = told.partition("2 × end stretcher Blank")[2].partition("Strike before")[0]
    assert "between ends" in table
    assert table.count("283.0") == 2
    assert table.count("300.0") == 2


def test_diagonals_over_the_feet() -> None:
    """A footprint of 1040 × 480: √(1040² + 480²) = 1145.43, both alike. Three legs have three."""
    found = list(diagonals(piece_sheet("bench")))
    assert [d.mm for d in found] == pytest.approx([1145.4257, 1145.4257], abs=1e-3)
    assert len(list(diagonals(piece_sheet("stand")))) == 3


@pytest.mark.parametrize("piece", NAMES)
def test_what_a_person_needs_is_there_in_their_words(piece: str) -> None:
    text = words(piece)
    sheet = piece_sheet(piece)
    for name, value in sheet.solved.tape.items():
        assert f"{value:.2f}" in text, name
    for m in sheet.solved.answer.members:
        assert f"{m.count} × {m.name}" in text
        assert f"{m.blank_mm:.2f}" in text
    for check in sheet.checks:
        if check.status != "pass":
            assert check.because[1:] in text
    for said in ("How it is put together", "Does it close?", "Dry run", "Glue-up"):
        assert said in text
    assert re.search(r"(near|far): floor", text) is None
    for word in ("roll", "cone", "stroke", "resultant"):
        assert re.search(rf"\b{word}\b", text) is None, word


@pytest.mark.parametrize("piece", NAMES)
def test_no_words_stand_on_each_other_in_pictures_of_a_piece(piece: str) -> None:
    for name, drawing in piece_book(piece)[1].pictures.items():
        if not name.startswith(("together", "three", "member")):
            continue
        assert not drawing.crowded
        for i, (a, p) in enumerate(drawing.texts):
            for b, q in drawing.texts[i + 1 :]:
                across = min(p[2], q[2]) - max(p[0], q[0])
                down = min(p[3], q[3]) - max(p[1], q[1])
                assert across <= 0 or down <= 0.5, (name, a, b)


def test_a_mortise_that_goes_through_is_marked_on_both_sides(tmp_path: Path) -> None:
    """A tenon of 67 mm in a leg 66 mm wide."""
    text = (DATA / "bench.toml").read_text("utf-8")
    path = tmp_path / "bench.toml"
    path.write_text(text.replace("tenon_length_mm = 15", "tenon_length_mm = 67"), "utf-8")
    sheet = sheet_of_piece(solve_piece_file(load_piece(path)))
    (said,) = mark_words(next(m for m in sheet.members if m.name == "leg"))
    assert "on the back edge: from " in said
    assert said.endswith(
        "7.0 wide, right through: mark it on the face edge too; what goes through stands 1.0 "
        "proud there."
    )


def test_nothing_of_a_piece_that_fails_is_to_be_set(tmp_path: Path) -> None:
    """A tenon longer than the leg is thick: the piece fails, and with it every operation."""
    text = (DATA / "bench.toml").read_text("utf-8").partition("[measured_mm]")[0]
    path = tmp_path / "bench.toml"
    path.write_text(text.replace("tenon_length_mm = 15", "tenon_length_mm = 80"), "utf-8")
    sheet = sheet_of_piece(solve_piece_file(load_piece(path)))
    assert sheet.status == "fail"
    made = page(sheet, Book())
    assert 'class="large"' not in made
    assert "DO NOT CUT YET" in made
    assert made.count("DO NOT CUT: this is not feasible as it is") == sum(
        len(e.setups) for e in sheet.ends
    )
