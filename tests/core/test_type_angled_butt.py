"""A plain end at two angles: jack rafters of a published table, its check, wrong drawings."""

from __future__ import annotations

from math import atan, cos, degrees, radians, sin, sqrt, tan
from pathlib import Path
from typing import Any

import attrs
import pytest

import jointgeo.types.angled_butt as module
from jointgeo.errors import InputError
from jointgeo.geometry.vectors import Plane, Vec, X, Y, Z
from jointgeo.joints.check import Check
from jointgeo.joints.drawing import Bar
from jointgeo.joints.registry import joint_type
from jointgeo.joints.stock import parts
from jointgeo.solution.solution import solve
from jointgeo.types.angled_butt import AngledButt

from .by_hand import packing_deg, swivel_deg, tilt_deg
from .check_names import unknown, untried
from .samples import fixture_with
from .wrong_drawings import Change, bars, drawn_as, notch, turned, wrong

EXACT = 1e-9  # mm or degree: rounding only
STEP = 1e-6  # mm to either side of a limit
HALF_SIXTEENTH = 1 / 32  # in; the table is printed to sixteenths


def butt(**changes: Any) -> AngledButt:
    return attrs.evolve(AngledButt.examples()[0], **changes)


def check(joint: AngledButt, name: str) -> Check:
    return next(c for c in joint.checks() if c.name == name)


@pytest.mark.parametrize(("rise", "side_cut"), [(6, 10.75), (8, 10.0), (12, 8.5)])
def test_jack_rafters(rise: float, side_cut: float) -> None:
    """Rise in 12 and the number of the framing square's line "side cut of jacks" (taken with 12;
    the table as it is stamped on squares, from memory). A jack falls at the pitch and dies against
    a hip that stands plumb at 45° in plan; its plumb cut is off square by the pitch."""
    pitch = atan(rise / 12)
    jack = Bar.leaning("rail", (140, 38, 900), Vec(cos(pitch), 0, -sin(pitch)), Y, Vec(0, 0, 0))
    looks = Vec(1, 1, 0).unit
    hip = Bar.leaning("post", (180, 38, 3000), Vec(1, -1, -0.4), looks, looks * -19 + Z * -100)
    joint, _ = joint_type("angled_butt").between(jack, hip)
    said = joint.to_dict()
    assert abs(said["width_angle_deg"]) == pytest.approx(degrees(pitch), abs=EXACT)
    # The side cut lies at side_cut to 12 along the rafter, which is its angle off the edge.
    assert 12 / tan(radians(abs(said["thickness_angle_deg"]))) == pytest.approx(
        side_cut, abs=HALF_SIXTEENTH
    )


@pytest.mark.parametrize(("w", "t"), [(8.0, 6.0), (-20.0, 35.0), (0.0, 12.0), (15.0, 0.0)])
def test_its_setting_follows_the_face_side(w: float, t: float) -> None:
    """One clamping and no packing: swivel w; tan tilt = cos w · tan t, the slope square to it."""
    joint = butt(width_angle_deg=w, thickness_angle_deg=t)
    (cut,) = parts(joint.drawing)[0].notches
    assert cut.channels == ()
    assert swivel_deg(cut) == pytest.approx(w, abs=EXACT)
    assert abs(tilt_deg(cut)) == pytest.approx(degrees(atan(cos(radians(w)) * tan(radians(t)))))
    assert packing_deg(cut) == pytest.approx(0, abs=EXACT)
    answer = solve(joint, fixture_with())
    (setup,) = answer.setups
    assert abs(setup.swivel_deg) == pytest.approx(abs(w), abs=EXACT)
    assert setup.trim_mm > 0
    assert setup.cuts == ()


def test_the_long_point() -> None:
    """60 × 22 at 8° and 6°: 380 + 30 tan 8° + 11 tan 6°."""
    (verify,) = butt().drawing.verify["rail"]
    expected = 380 + 30 * tan(radians(8)) + 11 * tan(radians(6))
    assert verify.expected_mm == pytest.approx(expected, abs=EXACT)


