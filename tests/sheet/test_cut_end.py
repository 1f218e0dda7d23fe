"""The drawing of the end as cut, against the table of cuts."""

from __future__ import annotations

import numpy as np
import pytest

from jointgeo.sheet.cut_end import cut_end
from jointgeo.sheet.develop import develop

from .samples import SVG, joint_sheet, lines_of, points, scale_of, sheet_of, tree
from .test_clamped import SETUPS, setup_of


@pytest.mark.parametrize(("job", "end", "setup"), SETUPS)
def test_every_cut_is_drawn_where_the_table_says(job: str, end: int, setup: int) -> None:
    found = setup_of(job, end, setup)
    cuts = found.setup.cuts
    if not cuts:
        return
    drawing = cut_end(found.scene, found.nearest_edge)
    scale = scale_of(drawing)
    ring = next(e for e in lines_of(drawing, "touch-off") if float(e.get("cy", "")) == 0.0)
    zero = float(ring.get("cx", ""))
    drawn = [points(e) for e in lines_of(drawing, "cut")]
    assert len(drawn) == len(cuts)
    for shape, cut in zip(drawn, cuts, strict=True):
        left, right = ((shape[:, 0].min() - zero) / scale, (shape[:, 0].max() - zero) / scale)
        assert -shape[:, 1].min() / scale == pytest.approx(cut.depth_mm, abs=0.01)
        # An outer cut is drawn as far as there is wood; the table runs past it.
        assert left >= cut.left_mm - 0.01
        assert right <= cut.right_mm + 0.01
        if not cut.outer:
            assert left == pytest.approx(cut.left_mm, abs=0.01)
            assert right == pytest.approx(cut.right_mm, abs=0.01)
    words = [w for w, _ in drawing.texts]
    for cut in cuts:
        assert f"{cut.left_mm:.2f}".replace("-0.00", "0.00") in words
        assert f"{cut.right_mm:.2f}" in words
    assert [w for w in words if w.isdigit() and w != "0"] == [str(i + 1) for i in range(len(cuts))]
    assert words.count("0") == 1  # the corner to touch off


def test_numbers_stand_from_left_to_right() -> None:
    setup = sheet_of("planter").ends[0].setups[0]
    drawing = cut_end(setup.scene, setup.nearest_edge)
    found = [
        (float(e.get("x", "")), int(e.text or ""))
        for e in tree(drawing).iter(f"{SVG}text")
        if e.get("class") == "number"
    ]
    assert [n for _, n in sorted(found)] == [1, 2, 3, 4]


def test_a_square_tenon_by_hand() -> None:
    """70 × 24 rail, tenon 50 × 9 less 0.1 of fit: 10.05 mm off either edge, 25 mm deep.

    The second setup's cuts come from (24 - 8.9)/2 = 7.55 mm off either side.
    """
    sheet = joint_sheet("angled_tenon", width_angle_deg=0.0, thickness_angle_deg=0.0)
    across, through = sheet.ends[0].setups
    words = [w for w, _ in cut_end(across.scene, across.nearest_edge).texts]
    assert {"10.05", "59.95", "deep 25.00"} <= set(words)
    drawing = cut_end(through.scene, through.nearest_edge)
    scale = scale_of(drawing)
    waste = [points(e) / scale for e in lines_of(drawing, "waste")]
    assert [pytest.approx(np.ptp(w[:, 0]), abs=0.01) for w in waste] == [7.55, 7.55]
    gone = [points(e) / scale for e in lines_of(drawing, "gone")]
    assert [pytest.approx(np.ptp(w[:, 1]), abs=0.01) for w in gone] == [10.05, 10.05]


def test_touching_off_waits_for_what_is_left() -> None:
    """In a tenon's second setup the corner is one of the tenon, not of the rail."""
    end = sheet_of("chair").ends[0]
    first, second = end.setups
    assert first.setup.touch_off.cut_away_mm == pytest.approx(0.0, abs=1e-9)
    for setup in end.setups:
        corner = setup.scene.touch_off
        assert corner[0] == pytest.approx(setup.plan.corner_x_mm, abs=1e-6)
    kept = second.scene.end[:, 1]
    assert kept.min() + 1.0 < second.scene.touch_off[1] < kept.max() - 1.0


def test_cuts_that_lie_in_one_another_leave_the_right_corner() -> None:
    """A haunch is cut as a shorter channel beside a deeper one that runs out of the wood."""
    sheet = joint_sheet("angled_tenon", haunch_depth_mm=8.0)
    second = sheet.ends[0].setups[1]
    assert second.scene.touch_off[0] == pytest.approx(second.plan.corner_x_mm, abs=1e-6)
    assert len(sheet.ends[0].setups[0].setup.cuts) == 3


def test_too_many_cuts_are_left_to_the_table() -> None:
    sheet = joint_sheet("angled_box_joint", finger_count=41, fit_mm=0.0, board_width_mm=400.0)
    setup = sheet.ends[0].setups[0]
    drawing = cut_end(setup.scene, setup.nearest_edge)
    assert any("in the table" in w for w, _ in drawing.texts)
    assert develop(sheet.ends[0].solution.plan).waste
