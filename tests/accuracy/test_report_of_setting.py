"""What is read at the bench: needed, given and good enough; paper for packing; axis ends."""

from __future__ import annotations

import math
import re

import attrs
import pytest

import jointgeo
from jointgeo.fixtures.corrections import Correction
from jointgeo.fixtures.model import Fixture
from jointgeo.jobs.file import load_job
from jointgeo.jobs.report import job_text
from jointgeo.jobs.solve import solve_job
from jointgeo.schema.units import fixed
from jointgeo.solution.setup import Setup


def text_of(job: str, fixture: Fixture) -> str:
    return job_text(solve_job(attrs.evolve(load_job(job), fixture=fixture)))


def packed(packing_deg: float) -> Setup:
    """The demo leg's setup, 66 mm across and 44 mm along the feed, as if it asked for packing."""
    leg = jointgeo.joint_type("splayed_bridle").examples()[0]
    setup = jointgeo.solve(leg, jointgeo.load_fixture("porch")).setups[0]
    chosen = attrs.evolve(setup.plan.chosen, packing_deg=packing_deg)
    return attrs.evolve(setup, plan=attrs.evolve(setup.plan, chosen=chosen))


def test_the_report_says_needed_given_and_whether_it_is_good_enough(porch: Fixture) -> None:
    """Gains of the scales exact: ρ = 0.15 / (1.1593·0.0361 + 0.7851·0.0368) = 2.121 of each axis's
    uncertainty; the scales give twice their own and their rounding. At 0.03 mm ρ is 0.424: no
    scale is good enough. Nor is one at 0.15 mm with gains as the file leaves them, 0.005:
    ρ = 0.15 / (1.1593·0.0532 + 0.7851·0.0704) = 1.282."""
    as_filed = text_of("bench", porch)
    for axis, needed in (("swivel", "0.068"), ("tilt", "0.090")):
        assert f"{axis} to ±{needed}°: " in as_filed
        assert f"{axis} to ±{needed}°: set the {axis}'s scale" not in as_filed
    words = "the gap at 95 % is 0.18 mm of 0.15 mm; the chance that it closes is 86.7 %"
    assert f"set by the scales, {words}" in as_filed
    sure = attrs.evolve(porch.uncertainty, swivel_scale_fraction=0.0, tilt_scale_fraction=0.0)
    porch = attrs.evolve(porch, uncertainty=sure)
    text = text_of("bench", porch)
    assert "swivel to ±0.076°: set the swivel's scale to -7.83°; gives ±0.075°, good enough" in text
    assert "tilt to ±0.078°: set the tilt's scale to 12.00°; gives ±0.074°, good enough" in text
    words = "the gap at 95 % is 0.11 mm of 0.15 mm; the chance that it closes is 99.3 %"
    assert f"set by the scales, {words}" in text
    fine = attrs.evolve(porch, practice=attrs.evolve(porch.practice, glue_line_mm=0.03))
    tight = text_of("bench", fine)
    assert "swivel to ±0.015°: " in tight
    assert "NOT GOOD ENOUGH" in tight
    assert "remedy: set the swivel to ±0.015° and the tilt to ±0.016°: while both hold" in tight


def test_the_answer_carries_the_closing(porch: Fixture) -> None:
    leg = jointgeo.joint_type("splayed_bridle").examples()[0]
    answer = jointgeo.solve(leg, porch)
    closing = answer.setups[0].budget.closing
    for aids in (True, False):
        told = answer.to_dict(aids=aids)["parts"][0]["setups"][0]["closing"]
        assert told == {
            "limit_mm": 0.15,
            "gap_95_mm": closing.gap_95_mm,
            "chance": closing.chance,
            "swivel_needed_deg": closing.needed_deg["swivel"],
            "tilt_needed_deg": closing.needed_deg["tilt"],
        }
    check = next(c for c in answer.checks if c.name == "joint_closes")
    assert check.value == closing.gap_95_mm


