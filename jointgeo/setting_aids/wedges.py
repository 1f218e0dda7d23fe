"""The aid for an axis left at its zero: a wedge on one side of the stock, its like on the other.

Knows one axis to be set and the fixture's practice.

Theory. Between stock and fence a wedge turns the stock in the plate's own plane, as the swivel
does. Behind the stock it does not leave the swivel alone: upright on the plate, of the angle w, it
gives the stock's back a plane that meets the plane of a fence set to s in a line which is the
stock's length, and that line is swivelled by atan(tan(s)·cos(w)). So for a wanted swivel the fence
is set to

    s = atan(tan(swivel) / cos(w))

and touches the stock with one arris only. A wedge that is turned with the stock instead needs
another angle and winds the cheeks, so it is not offered.

A wedge that hardly rises cannot be told from a parallel strip: slips of paper at one end do what
it would. Nor is a stack offered that would slip or that the clamp cannot take.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil, cos, degrees, radians, sqrt
from typing import Any

from jointgeo.fixtures.indication import SETTABLE_DEG, shown
from jointgeo.fixtures.wedging import MOST_WEDGES, fence_deg, wedge_place
from jointgeo.planning.packing import LEAST_RISE_MM, PAPER_MM, slip_words, slips
from jointgeo.schema.units import fixed
from jointgeo.setting_aids.aid import Aid
from jointgeo.setting_aids.anglelengths import offset_angle_deg, offset_mm
from jointgeo.setting_aids.task import Task

__all__ = ["wedges"]

#: Standard uncertainty of a sheet's thickness. Common practice, no published source.
PAPER_U_MM = 0.01


def wedges(task: Task) -> Iterator[Aid]:
    """A wedge with the axis left at zero; several alike, stacked, where one is too thick; paper
    where it would hardly rise. None where they are too many for the clamp, or where
    the fence cannot be set to what goes with them."""
    aids, thin = task.fixture.aids, task.fixture.practice.wedge_thin_mm
    long = aids.wedge_length_mm
    if offset_mm(long, task.size_deg) < LEAST_RISE_MM:
        yield from _paper(task)
        return
    room = max(aids.wedge_stock_mm - thin, 1e-9)
    pieces = ceil(task.size_deg / offset_angle_deg(long, room) - 1e-9)
    rise = round(offset_mm(long, task.size_deg / pieces), 1)
    thick = round(thin + rise, 1)
    if pieces > MOST_WEDGES or (task.axis == "tilt" and pieces * (thin + thick) > task.room_mm):
        return
    one = offset_angle_deg(long, thick - thin)
    # Both ends of every wedge are made alike well; a stack adds their errors.
    end = sqrt(2.0) * aids.wedge_u_mm * cos(radians(one)) ** 2 / long
    u = degrees(end) * sqrt(pieces)
    where, thick_at = _place(task)
    number = "a wedge" if pieces == 1 else f"{pieces} wedges alike, stacked, each"
    says = (
        f"{_at_zero(task)}{number} {long:g} mm long, {thin:.1f} mm to "
        f"{thick:.1f} mm high, {where}, thick at the {thick_at}, and as much again the other "
        "way round on the opposite side as a counter-wedge"
    )
    numbers: dict[str, Any] = {
        "length_mm": long,
        "thin_mm": thin,
        "thick_mm": thick,
        "wedges": pieces,
        "counter_wedges": pieces,
        "wedge_deg": one,
        "thick_end_at": thick_at,
    }
    alone = task.fixture.swivel.lacking  # then a wedge beside the stock is told of by itself
    if task.axis == "tilt" and not alone and abs(task.swivel_deg) >= SETTABLE_DEG:
        axis, true = task.fixture.swivel, fence_deg(task.swivel_deg, pieces * one)
        placed = shown(task.fixture, "swivel", true).scale_deg
        if not axis.min_deg - 1e-9 <= placed <= axis.max_deg + 1e-9:
            return
        fence = axis.figure_deg(placed)
        says += (
            f"; the fence then stands at {fixed(fence, 2)}° on its scale, whatever else is said "
            "of the swivel, and the stock touches it with one arris only"
        )
        numbers["fence_scale_deg"] = fence
    yield task.aid("wedge", says, pieces * one, (u,), numbers)


def _paper(task: Task) -> Iterator[Aid]:
    """Slips of paper instead of a wedge; of so small an angle the fence need not be moved."""
    long = task.fixture.aids.wedge_length_mm
    number = slips(offset_mm(long, task.size_deg))
    if number == 0:
        return
    where, thick_at = _place(task)
    bears = "far end" if thick_at == "cut end" else "cut end"
    says = (
        f"{_at_zero(task)}{slip_words(number)} {where} at the {thick_at}, "
        f"{long:g} mm from where the stock bears at the {bears}"
    )
    numbers = {"slips": number, "slip_mm": PAPER_MM, "distance_mm": long, "thick_end_at": thick_at}
    u = degrees(PAPER_U_MM * number / long)  # one batch of paper: alike too thick or too thin
    yield task.aid("paper", says, offset_angle_deg(long, number * PAPER_MM), (u,), numbers)


def _at_zero(task: Task) -> str:
    return "" if task.scaled.lacking else f"with the {task.axis} at zero, "


def _place(task: Task) -> tuple[str, str]:
    """Where it lies, and which of its ends is the thick one."""
    where, thick_at = wedge_place(task.fixture, task.axis, task.set_deg)
    lacking = task.scaled.lacking or task.axis == "swivel"
    return where if lacking else "behind the stock", thick_at
