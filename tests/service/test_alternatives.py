"""One change of a joint's numbers with which a fixture can cut it, for every type.

What is offered must have been seen to be feasible, so it is solved once more here.
"""

from __future__ import annotations

import attrs
import pytest

import jointgeo
from jointgeo.solution.alternatives import alternatives

PORCH = jointgeo.load_fixture("porch")
#: Its tilt ends so early that most examples ask too much of it.
LOW = attrs.evolve(PORCH, tilt=attrs.evolve(PORCH.tilt, max_deg=5.5))
TYPES = sorted(jointgeo.joint_types())


@pytest.mark.parametrize("name", TYPES)
def test_whatever_is_offered_is_feasible_with_nothing_else_changed(name: str) -> None:
    for joint in jointgeo.joint_type(name).examples()[:2]:
        for a in alternatives(joint, LOW):
            assert abs(a.value - a.given) / max(abs(a.given), 10.0) <= 0.55
            assert getattr(joint, a.name) == a.given != a.value
            changed = type(joint).from_dict(joint.to_dict() | {a.name: a.value})
            assert jointgeo.solve(changed, LOW).status == a.status != "fail"


def test_something_is_offered() -> None:
    every = [j for name in TYPES for j in jointgeo.joint_type(name).examples()[:2]]
    assert sum(bool(alternatives(joint, LOW)) for joint in every) >= 2


@pytest.mark.parametrize("name", TYPES)
def test_what_is_feasible_needs_no_change(name: str) -> None:
    for joint in jointgeo.joint_type(name).examples():
        if jointgeo.solve(joint, PORCH).feasible:
            assert alternatives(joint, PORCH) == ()
