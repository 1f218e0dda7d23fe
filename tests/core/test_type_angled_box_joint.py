"""Angled box joint: fingers, sockets, rims and its own checks, by hand."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import jointgeo.types.angled_box_joint as module
from jointgeo.errors import InputError
from jointgeo.joints.check import Check
from jointgeo.joints.registry import joint_type
from jointgeo.solution.solution import solve

from .check_names import unknown, untried
from .samples import fixture_with

EXACT_MM = 1e-9  # rounding only
STEP = 1e-6  # mm or degree to either side of a limit


def box(**changes: Any) -> Any:
    """An upright square box of 12 mm boards, 90 mm wide, three fingers of 30 mm."""
    values = {
        "board_width_mm": 90,
        "thickness_a_mm": 12,
        "thickness_b_mm": 12,
        "length_a_mm": 300,
        "length_b_mm": 300,
        "plan_corner_deg": 90,
        "slope_deg": 0,
        "finger_count": 3,
    }
    return joint_type("angled_box_joint")(**{**values, **changes})


def setups(joint: Any, **fixture: Any) -> dict[str, dict[str, Any]]:
    settings = solve(joint, fixture_with(fixture)).settings_dict()
    return {p["part"]: p["setups"][0] for p in settings["parts"]}


def spans(setup: dict[str, Any]) -> list[tuple[float, float]]:
    return [(c["left_mm"], c["right_mm"]) for c in setup["cuts"]]


def check(joint: Any, name: str) -> Check:
    return next(c for c in joint.checks() if c.name == name)


def test_fingers_of_an_upright_square_box_by_hand() -> None:
    """a keeps 0 to 30 and 60 to 90 and is cut between; b the other way round.

    Each boundary moves by a quarter of the fit on each board: sockets 0.05 mm wider at
    either side for 0.2 mm. Outer cuts run 1 mm past the board.
    """
    found = setups(box(fit_mm=0.2))
    np.testing.assert_allclose(spans(found["a"]), [(29.95, 60.05)], rtol=0, atol=EXACT_MM)
    np.testing.assert_allclose(
        spans(found["b"]), [(-1.0, 30.05), (59.95, 91.0)], rtol=0, atol=EXACT_MM
    )
    socket = spans(found["a"])[0][1] - spans(found["a"])[0][0]
    finger = spans(found["b"])[1][0] - spans(found["b"])[0][1]
    assert socket - finger == pytest.approx(0.2, abs=EXACT_MM)


def test_a_socket_is_as_deep_as_the_other_board_is_thick() -> None:
    found = setups(box(thickness_a_mm=10, thickness_b_mm=14))
    assert found["a"]["cuts"][0]["depth_mm"] == 14
    assert found["b"]["cuts"][0]["depth_mm"] == 10


@pytest.mark.parametrize(("first", "kept"), [("a", "face_edge"), ("b", "back_edge")])
def test_the_first_finger_is_at_the_lower_rim(first, kept) -> None:
    """With two fingers board a keeps its lower half if it has the first one, else its upper.

    Face edges are down, so the half that is cut away lies at the other edge; which hand
    that is on the machine follows from the edge that lies on the left-hand fence.
    """
    found = setups(box(finger_count=2, first_finger=first))["a"]
    expected = (45.0, 91.0) if found["against_fence"] == kept else (-1.0, 45.0)
    np.testing.assert_allclose(spans(found), [expected], rtol=0, atol=EXACT_MM)


def test_a_layout_by_width_is_symmetric_with_end_fingers_of_half_or_more() -> None:
    """100 mm of edge, fingers of 20: four whole ones, and 10 mm left at either end."""
    found = setups(box(board_width_mm=100, finger_count=0, finger_width_mm=20))["a"]
    low_to_high = [(10, 30), (50, 70), (90, 101)]
    if found["against_fence"] == "back_edge":
        low_to_high = [(100 - high, 100 - low) for low, high in reversed(low_to_high)]
    np.testing.assert_allclose(spans(found), low_to_high, rtol=0, atol=EXACT_MM)


def test_equal_fingers_share_the_leaning_edge() -> None:
    """Four sides: tan(swivel) = tan 45°·sin 15°, and the edge is 150 / cos(swivel) mm long."""
    found = setups(box(board_width_mm=150, slope_deg=15, finger_count=7))["a"]
    expected = 150 / math.cos(math.atan(math.sin(math.radians(15)))) / 7
    widths = [right - left for left, right in spans(found)]
    np.testing.assert_allclose(widths, [expected] * 3, rtol=0, atol=EXACT_MM)


def test_rim_bevels_of_a_leaning_box() -> None:
    """Level rims take the slope as bevel and thickness·tan(slope) of width: 18·tan 15° = 4.823."""
    joint = box(board_width_mm=150, slope_deg=15, thickness_a_mm=18, thickness_b_mm=18)
    assert len(joint.drawing.pockets) == 4
    for rim in joint.drawing.pockets:
        assert rim.marks["bevel_deg"] == pytest.approx(15, abs=EXACT_MM)
        assert rim.marks["extra_width_mm"] == pytest.approx(4.823, abs=0.0005)
    assert box().drawing.pockets == ()


@pytest.mark.parametrize("slope", [15.0, -15.0])
def test_the_bevels_leave_level_rims_and_no_more(slope) -> None:
    """In the world, waste lies wholly above or below a level plane that clips each rim."""
    drawing = box(board_width_mm=150, slope_deg=slope).drawing
    assert [(rim.bar, rim.side) for rim in drawing.pockets] == [
        (board, side) for board in "ab" for side in ("face_edge", "back_edge")
    ]
    for rim in drawing.pockets:
        middle, axes, half = rim.block.middle, rim.block.axes, [s / 2 for s in rim.block.size]
        heights = [
            (middle + axes[0] * (i * half[0]) + axes[1] * (j * half[1]) + axes[2] * (k * half[2])).z
            for i in (-1, 1)
            for j in (-1, 1)
            for k in (-1, 1)
        ]
        near = max(heights) if rim.name.startswith("lower") else min(heights)
        # By hand: the board's section is a rectangle 150 × 12 leaning by the slope; its
        # lower rim's higher corner and its upper rim's lower corner are what must stay.
        up, inward = math.cos(math.radians(slope)), math.sin(math.radians(slope))
        corners = [x * up + y * inward for x in (0, 150) for y in (0, 12)]
        expected = max(corners[:2]) if rim.name.startswith("lower") else min(corners[2:])
        assert near == pytest.approx(expected, abs=EXACT_MM)


def least_finger(margin: float) -> Any:
    # Three fingers of 3 mm, less half the fit: common practice, no published source.
    return box(board_width_mm=9 + 3 * (margin + 0.05), fit_mm=0.1)


def rim_height(margin: float) -> Any:
    # Level rims leave width·cos s - thickness·sin s; at 45° and 40 mm that is zero at 40 mm wide.
    wide = 40 + margin * math.sqrt(2)
    return box(board_width_mm=wide, thickness_a_mm=40, thickness_b_mm=40, slope_deg=45)


def finger_root(margin: float) -> Any:
    # At 45° and 90° the normals' cosine is 1/2 and the edge leans by atan(sin 45°). A finger's
    # root lies 40/√(3/4) mm from its end, so a rim runs 40·√(2/3) = 32.660 mm along the edge;
    # of two fingers each has half the edge.
    edge = 2 * (40 * math.sqrt(2 / 3) + margin)
    wide = edge * math.cos(math.atan(math.sqrt(1 / 2)))
    sizes = {"thickness_a_mm": 40, "thickness_b_mm": 40}
    return box(board_width_mm=wide, slope_deg=45, finger_count=2, **sizes)


CASES = {
    "least_finger": (least_finger, "caution"),
    "rim_height": (rim_height, "fail"),
    "finger_root": (finger_root, "fail"),
}


@pytest.mark.parametrize("name", CASES)
def test_a_check_flips_exactly_at_its_limit(name) -> None:
    make, short = CASES[name]
    inside, outside = check(make(STEP), name), check(make(-STEP), name)
    assert (inside.status, outside.status) == ("pass", short)
    assert inside.margin == pytest.approx(STEP, abs=1e-9)
    assert outside.margin == pytest.approx(-STEP, abs=1e-9)


def test_every_check_of_this_type_is_tried() -> None:
    assert untried([Path(module.__file__)], set(CASES)) == set()
    assert unknown([Path(module.__file__)], set(CASES)) == set()


def test_wider_boards_keep_their_promise() -> None:
    narrow = box(
        board_width_mm=30, thickness_a_mm=40, thickness_b_mm=25, slope_deg=-50, finger_count=2
    )
    (remedy,) = check(narrow, "rim_height").remedies
    wide = remedy.amounts["board_width_mm"]
    # By hand: 40·tan 50° = 47.670 mm.
    assert wide == pytest.approx(47.670, abs=0.0005)

    def at(width: float) -> Check:
        changes = {"thickness_a_mm": 40, "thickness_b_mm": 25, "slope_deg": -50}
        return check(box(board_width_mm=width, finger_count=2, **changes), "rim_height")

    assert at(wide).status == "pass"
    assert at(wide - STEP).status == "fail"


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"finger_count": 3, "finger_width_mm": 10}, "finger_width_mm"),
        ({"finger_count": 1}, "finger_count"),
        ({"finger_count": 0, "finger_width_mm": 0.5}, "finger_width_mm"),
        ({"finger_count": 0, "finger_width_mm": 80}, "finger_width_mm"),
        ({"board_width_mm": 3, "fit_mm": -1}, "fit_mm"),
        ({"plan_corner_deg": 10}, "plan_corner_deg"),
        ({"slope_deg": 90}, "slope_deg"),
        ({"first_finger": "c"}, "first_finger"),
    ],
)
def test_parameters_that_make_no_corner_are_refused(changes, field) -> None:
    with pytest.raises(InputError) as caught:
        box(**changes)
    (problem,) = caught.value.problems
    assert problem.field == field
    assert problem.given
    assert problem.allowed


def test_fingers_far_too_tight_are_a_caution() -> None:
    """2 % of fingers of 30 mm are 0.6 mm (our choice)."""
    assert check(box(fit_mm=-0.61), "tight_fit").status == "caution"
    assert check(box(fit_mm=-0.59), "tight_fit").status == "pass"


def test_glue_must_fill_the_clearance_of_either_board() -> None:
    """A fit of 0.4 mm leaves 0.2 mm at each cheek, of 0.15 mm that glue fills."""
    answer = solve(box(fit_mm=0.4), fixture_with())
    found = [c for c in answer.checks if c.name == "cheek_clearance"]
    assert [(c.part, c.status, c.value) for c in found] == [
        (board, "caution", pytest.approx(0.2, abs=1e-9)) for board in ("a", "b")
    ]
