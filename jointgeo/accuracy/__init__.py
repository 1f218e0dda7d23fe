"""How close is close enough: error budget, setting aids, check-up, learning from test cuts.

    >>> import jointgeo
    >>> from jointgeo.accuracy import end_budget
    >>> from jointgeo.plan import plan_end
    >>> fixture = jointgeo.load_fixture("porch")
    >>> leg = jointgeo.joint_type("splayed_bridle").examples()[0].parts()[0]
    >>> budget = end_budget(plan_end(leg, fixture), fixture)[0]
    >>> bool(budget.closes)
    True

Imports settings and feasibility nowhere, since both of them use it; the commands, which
stand above those, are in ``jointgeo.accuracy.command`` and are not imported here.
"""

from jointgeo.accuracy.aids import Aid, axis_aids, setting_aids
from jointgeo.accuracy.budget import (
    Budget,
    Outcome,
    end_budget,
    setup_budget,
    sweep_budget,
)
from jointgeo.accuracy.changes import Changes, apply_changes, write_fixture
from jointgeo.accuracy.checkup import CheckUp, check_up
from jointgeo.accuracy.learning import Learned, learn
from jointgeo.accuracy.limits import LimitFit, fit_limits, limit_angle_deg
from jointgeo.accuracy.moisture import WoodMove
from jointgeo.accuracy.readingfiles import load_readings
from jointgeo.accuracy.readings import CheckUpReadings, CutReadings, LimitReadings
from jointgeo.accuracy.tolerances import angle_tolerance_deg
from jointgeo.accuracy.trialpieces import trial_pieces
from jointgeo.accuracy.verdicts import accuracy_checks

__all__ = [
    "Aid",
    "Budget",
    "Changes",
    "CheckUp",
    "CheckUpReadings",
    "CutReadings",
    "Learned",
    "LimitFit",
    "LimitReadings",
    "Outcome",
    "WoodMove",
    "accuracy_checks",
    "angle_tolerance_deg",
    "apply_changes",
    "axis_aids",
    "check_up",
    "end_budget",
    "fit_limits",
    "learn",
    "limit_angle_deg",
    "load_readings",
    "setting_aids",
    "setup_budget",
    "sweep_budget",
    "trial_pieces",
    "write_fixture",
]
