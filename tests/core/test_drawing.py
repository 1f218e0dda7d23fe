"""Bars, notches and drawings: known vectors in, where do they land; what is refused, and why."""

from __future__ import annotations

import math
from typing import Any

import attrs
import pytest

from jointgeo.errors import PluginError
from jointgeo.geometry.vectors import INF, Plane, Vec, X, Y, Z
from jointgeo.joints.drawing import Bar, Block, Channel, Drawing, Notch
from jointgeo.joints.pockets import groove

from .bars import ORIGIN, bridle, leg, rail, slot

TINY = 1e-9  # mm, or a share of 1: rounding


def near(expected: tuple[float, ...]) -> Any:
    return pytest.approx(expected, abs=TINY)


def test_a_bars_stock_frame_lies_at_its_corner() -> None:
    """z along the grain, y in from the face side, x across: right-handed, by hand."""
    bar = leg()
    assert bar.axes == (X, Y, Z)
    assert bar.origin == near((-30, -20, 0))
    assert bar.place(Vec(-30, 20, 500)) == near((0, 40, 500))
    assert bar.stock(Y) == near((0, 1, 0))
    assert [list(row) for row in bar.pose] == [
        [1, 0, 0, -30],
        [0, 1, 0, -20],
        [0, 0, 1, 0],
        [0, 0, 0, 1],
    ]


def test_x_runs_from_the_marked_edge_that_lies_at_0() -> None:
    assert leg().x_from == "face_edge"
    assert leg(edge=X).x_from == "back_edge"
    # The other end of the same board: the grain turns, the marks stay.
    assert leg(grain=-Z, middle=Z * 500).x_from == "back_edge"


def test_marked_sides_look_out_of_the_wood() -> None:
    bar = leg()
    assert bar.side("face_side") == (-Y, 20)
    assert bar.side("back") == (Y, 20)
    assert bar.side("face_edge") == (-X, 30)
    assert bar.side("back_edge") == (X, 30)
    assert (bar.near, bar.far) == ((-Z, 0), (Z, 500))
    with pytest.raises(KeyError):
        bar.side("left")


def test_a_leaning_bar_keeps_its_face_side_as_near_as_it_can() -> None:
    """Leaning 30° to X with the face side wanted at -Y, which is square to it: -Y it is. Wanted
    up at Z it can only lean with the grain: (-cos 30°, 0, sin 30°) to the side it leans from."""
    grain = Vec(0.5, 0.0, math.sqrt(0.75))
    bar = Bar.leaning("leg", (60, 40, 500), 7 * grain, -Y, ORIGIN)
    assert bar.grain == near(grain)
    assert bar.face == near((0, -1, 0))
    assert bar.edge == near((-math.sqrt(0.75), 0, 0.5))
    assert bar.x_from == "face_edge"
    assert Bar.leaning("leg", (60, 40, 500), grain, Z, ORIGIN).face == near(
        (-math.sqrt(0.75), 0, 0.5)
    )


def test_a_bar_by_its_corner() -> None:
    bar = Bar.cornered("leg", (60, 40, 500), Z, -Y, -X, Vec(-30, -20, 0), handed=True)
    assert bar.middle == near((0, 0, 0))
    assert bar.handed
    assert bar == attrs.evolve(leg(), handed=True)


def test_arrises_go_round_from_x_0_y_0() -> None:
    """A level plane at 100 that rises by one for every three of X."""
    rise = Plane.through(Z * 100, Vec(-1.0, 0.0, 3.0).unit)
    places = [(p.x, p.y, p.z) for p in leg().arrises(rise)]
    expected = [(-30, -20, 90), (30, -20, 110), (30, 20, 110), (-30, 20, 90)]
    for found, asked in zip(places, expected, strict=True):
        assert found == near(asked)


def test_room_is_that_of_the_outermost_point() -> None:
    assert leg().room(Vec(0, 0, 9)) == 20
    assert leg().room(Vec(25, 0, 0), Vec(0, -18, 0)) == 2
    assert leg().room(Vec(0, 0, 0), Vec(31, 0, 0)) == -1


def test_reach_is_counted_in_steps_of_the_way() -> None:
    assert leg().reach(Vec(10, 0, 0), X) == 20
    assert leg().reach(Vec(10, 0, 0), -X * 2) == 20
    assert leg().reach(ORIGIN, Vec(1, 1, 5)) == 20
    assert leg().reach(ORIGIN, Z) == INF


@pytest.mark.parametrize(
    "changes",
    [
        {"grain": Z * 1.001},
        {"face": Vec(0, -1, 1).unit},
        {"edge": Y},
        {"edge": Vec(math.nan, 0, 0)},
    ],
)
def test_a_bar_askew_is_refused_by_name(changes: dict[str, Vec]) -> None:
    with pytest.raises(PluginError, match="bar leg: unit vectors square to each other"):
        leg(**changes)


