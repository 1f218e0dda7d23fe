"""Angled woodworking joints on a shop-made fixture: settings, feasibility, accuracy.

    >>> import jointgeo
    >>> fixture = jointgeo.load_fixture("porch")
    >>> joint = jointgeo.joint_type("splayed_bridle").examples()[0]
    >>> answer = jointgeo.solve(joint, fixture)
    >>> round(answer.setups[0].swivel_deg, 4), answer.feasible
    (7.8274, True)

Millimetres and degrees throughout. Errors the caller can mend derive from InputError;
an infeasible joint is an answer, not an error.
"""

from jointgeo.errors import (
    FixtureError,
    InputError,
    JobError,
    JointgeoError,
    PluginError,
    UnknownNameError,
)
from jointgeo.fixtures.file import fixture_names, load_fixture
from jointgeo.fixtures.model import Fixture
from jointgeo.joints.joint_type import JointType
from jointgeo.joints.registry import failures, joint_type, joint_types
from jointgeo.solution.solution import Solution, solve

__all__ = [
    "Fixture",
    "FixtureError",
    "InputError",
    "JobError",
    "JointType",
    "JointgeoError",
    "PluginError",
    "Solution",
    "UnknownNameError",
    "failures",
    "fixture_names",
    "joint_type",
    "joint_types",
    "load_fixture",
    "solve",
]
