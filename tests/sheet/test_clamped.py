"""The two views of the clamped stock, point by point against the geometry."""

from __future__ import annotations

import attrs
import numpy as np
import pytest

import jointgeo
from jointgeo.sheet import sheet_of_joint
from jointgeo.sheet.facing import facing
from jointgeo.sheet.model import SetupSheet
from jointgeo.sheet.side_view import from_the_side

from .samples import JOBS, LOW, joint_sheet, lines_of, points, scale_of, sheet_of

SETUPS = [
    (job, end.number, setup.number)
    for job in JOBS
    for end in sheet_of(job).ends
    for setup in end.setups
]
PAGE = 0.0015  # mm on the page: figures are written to a thousandth


def setup_of(job: str, end: int, setup: int) -> SetupSheet:
    return sheet_of(job).ends[end - 1].setups[setup - 1]


@pytest.mark.parametrize(("job", "end", "setup"), SETUPS)
def test_the_gap_that_is_drawn_is_the_one_the_check_found(job: str, end: int, setup: int) -> None:
    whole = sheet_of(job).ends[end - 1]
    check = next(c for c in whole.checks_of(setup) if c.name == "front_beam")
    drawing = from_the_side(setup_of(job, end, setup).scene)
    (gap,) = lines_of(drawing, "gap")
    ends = points(gap)
    assert np.ptp(ends[:, 0]) / scale_of(drawing) == pytest.approx(
        abs(check.value), abs=2 * PAGE / scale_of(drawing)
    )
    words = [w for w, _ in drawing.texts]
    figure = f"{abs(check.value):.2f}"
    assert (f"gap {figure}" in words) == (check.value >= 0)
    assert (figure in words and "FOULS by" in words) == (check.value < 0)


def test_the_gap_by_plain_trigonometry() -> None:
    """No swivel: the foremost corner is the stock's front edge at its square end.

    From the hinge (Y 12, Z 250) it lies b + t + 12 towards the user and 250 + overhang below,
    swung by the tilt: Y = 12 - (18 + 44 + 12)·cos τ - (250 + overhang)·sin τ; the beam's face
    is at Y = -170, and it reaches down past that corner.
    """
    sheet = joint_sheet("splayed_bridle", LOW, splay_across_deg=0.0, splay_along_deg=12.0)
    setup = sheet.ends[0].setups[0]
    assert setup.setup.tilt_deg == pytest.approx(12.0, abs=1e-9)
    tilt, overhang = np.radians(12.0), setup.setup.overhang_mm
    gap = 170.0 + 12.0 - 74.0 * np.cos(tilt) - (250.0 + overhang) * np.sin(tilt)
    drawing = from_the_side(setup.scene)
    (line,) = lines_of(drawing, "gap")
    assert np.ptp(points(line)[:, 0]) / scale_of(drawing) == pytest.approx(gap, abs=0.02)
    assert f"gap {gap:.2f}" in [w for w, _ in drawing.texts]


@pytest.mark.parametrize(("job", "end", "setup"), SETUPS)
def test_the_touch_off_corner_is_where_the_settings_say(job: str, end: int, setup: int) -> None:
    found = setup_of(job, end, setup)
    if not found.plan.cuts:
        return
    drawing = facing(found.scene, found.nearest_edge)
    (ring,) = lines_of(drawing, "touch-off")
    scale = scale_of(drawing)
    corner = [float(ring.get("cx", "")) / scale, -float(ring.get("cy", "")) / scale]
    heights = found.setup.heights
    datum = sheet_of(job).fixture.cutter_height.datum_z_mm
    assert corner[0] == pytest.approx(found.setup.touch_off.machine_x_mm, abs=PAGE / scale)
    assert corner[1] == pytest.approx(heights.trim_mm + datum, abs=PAGE / scale)
    (cutter,) = lines_of(drawing, "cutter")
    xs = points(cutter)[:, 0] / scale
    assert xs.max() == pytest.approx(corner[0], abs=2 * PAGE / scale)
    assert np.ptp(xs) == pytest.approx(found.setup.kerf_mm, abs=2 * PAGE / scale)


def test_a_square_end_touches_off_at_the_fence() -> None:
    """The demo fixture's fence stands at X = -60, on the left; nothing swivels here."""
    sheet = joint_sheet("angled_tenon", width_angle_deg=0.0, thickness_angle_deg=0.0)
    setup = sheet.ends[0].setups[0]
    drawing = facing(setup.scene, setup.nearest_edge)
    (ring,) = lines_of(drawing, "touch-off")
    assert float(ring.get("cx", "")) / scale_of(drawing) == pytest.approx(-60.0, abs=0.01)
    (fence,) = lines_of(drawing, "fence")
    np.testing.assert_allclose(points(fence)[:, 0] / scale_of(drawing), -60.0, atol=0.01)


