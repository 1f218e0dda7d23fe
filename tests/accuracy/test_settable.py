"""What a shop cannot set is left, or paper is laid in; no wedge for what leaving the axis does."""

from __future__ import annotations

import re

import attrs
import numpy as np
import pytest

from jointgeo.fixtures.corrections import Correction
from jointgeo.fixtures.model import Fixture
from jointgeo.planning.end_plan import SetupPlan
from jointgeo.setting_aids.aid import Aid
from jointgeo.setting_aids.aids import axis_aids, setting_aids
from jointgeo.uncertainty.budget import setup_budget
from jointgeo.uncertainty.cutmodel import outcomes
from jointgeo.uncertainty.shape import ERRORS, setup_shape


def by_name(aids: tuple[Aid, ...]) -> dict[str, Aid]:
    return {a.aid: a for a in aids}


def calibrated(fixture: Fixture, tilt_zero_deg: float) -> Fixture:
    known = Correction(tilt_zero_deg=tilt_zero_deg, tilt_zero_u_deg=0.01)
    return attrs.evolve(fixture, correction=known)


@pytest.mark.parametrize("axis", ["swivel", "tilt"])
@pytest.mark.parametrize("wanted", [0.0, 1e-9, 0.001, 0.0049, -0.0049, -1e-9])
@pytest.mark.parametrize("needed", [0.001, 0.1, None])
def test_what_no_scale_shows_is_left(
    porch: Fixture, axis: str, wanted: float, needed: float | None
) -> None:
    """A scale is set to 0.01°, so below 0.005° it would read 0.00°."""
    (aid,) = axis_aids(porch, axis, wanted, needed)
    assert aid.aid == "zero"
    assert aid.says.startswith(f"leave the {axis} ")
    assert (aid.angle_deg, aid.error_deg) == (0.0, -wanted)


@pytest.mark.parametrize("axis", ["swivel", "tilt"])
def test_the_first_that_a_scale_shows_is_set(porch: Fixture, axis: str) -> None:
    """0.006° rounds to 0.01°; leaving it is enough as well and less trouble, but not to 0.045°:
    0.006° and twice a zero's u of 0.02° or more."""
    easy = axis_aids(porch, axis, 0.006, 0.1)
    assert [a.aid for a in easy[:2]] == ["zero", "scale"]
    assert "set the" in easy[1].says
    assert "0.01°" in easy[1].says
    assert not by_name(axis_aids(porch, axis, 0.006, 0.045))["zero"].enough


def test_an_angle_the_scale_tells_from_zero_is_not_left(porch: Fixture) -> None:
    """The swivel's scale and zero, 2·√(0.03² + 0.02²) = 0.0721°."""
    assert "zero" in by_name(axis_aids(porch, "swivel", -0.072, 0.5))
    found = by_name(axis_aids(porch, "swivel", -0.073, 0.5))
    assert "zero" not in found
    assert "scale" in found


def test_leaving_it_costs_the_gap_that_the_exact_cut_has(bridle: SetupPlan, porch: Fixture) -> None:
    """A tilt of 24.04° beyond a range to 24°: 0.04° off. 0.1 % for what is of second order."""
    chosen = attrs.evolve(bridle.chosen, tilt_deg=24.04)
    setup = attrs.evolve(bridle, chosen=chosen)
    closing = setup_budget(setup, porch).closing
    needed = attrs.evolve(closing, limit_mm=0.4)
    aid = next(a for a in setting_aids(setup, porch, needed) if a.axis == "tilt")
    assert aid.aid == "end"
    errors = np.zeros((1, len(ERRORS)))
    errors[0, ERRORS.index("tilt_deg")] = -0.04
    gap = np.abs(outcomes(errors, setup_shape(setup, porch))[0, :2]).max()
    assert aid.numbers["gap_mm"] == pytest.approx(gap, rel=1e-3)
    assert aid.says == (
        f"leave the tilt at the end of its range, 24.00° on its scale: 0.040° off, which gaps "
        f"{gap:.3f} mm"
    )


