"""What everything that turns sweeps over, as one exact outline of each body.

Knows the fixture and plane geometry. Seen from the right-hand end for all that tilts, with stock of
one size in place; what the fence's foot sweeps stands with its slots.
"""

from __future__ import annotations

from math import sqrt

import attrs

from jointgeo.fixture_parts.axis import axis_of
from jointgeo.fixture_parts.bodies import across_x, free_swing, still_bodies, swinging, unlisted
from jointgeo.fixture_parts.model import Figure, FixturePart, Hole, Path, closed
from jointgeo.fixture_parts.swivel import slot_range
from jointgeo.fixture_parts.wanted import Facts
from jointgeo.geometry.flat import Polygon, turned
from jointgeo.geometry.swept import outline_area, reach, swept_outline
from jointgeo.joints.check import Remedy, at_least

__all__ = ["swept_by_tilt"]


def swept_by_tilt(facts: Facts) -> FixturePart:
    fixture = facts.fixture
    axis = axis_of(fixture, "tilt")
    low, high = slot_range(facts, axis)
    stock, hang = facts.take("stock_mm"), facts.take("overhang_mm")
    shapes: list[Path | Hole] = [Hole("trammel centre", axis.centre, 0.0, "hinge line")]
    why = "what else swings, and whether it swings clear of all that stands"
    figures, checks = [], [*unlisted(fixture, "swings_clear", why)]
    for solid in swinging(fixture, stock, hang):
        loops = swept_outline(list(solid.polygon), axis.centre, -high, -low)
        shapes.append(Path("outline", loops[0], f"swept by {solid.name}"))
        shapes.append(Path("ghost", closed(solid.polygon), f"{solid.name} at zero"))
        far: Polygon = turned(solid.polygon, axis.centre, -high)
        shapes.append(Path("ghost", closed(far), f"{solid.name} at {high:g}°"))
        near, back, bottom, top = reach(loops[0])
        name = "".join(c if c.isalnum() else "_" for c in solid.name)
        for what, value in (
            ("towards_you_mm", -near),
            ("behind_mm", back),
            ("lowest_z_mm", bottom),
            ("highest_z_mm", top),
        ):
            figures.append(Figure(f"{name}_{what}", value, "mm", "worked out"))
        area = outline_area(loops)
        because = f"a square of the same area has sides of {sqrt(area):.1f} mm"
        figures.append(Figure(f"{name}_area_mm2", area, "mm²", "worked out", because))
        for body in still_bodies(fixture):
            if not across_x(body, *solid.x_mm):
                continue
            swing, back_deg = free_swing([solid.polygon], [body.polygon], axis.centre)
            why = f"{solid.name} swings that far before it meets {body.name}"
            found = [at_least("swings_clear", swing, high, "deg", why)]
            if low < 0:
                found.append(at_least("swings_clear", back_deg, -low, "deg", f"{why}, backwards"))
            for check in found:
                if check.status == "pass":
                    checks.append(check)
                    continue
                says = (
                    f"thinner stock, another {body.name}, or a tilt of {check.value:.2f}° at most"
                )
                remedy = Remedy("lessen_angle", says, {"tilt_deg": check.value})
                checks.append(attrs.evolve(check, remedies=(remedy,)))
    return FixturePart(
        "swept",
        "What swings with the plate, and all that it sweeps over",
        axis.seen_from,
        facts.figures(*figures),
        tuple(checks),
        tuple(shapes),
        (),
        (),
        "",
        ("Nothing that stands may reach into these outlines: mark them on the wall or the side.",),
        ("The far end of long stock swings back as the cut end comes forward: look behind.",),
    )
