"""An angled box joint drawn wrong, one thing at a time: a claim sees it."""

from __future__ import annotations

from math import cos, radians, sin

import attrs
import pytest

from jointgeo.geometry.vectors import Plane, Vec, Z
from jointgeo.joints.drawing import Drawing, Pocket
from jointgeo.joints.joint_type import JointType
from jointgeo.joints.pockets import bevel
from jointgeo.joints.registry import joint_type

from .wrong_drawings import (
    Change,
    bars,
    both,
    channel,
    deeper,
    drawn_as,
    pocket,
    turned,
    wrong,
)

BOX = attrs.evolve(
    joint_type("angled_box_joint").examples()[0], plan_corner_deg=100, thickness_b_mm=16
)
BOX_BY_WIDTH = attrs.evolve(BOX, finger_count=0, finger_width_mm=20)
BOX_BY_NOTHING = attrs.evolve(BOX, finger_count=0)


def one_boundary(*numbers: int) -> Change:
    """The upper boundary of the first closed channel 0.2 mm up, on the boards of those numbers."""
    places = {0: (0, "high"), 1: (1, "low")}
    return both(*(channel(n, places[n][0], **{places[n][1]: 0.2}) for n in numbers))


def lifted(d: Drawing) -> Drawing:
    """Both lower rims 1 mm higher, still level."""

    box = d.pockets[0].block
    higher = Plane(-Z, box.middle @ box.axes[2] - box.size[2] / 2 - 1.0)

    def made(board: int) -> Pocket:
        return bevel(d.bars[board], "face_edge", "lower rim bevel", higher)

    return attrs.evolve(d, pockets=(made(0), d.pockets[1], made(1), d.pockets[3]))


BOXES: dict[str, Change] = {
    "sign of slope": drawn_as(BOX, slope_deg=-15),
    "plan corner 1° off": drawn_as(BOX, plan_corner_deg=101),
    "slope 0.1° off": drawn_as(BOX, slope_deg=15.1),
    "slope of board b alone": turned(Vec(-cos(radians(100)), sin(radians(100)), 0), 0.1, "b"),
    "one socket 0.3 deeper": channel(0, 1, depth=0.3),
    "sockets as deep as their own board is thick": deeper(2.0, 0),
    "one boundary 0.2 off on one board": one_boundary(0),
    "one boundary 0.2 off on both boards": one_boundary(0, 1),
    "first finger on the other board": drawn_as(BOX, first_finger="b"),
    "eight fingers for seven": drawn_as(BOX, finger_count=8),
    "lower rims 1 mm too high": lifted,
    "board b 1 mm up": bars(lambda b: attrs.evolve(b, middle=b.middle + Z), "b"),
    "board b wider": bars(lambda b: attrs.evolve(b, width=b.width + 0.2), "b"),
}
BY_WIDTH: dict[str, Change] = {
    "fingers 0.2 narrower": drawn_as(BOX_BY_WIDTH, finger_width_mm=19.8),
    "one boundary 0.2 off on both boards": one_boundary(0, 1),
}
BY_NOTHING: dict[str, Change] = {
    "an even number": drawn_as(BOX_BY_NOTHING, finger_count=8),
    "fingers too wide": drawn_as(BOX_BY_NOTHING, finger_count=5),
    "fingers too narrow": drawn_as(BOX_BY_NOTHING, finger_count=13),
}

CASES = [
    *((BOX, name, change) for name, change in BOXES.items()),
    *((BOX_BY_WIDTH, f"by width, {name}", change) for name, change in BY_WIDTH.items()),
    *((BOX_BY_NOTHING, f"by nothing, {name}", change) for name, change in BY_NOTHING.items()),
]


@pytest.mark.parametrize("joint", [BOX, BOX_BY_WIDTH, BOX_BY_NOTHING])
def test_a_good_drawing_raises_no_alarm(joint: JointType) -> None:
    assert wrong(joint, joint.drawing) == []


@pytest.mark.parametrize(("joint", "name", "change"), CASES, ids=[c[1] for c in CASES])
def test_a_wrong_drawing_fails_a_claim(joint: JointType, name: str, change: Change) -> None:
    del name
    changed = change(joint.drawing)
    assert changed != joint.drawing
    assert wrong(joint, changed)


def test_a_bevel_of_the_other_sign() -> None:
    """Board b's lower rim leaning out by twice the slope."""

    def made(d: Drawing, p: Pocket) -> Pocket:
        bar, z = d.bar(p.bar), p.block.axes[2]
        other = (z - bar.face * (2 * (z @ bar.face))).unit
        at = bar.middle + bar.edge * (bar.width / 2)
        return bevel(bar, p.side, p.name, Plane.through(at, other))

    found = wrong(BOX, pocket(2, made)(BOX.drawing))
    assert "angle of the lower rim bevel of b" in found
    assert "lower rim bevel of b level" in found


def test_a_bevel_that_ends_before_the_tip_of_a_short_board() -> None:
    """The board of 200 mm leans past its own 60 mm of length; a bevel that knows nothing of that
    leaves the tip of the upper rim."""
    short = attrs.evolve(
        BOX, board_width_mm=200, length_a_mm=60, length_b_mm=60, plan_corner_deg=60, slope_deg=30
    )
    assert wrong(short, short.drawing) == []

    def made(d: Drawing, p: Pocket) -> Pocket:
        assert p.planed is not None
        return bevel(d.bar(p.bar), p.side, p.name, p.planed)

    assert wrong(short, pocket(1, made)(short.drawing)) == ["upper rim bevel of a short of a tip"]


def test_channels_are_as_these_changes_take_them() -> None:
    """Board a has a closed channel first, b's is open; the two meet in one boundary."""
    a, b = BOX.drawing.notches
    assert a.channels[0].high == pytest.approx(b.channels[1].low, abs=0.1)
