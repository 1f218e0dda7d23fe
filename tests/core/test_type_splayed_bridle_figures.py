"""A scale's figure by its path: a number that can be set, or why there is none."""

from __future__ import annotations

from typing import Any

import attrs
import pytest

from jointgeo import InputError, joint_type, load_fixture, solve
from jointgeo.fixtures.model import Fixture
from jointgeo.fixtures.testcuts import AxisCut
from jointgeo.solution.paths import listed, value
from jointgeo.solution.solution import Solution

PORCH = load_fixture("porch")
PATHS = ("leg.1.scale_swivel_deg", "leg.1.scale_tilt_deg")


def leg(fixture: Fixture = PORCH, **changed: float) -> Solution:
    joint: Any = joint_type("splayed_bridle").examples()[0]
    return solve(attrs.evolve(joint, **changed), fixture)


def figures(solution: Solution) -> list[float | str]:
    found: list[float | str] = []
    for path in PATHS:
        try:
            figure = value(solution, path)
            assert isinstance(figure, float)
            found.append(figure)
        except InputError as error:
            found.append(error.problems[0].message)
    return found


def tilt_to(most_deg: float) -> Fixture:
    return attrs.evolve(PORCH, tilt=attrs.evolve(PORCH.tilt, max_deg=most_deg))


def test_what_can_be_set_is_a_number() -> None:
    """The example's leg leans by 12° along, which is its tilt; the tilt may end just there."""
    for fixture in (PORCH, tilt_to(12.0)):
        assert figures(leg(fixture))[1] == pytest.approx(12.0, abs=1e-9)  # deg; rounding


def test_beyond_the_range_there_is_no_figure_and_the_other_axis_has_its_own() -> None:
    beyond = leg(tilt_to(11.9))
    swivel, tilt = figures(beyond)
    assert isinstance(swivel, float)
    assert tilt == (
        "is not to be set: tilt's scale must show: 12.000° or 12°00.0′ (true angle 12.000°, cut "
        "end towards you), beyond its range"
    )
    # The true angle is the joint's, whatever the fixture can do.
    assert value(beyond, "leg.1.tilt_deg") == pytest.approx(12.0, abs=1e-9)


def test_where_test_cuts_contradict_each_other_there_is_no_figure() -> None:
    """The tilt stood at 12°; once 9° and once 0.03° too much came out."""
    cuts = [
        AxisCut(id=f"d/tilt/{name}", axis="tilt", scale_deg=scale, off_deg=off, u_deg=0.006)
        for name, scale, off in (("D", 0.0, 0.03), ("E", 0.0, 0.05), ("F", 12.0, 9.05))
    ]
    swivel, tilt = figures(leg(attrs.evolve(PORCH, test_cut=tuple(cuts))))
    assert isinstance(swivel, float)
    assert str(tilt).startswith(
        "is not to be set: tilt's scale must show: not known, its test cuts"
    )


def test_the_list_of_paths_has_the_path_without_a_figure() -> None:
    found = {line.path: line.value for line in listed(leg(tilt_to(11.9)))}
    assert found["leg.1.scale_tilt_deg"] is None
    assert found["leg.1.scale_swivel_deg"] == value(leg(), "leg.1.scale_swivel_deg")
