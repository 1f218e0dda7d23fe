"""Everything that the author of a joint type needs, in one place to import from.

    from jointgeo.plugin import Bar, Drawing, JointType, Notch, Plane, Vec, X, Y, Z, deg, mm

Knows the contract of joint types and nothing of fixtures or solvers; defines nothing itself.
"""

from jointgeo.errors import InputError, Problem
from jointgeo.geometry.search import greatest
from jointgeo.geometry.vectors import (
    INF,
    Plane,
    Vec,
    X,
    Y,
    Z,
    angle_between,
    line,
    meet,
    turned_deg,
)
from jointgeo.joints.check import Check, Remedy, at_least, at_most
from jointgeo.joints.dimensions import (
    Cross,
    Length,
    Meet,
    Middle,
    Turn,
    deg,
    mm,
    thickness_of,
    width_of,
)
from jointgeo.joints.drawing import Bar, Block, Channel, Drawing, Notch, Pocket, Verify
from jointgeo.joints.fit import LEAST_BEHIND_MM, behind_blind, tight_fit
from jointgeo.joints.joint_type import JointType
from jointgeo.joints.placement import Placement
from jointgeo.joints.pockets import bevel, groove, housing, mortise
from jointgeo.schema.fields import choice, count, flag

__all__ = [
    "INF",
    "LEAST_BEHIND_MM",
    "Bar",
    "Block",
    "Channel",
    "Check",
    "Cross",
    "Drawing",
    "InputError",
    "JointType",
    "Length",
    "Meet",
    "Middle",
    "Notch",
    "Placement",
    "Plane",
    "Pocket",
    "Problem",
    "Remedy",
    "Turn",
    "Vec",
    "Verify",
    "X",
    "Y",
    "Z",
    "angle_between",
    "at_least",
    "at_most",
    "behind_blind",
    "bevel",
    "choice",
    "count",
    "deg",
    "flag",
    "greatest",
    "groove",
    "housing",
    "line",
    "meet",
    "mm",
    "mortise",
    "thickness_of",
    "tight_fit",
    "turned_deg",
    "width_of",
]
