"""What the numbers mean, on the picture: each parameter once, with its value, and legible."""

from __future__ import annotations

import itertools
import math
from functools import cache

import attrs
import numpy as np
import pytest

import jointgeo
from jointgeo.errors import PluginError
from jointgeo.geometry.vectors import X, Y, Z
from jointgeo.joints.dimension_lines import Arc, Line, drawn
from jointgeo.joints.dimensions import Length, dimensions, value
from jointgeo.joints.drawing import Drawing
from jointgeo.joints.joint_type import JointType
from jointgeo.schema.fields import describe
from jointgeo.sheet import svg
from jointgeo.sheet.parameter_picture import parameter_drawings, parameter_picture
from jointgeo.sheet.parameter_views import views
from jointgeo.sheet.wood import shortened
from jointgeo.solution.setup import HANDS, Hand

from .samples import LappedStake, lines_of, points

EXAMPLES = [
    *(j for name in sorted(jointgeo.joint_types()) for j in jointgeo.joint_type(name).examples()),
    LappedStake(),
    # Signs and sizes of which the examples have none.
    attrs.evolve(
        jointgeo.joint_type("angled_tenon").examples()[1],
        parallel_to="face_edge",
        tenon_offset_width_mm=-4.0,
        tenon_offset_thickness_mm=2.0,
        haunch_depth_mm=8.0,
    ),
    attrs.evolve(
        jointgeo.joint_type("angled_box_joint").examples()[1],
        slope_deg=-9.0,
        finger_count=0,
        finger_width_mm=14.0,
    ),
]
CASES = [(joint, hand) for joint in EXAMPLES for hand in HANDS]
NAMES = [f"{joint.name}-{hand}" for joint, hand in CASES]
each_case = pytest.mark.parametrize(("joint", "hand"), CASES, ids=NAMES)


def turned(joint: JointType, hand: Hand) -> Drawing:
    return joint.drawing.mirrored if hand == "mirrored" else joint.drawing


@cache
def drawings(joint: JointType, hand: Hand) -> tuple[svg.Drawing, ...]:
    return parameter_drawings(joint, hand)


def said(joint: JointType, hand: Hand) -> list[str]:
    """All words on the drawings, in order."""
    return [words for d in drawings(joint, hand) for words, _ in d.texts]


def told(name: str, joint: JointType) -> str:
    """A parameter as a person finds it there: without its unit, then the value to 0.01."""
    stem, _, unit = name.rpartition("_")
    given = getattr(joint, name)
    text = f"{given:.2f}".replace("-0.00", "0.00")
    return f"{stem.replace('_', ' ')} {text}{'°' if unit == 'deg' else ' mm'}"


@each_case
def test_every_parameter_stands_there_once_with_its_value(joint: JointType, hand: Hand) -> None:
    """Labels break a long name over lines, so they are read on; what is left open is not given."""
    declared = dimensions(type(joint))
    assert set(declared) == {i.name for i in describe(type(joint)) if i.unit in ("mm", "deg")}
    words = " ".join(said(joint, hand))
    for name, dimension in declared.items():
        given = getattr(joint, name)
        optional = isinstance(dimension, Length) and dimension.optional
        if given is None or (optional and given == 0):
            stem = name.rpartition("_")[0].replace("_", " ")
            assert words.count(f"{stem} not given; ") == 1, name
        else:
            assert words.count(told(name, joint)) == 1, name


@each_case
def test_no_words_run_over_others_or_off_the_page(joint: JointType, hand: Hand) -> None:
    """180 mm by 240 mm is what A4 and Letter both hold."""
    for drawing in drawings(joint, hand):
        left, top, right, bottom = drawing.box
        assert right - left <= 180.0
        assert bottom - top <= 240.0
        for words, (a, b, c, e) in drawing.texts:
            assert left <= a, words
            assert top <= b, words
            assert c <= right, words
            assert e <= bottom, words
        for (one, p), (other, q) in itertools.combinations(drawing.texts, 2):
            apart = p[2] <= q[0] or q[2] <= p[0] or p[3] <= q[1] + 0.01 or q[3] <= p[1] + 0.01
            assert apart, (one, other)


@each_case
def test_every_dimension_is_seen_true_and_no_view_is_crowded(joint: JointType, hand: Hand) -> None:
    drawing = shortened(turned(joint, hand))
    found = {n: drawn(d, drawing) for n, d in dimensions(type(joint)).items()}
    shown = views(drawing, found)
    assert sorted(n for v in shown for n in v.shown) == sorted(found)
    for view in shown:
        assert len(view.shown) <= 6  # our choice: three labels in either column
        for shape in view.shown.values():
            if isinstance(shape, Line):
                a, b = (np.array(view.view.flat(p)) for p in (shape.start, shape.end))
                assert np.hypot(*(b - a)) == pytest.approx((shape.end - shape.start).length)
            else:
                assert abs(shape.seen @ view.view.towards) == pytest.approx(1.0)


