"""Changes, comparisons and parts of a fixture whose file does not say what beams or bodies it has:
none may claim room, or a cure, that nobody stated."""

from __future__ import annotations

import attrs
import pytest

import jointgeo
from jointgeo.fixture_changes import what_would_do
from jointgeo.fixture_changes.compare import compared, envelope_of
from jointgeo.fixture_changes.telling import compared_lines, envelope_lines, found_lines
from jointgeo.fixture_changes.work import work_named
from jointgeo.fixture_parts import fixture_part, fixture_parts
from jointgeo.fixtures.file import read_fixture
from jointgeo.fixtures.text import fixture_tables

PORCH = jointgeo.load_fixture("porch")
HALF = read_fixture(
    {k: v for k, v in fixture_tables(PORCH).items() if k not in ("front_beam", "body")}
)
LEG = jointgeo.joint_type("splayed_bridle").examples()[0]
LISTED = ("bodies", "cutter_clearance", "front_beam")


def test_what_nobody_stated_is_neither_short_nor_clear() -> None:
    found = what_would_do([jointgeo.solve(LEG, HALF)], HALF)
    assert found.short == ()
    assert found.unstated == LISTED
    assert found.to_dict()["not_stated_now"] == list(LISTED)
    told = "\n".join(found_lines(found))
    assert "everything is feasible" not in told
    assert "not known: bodies, cutter clearance, front beam" in told


def test_no_change_claims_to_cure_what_nobody_stated() -> None:
    """With a tilt too short something must change; no option tells of room to beam or bodies."""
    short = attrs.evolve(HALF, tilt=attrs.evolve(HALF.tilt, max_deg=4.0))
    found = what_would_do([jointgeo.solve(LEG, short)], short)
    assert found.short == ("tilt_range",)
    assert found.options
    for option in found.options:
        assert not {m.check for m in option.margins} & set(LISTED)
        assert option.fixture.unstated == HALF.unstated
        assert not any("beam" in n.change.kind for n in option.needs)


def test_a_comparison_counts_the_questions() -> None:
    porch, half = compared(work_named(["splayed_bridle"]), [PORCH, HALF])
    assert (porch.not_stated, half.not_stated) == (0, 3)
    assert not set(LISTED) & set(half.least)
    assert "3 questions the fixture file does not answer" in "\n".join(compared_lines([half]))


def test_no_beam_that_is_stated_is_no_free_range() -> None:
    points = envelope_of(jointgeo.solve(LEG, PORCH), [PORCH, HALF], [40.0])
    assert points[0].stated == (True, False)
    assert list(envelope_lines(["a", "b"], points))[-1].split("  ")[-1].strip() == "not stated"


@pytest.mark.parametrize(
    ("kind", "check"),
    [
        ("tilt_quadrant", "quadrant_swings_clear"),
        ("hinge_gap", "plate_swings_clear"),
        ("swept", "swings_clear"),
    ],
)
def test_parts_do_not_swing_clear_of_what_nobody_stated(kind: str, check: str) -> None:
    (asked,) = (c for c in fixture_part(HALF, kind).checks if c.name == check)
    assert asked.status == "not_stated"
    assert "front_beam = []" in asked.because
    stated = attrs.evolve(HALF, unstated=frozenset())
    assert not [c for c in fixture_part(stated, kind).checks if c.name == check]


def test_a_beam_that_is_not_stated_is_not_cut_away() -> None:
    why = fixture_parts(HALF).left_out["beam_cut_away"]
    assert "is not stated in the fixture file" in why
