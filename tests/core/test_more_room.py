"""More room never takes away: a beam further out, thinner backing.

What is claimed follows from geometry. A beam moves square to its face, so its distance to the
foremost wood grows by what it is moved and nothing else changes: what was feasible stays so.
Thinner backing brings stock nearer to the plate and the overhang with it, so the room at the beam
and that in the clamp cannot shrink; other checks may, since backing is what the exit and the feed
go by.
"""

from __future__ import annotations

import attrs
import pytest

from jointgeo import Fixture, load_fixture, solve
from tests.proof.random_joints import DRAWS, joints

PORCH = load_fixture("porch")
EXACT = 1e-9  # mm; rounding over metres is 1e-12
OUT_MM = (0.0, 3.0, 25.0, 80.0)  # our choice
BACKING_MM = (18.0, 11.0, 3.0, 0.0)  # from the demo fixture's down to none


def beam_out(by_mm: float) -> Fixture:
    beams = tuple(
        attrs.evolve(b, face_distance_mm=b.face_distance_mm + by_mm) for b in PORCH.front_beam
    )
    return attrs.evolve(PORCH, front_beam=beams)


def backed(thickness_mm: float) -> Fixture:
    return attrs.evolve(PORCH, backing=attrs.evolve(PORCH.backing, thickness_mm=thickness_mm))


def test_a_beam_further_out_never_loses_a_joint_that_fits() -> None:
    gained = fits = 0
    for name in DRAWS:
        for joint in joints(name, 50, 31):
            before, first = False, None
            for by in OUT_MM:
                answer = solve(joint, beam_out(by))
                assert answer.feasible or not before, (joint, by)
                before = answer.feasible
                first = before if first is None else first
            fits += before
            gained += before and not first
    assert fits > 10, "or nothing would have been tried"
    assert gained > 0


@pytest.mark.parametrize("check", ["front_beam", "clamp_opening"])
def test_thinner_backing_never_takes_room_at_beam_and_clamp(check: str) -> None:
    rising = 0
    for name in DRAWS:
        for joint in joints(name, 15, 32):
            before: list[float] = []
            sides: list[str] = []
            for thickness in BACKING_MM:
                answer = solve(joint, backed(thickness))
                room = [c.margin for c in answer.checks if c.name == check]
                now = [s.against_plate for s in answer.setups]
                if before and now == sides:  # the same clamping, or it is another cut
                    pairs = list(zip(before, room, strict=True))
                    assert all(b >= a - EXACT for a, b in pairs), (joint, thickness)
                    rising += any(b > a + EXACT for a, b in pairs)
                before, sides = room, now
    assert rising > 20, "or nothing would have been tried"
