"""The spacer that levels the traverse: what goes under the lower rail.

Knows the fixture only. A level laid across the plate that is out by r over a length shows the lean
of the rails: over their spacing that is spacing·r/length. Resetting the swivel's zero takes up the
angle too, but not the drift of the cut's depth along the traverse, which is
travel·difference/spacing.
"""

from __future__ import annotations

from jointgeo.errors import InputError
from jointgeo.fixture_parts.model import Figure, FixturePart, Path, closed
from jointgeo.fixture_parts.wanted import Facts
from jointgeo.geometry.flat import box_polygon
from jointgeo.joints.check import at_most

__all__ = ["drift_mm", "spacer_mm", "traverse_spacer"]


def spacer_mm(lean_mm: float, over_mm: float, spacing_mm: float) -> float:
    """Thickness under the low rail; negative where the other one is low."""
    return spacing_mm * lean_mm / over_mm


def drift_mm(difference_mm: float, spacing_mm: float, travel_mm: float) -> float:
    """Change of depth over a travel, with rails that differ so much in height."""
    return travel_mm * difference_mm / spacing_mm


def traverse_spacer(facts: Facts) -> FixturePart:
    """InputError where nothing was measured."""
    fixture = facts.fixture
    lean, over = facts.asked("lean_mm"), facts.asked("lean_over_mm")
    if lean is None or over is None:
        raise InputError.of(
            "lean_mm" if lean is None else "lean_over_mm",
            "is missing",
            None,
            "what a level laid across the plate shows, and over which length",
        )
    spacing = facts.stated("rail_spacing_mm", fixture.uncertainty.rail_spacing_mm)
    travel = facts.stated(
        "travel_mm",
        fixture.traverse.max_mm - fixture.traverse.min_mm,
        "whole range of the traverse",
    )
    thick = spacer_mm(lean, over, spacing)
    size = abs(thick)
    drift = drift_mm(size, spacing, travel)
    why = (
        "without the spacer a channel's depth drifts so much over the whole traverse; the swivel's "
        "zero cannot take that up (limit: twice what a height is set to)"
    )
    limit = 2 * fixture.uncertainty.depth_mm
    low = "right" if lean > 0 else "left"
    return FixturePart(
        "traverse_spacer",
        f"Spacer under the {low} end's rail",
        "from above, as it lies under the rail",
        facts.figures(
            Figure("thickness_mm", size, "mm", "worked out"),
            Figure("drift_without_it_mm", drift, "mm", "worked out"),
        ),
        (at_most("depth_drift", drift, limit, "mm", why, short="caution"),),
        (Path("outline", closed(box_polygon((0.0, 0.0), (60.0, 40.0))), "spacer, any size"),),
        (),
        (),
        "thickness_mm",
        (
            f"Cut it from shim or paper of {size:.2f} mm; lay it under the rail at the {low} and "
            "measure again.",
            "Then set the swivel's zero anew: it was read with the rails out of level.",
        ),
        ("Isolate the machine before you reach under the rails.",),
    )
