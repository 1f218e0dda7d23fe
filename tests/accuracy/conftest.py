"""What the tests of accuracy share: the demo fixture, and one setup of each kind on it."""

from __future__ import annotations

import attrs
import pytest

import jointgeo
from jointgeo.fixtures.model import Fixture
from jointgeo.joints.stock import parts
from jointgeo.planning.end_plan import SetupPlan, plan_end


@pytest.fixture(scope="session")
def porch() -> Fixture:
    return jointgeo.load_fixture("porch")


def setups_of(name: str, fixture: Fixture) -> list[SetupPlan]:
    """Every setup of every example of a joint type."""
    return [
        setup
        for joint in jointgeo.joint_type(name).examples()
        for part in parts(joint.drawing)
        for setup in plan_end(part, fixture).setups
    ]


@pytest.fixture(
    scope="session",
    params=["angled_tenon", "splayed_bridle", "angled_box_joint"],
)
def setup(request: pytest.FixtureRequest, porch: Fixture) -> SetupPlan:
    """The last setup of the last example: the one with most angles at work."""
    return setups_of(request.param, porch)[-1]


@pytest.fixture(scope="session")
def bridle(porch: Fixture) -> SetupPlan:
    return setups_of("splayed_bridle", porch)[0]


@pytest.fixture(scope="session")
def exact(porch: Fixture) -> Fixture:
    """The demo fixture with every uncertainty at zero, for one to be put in at a time."""
    names = [f.name for f in attrs.fields(type(porch.uncertainty))]
    kept = ("tilt_lock_spacing_mm", "tilt_lock_arm_mm", "rail_spacing_mm", "repeat_settings")
    zeros = {n: 0.0 for n in names if n not in kept}
    return attrs.evolve(porch, uncertainty=attrs.evolve(porch.uncertainty, **zeros))
