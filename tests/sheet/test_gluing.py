"""Which way things slide, and members whose ends do not agree."""

from __future__ import annotations

from pathlib import Path

import attrs
import numpy as np
import pytest

import jointgeo
from jointgeo.geometry.vectors import Vec
from jointgeo.jobs.file import read_job
from jointgeo.sheet.gluing import grain_angle_deg, meetings, way_out

from .samples import sheet_of

PORCH = jointgeo.load_fixture("porch")


def box(slope: float) -> float:
    """Angle between the two ways of a four-sided box's board."""
    parameters = attrs.asdict(jointgeo.joint_type("angled_box_joint").examples()[0])
    parameters |= {"slope_deg": slope, "plan_corner_deg": 90.0}
    end = {"cut": "joint", "joint": "corner"}
    job = read_job(
        {
            "title": "box",
            "fixture": "porch",
            "joint": [{"name": "corner", "type": "angled_box_joint", "parameters": parameters}],
            "member": [{"name": "side", "near": end | {"part": "a"}, "far": end | {"part": "b"}}],
        },
        Path(),
    )
    drawings = {j.name: j.joint.drawing for j in job.joints}
    (meeting,) = meetings(job.members, drawings)
    return meeting.apart_deg


def test_a_square_box_closes_from_two_sides_at_once() -> None:
    assert box(0.0) == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("slope", [5.0, 10.0, 20.0])
def test_a_sloping_boxs_corners_lean_apart(slope: float) -> None:
    """Either end slides square to its corner edge, and both edges lean by the swivel:
    tan σ = tan(180°/4)·sin(slope), the usual resultant-angle formula for hoppers."""
    swivel = np.degrees(np.arctan(np.sin(np.radians(slope))))
    assert box(slope) == pytest.approx(2 * swivel, abs=1e-6)


def test_rails_of_a_seat_that_falls_are_warned_of() -> None:
    """Front shoulder square on the face side, rear one 3° off it; both tenons follow the face
    side, so their directions lie within it and differ by those 3° but for the other angle."""
    found = {m.member: m for m in sheet_of("chair").meetings}
    for name in ("right side rail", "left side rail"):
        assert found[name].awkward
        assert found[name].apart_deg == pytest.approx(3.0, abs=0.02)


def test_a_rail_with_parallel_tenons_is_not() -> None:
    """Alike at either end and square: the far frame is turned round, and the line is the same."""
    parameters = attrs.asdict(jointgeo.joint_type("angled_tenon").examples()[0])
    parameters |= {"width_angle_deg": 0.0, "thickness_angle_deg": 6.0}
    end = {"cut": "joint", "part": "rail"}
    rear = parameters | {"thickness_angle_deg": -6.0}
    job = read_job(
        {
            "title": "rail",
            "fixture": "porch",
            "joint": [
                {"name": "front", "type": "angled_tenon", "parameters": parameters},
                {"name": "rear", "type": "angled_tenon", "parameters": rear},
            ],
            "member": [
                {"name": "rail", "near": end | {"joint": "front"}, "far": end | {"joint": "rear"}},
                {"name": "bent", "near": end | {"joint": "front"}, "far": end | {"joint": "front"}},
            ],
        },
        Path(),
    )
    drawings = {j.name: j.joint.drawing for j in job.joints}
    parallel, bent = meetings(job.members, drawings)
    assert not parallel.awkward
    assert bent.apart_deg == pytest.approx(12.0, abs=1e-6)


def test_who_stands_still_is_left_the_other_way() -> None:
    """A leg leaning 12° and 8° in housings that lean 12°: it comes out along them.

    Its own length runs along (tan 8°, tan 12°, 1), the housings along (0, tan 12°, 1).
    """
    drawing = jointgeo.joint_type("splayed_bridle").examples()[0].drawing
    leg, rail = way_out(drawing, "leg"), way_out(drawing, "rail")
    np.testing.assert_allclose(leg, [0.0, 0.2079117, 0.9781476], atol=1e-7)  # sine, cosine of 12°
    np.testing.assert_allclose(rail, [0.0, -0.2079117, -0.9781476], atol=1e-7)
    # tan of the angle between is tan 8°·cos 12°: 7.8274°.
    assert grain_angle_deg(drawing, "leg") == pytest.approx(7.8274, abs=1e-4)


def test_ways_that_do_not_agree_give_none_to_who_stands_still() -> None:
    drawing = jointgeo.joint_type("splayed_bridle").examples()[0].drawing
    third = attrs.evolve(drawing.bars[0], name="brace")
    both = {"leg": Vec(0.0, 0.0, 1.0), "brace": Vec(0.0, 0.1, 1.0)}
    found = attrs.evolve(drawing, bars=(*drawing.bars, third), slides=both)
    assert way_out(found, "rail") is None
    assert grain_angle_deg(found, "rail") is None
    assert way_out(attrs.evolve(drawing, slides={}), "rail") is None
