"""Random boxes with sloping sides: regular plans, rectangles, irregular ones, slopes of any sign.

What the joint itself calls impossible (no rim left, a finger cut off at its root or planed away
with its rim, a socket narrower than the thinnest cutter) is drawn again, as are sides that meet
before they are as high as the box: a dry fit of those is a question without a right answer.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import numpy as np

from jointgeo.errors import InputError
from jointgeo.pieces.joining import joints_of
from jointgeo.pieces.piece_type import PieceType
from jointgeo.pieces.registry import piece_type
from jointgeo.pieces.rimchecks import rim_checks
from jointgeo.pieces.rims import planed
from jointgeo.pieces.room import placed_bars

__all__ = ["convex_plan", "random_box", "random_boxes"]

NARROWEST_CUTTER_MM = 3.2  # of the porch fixture
STEEPEST = 45.0


def random_boxes(number: int, seed: int) -> Iterator[PieceType]:
    """So many boxes, the same ones for the same seed."""
    rng = np.random.default_rng(seed)
    for _ in range(number):
        yield random_box(rng)


def random_box(rng: np.random.Generator) -> PieceType:
    """One that can be: its joints' own checks do not fail."""
    while True:
        try:
            box = _drawn(rng)
            if _possible(box):
                return box
        except InputError:
            continue


def convex_plan(rng: np.random.Generator, corners: int, across: float) -> list[tuple[float, float]]:
    """Corners on an ellipse at uneven steps, anticlockwise; each turns by 20° to 150°."""
    while True:
        turns = np.sort(rng.uniform(0, 2 * math.pi, corners))
        wide, deep = across * rng.uniform(0.7, 1.3, 2) / 2
        plan = [(float(wide * math.cos(t)), float(deep * math.sin(t))) for t in turns]
        sides = np.roll(plan, -1, axis=0) - plan
        ways = np.degrees(np.unwrap(np.arctan2(sides[:, 1], sides[:, 0])))
        bends = np.diff(np.append(ways, ways[0] + 360.0)) % 360.0
        long = np.hypot(*sides.T)
        if bends.min() > 20 and bends.max() < 150 and long.min() > across / 5:
            return plan


def _drawn(rng: np.random.Generator) -> Any:
    thick = float(rng.uniform(8, 24))
    most = float(rng.choice([0.0, 15.0, STEEPEST], p=[0.1, 0.5, 0.4]))
    values: dict[str, Any] = {
        "height_mm": float(rng.uniform(60, 220)),
        "thickness_mm": thick,
        "fit_mm": 0.0 if rng.random() < 1 / 3 else float(rng.uniform(0.02, 0.4)),
    }
    kind = rng.integers(3)
    if kind == 0:
        sides = int(rng.integers(3, 9))
        values |= {"sides": sides, "lower_edge_mm": float(rng.uniform(6, 25) * thick)}
    elif kind == 1:
        sides = 4
        values |= {"length_mm": float(rng.uniform(12, 30) * thick)}
        values |= {"depth_mm": float(rng.uniform(10, 20) * thick)}
    else:
        sides = int(rng.integers(3, 7))
        plan = convex_plan(rng, sides, float(rng.uniform(20, 40) * thick))
        values["plan"] = ", ".join(f"{x:.3f} {y:.3f}" for x, y in plan)
    if rng.random() < 1 / 2:
        values["slope_deg"] = float(rng.uniform(-most, most))
    else:
        slopes = rng.uniform(-most, most, sides)
        values["slopes_deg"] = " ".join(f"{s:.4f}" for s in slopes)
    values["alternate"] = bool(sides % 2 == 0 and rng.random() < 1 / 4)
    if rng.random() < 1 / 3:
        values["finger_width_mm"] = float(rng.uniform(0.8, 2.0) * thick)
    else:
        values["finger_count"] = int(rng.integers(2, 9))
    return piece_type("sloping_box")(**values)


def _possible(box: PieceType) -> bool:
    piece = box.piece()
    placed = placed_bars(piece)
    joints = joints_of(piece, placed)
    for check in rim_checks(placed, joints, planed(placed, joints)):
        if check.status == "fail":
            return False
    for joint in joints:
        channels = [c for n in joint.drawing.notches for c in n.channels if c.closed]
        if any(c.high - c.low < NARROWEST_CUTTER_MM for c in channels):
            return False
        if any(check.status == "fail" for check in joint.joint.checks()):
            return False
    # Room inside, so that boards across from each other stay apart.
    return all(min(bar.long_edges) > 4 * bar.near.thickness for bar in placed.values())
