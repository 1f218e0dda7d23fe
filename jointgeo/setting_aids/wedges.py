"""The aid for an axis left at its zero: a wedge on one side of the stock, its like on the other.

Knows one axis to be set and the fixture's practice.
"""

from __future__ import annotations

from math import ceil, cos, degrees, radians, sqrt

from jointgeo.setting_aids.aid import Aid
from jointgeo.setting_aids.anglelengths import offset_angle_deg, offset_mm
from jointgeo.setting_aids.task import Task

__all__ = ["wedge"]


def wedge(task: Task) -> Aid:
    """A wedge with the axis left at zero; several alike, stacked, where one is too thick."""
    aids, thin = task.fixture.aids, task.fixture.practice.wedge_thin_mm
    long = aids.wedge_length_mm
    room = max(aids.wedge_stock_mm - thin, 1e-9)
    pieces = ceil(task.size_deg / offset_angle_deg(long, room) - 1e-9)
    rise = round(offset_mm(long, task.size_deg / pieces), 1)
    thick = round(thin + rise, 1)
    one = offset_angle_deg(long, thick - thin)
    # Both ends of every wedge are made alike well; a stack adds their errors.
    end = sqrt(2.0) * aids.wedge_u_mm * cos(radians(one)) ** 2 / long
    u = degrees(end) * sqrt(pieces)
    where, thick_at = _place(task)
    number = "a wedge" if pieces == 1 else f"{pieces} wedges alike, stacked, each"
    says = (
        f"with the {task.axis} at zero, {number} {long:g} mm long, {thin:.1f} mm to "
        f"{thick:.1f} mm high, {where}, thick at the {thick_at}, and as much again the other "
        "way round on the opposite side as a counter-wedge"
    )
    numbers = {
        "length_mm": long,
        "thin_mm": thin,
        "thick_mm": thick,
        "wedges": pieces,
        "counter_wedges": pieces,
        "wedge_deg": one,
        "thick_end_at": thick_at,
    }
    return task.aid("wedge", says, pieces * one, (u,), numbers)


def _place(task: Task) -> tuple[str, str]:
    """Where it lies, and which of its ends is the thick one."""
    if task.axis == "tilt":
        return "behind the stock", "cut end" if task.set_deg > 0 else "far end"
    left = task.fixture.fence.side == "left"
    return "between stock and fence", "far end" if (task.set_deg > 0) == left else "cut end"
