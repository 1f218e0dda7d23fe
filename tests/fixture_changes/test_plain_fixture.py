"""A fixture that lacks an axis is offered no change of one."""

from __future__ import annotations

import attrs

import jointgeo
from jointgeo.fixture_changes.changes import usual
from jointgeo.fixtures.model import no_swivel, no_tilt


def test_no_change_of_an_axis_that_is_not_there() -> None:
    porch = jointgeo.load_fixture("porch")
    every = {(c.kind, c.target) for c in usual(porch)}
    lacks_tilt = {(c.kind, c.target) for c in usual(attrs.evolve(porch, tilt=no_tilt()))}
    gone = {("range_more", "tilt"), ("range_less", "tilt")}
    assert {(k, t) for k, t in every - lacks_tilt if k != "hinge_lower"} == gone
    assert "hinge_lower" in {k for k, _ in every - lacks_tilt}
    lacks_swivel = {(c.kind, c.target) for c in usual(attrs.evolve(porch, swivel=no_swivel()))}
    assert every - lacks_swivel == {("range_more", "swivel"), ("range_less", "swivel")}