def test_neither_turn_nor_offset_changes_a_setting() -> None:
    settings = [
        solve(j, fixture_with()).settings_dict(aids=False)["parts"][0]
        for j in (butt(), butt(post_turn_deg=30), butt(post_offset_mm=4))
    ]
    assert settings[0] == settings[1] == settings[2]
    assert settings[0] != solve(butt(width_angle_deg=9), fixture_with()).settings_dict()["parts"][0]


def test_a_turn_is_positive_towards_the_rails_back() -> None:
    """The post's grain lies back from X: with a turn of 30° the rail's line leads to its edge."""
    post = butt(post_turn_deg=30).drawing.bars[1]
    assert X @ post.grain == pytest.approx(sqrt(3) / 2, abs=EXACT)
    assert X @ post.edge == pytest.approx(0.5, abs=EXACT)


def test_an_offset_is_positive_towards_the_rails_back() -> None:
    rail, post = butt(post_offset_mm=4).drawing.bars
    assert (rail.middle - post.middle) @ Y == pytest.approx(4, abs=EXACT)
    assert Y @ -rail.face > 0.9


def end_on_post(margin: float) -> AngledButt:
    # 22 mm of rail at 6° along the post: 22 / cos 6° wide where it is cut.
    wide = 22 / cos(radians(6)) + 2 * margin
    return butt(width_angle_deg=0, post_width_mm=wide)


CASES = {"end_on_post": end_on_post}


@pytest.mark.parametrize("name", CASES)
def test_a_check_flips_exactly_at_its_limit(name: str) -> None:
    inside, outside = (check(CASES[name](by), name) for by in (STEP, -STEP))
    assert (inside.status, outside.status) == ("pass", "caution")
    assert inside.margin == pytest.approx(STEP, abs=1e-9)
    assert outside.margin == pytest.approx(-STEP, abs=1e-9)


def test_every_check_of_this_type_is_tried() -> None:
    assert untried([Path(module.__file__)], set(CASES)) == set()
    assert unknown([Path(module.__file__)], set(CASES)) == set()


def test_a_rail_over_the_posts_edge_is_mended_by_either_way() -> None:
    over = butt(post_offset_mm=15)
    found = check(over, "end_on_post")
    assert found.status == "caution"
    assert [r.do for r in found.remedies] == ["centre_rail", "wider_post"]
    for remedy in found.remedies:
        assert check(attrs.evolve(over, **remedy.amounts), "end_on_post").status == "pass"


def test_a_rail_along_its_post_is_refused() -> None:
    rail = Bar.leaning("rail", (60, 22, 400), Z, Y, Vec(0, 0, 0))
    post = Bar.leaning("post", (42, 42, 400), Z, X, Vec(-21, 0, 0))
    with pytest.raises(InputError, match="bars that cross"):
        AngledButt.between(rail, post)


BUTT = AngledButt.examples()[1]
WRONG: dict[str, Change] = {
    "sign of the width angle": drawn_as(BUTT, width_angle_deg=5),
    "sign of the thickness angle": drawn_as(BUTT, thickness_angle_deg=-6),
    "sign of the turn": drawn_as(BUTT, post_turn_deg=-12),
    "offset the other way": drawn_as(BUTT, post_offset_mm=-3),
    "cut 0.1 off the post": notch(0, lambda n: attrs.evolve(n, end=n.end.moved(-0.1))),
    "cut along another plane": notch(
        0, lambda n: attrs.evolve(n, end=Plane(Vec(0, -sin(0.01), -cos(0.01)), 0.0))
    ),
    "a channel too many": notch(0, lambda n: attrs.evolve(n, channels=[(-5, 5, 3)])),
    "rail twisted 1° about its grain": turned(BUTT.drawing.bars[0].grain, 1.0, "rail"),
    "post 1 mm lower": bars(lambda b: attrs.evolve(b, middle=b.middle - Z), "post"),
}


def test_a_good_drawing_raises_no_alarm() -> None:
    assert wrong(BUTT, BUTT.drawing) == []


@pytest.mark.parametrize("name", WRONG)
def test_a_wrong_drawing_fails_a_claim(name: str) -> None:
    changed = WRONG[name](BUTT.drawing)
    assert changed != BUTT.drawing
    assert wrong(BUTT, changed)