@pytest.mark.parametrize(
    ("packing_deg", "slips", "left_mm", "paper"),
    # Rise 66·tan, error 44·tan; slips of 0.1 mm: 0.0346 mm is none, 0.115 mm one (0.0153 mm over,
    # two thirds of it over the feed), 0.461 mm five, 0.576 mm a wedge.
    [
        (0.03, 0, 0.0230, "leave it"),
        (0.1, 1, 0.0101, "one slip of paper 0.1 mm thick along the face edge"),
        (-0.1, 1, 0.0101, "one slip of paper 0.1 mm thick along the back edge"),
        (0.4, 5, 0.0262, "five slips of paper 0.1 mm thick along the face edge"),
        (0.5, None, 0.0, ""),
    ],
)
def test_packing_that_no_wedge_is_planed_for(
    packing_deg: float, slips: int | None, left_mm: float, paper: str
) -> None:
    packing = packed(packing_deg).packing
    assert packing is not None
    assert packing.slips == slips
    assert packing.left_mm == pytest.approx(left_mm, abs=1e-4)
    assert packing.paper == paper
    error = 44 * math.tan(math.radians(abs(packing_deg)))
    assert packing.error_if_ignored_mm == pytest.approx(error, abs=1e-9)


@pytest.mark.parametrize("packing_deg", [0.0, 1e-13, -1e-6, 0.0013])
def test_no_packing_for_less_than_a_micrometre(packing_deg: float) -> None:
    """44 mm · tan 0.0013° = 0.998 µm."""
    assert packed(packing_deg).packing is None
    assert packed(0.0014).packing is not None


def test_the_chairs_packing_is_a_slip_of_paper(porch: Fixture) -> None:
    """22 mm · tan 0.262° = 0.1006 mm."""
    text = text_of("chair", porch)
    slip = "packing 0.262° (0°15.7′): one slip of paper 0.1 mm thick along the back on the "
    slip += "face edge"
    assert f"{slip}; left out, the cut is off by 0.27 mm, with it by 0.00 mm" in text
    assert not re.search(r"-0\.0+(?![\d.])", text.replace("rounded by -0.00", ""))


def test_a_correction_beyond_the_closed_stop_is_left_with_its_cost(porch: Fixture) -> None:
    """Tilts of 0 that the scale would have to show as -0.02°; the chair's are allowed 0.1°. The
    gap is that of the tilt alone, 0.02° of 60 mm and less: 0.02 mm at most."""
    known = Correction(tilt_zero_deg=-0.02, tilt_zero_u_deg=0.01)
    text = text_of("chair", attrs.evolve(porch, correction=known))
    shows = "-0.020° or -0°01.2′ (true angle 0.000°, at zero), beyond its range"
    assert f"tilt's scale must show: {shows}" in text
    found = re.search(
        r"leave the tilt against its stop: 0\.020° off, which gaps (0\.0\d\d) mm; gives "
        r"±0\.067°, good enough",
        text,
    )
    assert found is not None
    assert 0.0 < float(found[1]) <= 0.021


def test_a_scale_that_cannot_show_it_and_nothing_that_helps(porch: Fixture) -> None:
    """12° set as 22° on a plate that goes to 13°; three wedges are too much for the clamp."""
    known = Correction(tilt_zero_deg=10.0, tilt_zero_u_deg=0.01)
    short = attrs.evolve(porch.tilt, max_deg=13.0)
    text = text_of("bench", attrs.evolve(porch, correction=known, tilt=short))
    true = "(true angle 12.000°, cut end towards you)"
    assert f"tilt's scale must show: 22.000° or 22°00.0′ {true}, beyond its range" in text
    assert ": nothing here can set it" in text


@pytest.mark.parametrize(
    ("value", "decimals", "signed", "printed"),
    [
        (-0.001, 2, False, "0.00"),
        (-0.006, 2, False, "-0.01"),
        (-0.0001, 3, True, "+0.000"),
        (0.0, 0, False, "0"),
        (-0.4, 0, False, "0"),
        (-10.0, 1, False, "-10.0"),
        (2.5, 2, True, "+2.50"),
    ],
)
def test_no_minus_before_a_zero(value: float, decimals: int, signed: bool, printed: str) -> None:
    assert fixed(value, decimals, signed=signed) == printed
