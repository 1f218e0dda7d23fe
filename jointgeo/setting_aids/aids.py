"""Setting an angle better than a scale can: spacers, offsets, wedges, gauge blocks.

Knows one setup, its error budget and the fixture's ``aids`` table; prints nothing.

Theory. Each aid turns an angle a into a length at a distance d, and back (``anglelengths``),
where the leaf that turns may stand beside its axis.
The length is rounded to what can be made; the angle it then gives, its error and its standard
uncertainty follow. The uncertainty is that of the length and of d, of the stop or mark the aid
is measured from, and of a correction that was found. It does not contain the scale, which an
aid does without; what the scale itself is set to is known as its angle is (``fixtures.scales``).

An aid is *enough* where |error| + 2·u stays within ``needed_deg``: how closely that axis must be
set for the shoulder to close while the other keeps its own (``closing``). First comes the least
trouble that is enough; where none is, the most accurate.

An angle that the scale cannot tell from its zero, or that lies just beyond an end of the range, is
left where the axis stands if that is enough; one below half of the last digit of a scale is left
in any case. What it costs is said.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from jointgeo.fixtures.indication import SETTABLE_DEG
from jointgeo.fixtures.model import Fixture
from jointgeo.fixtures.wedging import held
from jointgeo.planning.end_plan import SetupPlan
from jointgeo.schema.units import fixed
from jointgeo.setting_aids.aid import Aid
from jointgeo.setting_aids.rules import rules
from jointgeo.setting_aids.spacers import spacers
from jointgeo.setting_aids.task import Task, task
from jointgeo.setting_aids.wedges import wedges
from jointgeo.uncertainty.closing import Closing
from jointgeo.uncertainty.combine import COVERAGE

__all__ = ["axis_aids", "setting_aids"]


def setting_aids(setup: SetupPlan, fixture: Fixture, closing: Closing | None) -> tuple[Aid, ...]:
    """Aids for both axes of one setup: the swivel's, then the tilt's, each best first. closing: of
    the same setup; None where no joint has to close, and nothing says how near is enough."""
    chosen = setup.chosen
    needed = {} if closing is None else closing.needed_deg
    width, thickness, _ = chosen.clamped.size_mm
    deep = width if chosen.side % 2 else thickness
    room = fixture.clamp.opening_mm - fixture.backing.thickness_mm - deep
    out: list[Aid] = []
    placed = held(fixture, chosen.swivel_deg, chosen.tilt_deg)
    # With no tilt the fence stands at another angle than the stock.
    for axis, wanted in (("swivel", placed.swivel_set_deg), ("tilt", chosen.tilt_deg)):
        need = needed[axis] if math.isfinite(needed.get(axis, math.inf)) else None
        slope = None if closing is None else closing.slope(axis)
        found = task(fixture, axis, wanted, need, chosen.swivel_deg, slope, room)
        out += _sorted(found)
    return tuple(out)


def axis_aids(
    fixture: Fixture,
    axis: str,
    wanted_deg: float,
    needed_deg: float | None,
    swivel_deg: float = 0.0,
) -> tuple[Aid, ...]:
    """Aids for one axis ("swivel" or "tilt") at one angle, best for ``needed_deg`` first.

    swivel_deg: the swivel that goes with a tilt; a wedge behind the stock depends on it. Empty
    where the scale cannot show what is set and neither the range's end nor a wedge will do.
    """
    return _sorted(task(fixture, axis, wanted_deg, needed_deg, swivel_deg))


def _sorted(found: Task) -> tuple[Aid, ...]:
    return tuple(sorted(_aids(found), key=lambda a: a.rank))


def _aids(task: Task) -> Iterator[Aid]:
    if task.scaled.lacking and abs(task.set_deg) >= SETTABLE_DEG:
        yield from wedges(task)  # there is nothing else to set
        return
    left = _left(task)
    off = abs(left.error_deg)
    # By its scale a lesser angle is not told from where the axis stands.
    lost = COVERAGE * math.hypot(task.scale.u_deg, task.setting_u_deg)
    if off < max(lost, SETTABLE_DEG) or (left.enough and not task.in_range):
        yield left
    if off < SETTABLE_DEG:
        return
    if task.in_range:
        yield _scale(task)
        yield from spacers(task)
        if task.axis == "swivel":
            yield from rules(task)
    if not left.enough:
        yield from wedges(task)


def _left(task: Task) -> Aid:
    """The axis left at the end of its range where what is set lies beyond, else at its zero, which
    every axis has."""
    end = 0.0 if task.in_range else task.within_range(task.scale.scale_deg)
    at_end = abs(end) >= SETTABLE_DEG
    if at_end:
        where = f"at the end of its range, {fixed(end, 2)}° on its scale"
    else:
        where = "at its zero mark" if task.axis == "swivel" else "against its stop"
    says, numbers = f"leave the {task.axis} {where}", dict[str, float]()
    off = abs(end - task.scale.scale_deg if at_end else task.set_deg)
    if task.gap_mm_per_deg is not None:
        numbers["gap_mm"] = off * task.gap_mm_per_deg
    if off >= SETTABLE_DEG / 10:  # less is no figure with three decimals
        says += f": {off:.3f}° off"
        if numbers:
            says += f", which gaps {numbers['gap_mm']:.3f} mm"
    return task.by_scale("end", says, end, numbers) if at_end else task.at_zero(says, numbers)


def _scale(task: Task) -> Aid:
    shown = task.within_range(round(task.scale.scale_deg, 2))
    figure = task.scaled.figure_deg(shown)
    says = f"set the {task.axis}'s scale to {fixed(figure, 2)}°"
    return task.by_scale("scale", says, shown, {"scale_deg": figure})
