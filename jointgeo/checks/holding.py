"""Does it hold still: length on the plate, fence, clamp, bending.

Knows one setup on one fixture (``context``); what the fixture file does not state is answered
``not_stated`` and never guessed.

Statics. The stock bears on the plate up to h above its lower edge and hangs o below it; clamps of
force N press at heights z. A force F at the end is held where

    pulled off the plate:  N·Σ(h - z) ≥ F·(h + o)    about the top
    pushed on to it:       N·Σz ≥ F·o                about the plate's lower edge
    drawn along it:        2·μ·N·n ≥ F               friction on both sides of n clamps

and the end bends by F·o³ / (3·E·I). F is the motor's power over the speed of the cutter's rim.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import cos, radians, sin, tan

import attrs

from jointgeo.checks.context import Context
from jointgeo.fixtures.wedging import held
from jointgeo.geometry.rotations import Vector
from jointgeo.joints.check import Check, Remedy, Status, at_least, at_most, not_stated

__all__ = [
    "DIRT_MM",
    "FRICTION",
    "clamp_need_n",
    "clamps_met",
    "held_mm",
    "holding_checks",
]

LEAST_HELD_MM = 60.0  # our choice: less on the plate fails
LEAST_RATIO = 0.5  # our choice: less of the overhang than this on the plate fails
DIRT_MM = 0.05  # our choice: dirt or bow between stock and fence
NEEDED_DEG = 0.05  # our choice: what that may turn the stock by
LEAST_FENCE_MM = DIRT_MM / tan(radians(NEEDED_DEG))
FRICTION = 0.25  # wood on wood, dry; from memory, no published source
MODULUS_N_MM2 = 10_000.0  # along the grain; from memory, no published source


def holding_checks(context: Context) -> Iterator[Check]:
    """Every check of this file for one setup."""
    yield _held(context)
    yield _fence(context)
    contact = _clamp(context)
    yield contact
    if contact.status != "fail":  # where no clamp meets the stock its force holds nothing
        yield _force(context)
    yield _bending(context)


def held_mm(context: Context) -> float:
    """Height above the plate's lower edge up to which the whole stock lies on the plate (mm)."""
    chosen = context.setup.chosen
    reach = context.plan.blank_mm * cos(radians(chosen.swivel_deg)) - chosen.clamped.overhang_mm
    return min(context.fixture.plate.height_mm, reach)


def _held(context: Context) -> Check:
    overhang = context.setup.chosen.clamped.overhang_mm
    held, ratio = held_mm(context), context.fixture.practice.held_ratio
    status: Status = "fail" if held < max(LEAST_HELD_MM, LEAST_RATIO * overhang) else "caution"
    check = at_least(
        "held_length",
        held,
        max(LEAST_HELD_MM, ratio * overhang),
        "mm",
        f"the stock hangs {overhang:.1f} mm below the plate, and as much and {LEAST_HELD_MM:g} mm "
        f"should lie on it; under {LEAST_RATIO:g} of that, or {LEAST_HELD_MM:g} mm, it is not held "
        "(our choice, no published source)",
        short=status,
    )
    if check.status == "pass":
        return check
    return attrs.evolve(check, remedies=(_longer(context, -check.margin),))


def _longer(context: Context, up_mm: float) -> Remedy:
    """Stock that reaches so much further up the plate."""
    by = up_mm / cos(radians(context.setup.chosen.swivel_deg))
    says = (
        f"stock {by:.1f} mm longer, cut off once this end is made, or the piece fixed to a longer "
        "carrier of its own section"
    )
    return Remedy("longer_stock", says, {"length_by_mm": by})


def _along_fence(context: Context) -> float:
    """Where the blank's square end lies along the fence, as the fence's ends are given (mm)."""
    swivel, chosen = context.fixture.swivel, context.setup.chosen
    at: Vector = chosen.clamped.untilted(chosen.clamped.at)
    turn = radians(held(context.fixture, chosen.swivel_deg, chosen.tilt_deg).fence_deg)
    x, z = at[0] - swivel.pivot_x_mm, at[2] - swivel.pivot_z_mm
    return sin(turn) * x + cos(turn) * z + swivel.pivot_z_mm


def _fence(context: Context) -> Check:
    fence = context.fixture.fence
    because = f"{DIRT_MM:g} mm of dirt or bow over this length turn the stock by {NEEDED_DEG:g}°"
    if fence.z_min_mm is None or fence.z_max_mm is None:
        ends = {"fence.z_min_mm": fence.z_min_mm, "fence.z_max_mm": fence.z_max_mm}
        missing = [key for key, value in ends.items() if value is None]
        return not_stated(
            "fence_contact", 0.0, "mm", missing, "how much of the stock lies on the fence"
        )
    low = _along_fence(context)
    high = low + context.plan.blank_mm
    contact = max(0.0, min(high, fence.z_max_mm) - max(low, fence.z_min_mm))
    check = at_least(
        "fence_contact", contact, LEAST_FENCE_MM, "mm", because + " (our choice)", short="caution"
    )
    if check.status == "pass":
        return check
    says = f"a facing on the fence that reaches {-check.margin:.1f} mm further along the stock"
    return attrs.evolve(
        check, remedies=(Remedy("longer_fence", says, {"length_by_mm": -check.margin}),)
    )