@pytest.mark.parametrize("size", [0.0, -5.0, INF, math.nan])
@pytest.mark.parametrize("which", ["width", "thickness", "length"])
def test_a_bar_without_a_size_is_refused(which: str, size: float) -> None:
    with pytest.raises(PluginError, match="bar leg: a size must be finite and above 0"):
        leg(**{which: size})


@pytest.mark.parametrize(
    "channel",
    [
        *((5, 5, 10), (5, -5, 10), (-5, 5, 0), (-5, 5, -1), (-5, 5, INF), (-5, 5, math.nan)),
        *((math.nan, 5, 10), (-5, math.nan, 10), (INF, INF, 10)),
    ],
)
def test_a_channel_that_is_none(channel: tuple[float, float, float]) -> None:
    with pytest.raises(PluginError, match="low < high and a finite depth"):
        Channel(*channel)


def test_cheeks_look_out_of_the_wood_that_is_left() -> None:
    """Wood lies below the low one and above the high one; the floor faces the end."""
    notch = slot()
    assert notch.cheeks == ((X, -10.5), (-X, -10))
    assert notch.floor == (-Z, -100)
    open_below = Notch("a", "leg", Plane(-Z, 0.0), X, ((-INF, 3, 20), (8, INF, 20)))
    assert open_below.cheeks == ((-X, -3), (X, 8))


def test_a_cheek_keeps_its_number_in_the_mirror() -> None:
    notch = Notch("a", "leg", Plane(-Z, 0.0), X, ((-20, -10, 30), (5, INF, 30)))
    twin = notch.mirrored
    for cheek, image in zip(notch.cheeks, twin.cheeks, strict=True):
        assert image == cheek.mirrored
    assert twin.mirrored == notch


def test_a_notch_askew_is_refused() -> None:
    with pytest.raises(PluginError, match="notch slot: unit vectors"):
        Notch("slot", "leg", Plane(-Z, 0.0), Vec(1, 0, 0.1).unit, ((-5, 5, 10),))


def test_what_lies_nowhere_is_refused() -> None:
    nowhere = Vec(0, math.nan, 0)
    with pytest.raises(PluginError, match="bar leg: its middle must be finite"):
        leg(middle=nowhere)
    with pytest.raises(PluginError, match="block room: its middle must be finite"):
        Block("room", nowhere, (X, Y, Z), (5, 5, 5))


def test_a_block_must_have_edges_and_right_angles() -> None:
    with pytest.raises(PluginError, match="block room: its edges"):
        Block("room", ORIGIN, (X, Y, Z), (5, 0, 5))
    with pytest.raises(PluginError, match="block room: unit vectors"):
        Block("room", ORIGIN, (X, X, Z), (5, 5, 5))


def test_a_mirrored_block_is_right_handed_and_fills_the_mirror_image() -> None:
    turned = (Vec(0.6, 0.8, 0.0), Vec(-0.8, 0.6, 0.0), Z)
    image = Block("room", Vec(7, 2, 3), turned, (10, 20, 30)).mirrored
    x, y, z = image.axes
    assert (x ^ y) == near(z)
    assert image.middle == (-7, 2, 3)
    assert abs(x @ Vec(-0.6, 0.8, 0.0)) == pytest.approx(1.0, abs=TINY)


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"bars": (leg(),)}, "two bars or more"),
        ({"bars": (leg(), leg())}, "of different names"),
        ({"notches": (attrs.evolve(slot(), bar="post"),)}, "'post' is no bar of this drawing"),
        ({"slides": {"post": Z}}, "'post' is no bar"),
        ({"verify": {"post": ()}}, "'post' is no bar"),
        ({"slides": {"leg": ORIGIN}}, "the slide of leg is no direction"),
        ({"slides": {"leg": Vec(math.nan, 0, 0)}}, "the slide of leg is no direction"),
        (
            {"pockets": (groove(rail(name="post"), "back", "groove", ORIGIN, 6, 6),)},
            "'post' is no bar",
        ),
    ],
)
def test_a_drawing_that_is_none_says_why(changes: dict[str, Any], says: str) -> None:
    with pytest.raises(PluginError, match=says):
        bridle(**changes)


def test_a_mirrored_drawing_turns_everything_once() -> None:
    drawing = bridle(
        slides={"leg": Vec(0.5, 0.0, 2.0)},
        empty=(Block("room", Vec(5, 0, 0), (X, Y, Z), (1, 1, 1)),),
        pockets=(groove(rail(), "face_side", "groove", Vec(0, 0, 30), 6, 4),),
    )
    image = drawing.mirrored
    assert image.slides == {"leg": (-0.5, 0, 2)}
    assert image.empty[0].middle.x == -5
    assert image.bar("rail").face == X
    assert image.pockets[0].marks == drawing.pockets[0].marks
    assert image.pockets[0].block.middle == near(drawing.pockets[0].block.middle.mirrored)
    assert image.mirrored.bars == drawing.bars
    assert image.mirrored.notches == drawing.notches
    assert isinstance(image, Drawing)
