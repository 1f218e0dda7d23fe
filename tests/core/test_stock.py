"""A drawing turned into stock coordinates: by hand, and a mirror image point by point."""

from __future__ import annotations

import numpy as np
import pytest

from jointgeo.errors import PluginError
from jointgeo.geometry.vectors import INF, Plane, Vec, X, Y, Z
from jointgeo.joints.drawing import Drawing, Notch, Verify
from jointgeo.joints.pockets import mortise
from jointgeo.joints.stock import StockNotch, parts

from .bars import ORIGIN, bridle, leg, rail, slot

TINY = 1e-9  # mm, or a share of 1: rounding


def test_a_slot_in_the_stocks_own_coordinates() -> None:
    """q_x is the stock's x, q_z its z; the middle of 60 × 40 mm is at (30, 20), and the slot from
    -10.5 to 10 is counted from there."""
    piece, _ = parts(bridle(verify={"leg": (Verify("length", 500.0, "rule"),)}))
    (notch,) = piece.notches
    assert notch.rows == (X, Y, Z)
    assert notch.at == (30, 20, 0)
    (channel,) = notch.channels
    assert (channel.low, channel.high, channel.depth) == (-10.5, 10, 100)
    assert (piece.width_mm, piece.thickness_mm, piece.length_mm) == (60, 40, 500)
    assert piece.slide == (0, 0, 1)
    assert piece.verify[0].expected_mm == 500
    assert (piece.x_from, piece.turns_over) == ("face_edge", True)


def test_the_mate_is_laid_out_and_stands_still() -> None:
    box = mortise(rail(), "face_side", "mortise", Vec(-10, 20, 40), 30, 8, 12)
    _, piece = parts(bridle(pockets=(box,)))
    assert piece.notches == ()
    assert piece.slide is None
    (laid_out,) = piece.layout
    # The rail begins at Y = -150 and its face edge, where x is 0, is up at Z = 0.
    assert [row[3] for row in laid_out.rows] == pytest.approx([40, 6, 170, 1], abs=TINY)
    assert laid_out.size == (8, 12, 30)
    assert laid_out.marks == box.marks


def test_channels_are_counted_from_where_the_centre_line_meets_the_end() -> None:
    """An end trimmed along 3 : 4 through (0, 0, 20), channels along the slope: the centre line
    meets it 20 mm on, and the world's origin lies 12 mm down the slope from there."""
    across = Vec(0.8, 0.0, 0.6)
    end = Plane.through(Z * 20, Vec(0.6, 0.0, -0.8))
    notch = Notch("slot", "leg", end, across, ((5.0, INF, 10.0),))
    (found,) = parts(bridle(notches=(notch,)))[0].notches
    assert found.at == pytest.approx((30, 20, 20), abs=TINY)
    assert found.rows[0] == pytest.approx(across, abs=TINY)
    assert found.rows[2] == pytest.approx((-0.6, 0, 0.8), abs=TINY)
    assert found.channels[0].low == pytest.approx(5 - 12, abs=TINY)
    assert found.channels[0].high == INF


def test_frames_are_right_handed() -> None:
    for across in (X, -X, Y, -Y):
        notch = Notch("slot", "leg", Plane(-Z, 0.0), across, ((-5.0, 5.0, 10.0),))
        for drawing in (bridle(notches=(notch,)), bridle(notches=(notch,)).mirrored):
            q_x, q_y, q_z = parts(drawing)[0].notches[0].rows
            assert (q_x ^ q_y) == pytest.approx(q_z, abs=TINY)


def removed(drawing: Drawing, points: np.ndarray) -> np.ndarray:
    """Which points of the first bar, in its stock coordinates, its notches take."""
    gone = np.zeros(len(points), dtype=bool)
    for notch in parts(drawing)[0].notches:
        local = (points - np.array(notch.at)) @ np.array(notch.rows).T
        for c in notch.channels:
            gone |= (local[:, 0] > c.low) & (local[:, 0] < c.high) & (local[:, 2] < c.depth)
    return gone


def test_the_mirror_image_cuts_the_twins_of_the_points(rng: np.random.Generator) -> None:
    """x is counted from the bar's other side; the slot is off the middle, so a slip shows."""
    drawing = bridle(notches=(slot(-22.0, 3.0, 70.0),))
    points = rng.uniform(0, 1, size=(4000, 3)) * [60, 40, 120]
    gone = removed(drawing, points)
    twins = points * [-1, 1, 1] + [60, 0, 0]
    np.testing.assert_array_equal(removed(drawing.mirrored, twins), gone)
    assert 0.1 < gone.mean() < 0.9
    assert (removed(drawing.mirrored, points) != gone).any()


def test_an_end_along_the_grain_is_refused() -> None:
    along = Notch("slot", "leg", Plane(-X, 30.0), Y, ((-5.0, 5.0, 10.0),))
    with pytest.raises(PluginError, match="does not cross the bar leg"):
        parts(bridle(notches=(along,)))
    flat = Vec(-0.9995, 0.0, -0.0316).unit  # 1.8° off the grain
    nearly = Notch("slot", "leg", Plane(flat, 0.0), Y, ((-5.0, 5.0, 10.0),))
    with pytest.raises(PluginError, match="must lie across the grain"):
        parts(bridle(notches=(nearly,)))
    with pytest.raises(PluginError, match="must lie across the grain"):
        StockNotch((X, -Y, -Z), ORIGIN, ())


def test_a_handed_bar_does_not_turn_over() -> None:
    piece, _ = parts(bridle(bars=(leg(handed=True), rail())))
    assert not piece.turns_over
