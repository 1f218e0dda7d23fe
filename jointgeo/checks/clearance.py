"""Whether glue fills the clearance that the drawing wants at the cheeks.

Knows one end's plan and the glue line; no joint type. A ``gap`` is wanted at every cheek of its
channel, so that a fit, which counts both cheeks, is twice as much.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite

import attrs

from jointgeo.joints.check import Check, Remedy, at_most
from jointgeo.planning.end_plan import EndPlan

__all__ = ["clearance_checks"]


def clearance_checks(plan: EndPlan, glue_line_mm: float) -> Iterator[Check]:
    """``cheek_clearance`` of one end, none without cheeks: a caution where the widest clearance of
    its cheeks (mm, negative for interference) is more than the glue line (mm)."""
    gaps = [
        (0.0 if c.gap is None else c.gap, cheeks)
        for notch in plan.part.notches
        if (cheeks := sum(isfinite(x) for c in notch.channels for x in (c.low, c.high)))
        for c in notch.channels
        if isfinite(c.low) or isfinite(c.high)
    ]
    if not gaps:
        return
    gap, cheeks = max(gaps)
    because = (
        f"the drawing wants {gap:.2f} mm of clearance at a cheek; glue fills {glue_line_mm:g} mm, "
        "the fixture's glue line"
    )
    check = at_most("cheek_clearance", gap, glue_line_mm, "mm", because, short="caution")
    if check.status != "pass":
        says, amounts = f"a clearance of at most {glue_line_mm:g} mm at the cheek", {}
        if cheeks > 1:
            fit = 2 * glue_line_mm
            says = (
                f"a fit of at most {fit:g} mm, which is {glue_line_mm:g} mm at each of two cheeks"
            )
            amounts = {"fit_mm": fit}
        remedy = Remedy("closer_fit", says, {"clearance_mm": glue_line_mm, **amounts})
        check = attrs.evolve(check, remedies=(remedy,))
    yield check
