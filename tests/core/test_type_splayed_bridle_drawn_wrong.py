"""A splayed bridle drawn wrong, one thing at a time: a claim sees it."""

from __future__ import annotations

import attrs
import pytest

from jointgeo.geometry.vectors import Vec, X
from jointgeo.joints.drawing import Drawing, Pocket
from jointgeo.joints.pockets import housing
from jointgeo.joints.registry import joint_type

from .wrong_drawings import (
    Change,
    bars,
    channel,
    drawn_as,
    pocket,
    turned,
    wrong,
)

BRIDLE = joint_type("splayed_bridle").examples()[0]
TONGUE_DEPTH = (BRIDLE.rail_thickness_mm - BRIDLE.tongue_thickness_mm) / 2


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


def test_a_good_drawing_raises_no_alarm() -> None:
    assert wrong(BRIDLE, BRIDLE.drawing) == []


@pytest.mark.parametrize("name", BRIDLES)
def test_a_wrong_drawing_fails_a_claim(name: str) -> None:
    changed = BRIDLES[name](BRIDLE.drawing)
    assert changed != BRIDLE.drawing
    assert wrong(BRIDLE, changed)
