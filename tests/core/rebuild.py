"""A cut end made again from ``settings`` alone: blank, rotation, trim, cuts. Test helper.

Uses the JSON contract's words and frames with scipy, and no arithmetic of the library. The
machine frame here differs from the fixture's by a shift only, which no cut depends on.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog

from jointgeo.joints.stock import Part

from .samples import turn

Array = NDArray[np.float64]
Removed = Callable[[Array], NDArray[np.bool_]]


def quarter_turns(against_plate: str, x_from: str) -> int:
    """n from the side on the plate: 0 back, 1 edge at x = width, 2 face side, 3 edge at x = 0."""
    other = {"face_edge": "back_edge", "back_edge": "face_edge"}[x_from]
    return {"back": 0, other: 1, "face_side": 2, x_from: 3}[against_plate]


def removed_by(part: dict[str, Any]) -> Removed:
    """Which points of the blank (z from its square end) the part's setups take away."""
    setups = [_Setup(part, s) for s in part["setups"]]
    for index, setup in enumerate(setups):
        setup.touch_off(setups[:index])

    def removed(points: Array) -> NDArray[np.bool_]:
        gone = np.zeros(len(points), dtype=bool)
        for setup in setups:
            gone |= setup.removed(points)
        return gone

    return removed


class _Setup:
    """One setup; X is counted from the touch-off corner once ``touch_off`` has found it."""

    def __init__(self, part: dict[str, Any], setup: dict[str, Any]) -> None:
        stock = part["stock"]
        self.size = np.array([stock["width_mm"], stock["thickness_mm"]])
        side = quarter_turns(setup["against_plate"], stock["x_from"])
        self.rotation = turn(setup["swivel_deg"], setup["tilt_deg"], setup["packing_deg"], side)
        square = np.array([[x, y, 0.0] for x in (0, self.size[0]) for y in (0, self.size[1])])
        self.end_z = float((square @ self.rotation[2]).min()) + setup["trim_mm"]
        self.cuts = setup["cuts"]
        self.corner_x = 0.0

    def touch_off(self, earlier: list[_Setup]) -> None:
        """Least X over what earlier setups leave of the trimmed end, a linear programme a strip.

        Unknowns are x and y in the section; z follows from the end's plane.
        """
        strips: list[list[tuple[Array, float]]] = [[]]
        for before in earlier:
            row, level = before.across(self)
            strips = [s + more for s in strips for more in before.left_standing(row, level)]
        row, level = self.across(self)
        bounds = [(0.0, float(size)) for size in self.size]
        found = []
        for strip in strips:
            a = np.array([c for c, _ in strip]) if strip else None
            b = np.array([d for _, d in strip]) if strip else None
            best = linprog(row, A_ub=a, b_ub=b, bounds=bounds, method="highs")
            if best.status == 0:
                found.append(float(best.fun) + level)
        self.corner_x = min(found)

    def across(self, end: _Setup) -> tuple[Array, float]:
        """This setup's X on the other's end plane as row · (x, y) + level."""
        normal, x_axis = end.rotation[2], self.rotation[0]
        row = x_axis[:2] - x_axis[2] * normal[:2] / normal[2]
        return row, float(x_axis[2] * end.end_z / normal[2])

    def left_standing(self, row: Array, level: float) -> list[list[tuple[Array, float]]]:
        """Strips beside this setup's cuts, each as constraints c · (x, y) ≤ d."""
        spans = sorted(
            (c["left_mm"] + self.corner_x, c["right_mm"] + self.corner_x) for c in self.cuts
        )
        out, low = [], -np.inf
        for left, right in [*spans, (np.inf, np.inf)]:
            if low < left:
                strip = []
                if np.isfinite(low):
                    strip.append((-row, level - low))
                if np.isfinite(left):
                    strip.append((row, left - level))
                out.append(strip)
            low = max(low, right)
        return out

    def removed(self, points: Array) -> NDArray[np.bool_]:
        on_machine = points @ self.rotation.T
        below = on_machine[:, 2] - self.end_z
        x = on_machine[:, 0] - self.corner_x
        gone = below < 0  # the trim
        for cut in self.cuts:
            across = (x > cut["left_mm"]) & (x < cut["right_mm"])
            gone |= across & (below < cut["depth_mm"])
        return np.asarray(gone)


def trim_room_mm(part: dict[str, Any], setup: dict[str, Any]) -> float:
    """How far below the trim plane the highest corner of the square end hangs."""
    made = _Setup(part, setup)
    square = np.array([[x, y, 0.0] for x in (0, made.size[0]) for y in (0, made.size[1])])
    return made.end_z - float((square @ made.rotation[2]).max())


def agree_on_the_wood(
    part: Part, made: dict[str, Any], rng: np.random.Generator, mirrored: bool = False
) -> None:
    """Points through the end: gone by the settings where they lie in the trim or in a notch.

    A mirrored blank is asked through the drawn one: x counted from its other side. Points
    within 1e-6 mm of a boundary are left out, rounding being 1e-12 of 100 mm.
    """
    beyond = made["stock"]["length_mm"] - part.length_mm
    deepest = max([c.depth for n in part.notches for c in n.channels], default=0.0)
    size = [part.width_mm, part.thickness_mm, beyond + 3 * deepest + 40]
    points = rng.uniform(0, 1, size=(20_000, 3)) * size
    drawn = points * [-1, 1, 1] + [part.width_mm, 0, 0] if mirrored else points
    asked, clear = asked_for(part, drawn - [0, 0, beyond])
    np.testing.assert_array_equal(removed_by(made)(points)[clear], asked[clear])
    # It is no test unless wood is taken and wood is left.
    assert 0.02 < asked.mean() < 0.98
    assert clear.mean() > 0.99


def asked_for(part: Part, points: Array) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Whether the part's notches hold each point, and whether it is clear of every boundary."""
    gone = np.zeros(len(points), dtype=bool)
    nearest = np.full(len(points), np.inf)
    for notch in part.notches:
        local = (points - np.array(notch.at)) @ np.array(notch.rows).T
        gone |= local[:, 2] < 0
        nearest = np.minimum(nearest, np.abs(local[:, 2]))
        for c in notch.channels:
            gone |= (local[:, 0] > c.low) & (local[:, 0] < c.high) & (local[:, 2] < c.depth)
            bounds = [local[:, 0] - c.low, local[:, 0] - c.high, local[:, 2] - c.depth]
            nearest = np.minimum(nearest, np.abs(bounds).min(axis=0))
    return gone, nearest > 1e-6
