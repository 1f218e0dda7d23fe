"""Aids that are a length at a distance: spacers, gauge blocks, a sine bar, offsets on a rule.

Knows one axis to be set, the formulas and the gauge blocks.

Each length is rounded to what can be made (0.01 mm, a fraction of an inch, a stack of blocks);
the angle it then gives and its standard uncertainty follow: that of the length and of the
distance, through the derivatives of the formulas.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from math import cos, degrees, radians, sin, tan
from typing import Any

import attrs

from jointgeo.schema.units import MM_PER_INCH, fraction_words, nearest_parts
from jointgeo.setting_aids.aid import Aid
from jointgeo.setting_aids.anglelengths import (
    chord_angle_deg,
    chord_mm,
    offset_angle_deg,
    offset_mm,
    sine_angle_deg,
    sine_height_mm,
)
from jointgeo.setting_aids.gauge_blocks import Stack, block_stack
from jointgeo.setting_aids.task import Task

__all__ = ["offsets", "spacers"]


@attrs.frozen
class _Measure:
    """A length that is made or measured, in millimetres or as a fraction of an inch.

    aids: the names of either. key: of the length among the numbers. decimals: of a millimetre.
    angle_deg: that it gives at a distance. says: with the size and the place to be put in.
    """

    aids: tuple[str, str]
    key: str
    decimals: int
    angle_deg: Callable[[float, float], float]
    says: str


_SPACER = _Measure(
    ("sine_spacer", "inch_spacer"), "spacer", 2, chord_angle_deg, "a spacer of {size} {where}"
)
_OFFSET = _Measure(
    ("rule_offset", "inch_offset"),
    "offset",
    1,
    offset_angle_deg,
    "the fence {size} off, measured with a rule {where}",
)


def spacers(task: Task) -> Iterator[Aid]:
    """Between a leaf and its stop: a spacer, gauge blocks, and a sine bar instead."""
    aids, d, where = task.fixture.aids, task.distance_mm, _between(task)
    half = radians(task.size_deg) / 2
    exact = chord_mm(d, task.size_deg)
    per_mm = degrees(1.0 / (d * cos(half)))
    distance = degrees(2 * tan(half) * aids.distance_u_mm / d)
    yield from _measured(task, _SPACER, exact, (per_mm * aids.spacer_u_mm, distance), where)
    stack = block_stack(exact, aids.block_set)
    if stack is not None:
        says = f"gauge blocks {_listed(stack)} {where}"
        numbers = _stack_numbers(stack) | {"distance_mm": d}
        given = chord_angle_deg(d, stack.height_mm)
        yield task.aid("gauge_blocks", says, given, (per_mm * aids.block_u_mm, distance), numbers)
    bar = aids.sine_bar_mm
    stack = block_stack(sine_height_mm(bar, task.size_deg), aids.block_set)
    if stack is not None and stack.height_mm < bar:
        what = "the fence" if task.axis == "swivel" else "the plate"
        says = f"a sine bar of {bar:g} mm against {what}, gauge blocks {_listed(stack)}"
        numbers = _stack_numbers(stack) | {"sine_bar_mm": bar}
        own = degrees(aids.block_u_mm / (bar * cos(2 * half)))
        yield task.aid("sine_bar", says, sine_angle_deg(bar, stack.height_mm), (own,), numbers)


def offsets(task: Task) -> Iterator[Aid]:
    """The fence's distance from its zero line, with a rule."""
    aids, d, size = task.fixture.aids, task.distance_mm, radians(task.size_deg)
    own = degrees(aids.rule_u_mm * cos(size) ** 2 / d)
    distance = degrees(aids.distance_u_mm * sin(size) * cos(size) / d)
    where = f"square to the zero line, {d:g} mm along it from the pivot"
    yield from _measured(task, _OFFSET, offset_mm(d, task.size_deg), (own, distance), where)


def _between(task: Task) -> str:
    d = f"{task.distance_mm:g} mm"
    if task.axis == "tilt":
        return f"between the plate and its closed stop, {d} from the hinge, alike on both sides"
    turn = "clockwise" if task.set_deg > 0 else "anticlockwise"
    return f"between the fence and a batten set at zero, {d} from the pivot, fence {turn} of it"


def _measured(
    task: Task, measure: _Measure, exact_mm: float, u_deg: Sequence[float], where: str
) -> Iterator[Aid]:
    """The length rounded to what can be made, and to the nearest fraction of an inch."""
    d, denominator = task.distance_mm, task.fixture.aids.fraction_denominator
    rest: dict[str, Any] = {"distance_mm": d, "exact_mm": exact_mm}
    metric, inch = measure.aids
    made = round(exact_mm, measure.decimals)
    if made > 0:
        says = measure.says.format(size=f"{made:.{measure.decimals}f} mm", where=where)
        numbers = {f"{measure.key}_mm": made} | rest
        yield task.aid(metric, says, measure.angle_deg(d, made), u_deg, numbers)
    parts = nearest_parts(exact_mm, denominator)
    if parts > 0:
        words, made = fraction_words(parts, denominator), parts / denominator * MM_PER_INCH
        says = measure.says.format(size=words, where=where)
        numbers = {f"{measure.key}_in": words, f"{measure.key}_mm": made} | rest
        yield task.aid(inch, says, measure.angle_deg(d, made), u_deg, numbers)


def _listed(stack: Stack) -> str:
    return " + ".join([f"{b:g}" for b in stack.blocks_mm]) + f" = {stack.height_mm:.3f} mm"


def _stack_numbers(stack: Stack) -> dict[str, Any]:
    return {
        "blocks_mm": list(stack.blocks_mm),
        "height_mm": stack.height_mm,
        "height_error_mm": stack.error_mm,
    }
