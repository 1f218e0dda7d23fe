"""Angled woodworking joints on a shop-made fixture: settings, feasibility, accuracy.

    >>> import jointgeo
    >>> fixture = jointgeo.load_fixture("porch")
    >>> joint = jointgeo.joint_type("splayed_bridle").examples()[0]
    >>> settings = jointgeo.solve_settings(joint, fixture).to_dict()
    >>> round(settings["parts"][0]["setups"][0]["swivel_deg"], 4)
    7.8274

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
from jointgeo.solution.feasibility import Feasibility, check_feasibility
from jointgeo.solution.settings import Settings, solve_settings

__all__ = [
    "Feasibility",
    "Fixture",
    "FixtureError",
    "InputError",
    "JobError",
    "JointType",
    "JointgeoError",
    "PluginError",
    "Settings",
    "UnknownNameError",
    "check_feasibility",
    "failures",
    "fixture_names",
    "joint_type",
    "joint_types",
    "load_fixture",
    "solve_settings",
]