def _clamp(context: Context) -> Check:
    heights = context.fixture.clamp.at_mm
    if not heights:
        return not_stated(
            "clamp_contact", held_mm(context), "mm", ["clamp.z_mm"], "whether it meets the stock"
        )
    met = clamps_met(context)
    because = "stock must lie on the plate up to the middle of every clamp"
    check = at_least(
        "clamp_contact",
        held_mm(context),
        heights[-1],
        "mm",
        because if met else f"{because}; no clamp meets it, and nothing holds it",
        short="caution" if met else "fail",
    )
    if check.status == "pass":
        return attrs.evolve(check, because=because)
    remedies: list[Remedy] = []
    if heights[-1] <= context.fixture.plate.height_mm:  # else no stock lies on the plate there
        remedies.append(_longer(context, -check.margin))
    if check.value > 0:
        says = f"a clamp no higher than {check.value:.1f} mm above the plate's lower edge"
        remedies.append(Remedy("lower_clamp", says, {"z_mm": check.value}))
    return attrs.evolve(check, remedies=tuple(remedies))


def clamps_met(context: Context) -> tuple[float, ...]:
    """Heights of the clamps that press on the stock (mm above the plate's lower edge): those whose
    middle lies below what ``held_mm`` gives."""
    high = held_mm(context)
    return tuple(z for z in context.fixture.clamp.at_mm if z < high)


def clamp_need_n(context: Context, force_n: float, pushed_on: bool) -> tuple[float, str]:
    """Force of each clamp (N) that holds ``force_n`` at the stock's end, and against what.

    A clamp above the stock holds nothing; where none meets it ``clamp_contact`` fails, and one at
    the plate's edge is assumed here, for friction alone.
    """
    high, overhang = held_mm(context), context.setup.chosen.clamped.overhang_mm
    meets = clamps_met(context)
    slips = force_n / (2 * FRICTION * max(1, len(meets)))
    if not meets:
        return slips, "drawn along the plate"
    if pushed_on:
        turns, how = force_n * overhang / sum(meets), "pushed on to the plate at its end"
    else:
        turns = force_n * (high + overhang) / sum(high - z for z in meets)
        how = "pulled off the plate at its end"
    return max((turns, how), (slips, "drawn along the plate"))


def _force(context: Context) -> Check:
    fixture, cutter = context.fixture, context.setup.cutter
    clamp, exits = fixture.clamp, cutter.exit_at(fixture.feed.sense)
    force = cutter.force_n
    if force is None or clamp.force_n is None or clamp.z_mm is None or exits is None:
        known = {
            "clamp.z_mm": clamp.z_mm,
            "clamp.force_n": clamp.force_n,
            "cutter.rpm": cutter.rpm,
            "cutter.power_w": cutter.power_w,
            "cutter.top_moves": exits,
        }
        missing = [key for key, value in known.items() if value is None]
        because = "whether the clamp holds the stock against the cutter"
        return not_stated("clamp_force", clamp.force_n or 0.0, "N", missing, because)
    need, how = clamp_need_n(context, force, exits == "plate")
    check = at_least(
        "clamp_force",
        clamp.force_n if clamps_met(context) else 0.0,
        need,
        "N",
        f"at full power {cutter.name} pushes with {force:.0f} N at its rim; the stock is {how} "
        f"(friction {FRICTION:g}, from memory)",
        short="caution",
    )
    if check.status == "pass":
        return check
    says = f"clamps of {need:.0f} N each that meet the stock, or a stop above the stock's far end"
    return attrs.evolve(check, remedies=(Remedy("clamp_harder", says, {"force_n": need}),))


def _bending(context: Context) -> Check:
    cutter, practice = context.setup.cutter, context.fixture.practice
    force = cutter.force_n
    overhang = context.setup.chosen.clamped.overhang_mm
    if force is None:
        known = {"cutter.rpm": cutter.rpm, "cutter.power_w": cutter.power_w}
        missing = [key for key, value in known.items() if value is None]
        return not_stated("bending", 0.0, "mm", missing, "how far the end bends under the cutter")
    stiff = 3 * MODULUS_N_MM2 * context.wide_mm * context.deep_mm**3 / 12
    check = at_most(
        "bending",
        force * overhang**3 / stiff,
        practice.glue_line_mm / 2,
        "mm",
        f"how far {force:.0f} N at the end bend it: half a glue line at most "
        f"({MODULUS_N_MM2:g} N/mm² along the grain, from memory)",
        short="caution",
    )
    if check.status == "pass":
        return check
    says = "a board of the stock's own section clamped in front of it down to the end, light cuts"
    return attrs.evolve(check, remedies=(Remedy("stiffen", says),))
