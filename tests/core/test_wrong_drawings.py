"""One wrong thing at a time in the drawing of a good joint: a claim sees it.

The parameters stay; only what ``draw`` gives is changed. What claims leave to the laws of cut
solids (a wrong slide, a bar moved with its cuts) is not here.
"""

from __future__ import annotations

from collections.abc import Callable
from math import cos, radians, sin
from typing import Any

import attrs
import pytest

from jointgeo.geometry.vectors import Plane, Vec, X, Y, Z
from jointgeo.joints.drawing import Bar, Channel, Drawing, Notch, Pocket
from jointgeo.joints.joint_type import JointType
from jointgeo.joints.pockets import bevel, housing, mortise
from jointgeo.joints.registry import joint_type

SEEN = 1e-3  # mm or degree; the mutations are 0.05 and more, what is sound is off by 1e-12

BRIDLE = attrs.evolve(joint_type("splayed_bridle").examples()[0])
TENON = attrs.evolve(
    joint_type("angled_tenon").examples()[1],
    tenon_width_mm=36,
    tenon_offset_width_mm=2,
    tenon_offset_thickness_mm=-1.5,
    haunch_depth_mm=6,
)
BOX = attrs.evolve(
    joint_type("angled_box_joint").examples()[0], plan_corner_deg=100, thickness_b_mm=16
)
BOX_BY_WIDTH = attrs.evolve(BOX, finger_count=0, finger_width_mm=20)
BOX_BY_NOTHING = attrs.evolve(BOX, finger_count=0)
TONGUE_DEPTH = (BRIDLE.rail_thickness_mm - BRIDLE.tongue_thickness_mm) / 2

Change = Callable[[Drawing], Drawing]


def wrong(joint: JointType, drawing: Drawing) -> list[str]:
    """The claims that fail where ``joint`` draws that."""
    cls = type(joint)
    twin = type(cls.__name__, (cls,), {"draw": lambda _: drawing})
    made = twin(**joint.to_dict())
    off = [c.name for c in made.claims() if not c.off <= SEEN]
    return off + [f"{name} unclaimed" for name in made.unclaimed()]


def bars(change: Callable[[Bar], Bar], *names: str) -> Change:
    return lambda d: attrs.evolve(
        d, bars=tuple(change(b) if not names or b.name in names else b for b in d.bars)
    )


def notch(number: int, change: Callable[[Notch], Notch]) -> Change:
    return lambda d: attrs.evolve(
        d, notches=tuple(change(n) if i == number else n for i, n in enumerate(d.notches))
    )


def channel(number: int, place: int, **by: float) -> Change:
    """One channel's numbers moved."""

    def moved(n: Notch) -> Notch:
        out = list(n.channels)
        c = out[place]
        out[place] = attrs.evolve(c, **{k: getattr(c, k) + v for k, v in by.items()})
        return attrs.evolve(n, channels=out)

    return notch(number, moved)


def pocket(number: int, change: Callable[[Drawing, Pocket], Pocket]) -> Change:
    return lambda d: attrs.evolve(
        d, pockets=tuple(change(d, p) if i == number else p for i, p in enumerate(d.pockets))
    )


def turned(about: Vec, degrees: float, *names: str) -> Change:
    """Bars turned about the world's origin."""
    c, s = cos(radians(degrees)), sin(radians(degrees))

    def turn(v: Vec) -> Vec:
        along = about * (v @ about)
        return along + (v - along) * c + (about ^ v) * s

    def bar(b: Bar) -> Bar:
        return attrs.evolve(
            b, grain=turn(b.grain), face=turn(b.face), edge=turn(b.edge), middle=turn(b.middle)
        )

    return bars(bar, *names)


def drawn_as(joint: JointType, **changes: Any) -> Change:
    """What other parameters draw."""
    other: Drawing = attrs.evolve(joint, **changes).drawing  # type: ignore[misc]
    return lambda _: other


def both(*changes: Change) -> Change:
    def all_of(d: Drawing) -> Drawing:
        for change in changes:
            d = change(d)
        return d

    return all_of


def let_in(**by: float) -> Change:
    """The first housing by other numbers; lean: along the rail for each unit down."""

    def made(d: Drawing, p: Pocket) -> Pocket:
        rail, leg = d.bars[1], d.bars[0]
        lean = (leg.grain.y / leg.grain.z) * by.get("lean", 1.0)
        middle = X * -rail.thickness / 2 if p.side == "face_side" else X * (rail.thickness / 2)
        width = leg.thickness + by.get("width", 0.0)
        deep = TONGUE_DEPTH + by.get("depth", 0.0)
        return housing(rail, p.side, middle, Vec(0.0, lean, 1.0), width, deep)

    return pocket(0, made)


