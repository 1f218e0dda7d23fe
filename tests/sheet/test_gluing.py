"""Which way things slide, and members whose ends do not agree."""

from __future__ import annotations

from pathlib import Path

import attrs
import numpy as np
import pytest

import jointgeo
from jointgeo.jobs.file import read_job
from jointgeo.sheet.gluing import grain_angle_deg, meetings, way_out
from jointgeo.solution.settings import solve_settings

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
    settings = {j.name: solve_settings(j.joint, PORCH) for j in job.joints}
    (meeting,) = meetings(job.members, settings)
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
    settings = {j.name: solve_settings(j.joint, PORCH) for j in job.joints}
    parallel, bent = meetings(job.members, settings)
    assert not parallel.awkward
    assert bent.apart_deg == pytest.approx(12.0, abs=1e-6)


def test_who_stands_still_is_left_the_other_way() -> None:
    """A leg leaning 12° and 8° is drawn out straight down; its rail is drawn out straight up."""
    settings = solve_settings(jointgeo.joint_type("splayed_bridle").examples()[0], PORCH)
    leg, rail = way_out(settings, "leg"), way_out(settings, "rail")
    assert leg is not None
    assert rail is not None
    # tan² of the resultant is tan² 12° + tan² 8°: 14.2957°, as the theory gives it.
    assert grain_angle_deg(leg) == pytest.approx(14.2957, abs=1e-4)
    # The rail's x runs from its face edge (top) to its back edge: upwards is -x.
    np.testing.assert_allclose(rail, [-1.0, 0.0, 0.0], atol=1e-12)
