"""How the cutter takes the wood: depth at a time, climb or conventional, where its teeth leave.

Knows one setup on one fixture (``context``); what the fixture file does not state is answered
``not_stated`` and never guessed.

Rotation. A disc's tooth at the top moves with the feed in conventional cutting and against it in
climb cutting. A shank cutter that turns anticlockwise, seen from above, and is fed towards the
plate cuts its right-hand wall conventionally; the other rotation or the other feed swaps the walls.
Passes run from left to right, so that after the first the fresh wood is on the right.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil
from typing import Any

import attrs

from jointgeo.checks.context import Context
from jointgeo.joints.check import Check, Remedy, at_least, at_most, not_stated
from jointgeo.joints.sides import in_words

__all__ = ["climbs", "cutting_checks", "depth_steps"]

_USUAL = {
    "shank": "half a shank cutter's diameter in hard wood, a whole one in soft",
    "disc": "a saw's full depth, 10 mm for a stack of slotting cutters",
}


def cutting_checks(context: Context) -> Iterator[Check]:
    """Every check of this file for one setup."""
    setup = context.setup
    if setup.cuts:
        yield _taken(context, "depth", max([c.depth_mm for c in setup.cuts]))
    yield _taken(context, "trim", setup.trim_mm)
    yield _climb(context)
    yield _exit(context)


def depth_steps(depth_mm: float, most_mm: float | None) -> tuple[float, ...]:
    """Depths of equal steps none of which takes more than ``most_mm``, the last at full depth.

    One step where ``most_mm`` is None.
    """
    count = 1 if most_mm is None else max(1, ceil(depth_mm / most_mm - 1e-9))
    return (*(depth_mm * i / count for i in range(1, count)), depth_mm)


def _taken(context: Context, what: str, depth_mm: float) -> Check:
    cutter = context.setup.cutter
    most = cutter.depth_per_pass_mm
    usual = f"usual is {_USUAL[cutter.kind]} (common practice, no published source)"
    if most is None:
        because = f"how much it may take at a time, here all at once; {usual}"
        keys = ["cutter.depth_per_pass_mm"]
        return not_stated(f"{what}_per_pass", depth_mm, "mm", keys, because)
    because = f"{cutter.name} takes {most:g} mm in one pass; {usual}"
    check = at_most(f"{what}_per_pass", depth_mm, most, "mm", because, short="caution")
    if check.status == "pass":
        return check
    steps = depth_steps(depth_mm, most)
    says = f"{len(steps)} equal steps of {steps[0]:.2f} mm, the last at full depth"
    amounts = {"steps": len(steps), "step_mm": steps[0]}
    return attrs.evolve(check, remedies=(Remedy("in_steps", says, amounts),))


def climbs(context: Context) -> bool | None:
    """Whether the cutter climbs; of a shank cutter, from its second pass on. None: not stated."""
    feed, cutter = context.fixture.feed.sense, context.setup.cutter
    if cutter.kind == "disc":
        return None if cutter.top_moves is None else cutter.top_moves != feed
    if cutter.turns is None:
        return None
    return (cutter.turns == "anticlockwise") != (feed == "towards_plate")


def _climb(context: Context) -> Check:
    """How many cuts climb, the trim among them."""
    setup, found = context.setup, climbs(context)
    shank = setup.cutter.kind == "shank"
    several = sum(len(c.passes) > 1 for c in setup.cuts) if shank else len(setup.cuts)
    if found is None:
        key = f"cutter.{'turns' if shank else 'top_moves'}"
        because = "whether the cutter climbs, and which way its force acts"
        return not_stated("climb_cut", 0.0, "cuts", [key], because)
    because = "a cutter that climbs pulls the slide along (common practice, no published source)"
    if shank:
        because = f"after the first pass of a cut fresh wood is on the right; {because}"
    climbing = several + 1 if found else 0
    check = at_most("climb_cut", climbing, 0.0, "cuts", because, short="caution")
    if check.status == "pass":
        return check
    if shank:
        says = "the passes of each cut from right to left, the corner touched off likewise"
        return attrs.evolve(check, remedies=(Remedy("right_to_left", says),))
    says = "the feed the other way, or light cuts with the slide held back by its screw"
    return attrs.evolve(check, remedies=(Remedy("feed_other_way", says),))


def _exit(context: Context) -> Check:
    """Backing behind the side where the teeth leave the wood.

    Fresh backing is what keeps a show face whole; without it every exit is a caution.
    """
    backing, at = context.fixture.backing, context.setup.cutter.exit_at(context.fixture.feed.sense)
    behind = backing.thickness_mm if backing.sacrificial else 0.0
    if at is None and behind > 0:
        both = f"{in_words(context.sides['plate'])} or the {in_words(context.sides['you'])}"
        because = f"whether the teeth leave through the {both}"
        return not_stated("exit_backing", behind, "mm", ["cutter.top_moves"], because)
    sides = [context.sides[place] for place in ("plate", "you") if at in (None, place)]
    behind = behind if at == "plate" else 0.0
    named = " or the ".join(map(in_words, sides))
    because = (
        f"the cutter leaves through the {named}, "
        + ("into fresh backing" if behind > 0 else "with nothing behind it")
        + (", a side that shows" if set(sides) & set(context.plan.part.show) else "")
    )
    check = at_least(
        "exit_backing",
        behind,
        3.0,
        "mm",
        because + " (3 mm of backing is common practice, no published source)",
        short="caution",
    )
    if check.status == "pass":
        return check
    says = f"clamp a scrap of 3 mm or more against the {named.replace(' or ', ' and ')}"
    amounts: dict[str, Any] = {"backing_mm": 3.0}
    amounts |= {"side": sides[0]} if len(sides) == 1 else {"sides": sides}
    return attrs.evolve(
        check, remedies=(Remedy("back_up_exit", f"{says}, down to the end", amounts),)
    )