def test_no_wedge_for_what_leaving_the_axis_would_do(porch: Fixture) -> None:
    """Beyond the stop by 0.04°, as a correction may ask: with a need of 0.1° the stop is
    near enough (0.04° and 2·0.0236°), with one of 0.08° paper is laid in at the far end."""
    fixture = calibrated(porch, -0.04)
    assert [a.aid for a in axis_aids(fixture, "tilt", 0.0, 0.1)] == ["zero"]
    found = axis_aids(fixture, "tilt", 0.0, 0.08)
    assert [a.aid for a in found] == ["paper", "zero"]
    assert found[0].enough
    # 200 mm · tan 0.04° = 0.14 mm: one slip of 0.1 mm, atan(0.1 / 200) = 0.0286°.
    assert found[0].numbers["slips"] == 1
    assert found[0].error_deg == pytest.approx(0.04 - 0.0286, abs=0.0001)
    assert "one slip of paper 0.1 mm thick behind the stock at the far end" in found[0].says
    # Within the range too: 0.3° is enough wide of zero where 0.5° is allowed.
    assert "wedge" in by_name(axis_aids(porch, "tilt", 0.3, 0.1))
    assert "wedge" not in by_name(axis_aids(porch, "tilt", 0.3, 0.5))
    # The end of the range is as well known as its scale there, hypot(0.03, 0.005·24) = 0.124°:
    # 0.04° and twice 0.126° with zero and play make 0.292°.
    assert "wedge" in by_name(axis_aids(porch, "tilt", 24.04, 0.29))
    assert "wedge" not in by_name(axis_aids(porch, "tilt", 24.04, 0.30))


def test_the_scale_is_what_must_lie_in_the_range(porch: Fixture) -> None:
    """23.9° is set as 24.1° where the scale reads 0.2° too much: beyond 24°, and left there."""
    fixture = calibrated(porch, 0.2)
    found = by_name(axis_aids(fixture, "tilt", 23.9, 0.4))
    assert set(found) == {"end"}
    assert found["end"].angle_deg == pytest.approx(23.8, abs=1e-12)
    inside = by_name(axis_aids(calibrated(porch, -0.2), "tilt", 24.1, 0.2))
    assert inside["scale"].numbers["scale_deg"] == pytest.approx(23.9, abs=1e-12)


def test_no_stack_of_many_wedges(porch: Fixture) -> None:
    """29 mm of rise over 200 mm is 8.25°: 33° is four wedges; 88° would be eleven."""
    assert by_name(axis_aids(porch, "tilt", 33.0, 0.1))["wedge"].numbers["wedges"] == 4
    for beyond in (34.0, 88.0):
        assert axis_aids(porch, "tilt", beyond, 0.1) == ()


def test_no_stack_that_the_clamp_cannot_take(bridle: SetupPlan, porch: Fixture) -> None:
    """12° is two wedges of 3 to 24.0 mm, 54 mm with their like; with 18 mm of backing and 44 mm of
    stock 116 mm."""
    for opening, fits in ((116.1, True), (115.9, False)):
        fixture = attrs.evolve(porch, clamp=attrs.evolve(porch.clamp, opening_mm=opening))
        closing = setup_budget(bridle, fixture).closing
        aids = [a.aid for a in setting_aids(bridle, fixture, closing) if a.axis == "tilt"]
        assert ("wedge" in aids) is fits


def test_no_digits_without_sense(porch: Fixture) -> None:
    """Over both ranges and beyond, with and without a correction: no minus before a zero, no wedge
    that rises by less than 0.5 mm, no rule read to less, no pin below 1 mm, at most five slips."""
    for zero in (0.0, -0.046, 0.046):
        fixture = calibrated(porch, zero)
        for axis in ("swivel", "tilt"):
            steps = np.concatenate([np.linspace(-0.6, 0.6, 241), np.linspace(-26, 26, 53)])
            for wanted in steps.tolist():
                for aid in axis_aids(fixture, axis, wanted, 0.03):
                    n = aid.numbers
                    assert not re.search(r"-0\.?0*(?![\d.])", aid.says), aid.says
                    if aid.aid == "wedge":
                        assert n["thick_mm"] - n["thin_mm"] >= 0.5 - 1e-9
                    if aid.aid == "paper":
                        assert 1 <= n["slips"] <= 5
                    for key, least in (
                        *(("offset_mm", 0.5), ("chord_mm", 0.5), ("difference_mm", 0.5)),
                        ("pin_mm", 1.0),
                    ):
                        assert n.get(key, least) >= least, aid.says
