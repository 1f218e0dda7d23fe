"""The directions in which a joint comes apart: from its drawing, and from the faces of cut solids.

The library reads them off the drawing and the virtual shop off what was cut; neither imports the
other.
"""

from __future__ import annotations

import numpy as np
import pytest

from jointgeo import JointType, joint_types, load_fixture, solve
from jointgeo.pieces.assembly.contacts import contacts
from jointgeo.proof.apart import cone
from jointgeo.proof.form import read_errors, read_settings
from jointgeo.proof.mesh import Array
from jointgeo.proof.rebuild import rebuild
from jointgeo.proof.shop import Shop

from .random_joints import DRAWS, clearance, interference, joints

INTO = 1e-7  # of the way; rounding of a wall is 1e-15


def let(joint: JointType) -> tuple[Array, Array]:
    """Of 6,000 directions and the slide, which the drawing lets and which the cut faces."""
    rng, drawing = np.random.default_rng(3), joint.drawing
    form = read_settings(solve(joint, load_fixture("porch")).settings_dict(aids=False))
    shop = Shop(form, {p.name: rebuild(p, read_errors(None)) for p in form.parts})
    bar, mate = (shop.placed[b.name] for b in drawing.bars[:2])
    cut = cone(bar, mate, form.drawing.widest_gap_mm)
    drawn = np.array([-w.normal for w in contacts(drawing).walls])
    slide = np.array((drawing.slides.get(bar.name) or -drawing.slides[mate.name]).unit)
    near = slide + 1e-3 * rng.normal(size=(2000, 3))
    ways = np.concatenate([rng.normal(size=(2000, 3)), near, near - near @ across(drawn), [slide]])
    mine, theirs = ((ways @ walls.T >= -INTO).all(axis=1) for walls in (drawn, cut))
    return mine, theirs


def across(walls: Array) -> Array:
    """What projects a direction onto the walls that face each other, across which nothing goes:
    without that part nearly any direction would be barred."""
    pairs = [n for n in walls if np.abs(walls + n).max(axis=1).min() < 1e-9]
    if not pairs:
        return np.zeros((3, 3))
    _, s, rows = np.linalg.svd(np.array(pairs))
    kept = rows[: int((s > 1e-9).sum())]
    return np.asarray(kept.T @ kept)


@pytest.mark.parametrize(
    "joint", [j for cls in joint_types().values() for j in cls.examples()], ids=lambda j: j.name
)
def test_drawing_and_cut_faces_let_the_same_directions(joint: JointType) -> None:
    mine, theirs = let(joint)
    np.testing.assert_array_equal(mine, theirs)
    assert mine[-1]
    assert mine.any()
    assert not mine.all()


@pytest.mark.parametrize("fit", [clearance, interference], ids=["clearance", "interference"])
@pytest.mark.parametrize("name", DRAWS)
def test_random_joints_too(name: str, fit: object) -> None:
    for joint in joints(name, 5, 5, fit):  # type: ignore[arg-type]
        mine, theirs = let(joint)
        np.testing.assert_array_equal(mine, theirs, err_msg=str(joint))
        assert mine[-1]
