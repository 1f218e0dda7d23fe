"""What joints and pieces judge alike: interference, and the wood behind a blind mortise.

Knows checks; no joint type and no fixture.
"""

from __future__ import annotations

import attrs

from jointgeo.joints.check import Check, at_most

__all__ = ["LEAST_BEHIND_MM", "behind_blind", "tight_fit"]

LEAST_BEHIND_MM = 3.0  # behind a blind mortise; our choice: less breaks through in chopping

TIGHT = 0.02  # our choice, no published source


def behind_blind(check: Check) -> Check:
    """A check of the wood behind a blind mortise, mm, that is a caution below its limit: a fail
    where none is left, since it then breaks through."""
    return attrs.evolve(check, status="fail") if check.value <= 0.0 else check


def tight_fit(fit_mm: float, thickness_mm: float) -> Check:
    """``tight_fit``: a caution where a negative fit squeezes the wood more than it bears.

    fit_mm: total clearance, negative for interference. thickness_mm: of the wood pressed in.
    """
    return at_most(
        "tight_fit",
        max(0.0, -fit_mm),
        TIGHT * thickness_mm,
        "mm",
        f"more interference than {100 * TIGHT:g} % of its {thickness_mm:g} mm crushes the wood or "
        "splits what it is pressed into (our choice, no published source)",
        short="caution",
    )
