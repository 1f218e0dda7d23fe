"""Aids that are read with a rule at the fence.

Knows the swivel to be set, where the fence's face stands beside the pivot, and the formulas.

Theory. The fence's working face does not pass through the pivot: at zero it lies e to the right of
it (negative: left). At d above the pivot it has then moved to the right of its zero line by

    o = tan(swivel)·(d + e·tan(swivel / 2))

which is a gap of ``anglelengths`` with c = e·sign(swivel). With e = -60 mm left out, an offset at
d = 300 mm sets 25° for 24°. e drops out of two other readings: the difference of the offsets at
two heights, (d₂ - d₁)·tan(swivel), which is the way where the pivot cannot be measured; and how
far a mark on the face has moved, straight, with its distance taken from the pivot's middle.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from math import copysign, cos, degrees, hypot, radians, sin, sqrt, tan

from jointgeo.setting_aids.aid import Aid
from jointgeo.setting_aids.anglelengths import (
    chord_angle_deg,
    chord_mm,
    gap_angle_deg,
    gap_mm,
    gap_slopes,
    offset_angle_deg,
    offset_mm,
)
from jointgeo.setting_aids.made import Length, u_parts_deg
from jointgeo.setting_aids.task import Task

__all__ = ["rules"]

#: The finest division of a common rule. Common practice, no published source.
LEAST_MM = 0.5


def rules(task: Task) -> Iterator[Aid]:
    """An offset, the difference of two offsets, and the way of a mark; for the swivel."""
    for length in (_offset(task), _two_offsets(task), _mark(task)):
        if length is not None:
            yield from length.rounded(task)


def _way(task: Task) -> str:
    return "right" if task.set_deg > 0 else "left"


def _offset(task: Task) -> Length:
    aids, d, a = task.fixture.aids, task.distance_mm, task.size_deg
    c = copysign(1.0, task.set_deg) * task.face_beside_mm
    says = (
        f"the fence's face {{size}} to the {_way(task)} of its zero line, read with a rule square "
        f"to that line, {d:g} mm above the pivot along it"
    )
    return Length(
        ("rule_offset", "inch_offset"),
        "offset",
        1,
        LEAST_MM,
        says,
        gap_mm(d, c, a),
        partial(gap_angle_deg, d, c),
        u_parts_deg(gap_slopes(d, c, a), aids.rule_u_mm, aids.distance_u_mm),
        {"distance_mm": d, "face_beside_pivot_mm": task.face_beside_mm},
    )


def _two_offsets(task: Task) -> Length | None:
    """None where the two heights are no two."""
    aids, high, low, a = task.fixture.aids, task.distance_mm, task.near_mm, radians(task.size_deg)
    between = high - low
    if between <= 0:
        return None
    says = (
        f"the fence's face {{size}} further to the {_way(task)} at {high:g} mm above the pivot "
        f"than at {low:g} mm, both read with a rule from one straight line parallel to its zero "
        "line"
    )
    # Both readings and both heights are uncertain alike.
    own = degrees(sqrt(2.0) * aids.rule_u_mm * cos(a) ** 2 / between)
    height = degrees(sqrt(2.0) * aids.distance_u_mm * sin(a) * cos(a) / between)
    return Length(
        ("two_offsets", "inch_two_offsets"),
        "difference",
        1,
        LEAST_MM,
        says,
        offset_mm(between, task.size_deg),
        partial(offset_angle_deg, between),
        (own, height),
        {"distance_mm": high, "near_distance_mm": low},
    )


def _mark(task: Task) -> Length:
    aids, half = task.fixture.aids, radians(task.size_deg) / 2
    r = hypot(task.distance_mm, task.face_beside_mm)
    says = (
        f"a mark on the fence, {r:.1f} mm from the pivot's middle, {{size}} to the {_way(task)} of "
        "where it stands at zero, read straight with a rule"
    )
    return Length(
        ("mark_to_mark", "inch_mark_to_mark"),
        "chord",
        1,
        LEAST_MM,
        says,
        chord_mm(r, task.size_deg),
        partial(chord_angle_deg, r),
        (
            degrees(aids.rule_u_mm / (r * cos(half))),
            degrees(2 * tan(half) * aids.distance_u_mm / r),
        ),
        {"mark_from_pivot_mm": r},
    )
