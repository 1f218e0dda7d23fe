"""What a person reads at the machine without the sheet: which way, which face, from which side."""

from __future__ import annotations

import re

import attrs
import pytest

import jointgeo
from jointgeo.jobs.file import load_job
from jointgeo.jobs.report import READING, job_text
from jointgeo.jobs.solve import solve_job
from jointgeo.joints.sides import in_words
from jointgeo.planning.frame import Positions


def text_of(name: str) -> str:
    return job_text(solve_job(load_job(name)))


@pytest.mark.parametrize("name", ["bench", "chair", "planter"])
def test_every_angle_says_its_way(name: str) -> None:
    """Positive is clockwise as you face the plate, and the cut end towards you (the frame of the
    fixture); an axis at zero has no way."""
    found = re.findall(
        r"^ {4}swivel (-?)([\d.]+)° \(\S+\)(?:, (\w+))?"
        r"   tilt (-?)([\d.]+)° \(\S+\)(?:, ([\w ]+?))?   overhang",
        text_of(name),
        re.MULTILINE,
    )
    setups = [s for end in solve_job(load_job(name)).ends for s in end.setups]
    assert len(found) == len(setups)
    for s_sign, swivel, s_way, t_sign, tilt, t_way in found:
        wanted = "anticlockwise" if s_sign else "clockwise"
        assert s_way == ("" if swivel == "0.000" else wanted)
        wanted = "cut end away from you" if t_sign else "cut end towards you"
        assert t_way == ("" if tilt == "0.000" else wanted)


def test_an_angle_that_prints_as_zero_has_no_way() -> None:
    leg = jointgeo.joint_type("splayed_bridle").examples()[0]
    setup = jointgeo.solve(leg, jointgeo.load_fixture("porch")).setups[0]
    for angle, swivel, tilt in (
        (0.0004, "", ""),
        (-0.0006, "anticlockwise", "cut end away from you"),
        (0.0006, "clockwise", "cut end towards you"),
    ):
        chosen = attrs.evolve(setup.plan.chosen, swivel_deg=angle, tilt_deg=angle)
        turned = attrs.evolve(setup, plan=attrs.evolve(setup.plan, chosen=chosen))
        assert (turned.swivel_way, turned.tilt_way) == (swivel, tilt)


def test_touching_off_names_the_face_and_the_trimmed_corner() -> None:
    text = text_of("bench")
    assert (
        "touch off the cutter's right-hand face at the trimmed corner nearest back / back" in text
    )
    for line in READING:
        assert text.count(line) == 1
    assert text.index(READING[-1]) < text.index("Operation 1:")
    words = " ".join(READING)
    for said in ("from the left", "with the cutter stopped", "handwheel to 0", "backlash"):
        assert said in words


def test_passes_come_from_the_left_as_the_words_say() -> None:
    """Travel grows from pass to pass of one cut, and the first cut's first pass lies a kerf right
    of its left wall."""
    for end in solve_job(load_job("bench")).ends:
        for setup in end.setups:
            for cut in setup.cuts:
                travel = [p.travel_mm for p in cut.passes]
                assert travel == sorted(travel)
                assert travel[0] == pytest.approx(
                    min(cut.left_mm + setup.kerf_mm, cut.right_mm), abs=1e-9
                )


def test_a_corner_that_an_earlier_cut_took_is_said_to_be_further_right() -> None:
    job = load_job("bench")
    answer = solve_job(job)
    gone = [
        (setup.touch_off.nearest_edge, setup.touch_off.cut_away_mm)
        for name in ("bench", "chair", "planter")
        for end in solve_job(load_job(name)).ends
        for setup in end.setups
        if setup.cuts
    ]
    assert all(mm >= -1e-9 for _, mm in gone)
    end = answer.ends[0]
    setup = end.setups[0]
    found = setup.plan.positions

    class Moved(Positions):
        """The same positions from another corner."""

        corner_x_mm = found.corner_x_mm + 3.21  # type: ignore[assignment]  # a number, no property

    positions = Moved(found.frame, found.chosen, found.cutter)
    moved = attrs.evolve(setup.plan, positions=positions)
    text = job_text(
        attrs.evolve(
            answer,
            ends=(attrs.evolve(end, plan=attrs.evolve(end.plan, setups=(moved,))),),
        )
    )
    edge = in_words(setup.touch_off.nearest_edge)
    assert f"nearest {edge} as earlier cuts left it, 3.21 mm further right" in text


def test_a_glue_line_in_inches_is_no_zero() -> None:
    """0.15 mm / 25.4 = 0.0059 in."""
    text = job_text(solve_job(load_job("bench")), inches=True)
    assert "limit 0.15 mm (0.006 in)" in text