@pytest.mark.parametrize(("job", "end", "setup"), SETUPS)
def test_overhang_and_heights_are_drawn_as_long_as_they_are(job: str, end: int, setup: int) -> None:
    found = setup_of(job, end, setup)
    drawing = from_the_side(found.scene)
    (overhang,) = lines_of(drawing, "overhang")
    a, b = points(overhang)
    # The end is trimmed once the first clamping is done, and the page tells it so.
    told = found.setup.overhang_mm if setup == 1 else found.setup.overhang_trimmed_mm
    assert np.hypot(*(b - a)) / scale_of(drawing) == pytest.approx(told, abs=0.02)
    front = facing(found.scene, found.nearest_edge)
    heights = found.setup.heights
    wanted = [heights.trim_mm, *(at for _, at in heights.cuts)]
    drawn = [np.ptp(points(e)[:, 1]) / scale_of(front) for e in lines_of(front, "height")]
    np.testing.assert_allclose(drawn, wanted, atol=0.02)


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_swivel_and_tilt_swing_the_right_way(sign: float) -> None:
    """Positive swivel is clockwise as you face the plate: the fence's top goes to the right.

    Positive tilt swings the cut end towards you, which is to the left in the side view. The
    clamping with the other sense has both the other way round, so both are forced here by a
    fixture whose tilt goes one way only.
    """
    fixture = jointgeo.load_fixture("porch")
    low, high = (0.0, 24.0) if sign > 0 else (-24.0, 0.0)
    fixture = attrs.evolve(fixture, tilt=attrs.evolve(fixture.tilt, min_deg=low, max_deg=high))
    joint = jointgeo.joint_type("splayed_bridle").examples()[0]
    setup = sheet_of_joint(joint, fixture).ends[0].setups[0]
    assert np.sign(setup.setup.tilt_deg) == sign
    front = facing(setup.scene, setup.nearest_edge)
    (fence,) = lines_of(front, "fence")
    foot, top = sorted(points(fence), key=lambda p: -p[1])
    assert np.sign(top[0] - foot[0]) == np.sign(setup.setup.swivel_deg)
    side_drawing = from_the_side(setup.scene)
    (hinge,) = lines_of(side_drawing, "hinge")
    plate = np.concatenate([points(e) for e in lines_of(side_drawing, "plate")])
    lowest = plate[np.argmax(plate[:, 1])]
    untilted = float(hinge.get("cx", "")) + 12.0 * scale_of(side_drawing)  # its back, upright
    assert (lowest[0] < untilted - 5.0) == (sign > 0)


def test_the_angle_of_the_fence_is_the_swivel() -> None:
    """Without tilt nothing is foreshortened: the drawn fence leans by the swivel itself."""
    sheet = joint_sheet("angled_tenon", width_angle_deg=9.0, thickness_angle_deg=0.0)
    setup = sheet.ends[0].setups[0]
    assert abs(setup.setup.swivel_deg) == pytest.approx(9.0)
    (fence,) = lines_of(facing(setup.scene, setup.nearest_edge), "fence")
    foot, top = sorted(points(fence), key=lambda p: -p[1])
    lean = np.degrees(np.arctan2(top[0] - foot[0], foot[1] - top[1]))
    assert lean == pytest.approx(setup.setup.swivel_deg, abs=0.01)


def test_words_name_the_sides_by_their_marks() -> None:
    setup = sheet_of("bench").ends[2].setups[0]
    words = {w for w, _ in facing(setup.scene, setup.nearest_edge).texts}
    assert {"face side", "towards you", "face edge on it", "back edge", "touch off here:"} <= words
    assert not any(w in {"x", "y", "z"} for w in words)


def test_a_fixture_without_beam_backing_or_bodies_draws() -> None:
    fixture = jointgeo.load_fixture("porch")
    backing = attrs.evolve(fixture.backing, thickness_mm=0.0, sacrificial=False)
    bare = attrs.evolve(fixture, front_beam=(), body=(), backing=backing)
    joint = jointgeo.joint_type("splayed_bridle").examples()[0]
    setup = sheet_of_joint(joint, bare).ends[0].setups[0]
    words = {w for w, _ in from_the_side(setup.scene).texts}
    assert not any(w.startswith(("gap", "FOULS")) for w in words)
    assert "backing board" not in words
    assert lines_of(facing(setup.scene, setup.nearest_edge), "stock")
