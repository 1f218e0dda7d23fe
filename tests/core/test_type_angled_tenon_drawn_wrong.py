"""An angled tenon drawn wrong, one thing at a time: a claim sees it."""

from __future__ import annotations

import attrs
import pytest

from jointgeo.geometry.vectors import Vec, Z
from jointgeo.joints.drawing import Drawing, Notch, Pocket
from jointgeo.joints.pockets import mortise
from jointgeo.joints.registry import joint_type

from .wrong_drawings import (
    Change,
    both,
    channel,
    deeper,
    drawn_as,
    notch,
    pocket,
    turned,
    wrong,
)

TENON = attrs.evolve(
    joint_type("angled_tenon").examples()[1],
    tenon_width_mm=36,
    tenon_offset_width_mm=2,
    tenon_offset_thickness_mm=-1.5,
    haunch_depth_mm=6,
    mortise_turn_deg=7,
    mortise_offset_mm=2.5,
)


def socket(**by: float) -> Change:
    """The mortise by other numbers."""

    def made(d: Drawing, p: Pocket) -> Pocket:
        middle = p.block.middle + Vec(by.get("x", 0.0), by.get("y", 0.0), 0.0)
        mark = p.marks
        size = mark["length_mm"], mark["width_mm"] + by.get("width", 0.0)
        deep = mark["depth_mm"] + by.get("depth", 0.0)
        return mortise(
            d.bars[1], "face_side", "mortise", middle, *size, deep, along=p.block.axes[2]
        )

    return pocket(0, made)


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
    "mortise not turned": drawn_as(TENON, mortise_turn_deg=0),
    "sign of the mortise's turn": drawn_as(TENON, mortise_turn_deg=-7),
    "sign of the mortise's offset": drawn_as(TENON, mortise_offset_mm=-2.5),
    "haunch at the wrong edge": drawn_as(TENON, haunch_at="face_edge"),
    "haunch 0.5 longer": channel(0, 1, depth=-0.5),
    "haunch 0.2 narrower": both(channel(0, 1, high=-0.2), channel(0, 2, low=-0.2)),
    "haunch socket left out": lambda d: attrs.evolve(d, pockets=d.pockets[:1]),
    "fit halved twice": notch(1, fit_taken_twice),
    "edges 0.1 off": both(channel(0, 0, high=0.1), channel(0, 1, low=0.1)),
}


def test_a_good_drawing_raises_no_alarm() -> None:
    assert wrong(TENON, TENON.drawing) == []


@pytest.mark.parametrize("name", TENONS)
def test_a_wrong_drawing_fails_a_claim(name: str) -> None:
    changed = TENONS[name](TENON.drawing)
    assert changed != TENON.drawing
    assert wrong(TENON, changed)


def test_channels_are_as_these_changes_take_them() -> None:
    """A haunch of 6 mm between two full channels, 25 mm deep."""
    assert [c.depth for c in TENON.drawing.notches[0].channels] == [25, 19, 25]