BRIDLES: dict[str, Change] = {
    "sign of splay along": drawn_as(BRIDLE, splay_along_deg=-12),
    "sign of splay across": drawn_as(BRIDLE, splay_across_deg=-8),
    "slot 0.3 deeper": channel(0, 0, depth=0.3),
    "slot 0.3 shallower": channel(0, 0, depth=-0.3),
    "one cheek 0.1 off": channel(0, 0, low=-0.1),
    "slot 0.1 off the middle": channel(0, 0, low=0.1, high=0.1),
    "housing 0.3 too deep": let_in(depth=0.3),
    "housing 0.3 too wide": let_in(width=0.3),
    "housing leans the other way": let_in(lean=-1.0),
    "leg twisted 1° about its grain": turned(BRIDLE.drawing.bars[0].grain, 1.0, "leg"),
    "leg 1 mm off along X": bars(lambda b: attrs.evolve(b, middle=b.middle + X), "leg"),
    "splays exchanged": drawn_as(BRIDLE, splay_along_deg=8, splay_across_deg=12),
}


def socket(**by: float) -> Change:
    """The mortise by other numbers."""

    def made(d: Drawing, p: Pocket) -> Pocket:
        middle = p.block.middle + Vec(by.get("x", 0.0), by.get("y", 0.0), 0.0)
        mark = p.marks
        size = mark["length_mm"], mark["width_mm"] + by.get("width", 0.0)
        deep = mark["depth_mm"] + by.get("depth", 0.0)
        return mortise(d.bars[1], "face_side", "mortise", middle, *size, deep)

    return pocket(0, made)


def deeper(by: float, *numbers: int) -> Change:
    def all_of(n: Notch) -> Notch:
        return attrs.evolve(n, channels=[attrs.evolve(c, depth=c.depth + by) for c in n.channels])

    return both(*(notch(i, all_of) for i in numbers))


def fit_taken_twice(n: Notch) -> Notch:
    """A quarter of the fit on either side in place of a half."""
    low, high = n.channels
    return attrs.evolve(
        n,
        channels=[
            attrs.evolve(low, high=low.high - TENON.fit_mm / 4),
            attrs.evolve(high, low=high.low + TENON.fit_mm / 4),
        ],
    )


TENONS: dict[str, Change] = {
    "sign of width angle": drawn_as(TENON, width_angle_deg=-5),
    "sign of thickness angle": drawn_as(TENON, thickness_angle_deg=-8),
    "angles exchanged": drawn_as(TENON, width_angle_deg=8, thickness_angle_deg=5),
    "follows the wrong side": drawn_as(TENON, parallel_to="face_edge"),
    "follows neither side": turned(Z, 1.0, "rail"),
    "one cheek's shoulder 0.3 deeper": channel(1, 0, depth=0.3),
    "one edge's shoulder 0.3 deeper": channel(0, 0, depth=0.3),
    "all 0.5 deeper": deeper(0.5, 0, 1),
    "tenon 1 mm long, and its mortise": drawn_as(TENON, tenon_length_mm=26),
    "mortise 0.3 along the piece": socket(x=0.3),
    "mortise 0.2 across the piece": socket(y=0.2),
    "mortise 3 mm too deep": socket(depth=3),
    "mortise 1 mm too shallow": socket(depth=-1),
    "mortise 0.3 too wide": socket(width=0.3),
    "sign of offset across width": drawn_as(TENON, tenon_offset_width_mm=-2),
    "sign of offset in thickness": drawn_as(TENON, tenon_offset_thickness_mm=1.5),
    "haunch at the wrong edge": drawn_as(TENON, haunch_at="face_edge"),
    "haunch 0.5 longer": channel(0, 1, depth=-0.5),
    "haunch 0.2 narrower": both(channel(0, 1, high=-0.2), channel(0, 2, low=-0.2)),
    "haunch socket left out": lambda d: attrs.evolve(d, pockets=d.pockets[:1]),
    "fit halved twice": notch(1, fit_taken_twice),
    "edges 0.1 off": both(channel(0, 0, high=0.1), channel(0, 1, low=0.1)),
}


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
    (joint, change, f"{what}: {name}")
    for what, joint, changes in (
        ("bridle", BRIDLE, BRIDLES),
        ("tenon", TENON, TENONS),
        ("box", BOX, BOXES),
        ("box by width", BOX_BY_WIDTH, BY_WIDTH),
        ("box by nothing", BOX_BY_NOTHING, BY_NOTHING),
    )
    for name, change in changes.items()
]


@pytest.mark.parametrize("joint", [BRIDLE, TENON, BOX, BOX_BY_WIDTH, BOX_BY_NOTHING])
def test_a_good_drawing_raises_no_alarm(joint: JointType) -> None:
    assert wrong(joint, joint.drawing) == []


@pytest.mark.parametrize(("joint", "change"), [c[:2] for c in CASES], ids=[c[2] for c in CASES])
def test_a_wrong_drawing_fails_a_claim(joint: JointType, change: Change) -> None:
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


def test_channels_of_the_samples_are_as_these_changes_take_them() -> None:
    """Haunch between two full channels; a board with a closed channel first, the other's open."""
    assert [c.depth for c in TENON.drawing.notches[0].channels] == [25, 19, 25]
    first, second = BOX.drawing.notches
    assert isinstance(first.channels[0], Channel)
    assert first.channels[0].high == pytest.approx(second.channels[1].low, abs=0.1)
    assert Y @ TENON.drawing.bars[1].edge == 1
