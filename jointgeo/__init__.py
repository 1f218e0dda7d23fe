"""Angled woodworking joints on a shop-made fixture: settings, feasibility, accuracy.

    >>> import attrs, jointgeo
    >>> fixture = jointgeo.load_fixture("porch")
    >>> joint = jointgeo.joint_type("splayed_bridle").examples()[0]
    >>> settings = jointgeo.solve_settings(joint, fixture).to_dict()
    >>> round(settings["parts"][0]["setups"][0]["swivel_deg"], 4)
    7.8274

Hundreds of joints that differ in their numbers only are quicker together. Each number of the
answer is then a column, with a row for every joint; where joints go two ways there are several
sheaves, and a few that go a way of their own are left.

    >>> joints = [attrs.evolve(joint, splay_along_deg=5 + n / 100) for n in range(500)]
    >>> for sheaf in jointgeo.settings_together(joints, fixture):
    ...     tilts = sheaf.answer["parts"][0]["setups"][0]["tilt_deg"]
    ...     print(len(sheaf.places), "joints, tilt to", round(float(tilts.max()), 2))
    326 joints, tilt to 8.25
    174 joints, tilt to 9.99

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
from jointgeo.solution.together import Sheaf, settings_together

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
    "Sheaf",
    "UnknownNameError",
    "check_feasibility",
    "failures",
    "fixture_names",
    "joint_type",
    "joint_types",
    "load_fixture",
    "settings_together",
    "solve_settings",
]
