"""What the wood says: short grain, sliding together.

Knows one end's plan on one fixture; nothing about machine limits.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import asin, atan, cos, degrees, hypot, sin, tan

import attrs

from jointgeo.geometry.vectors import Vec
from jointgeo.joints.check import Check, Remedy, at_least, at_most
from jointgeo.planning.end_plan import EndPlan

__all__ = ["grain_strength", "wood_checks"]

# Wood Handbook, FPL-GTR-190 (2010), slope of grain: Hankinson-type curve for modulus of rupture
# (its constants and its chapter, 5, from memory: the page was not kept).
ACROSS_TO_ALONG = 0.1
EXPONENT = 1.5
LEAST_STRENGTH = 60.0  # %; common practice, no published source: where caution begins


def grain_strength(slope_rad: float) -> float:
    """Bending strength left (fraction of straight grain) at that angle between grain and cheek."""
    across: float = sin(abs(slope_rad)) ** EXPONENT
    along: float = cos(slope_rad) ** EXPONENT
    return ACROSS_TO_ALONG / (across + ACROSS_TO_ALONG * along)


def wood_checks(plan: EndPlan) -> Iterator[Check]:
    """Every check of this file for one end."""
    yield _short_grain(plan)
    if plan.part.slide is not None:
        yield _slides(plan, plan.part.slide)


def _short_grain(plan: EndPlan) -> Check:
    """Two pairs of cheeks combine as the tangents of a splay do."""
    angle = atan(hypot(*(tan(asin(s.notch.rows[0].z)) for s in plan.setups)))
    left = 100 * grain_strength(angle)
    slope = "along the cheeks" if angle < 1e-9 else f"runs out 1 in {1 / tan(angle):.1f}"
    check = at_least(
        "short_grain",
        left,
        LEAST_STRENGTH,
        "%",
        f"the grain {slope}; bending strength left by the Wood Handbook's curve (FPL-GTR-190, "
        "2010), guidance and not design",
        short="caution",
    )
    if check.status == "pass":
        return check
    says = "straighter stock, a shorter projection, or grain chosen to follow the cheeks"
    return attrs.evolve(check, remedies=(Remedy("choose_grain", says),))


def _slides(plan: EndPlan, slide: Vec) -> Check:
    """The way out must run along every pair of cheeks."""
    way = slide.unit
    across = max(abs(s.notch.rows[0] @ way) for s in plan.setups)
    return at_most(
        "slides_together",
        degrees(asin(min(1.0, across))),
        0.001,
        "deg",
        "the way the parts go together must run along every cheek",
    )
