"""Every joint type's drawing, read back: claims, dimensions, and two bars that stand in a room.

Runs over all types that are installed, the plug-in of these tests and the guide's; knows none of
their parameters. Random joints where there is a draw for the type, its examples everywhere.
"""

from __future__ import annotations

import re
import sys
from pathlib import Path
from types import ModuleType
from typing import Any

import attrs
import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from jointgeo.geometry.vectors import Vec
from jointgeo.joints.dimensions import Length, dimensions, value
from jointgeo.joints.drawing import Bar
from jointgeo.joints.joint_type import JointType
from jointgeo.joints.placement import Placement
from jointgeo.joints.registry import joint_types
from jointgeo.schema.fields import describe

ROOT = Path(__file__).resolve().parents[2]
PLUGIN = ROOT / "tests" / "plugin" / "porch-half-lap" / "porch_half_lap.py"
GUIDE = re.compile(r"^```python barefaced_tongue\.py\n(.*?)^```$", re.S | re.M)

READ_BACK = 1e-9  # mm or degree: rounding only, some 1e-12 at 1 m
SHOWN = 1e-6  # the same: a dimension on a picture shows 0.001


def of_text(name: str, text: str) -> ModuleType:
    """A module of that text; of files of this repository that no package holds."""
    module = sys.modules[name] = ModuleType(name)  # kept: annotations are looked up there
    exec(compile(text, name, "exec"), module.__dict__)  # noqa: S102 - this repository's own text
    return module


RANDOM = of_text(
    "text_of_random_joints", (ROOT / "tests/proof/random_joints.py").read_text("utf-8")
)


def every_type() -> dict[str, type[JointType]]:
    guide = GUIDE.search((ROOT / "DEVELOPERS.md").read_text("utf-8"))
    assert guide is not None
    return {
        **joint_types(),
        "corner_half_lap": of_text(
            "text_of_porch_half_lap", PLUGIN.read_text("utf-8")
        ).CornerHalfLap,
        "barefaced_tongue": of_text("text_of_barefaced_tongue", guide[1]).BarefacedTongue,
    }


TYPES = every_type()


def some(name: str) -> list[JointType]:
    """Its examples, and 20 random joints with clearance and 5 with interference."""
    out = list(TYPES[name].examples())
    if name in RANDOM.DRAWS:
        out += RANDOM.joints(name, 20, seed=11)
        out += RANDOM.joints(name, 5, seed=12, fit=RANDOM.interference)
    return out


JOINTS = [(name, joint) for name in TYPES for joint in some(name)]
each_joint = pytest.mark.parametrize(("name", "joint"), JOINTS)


def test_every_type_that_ships_has_random_joints() -> None:
    assert set(joint_types()) <= set(RANDOM.DRAWS)


@each_joint
def test_what_is_drawn_is_what_was_asked_for(name: str, joint: JointType) -> None:
    del name
    assert [c for c in joint.claims() if not c.off <= READ_BACK] == []
    assert joint.unclaimed() == []


@each_joint
def test_dimensions_show_the_parameters_on_either_hand(name: str, joint: JointType) -> None:
    for field, dimension in dimensions(TYPES[name]).items():
        asked = getattr(joint, field)
        if asked is None or (isinstance(dimension, Length) and dimension.optional and asked == 0):
            continue
        for drawing in (joint.drawing, joint.drawing.mirrored):
            assert value(dimension, drawing) == pytest.approx(asked, abs=SHOWN), field


@pytest.mark.parametrize("name", TYPES)
def test_every_length_and_angle_says_what_it_measures(name: str) -> None:
    measured = {f.name for f in describe(TYPES[name]) if f.unit in ("mm", "deg")}
    assert measured == set(dimensions(TYPES[name]))


def anywhere(rng: np.random.Generator) -> Placement:
    """A random turn, and a move of up to 2 m each way."""
    axes = Rotation.random(random_state=int(rng.integers(1 << 31))).as_matrix().T.tolist()
    x, y, z = (Vec(*axis) for axis in axes)
    return Placement((x, y, z), Vec(*rng.uniform(-2000, 2000, size=3).tolist()))


def begun_elsewhere(bar: Bar, by: float) -> Bar:
    """The same wood, its length counted from a point further along it."""
    return attrs.evolve(bar, middle=bar.middle + bar.grain * by, length=bar.length - by)


def agrees(found: JointType, asked: JointType) -> bool:
    """Whether every parameter is the same, to rounding over 2 m."""
    a, b = found.to_dict(), asked.to_dict()
    return all(
        a[k] == (v if isinstance(v, str) else pytest.approx(v, abs=READ_BACK)) for k, v in b.items()
    )


@each_joint
def test_two_bars_in_a_room_give_the_joint_again(
    name: str, joint: JointType, rng: np.random.Generator
) -> None:
    cls, (bar, mate) = TYPES[name], joint.drawing.bars
    sizes = {k: v for k, v in joint.to_dict().items() if k not in cls.measure(bar, mate)}
    room = anywhere(rng)
    rail, post = room.bar(bar), room.bar(mate)
    begun = begun_elsewhere(rail, float(rng.uniform(-50, 50)))
    found, placement = cls.between(begun, post, **sizes)
    assert agrees(found, joint)
    for mine, asked in zip((*placement.axes, placement.at), (*room.axes, room.at), strict=True):
        assert mine == pytest.approx(asked, abs=READ_BACK)
    laid_out = all(n.bar != mate.name for n in joint.drawing.notches)
    if laid_out and not mate.handed:
        other_edge = attrs.evolve(post, edge=-post.edge)
        other_end = attrs.evolve(post, grain=-post.grain, middle=post.middle + post.grain * 700)
        for marked in (other_edge, other_end):
            assert agrees(cls.between(rail, marked, **sizes)[0], joint)


def plain(pose: Any) -> np.ndarray:
    return np.asarray(pose, dtype=float)


@each_joint
def test_a_mirrored_drawing_is_the_image_of_every_bar(name: str, joint: JointType) -> None:
    """Twin points of the stock, x counted from its other side, lie at places with x negated."""
    del name
    for bar, image in zip(joint.drawing.bars, joint.drawing.mirrored.bars, strict=True):
        corners = np.array([[x, y, z, 1] for x in (0, 7) for y in (0, 5) for z in (0, 90)])
        twins = corners * [-1, 1, 1, 1] + [bar.width, 0, 0, 0]
        expected = corners @ plain(bar.pose).T * [-1, 1, 1, 1]
        np.testing.assert_allclose(twins @ plain(image.pose).T, expected, rtol=0, atol=READ_BACK)
        assert image.x_from != bar.x_from