@each_case
def test_a_line_is_as_long_and_an_arc_as_wide_as_the_number(joint: JointType, hand: Hand) -> None:
    """Positive along the way, or turning the way, that is shown as positive."""
    drawing = turned(joint, hand)
    for name, dimension in dimensions(type(joint)).items():
        shape, number = drawn(dimension, drawing), value(dimension, drawing)
        if isinstance(shape, Arc):
            turn = math.atan2(shape.end @ shape.towards, shape.end @ shape.start)
            assert math.degrees(turn) == pytest.approx(number, abs=1e-9), name
            continue
        assert isinstance(dimension, Length)
        taken = 0.0 if shape.minus is None else (shape.minus[1] - shape.minus[0]).length
        long = dimension.times * ((shape.end - shape.start) @ shape.way - taken)
        assert long == pytest.approx(number, abs=1e-9), name


def test_known_points_of_a_bridle() -> None:
    """A leg leaning 12° along a rail 900 × 60 × 30: X across the rail, Y along it, Z down."""
    leg = jointgeo.joint_type("splayed_bridle").examples()[0]
    asked, drawing = dimensions(type(leg)), leg.drawing
    rail = drawn(asked["rail_length_mm"], drawing)
    assert isinstance(rail, Line)
    assert (rail.start.y, rail.end.y) == pytest.approx((-450.0, 450.0))
    deep = drawn(asked["rail_depth_mm"], drawing)
    assert isinstance(deep, Line)
    assert (deep.start.z, deep.end.z) == pytest.approx((0.0, 60.0))
    assert not deep.signed
    fit = drawn(asked["fit_mm"], drawing)
    assert isinstance(fit, Line)
    assert fit.minus is not None
    assert sorted(p.x for p in (fit.start, fit.end)) == pytest.approx([-11.05, 11.05])
    assert sorted(p.x for p in fit.minus) == pytest.approx([-11.0, 11.0])
    long = drawn(asked["leg_length_mm"], drawing)
    assert isinstance(long, Line)
    assert long.start.length == pytest.approx(0.0, abs=1e-9)
    assert (long.end - long.start).length == pytest.approx(430.0)


@pytest.mark.parametrize("hand", HANDS)
def test_known_arms_of_a_splay(hand: Hand) -> None:
    """12° from straight down, the foot the way the back looks, which is along Y on either hand;
    8° across it to the left or right of the rail."""
    leg = jointgeo.joint_type("splayed_bridle").examples()[0]
    asked, drawing = dimensions(type(leg)), turned(leg, hand)
    along = drawn(asked["splay_along_deg"], drawing)
    assert isinstance(along, Arc)
    np.testing.assert_allclose(along.start, Z, atol=1e-12)
    np.testing.assert_allclose(along.end, [0.0, 0.2079117, 0.9781476], atol=1e-7)
    np.testing.assert_allclose(along.towards, Y, atol=1e-12)
    across = drawn(asked["splay_across_deg"], drawing)
    assert isinstance(across, Arc)
    sign = -1.0 if hand == "mirrored" else 1.0
    np.testing.assert_allclose(across.end, [sign * 0.1391731, 0.0, 0.9902681], atol=1e-7)
    np.testing.assert_allclose(across.towards, X * sign, atol=1e-12)


def test_an_angle_between_two_planes_lines_stands_on_their_line() -> None:
    """The shoulder line on a rail's face side: in the plane Z = 0 and in that side."""
    tenon = jointgeo.joint_type("angled_tenon").examples()[1]
    arc = drawn(dimensions(type(tenon))["width_angle_deg"], tenon.drawing)
    assert isinstance(arc, Arc)
    assert arc.at.z == pytest.approx(0.0, abs=1e-9)
    assert tenon.drawing.bar("rail").side("face_side").out(arc.at) == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(("hand", "right"), [("as_drawn", 1.0), ("mirrored", -1.0)])
@pytest.mark.parametrize("lean", [12.0, -12.0])
def test_the_plus_goes_the_way_that_is_positive(hand: Hand, right: float, lean: float) -> None:
    """A leg's foot leans positive the way its back looks, whatever its lean: along Y, which is to
    the right for who looks at a rail's face side from -X with Z down, to the left from +X."""
    leg = attrs.evolve(jointgeo.joint_type("splayed_bridle").examples()[0], splay_along_deg=lean)
    arrow = points(lines_of(drawings(leg, hand)[0], "positive")[0])
    assert np.sign(arrow[-1, 0] - arrow[0, 0]) == right


def test_one_picture_for_a_page_of_the_service() -> None:
    svg = parameter_picture(LappedStake(), name="stake")
    assert svg.startswith("<svg")
    assert 'id="stake-title"' in svg
    assert "lapped stake: what the numbers mean" in svg


def test_a_type_that_declares_nothing_has_no_picture() -> None:
    @attrs.frozen
    class Plain(LappedStake):
        """All parameters fixed."""

        lean_deg: float = attrs.field(init=False, default=7.0)
        twist_deg: float = attrs.field(init=False, default=4.0)
        width_mm: float = attrs.field(init=False, default=40.0)
        lap_mm: float = attrs.field(init=False, default=25.0)

    assert parameter_drawings(Plain()) == ()
    with pytest.raises(PluginError, match="declares no dimension"):
        parameter_picture(Plain())


def test_what_cannot_be_measured_is_the_types_fault() -> None:
    with pytest.raises(PluginError, match="cannot be shown on the drawing"):
        drawn(Length("stake.face_edge", "beam.back_edge"), LappedStake().drawing)
