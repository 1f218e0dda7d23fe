"""The time that pictures of a joint take grows about with its fingers; no absolute figure is held,
since machines differ (``speed`` prints them)."""

from __future__ import annotations

import jointgeo
from jointgeo.sheet import sheet_of_joint
from jointgeo.sheet.joint_drawing import joint_pictures

from .speed import box, least_ms


def test_pictures_of_a_joint_grow_about_with_its_fingers() -> None:
    """Four times the fingers take some four to five times as long; with every edge held against
    every plane and every cut one by one it was 6.7 times. The quietest of three tries counts."""
    fixture = jointgeo.load_fixture("porch")

    def pictures(count: int) -> float:
        joint = box(count)
        return least_ms(lambda: joint_pictures(sheet_of_joint(joint, fixture).joints[0]), 2)

    pictures(4)  # whatever is loaded first
    assert min(pictures(96) / pictures(24) for _ in range(3)) < 6.0
