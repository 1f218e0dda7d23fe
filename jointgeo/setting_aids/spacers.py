"""Aids that are put between a leaf and a fixed part: a round pin, gauge blocks; and a sine bar.

Knows one axis to be set, where its contact lies beside the axis, and the formulas.

What is laid in decides the length: a pin, a block and a mark at one distance differ by tenths of
a degree. So the words say which it is, on which part it lies, and to where its distance is
measured: to the middle of a round pin, and to that edge of a flat block which touches, the one
nearer the axis.

A swivelled fence leaves room for a batten only on the side from which it has moved away. On the
stock's side the batten lies against the working face's zero line; behind the fence against that
of its back, for which the fence's width must be known. A plate that tilts towards you leaves room
at its stop; how far that bears behind the hinge line must be known (``stop_offset_mm``).
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from math import copysign, cos, degrees, radians
from typing import Any

import attrs

from jointgeo.setting_aids.aid import Aid
from jointgeo.setting_aids.anglelengths import (
    gap_angle_deg,
    gap_mm,
    gap_slopes,
    pin_angle_deg,
    pin_mm,
    pin_slopes,
    sine_angle_deg,
    sine_height_mm,
)
from jointgeo.setting_aids.gauge_blocks import Stack, block_stack
from jointgeo.setting_aids.made import Length, u_parts_deg
from jointgeo.setting_aids.task import Task

__all__ = ["spacers"]

#: The thinnest shank of a common set of drills. Common practice, no published source.
THINNEST_PIN_MM = 1.0


@attrs.frozen
class _Room:
    """Where there is room for a spacer. distance_mm: along the fixed part. beside_mm: c of
    ``anglelengths``. lies: on what, and alike how often. axis: from what the distance is taken."""

    distance_mm: float
    beside_mm: float
    lies: str
    axis: str


def spacers(task: Task) -> Iterator[Aid]:
    """A pin and gauge blocks where there is room for them, and a sine bar instead."""
    room = _swivel_room(task) if task.axis == "swivel" else _tilt_room(task)
    if room is not None:
        yield from _pin(task, room).rounded(task)
        yield from _blocks(task, room)
    yield from _sine_bar(task)


def _swivel_room(task: Task) -> _Room | None:
    """None where the batten must lie behind a fence whose width nobody has stated."""
    fence = task.fixture.fence
    left, way = fence.side == "left", copysign(1.0, task.set_deg)
    if (way < 0) == left:
        beside, face = task.face_beside_mm, "working face"
    elif fence.width_mm is None:
        return None
    else:
        beside = task.face_beside_mm + (-fence.width_mm if left else fence.width_mm)
        face = "back"
    lies = f"on a batten set along the fence's {face} at zero, between it and the fence"
    return _Room(task.distance_mm, way * beside, lies, "above the pivot")


def _tilt_room(task: Task) -> _Room | None:
    behind = task.fixture.aids.stop_offset_mm
    if behind is None or task.set_deg < 0:
        return None
    lies = "across on the fixed part, between it and the plate, two alike, left and right"
    return _Room(task.distance_mm, -behind, lies, "from the hinge line")


def _pin(task: Task, room: _Room) -> Length:
    aids, d, c, a = task.fixture.aids, room.distance_mm, room.beside_mm, task.size_deg
    return Length(
        ("pin", "inch_pin"),
        "pin",
        2,
        THINNEST_PIN_MM,
        f"a round pin of {{size}} {room.lies}, its middle {d:g} mm {room.axis}, "
        "measured along that",
        pin_mm(d, c, a),
        partial(pin_angle_deg, d, c),
        u_parts_deg(pin_slopes(d, c, a), aids.spacer_u_mm, aids.distance_u_mm),
        {"contact": "round", "distance_mm": d, "beside_axis_mm": c},
    )


def _blocks(task: Task, room: _Room) -> Iterator[Aid]:
    aids, d, c, a = task.fixture.aids, room.distance_mm, room.beside_mm, task.size_deg
    stack = block_stack(gap_mm(d, c, a), aids.block_set)
    if stack is None:
        return
    nearer = "pivot" if task.axis == "swivel" else "hinge"
    says = (
        f"gauge blocks {_listed(stack)} laid flat {room.lies}, their edge nearer the {nearer} "
        f"{d:g} mm {room.axis}, measured along that"
    )
    numbers = _numbers(stack) | {"contact": "flat", "distance_mm": d, "beside_axis_mm": c}
    u = u_parts_deg(gap_slopes(d, c, a), aids.block_u_mm, aids.distance_u_mm)
    yield task.aid("gauge_blocks", says, gap_angle_deg(d, c, stack.height_mm), u, numbers)


def _sine_bar(task: Task) -> Iterator[Aid]:
    """It lies along the leaf itself, so the axis's place does not matter."""
    aids, bar = task.fixture.aids, task.fixture.aids.sine_bar_mm
    stack = block_stack(sine_height_mm(bar, task.size_deg), aids.block_set)
    if stack is not None and stack.height_mm < bar:
        what = "the fence" if task.axis == "swivel" else "the plate"
        says = f"a sine bar of {bar:g} mm against {what}, gauge blocks {_listed(stack)}"
        own = degrees(aids.block_u_mm / (bar * cos(radians(task.size_deg))))
        numbers = _numbers(stack) | {"sine_bar_mm": bar}
        yield task.aid("sine_bar", says, sine_angle_deg(bar, stack.height_mm), (own,), numbers)


def _listed(stack: Stack) -> str:
    return " + ".join([f"{b:g}" for b in stack.blocks_mm]) + f" = {stack.height_mm:.3f} mm"


def _numbers(stack: Stack) -> dict[str, Any]:
    return {
        "blocks_mm": list(stack.blocks_mm),
        "height_mm": stack.height_mm,
        "height_error_mm": stack.error_mm,
    }
