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

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
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

#: Where each name lives. A file is loaded when one of its names is first asked for, so that a
#: program that only may need a joint does not wait for all that solves one.
_HOMES = {
    "errors": (
        *("FixtureError", "InputError", "JobError", "JointgeoError", "PluginError"),
        "UnknownNameError",
    ),
    "fixtures.file": ("fixture_names", "load_fixture"),
    "fixtures.model": ("Fixture",),
    "joints.joint_type": ("JointType",),
    "joints.registry": ("failures", "joint_type", "joint_types"),
    "solution.solution": ("Solution", "solve"),
}
_HOME = {name: f"{__name__}.{home}" for home, names in _HOMES.items() for name in names}


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value = globals()[name] = getattr(import_module(_HOME[name]), name)
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
