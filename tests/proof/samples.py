"""One joint of each shipped type with its settings, for tests to spoil. Each leans both ways."""

from __future__ import annotations

import copy
from typing import Any

import pytest

import jointgeo
from jointgeo.proof import dry_fit

from .mutations import BOX, BRIDLE, GOOD, TENON
from .planned import planned

__all__ = ["BOX", "BRIDLE", "JOINTS", "TENON", "Settings", "faults", "named", "setups", "solved"]

Settings = dict[str, Any]

JOINTS = GOOD
named = pytest.mark.parametrize("joint", JOINTS.values(), ids=JOINTS)


def solved(joint: jointgeo.JointType) -> Settings:
    """Settings of a joint as drawn, new each time."""
    return copy.deepcopy(planned(joint.drawing, joint.name))


def faults(settings: Settings) -> dict[str, Any]:
    """What was wrong, by name; the verdict must say so."""
    fit = dry_fit(settings)
    assert fit.verdict == "does not fit"
    return {f.what: f for f in fit.faults}


def setups(settings: Settings) -> list[tuple[int, int]]:
    return [(i, j) for i, p in enumerate(settings["parts"]) for j in range(len(p["setups"]))]
