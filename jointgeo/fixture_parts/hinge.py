"""Where the part that the plate is hinged to must end, and how far it must stand back.

Knows the fixture and the hinge. The hinge line lies f before the plane on which the plate's rear
bears, and the plate reaches h above the hinge. A point of the rear at height h goes back, while
the plate tilts by t, to f·cos t + h·sin t behind the hinge line; the greatest of that less f is
the room needed behind: √(f² + h²) - f where the tilt passes atan2(h, f), else the value at its
end. Below the hinge the rear comes forward. So the fixed part ends at the hinge's height, or
stands back.
"""

from __future__ import annotations

from math import atan, atan2, cos, degrees, hypot, radians, sin

from jointgeo.fixture_parts.axis import axis_of
from jointgeo.fixture_parts.bodies import across_x, free_swing, still_bodies, swinging, unlisted
from jointgeo.fixture_parts.model import (
    ASSUMED,
    Figure,
    FixturePart,
    Hole,
    Note,
    Path,
    Span,
    closed,
)
from jointgeo.fixture_parts.wanted import Facts
from jointgeo.geometry.flat import turned
from jointgeo.geometry.swept import Stroke, swept_outline
from jointgeo.joints.check import Check, at_least, not_stated

__all__ = ["hinge_gap", "lean_deg", "room_behind_mm"]

#: Gap at the hinge that keeps the plate from binding before it bears on its stop.
HINGE_GAP_MM = (0.5, 1.0)


def room_behind_mm(before_mm: float, above_mm: float, tilt_deg: float) -> float:
    """Free room behind the bearing plane at a height above the hinge, for a tilt from 0.

    before_mm: how far the hinge line lies before the plate's rear.
    """
    if degrees(atan2(above_mm, before_mm)) <= tilt_deg:
        return hypot(before_mm, above_mm) - before_mm
    t = radians(tilt_deg)
    return max(0.0, before_mm * cos(t) + above_mm * sin(t) - before_mm)


def lean_deg(gap_mm: float, over_mm: float) -> float:
    """How far a plate leans that stands off at the hinge and touches that far below it."""
    return degrees(atan(gap_mm / over_mm))


def hinge_gap(facts: Facts) -> FixturePart:
    fixture = facts.fixture
    axis = axis_of(fixture, "tilt")
    (hy, hz), high = axis.centre, axis.max_deg
    plate = fixture.plate
    facts.stated("hinge_y_mm", hy)
    facts.stated("hinge_z_mm", hz)
    facts.stated("max_deg", high)
    stated = fixture.aids.stop_offset_mm
    if stated is None:
        facts.stated("plate_thickness_mm", plate.thickness_mm)
        before = plate.thickness_mm - hy
        because = "from the plate's thickness; measure it to the plane the plate bears on"
        offset = Figure("bears_behind_hinge_mm", before, "mm", "worked out", because)
    else:
        before = stated
        offset = Figure("bears_behind_hinge_mm", stated, "mm", "from the fixture file")
    above = plate.height_mm - hz
    whole = room_behind_mm(before, above, high)
    rear = hy + before
    arm = fixture.aids.stop_distance_mm
    wide = HINGE_GAP_MM[0]
    figures = [
        Figure("room_behind_mm", whole, "mm", "worked out", "at the plate's upper end"),
        Figure("fixed_part_ends_at_z_mm", hz, "mm", "worked out", "no higher than the hinge line"),
        offset,
        Figure("plate_above_hinge_mm", above, "mm", "worked out"),
        Figure("hinge_gap_least_mm", HINGE_GAP_MM[0], "mm", "assumed", ASSUMED),
        Figure("hinge_gap_most_mm", HINGE_GAP_MM[1], "mm", "assumed", ASSUMED),
        Figure(
            "lean_of_gap_deg",
            lean_deg(wide, arm),
            "deg",
            "worked out",
            f"a plate that stands off {wide:g} mm at the hinge and bears {arm:g} mm below leans so",
        ),
    ]
    up = facts.asked("fixed_above_mm")
    checks: list[Check] = []
    if up is None:
        why = "whether the plate's upper end meets the part that it is hinged to (fixed_above_mm)"
        checks.append(not_stated("room_behind_plate", whole, "mm", ("fixed_above_mm",), why))
    else:
        need = room_behind_mm(before, min(up, above), high)
        stands = 0.0 if up > 0 else need
        why = (
            f"a fixed part that reaches {up:g} mm above the hinge, flush with what the plate bears "
            f"on, would have to stand back by {need:.2f} mm there: end it at the hinge's height"
        )
        checks.append(at_least("room_behind_plate", stands, need, "mm", why))
    why = "whether plate and what is on it swing clear of all that stands"
    checks += unlisted(fixture, "plate_swings_clear", why)
    swings = swinging(fixture)
    for body in still_bodies(fixture):
        near = [b.polygon for b in swings if across_x(body, *b.x_mm)]
        if not near:
            continue
        swing, back = free_swing(near, [body.polygon], axis.centre)
        why = f"plate and what is on it, without stock, swing that far before they meet {body.name}"
        checks.append(at_least("plate_swings_clear", swing, high, "deg", why))
        if axis.min_deg < 0:
            checks.append(at_least("plate_swings_clear", back, -axis.min_deg, "deg", why))
    shape = swinging(fixture)[0].polygon
    swept = swept_outline(list(shape), axis.centre, -high, max(0.0, -axis.min_deg) or 1e-6)
    shapes: list[Path | Hole] = [
        Hole("trammel centre", axis.centre, 0.0, "hinge line"),
        Path("cut away", swept[0], "swept by the plate"),
        Path("ghost", closed(shape), "plate at zero"),
        Path("ghost", closed(turned(shape, axis.centre, -high)), f"plate at {high:g}°"),
        Path("outline", (Stroke((rear, 0.0), (rear, hz)),), "what the plate bears on, no higher"),
        Path("outline", (Stroke((rear, hz), (rear + 60.0, hz)),), "end of the fixed part"),
    ]
    return FixturePart(
        "hinge_gap",
        "Room behind the plate, and where the fixed part ends",
        axis.seen_from,
        facts.figures(*figures),
        tuple(checks),
        tuple(shapes),
        (Note((rear + 30.0, hz), "the fixed part ends here"),),
        (
            Span((hy, hz), (rear, hz), f"{before:.2f}"),
            Span((rear, plate.height_mm), (rear + whole, plate.height_mm), f"{whole:.2f}", 12.0),
        ),
        "bears_behind_hinge_mm",
        (
            "Measure how far the plane that the plate bears on lies behind the middle of the "
            "hinge's pin.",
            "Set the gap at the hinge with the plate at its stop by two stop screws below, never "
            "by wood: with no gap the plate binds at the hinge and stands off its stop.",
        ),
        ("Fingers behind the plate are crushed where it swings back: close that side.",),
    )
