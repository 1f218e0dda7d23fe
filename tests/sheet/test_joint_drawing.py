"""The joint put together and apart: what is shortened, what is hidden, and how far it is moved."""

from __future__ import annotations

import attrs
import numpy as np
import pytest

import jointgeo
from jointgeo.joints.drawing import Bar, Drawing
from jointgeo.sheet import sheet_of_joint
from jointgeo.sheet.joint_drawing import joint_pictures
from jointgeo.sheet.model import JointSheet
from jointgeo.sheet.wood import bodies, edges, shortened

from .samples import LappedStake, lines_of, points, scale_of, sheet_of

JOINTS = [
    (job, i) for job in ("bench", "chair", "planter") for i in range(len(sheet_of(job).joints))
]


def corners(drawing: Drawing, bar: Bar) -> set[tuple[float, ...]]:
    """Corners of a bar as cut, but for those at the ends that are not joined; in 0.001 mm."""
    wood = next(w for w in bodies(drawing) if w.name == bar.name)
    cut = any(n.bar == bar.name for n in drawing.notches)
    ends = (wood.bar.far,) if cut else (wood.bar.near, wood.bar.far)
    found = {p for edge in edges(wood) for p in edge}
    kept = [p for p in found if all(abs(end.out(p)) > 1e-6 for end in ends)]
    return {tuple(round(v, 3) + 0.0 for v in p) for p in kept}


@pytest.mark.parametrize(("job", "index"), JOINTS)
def test_shortening_leaves_every_corner_of_the_joint(job: str, index: int) -> None:
    whole = sheet_of(job).joints[index].solution.drawing
    short = shortened(whole)
    for before, after in zip(whole.bars, short.bars, strict=True):
        assert before.near.out(after.middle) <= 0  # nothing is shown where there was no wood
        assert before.far.out(after.middle + after.grain * after.length) <= 0
        assert corners(whole, before) == corners(short, before)
    assert any(b.length < a.length for a, b in zip(whole.bars, short.bars, strict=True))


@pytest.mark.parametrize(("job", "index"), JOINTS)
def test_hidden_edges_are_dashed_and_seen_ones_are_not(job: str, index: int) -> None:
    for drawing in joint_pictures(sheet_of(job).joints[index]):
        seen, behind = lines_of(drawing, "seen"), lines_of(drawing, "behind")
        assert len(seen) > 10
        assert len(behind) > 3
        assert all(e.get("stroke-dasharray") is None for e in seen)
        assert all(e.get("stroke-dasharray") for e in behind)
        words = [w for w, _ in drawing.texts]
        names = {bar.name for bar in sheet_of(job).joints[index].solution.drawing.bars}
        assert names <= set(words)
        assert "face side" in words


def test_known_corners_of_a_slot() -> None:
    """22 mm and 0.1 mm of fit wide about the middle, 60 mm deep, its cheeks upright."""
    drawing = jointgeo.joint_type("splayed_bridle").examples()[0].drawing
    found = corners(drawing, drawing.bar("leg"))
    slot = [p for p in found if abs(abs(p[0]) - 11.05) < 1e-6]
    assert len(slot) == 8
    assert {p[2] for p in slot} == {0.0, 60.0}
    assert len(found) == 12  # and the four of the end


def heights(joint: JointSheet) -> tuple[float, float]:
    """How high both pictures stand, in millimetres of the drawn thing."""
    out = []
    for drawing in joint_pictures(joint):
        ends = np.concatenate([points(e) for e in lines_of(drawing, "seen")])
        out.append(float(np.ptp(ends[:, 1])) / scale_of(drawing))
    return out[0], out[1]


def test_apart_means_clear_of_each_other() -> None:
    """A square tenon is drawn out straight down the page, seen 25° from above.

    It goes one and a half times its depth of 25 mm and three tenths of its width of 70 mm,
    of which the page shows the cosine. The post stands still.
    """
    tenon = jointgeo.joint_type("angled_tenon").examples()[0]
    joint = attrs.evolve(tenon, width_angle_deg=0.0, thickness_angle_deg=0.0)
    sheet = sheet_of_joint(joint, jointgeo.load_fixture("porch")).joints[0]
    together, apart = heights(sheet)
    moved = (1.5 * 25.0 + 0.3 * 70.0) * np.cos(np.radians(25.0))
    assert apart - together == pytest.approx(moved, abs=0.02)


def test_a_third_partys_joint_is_drawn_too() -> None:
    sheet = sheet_of_joint(LappedStake(), jointgeo.load_fixture("porch"))
    together, apart = joint_pictures(sheet.joints[0])
    assert together.title.startswith("lapped stake: put together, 1:")
    assert lines_of(apart, "seen")
