"""The values a joint type hands over: what is refused, and mirror images point by point."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from jointgeo.errors import PluginError
from jointgeo.geometry.rotations import pose
from jointgeo.joints.contract import (
    Channel,
    Contact,
    Empty,
    Face,
    Flush,
    LayoutBox,
    Notch,
    Part,
    Placement,
)

from .samples import part_at, turn

SLOT = (Channel(-5, 5, 10),)


@pytest.mark.parametrize(
    ("low", "high", "depth"),
    [
        (5, 5, 10),
        (5, -5, 10),
        (-5, 5, 0),
        (-5, 5, -1),
        (-5, 5, math.inf),
        (-5, 5, math.nan),
        (math.nan, 5, 10),
        (-5, math.nan, 10),
        (math.inf, math.inf, 10),
        (math.inf, -math.inf, 10),
    ],
)
def test_a_channel_that_is_none(low, high, depth) -> None:
    with pytest.raises(PluginError, match="channel"):
        Channel(low, high, depth)


@pytest.mark.parametrize(("low", "high"), [(-math.inf, 0), (0, math.inf), (-math.inf, math.inf)])
def test_a_channel_may_run_out_on_either_side(low, high) -> None:
    assert not Channel(low, high, 10).closed
    assert Channel(-1, 1, 10).closed


BAD_FRAMES: dict[str, Any] = {
    "mirrored": np.diag([-1.0, 1, 1]),
    "stretched": np.eye(3) * (1 + 1e-6),
    "sheared": [[1, 1e-6, 0], [0, 1, 0], [0, 0, 1]],
    "not finite": np.full((3, 3), np.nan),
    "another shape": np.eye(4),
    "flat": np.zeros((3, 3)),
    "along the grain": turn(88, 0),
    "out of the stock": np.diag([1.0, -1, -1]),
}


@pytest.mark.parametrize("name", BAD_FRAMES)
def test_a_frame_that_is_none(name) -> None:
    with pytest.raises(PluginError):
        Notch(BAD_FRAMES[name], np.zeros(3), SLOT)


@pytest.mark.parametrize("origin", [[0, 0], [0, 0, 0, 0], [0, 0, math.nan], [[0, 0, 0]]])
def test_an_origin_that_is_none(origin) -> None:
    with pytest.raises(PluginError, match="shape"):
        Notch(np.eye(3), origin, SLOT)


@pytest.mark.parametrize("frame", [np.eye(3), np.diag([-1.0, 1, 1, 1]), np.full((4, 4), np.inf)])
def test_a_pose_that_is_none(frame) -> None:
    with pytest.raises(PluginError):
        Placement("a", 0, frame)
    with pytest.raises(PluginError):
        LayoutBox("a", frame, [1, 1, 1])
    with pytest.raises(PluginError):
        Empty("a", frame, [1, 1, 1])


def test_arrays_are_kept_as_copies_nobody_can_write_to() -> None:
    frame, origin = np.eye(3), np.zeros(3)
    notch = Notch(frame, origin, SLOT)
    frame[0, 0], origin[0] = 9.0, 9.0
    assert notch.frame[0, 0] == 1.0
    assert notch.origin_mm[0] == 0.0
    with pytest.raises(ValueError, match="read-only"):
        notch.origin_mm[0] = 1.0


def test_values_compare_by_what_they_hold() -> None:
    assert Notch(np.eye(3), [1, 2, 3], SLOT) == Notch(np.eye(3), np.array([1.0, 2, 3]), SLOT)
    assert Notch(np.eye(3), [1, 2, 3], SLOT) != Notch(np.eye(3), [1, 2, 4], SLOT)


def random_pose(rng: np.random.Generator) -> np.ndarray:
    angles = rng.uniform(-180, 180, size=3)
    return pose(turn(*angles), rng.uniform(-50, 50, size=3))


def inside(frame: np.ndarray, size: np.ndarray, points: np.ndarray) -> np.ndarray:
    local = (points - frame[:3, 3]) @ frame[:3, :3]
    return np.all(np.abs(local) < size / 2, axis=1)


def test_a_mirrored_layout_box_holds_the_mirror_images_of_its_points(rng) -> None:
    """Across the stock: x goes to width - x."""
    for _ in range(20):
        box = LayoutBox("box", random_pose(rng), rng.uniform(40, 90, size=3), marks={"deep_mm": 1})
        image = box.mirrored(60.0)
        points = rng.uniform(-90, 90, size=(400, 3))
        twins = points * [-1, 1, 1] + [60, 0, 0]
        held = inside(box.frame, box.size_mm, points)
        np.testing.assert_array_equal(held, inside(image.frame, image.size_mm, twins))
        assert held.any()
        assert image.marks == box.marks


def test_a_mirrored_placement_takes_twin_points_to_twin_places(rng) -> None:
    """A point of the mirrored stock lands on the mirror image, x negated, of its twin's place."""
    for _ in range(20):
        placed = Placement("a", 0, random_pose(rng))
        points = np.column_stack([rng.uniform(-90, 90, size=(50, 3)), np.ones(50)])
        twins = points * [-1, 1, 1, 1] + [60, 0, 0, 0]
        expected = points @ placed.pose.T * [-1, 1, 1, 1]
        found = twins @ placed.mirrored(60.0).pose.T
        np.testing.assert_allclose(found, expected, rtol=0, atol=1e-9)


def test_mirrored_expectations_are_mirror_images(rng) -> None:
    a = Face("a", 0, "one", [1, 2, 3], [0.6, 0.8, 0])
    b = Face("b", 1, "two", [4, 5, 6], [0, 0, 1])
    for made in (Flush(a, b), Contact(a, b, 0.25)):
        image = made.mirrored()
        np.testing.assert_array_equal(image.a.point_mm, [-1, 2, 3])
        np.testing.assert_array_equal(image.a.normal, [-0.6, 0.8, 0])
        np.testing.assert_array_equal(image.b.point_mm, [-4, 5, 6])
        assert (image.a.part, image.b.instance) == ("a", 1)
    assert Contact(a, b, 0.25).mirrored().gap_mm == 0.25
    for _ in range(20):
        room = Empty("room", random_pose(rng), rng.uniform(40, 90, size=3))
        points = rng.uniform(-90, 90, size=(400, 3))
        held = inside(room.frame, room.size_mm, points)
        image = room.mirrored()
        np.testing.assert_array_equal(held, inside(image.frame, image.size_mm, points * [-1, 1, 1]))


def test_a_part_mirrored_twice_is_itself(rng) -> None:
    box = LayoutBox("box", random_pose(rng), [10, 20, 30])
    part = part_at(12, 7, 3, layout=(box,), slide=np.array([0.0, 0.6, 0.8]))
    twice = part.mirrored().mirrored()
    assert part.mirrored().x_from == "back_edge"
    assert twice.x_from == part.x_from
    np.testing.assert_allclose(twice.notches[0].frame, part.notches[0].frame, atol=1e-12)
    np.testing.assert_allclose(twice.notches[0].origin_mm, part.notches[0].origin_mm, atol=1e-12)
    assert twice.notches[0].channels == part.notches[0].channels
    np.testing.assert_allclose(twice.layout[0].frame, box.frame, atol=1e-12)
    assert part.slide is not None
    mirrored = part.mirrored()
    assert isinstance(mirrored, Part)
    assert mirrored.slide is not None
    np.testing.assert_array_equal(mirrored.slide, part.slide * [-1, 1, 1])
