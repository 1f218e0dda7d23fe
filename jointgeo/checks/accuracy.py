"""Feasibility checks made from the error budget of one setup.

Knows budgets and checks; no joint type.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite, sqrt

import attrs

from jointgeo.fixtures.model import Fixture
from jointgeo.joints.check import Check, Remedy, at_most
from jointgeo.planning.setups import SetupPlan
from jointgeo.uncertainty.budget import Budget, Outcome, setup_budget

__all__ = ["accuracy_checks"]


def accuracy_checks(setup: SetupPlan, fixture: Fixture) -> Iterator[Check]:
    """Feasibility checks of one setup: joint_closes, cheek_fit, depth (caution, never fail)."""
    budget = setup_budget(setup, fixture)
    texts = {
        "shoulder_gap": ("joint_closes", "the gap that all uncertainties together may open"),
        "cheek_fit": ("cheek_fit", "the error all uncertainties together may give the fit"),
        "depth": ("depth", "the error all uncertainties together may give the depth"),
    }
    for of, (name, because) in texts.items():
        outcome = budget[of] if of in budget.names else None
        if outcome is None or outcome.limit is None:
            continue
        largest, share = outcome.largest
        because = (
            f"{because}, at k = 2; the largest share, {100 * share:.0f} %, is {_words(largest)}"
        )
        check = at_most(
            name, outcome.expanded, outcome.limit, outcome.unit, because, short="caution"
        )
        if check.status != "pass":
            check = attrs.evolve(check, remedies=tuple(_remedies(budget, outcome)))
        yield check


def _remedies(budget: Budget, outcome: Outcome) -> Iterator[Remedy]:
    if outcome.name == "shoulder_gap":
        within = {
            f"{axis}_within_deg": value
            for axis, value in budget.within_deg.items()
            if isfinite(value)
        }
        says = " and ".join(
            f"the {name.removesuffix('_within_deg')} to within {value:.3f}°"
            for name, value in within.items()
        )
        yield Remedy("set_closer", f"set {says}, each if the other is right", within)
    name, share = outcome.largest
    left = sqrt(max(0.0, 1 - share)) * outcome.expanded
    yield Remedy(
        "reduce_largest_share",
        f"work on {_words(name)} first: without it {left:.3f} {outcome.unit} would be left",
        {"contributor": name, f"left_{outcome.unit}": left},
    )


def _words(contributor: str) -> str:
    return "the " + contributor.replace("_", " ")
