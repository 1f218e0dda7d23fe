"""A check that several joints share: whether the wood takes the interference asked for.

Knows checks; no joint type and no fixture.
"""

from __future__ import annotations

from jointgeo.joints.check import Check, at_most

__all__ = ["tight_fit"]

TIGHT = 0.02  # our choice, no published source


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
