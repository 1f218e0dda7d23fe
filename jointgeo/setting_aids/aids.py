"""Setting an angle better than a scale can: spacers, offsets, wedges, gauge blocks.

Knows one setup, its error budget and the fixture's ``aids`` table; prints nothing.

Theory. Each aid turns an angle a into a length at a distance d, and back (``anglelengths``),
where the leaf that turns may stand beside its axis.
The length is rounded to what can be made; the angle it then gives, its error and its standard
uncertainty follow. The uncertainty is that of the length and of d, of the stop or mark the aid
is measured from, and of a correction that was learnt. It does not contain the scale, which an
aid does without.

An aid is *enough* where |error| + 2·u stays within ``needed_deg``: how far that axis alone
may be off for the shoulder to close, divided by √2 since two axes share the limit. First
comes the least trouble that is enough; where none is, the most accurate.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from jointgeo.fixtures.model import Fixture
from jointgeo.planning.setups import SetupPlan
from jointgeo.setting_aids.aid import Aid
from jointgeo.setting_aids.rules import rules
from jointgeo.setting_aids.spacers import spacers
from jointgeo.setting_aids.task import CLOSED, Task, task
from jointgeo.setting_aids.wedges import wedges
from jointgeo.uncertainty.budget import setup_budget

__all__ = ["axis_aids", "setting_aids"]


def setting_aids(setup: SetupPlan, fixture: Fixture) -> tuple[Aid, ...]:
    """Aids for both axes of one setup: the swivel's, then the tilt's, each best first."""
    within = setup_budget(setup, fixture).within_deg
    chosen = setup.chosen
    out: list[Aid] = []
    for axis, wanted in (("swivel", chosen.swivel_deg), ("tilt", chosen.tilt_deg)):
        needed = within[axis] / math.sqrt(2.0)
        need = needed if math.isfinite(needed) else None
        out += axis_aids(fixture, axis, wanted, need, chosen.swivel_deg)
    return tuple(out)


def axis_aids(
    fixture: Fixture,
    axis: str,
    wanted_deg: float,
    needed_deg: float | None,
    swivel_deg: float = 0.0,
) -> tuple[Aid, ...]:
    """Aids for one axis ("swivel" or "tilt") at one angle, best for ``needed_deg`` first.

    swivel_deg: the swivel that goes with a tilt; a wedge behind the stock depends on it. Outside
    the axis's range only a wedge is offered.
    """
    found = _aids(task(fixture, axis, wanted_deg, needed_deg, swivel_deg))
    return tuple(sorted(found, key=lambda a: a.rank))


def _aids(task: Task) -> Iterator[Aid]:
    if task.size_deg < CLOSED:
        where = "at its zero mark" if task.axis == "swivel" else "against its closed stop"
        yield task.aid("zero", f"leave the {task.axis} {where}", task.size_deg, (), {})
        return
    if task.in_range:
        yield _scale(task)
        yield from spacers(task)
        if task.axis == "swivel":
            yield from rules(task)
    yield from wedges(task)


def _scale(task: Task) -> Aid:
    u, learnt = task.fixture.uncertainty, task.fixture.correction
    swivel = task.axis == "swivel"
    shown = round(task.size_deg, 2)
    signed = math.copysign(shown, task.set_deg)
    # Once the scale's offset was learnt, what is known of it stands for the scale.
    known = learnt.swivel_zero_u_deg if swivel else learnt.tilt_zero_u_deg
    own = 0.0 if known else u.swivel_deg if swivel else u.tilt_deg
    says = f"set the {task.axis}'s scale to {signed:.2f}°"
    return task.aid("scale", says, shown, (own,), {"scale_deg": signed})
