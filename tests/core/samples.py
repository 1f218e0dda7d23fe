"""Fixtures, stock and a joint made for these tests; no joint type that ships.

A part is made from the very angles it must come out at, with scipy's rotations, so that
the expected settings are known before the library is asked.
"""

from __future__ import annotations

import copy
from collections.abc import Mapping, Sequence
from typing import Any, ClassVar, Self

import attrs
import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from jointgeo.fixtures.file import read_fixture
from jointgeo.fixtures.model import Fixture
from jointgeo.joints.check import Check
from jointgeo.joints.drawing import Channel
from jointgeo.joints.joint_type import JointType
from jointgeo.joints.stock import Part, StockNotch
from jointgeo.plugin import Bar, Drawing, Notch, Plane, Vec, X, Y, Z, deg, mm
from jointgeo.solution.end import EndSolution, Use, solve_end

Array = NDArray[np.float64]

#: A fixture with room for everything and round numbers; its tilt goes one way only.
#: Stock stands with its left edge at X = -20; its back at Y = -18.
FIXTURE: dict[str, Any] = {
    "name": "sample",
    "title": "Made up for the tests",
    "swivel": {"min_deg": -60, "max_deg": 60, "pivot_x_mm": 0, "pivot_z_mm": 60},
    "tilt": {"min_deg": 0, "max_deg": 89, "hinge_y_mm": 0, "hinge_z_mm": 300},
    "traverse": {"min_mm": -5000, "max_mm": 5000, "lead_mm": 4, "divisions": 80},
    "cutter": [
        {
            "name": "disc",
            "kind": "disc",
            "diameter_mm": 300,
            "kerf_mm": 6,
            "reach_mm": 120,
            "depth_per_pass_mm": 120,
            "top_moves": "towards_plate",
            "rpm": 2800,
            "power_w": 1100,
        }
    ],
    "cutter_height": {"datum": "the rails", "datum_z_mm": -400, "min_mm": -4000, "max_mm": 4000},
    "feed": {"min_mm": -5000, "max_mm": 5000, "sense": "towards_plate"},
    "plate": {"width_mm": 600, "height_mm": 400, "thickness_mm": 20},
    "fence": {"side": "left", "x_mm": -20, "z_min_mm": 0, "z_max_mm": 400},
    "backing": {"thickness_mm": 18, "sacrificial": True},
    "clamp": {"opening_mm": 400, "z_mm": 150, "force_n": 1500},
    "front_beam": [],
    "body": [],
    "uncertainty": {
        "swivel_deg": 0.03,
        "tilt_deg": 0.03,
        "swivel_zero_deg": 0.02,
        "tilt_zero_deg": 0.02,
        "hinge_play_mm": 0.03,
        "tilt_lock_difference_mm": 0.05,
        "tilt_lock_spacing_mm": 380,
        "tilt_lock_arm_mm": 230,
        "rail_height_difference_mm": 0.05,
        "rail_spacing_mm": 420,
        "traverse_lead_fraction": 0.0005,
        "backlash_mm": 0.02,
        "kerf_mm": 0.02,
        "runout_mm": 0.02,
        "depth_mm": 0.05,
        "stock_thickness_mm": 0.05,
    },
}

BEAM: dict[str, Any] = {
    "name": "beam",
    "face_distance_mm": 4000,
    "z_min_mm": -600,
    "z_max_mm": 100,
    "fitted": True,
    "removable": True,
}


def changed(data: Any, changes: Mapping[str, Any]) -> Any:
    """A copy of nested plain data with values put at dotted paths, e.g. ``cutter.0.kerf_mm``."""
    out = copy.deepcopy(data)
    for path, value in changes.items():
        *way, last = path.split(".")
        inner = out
        for step in way:
            inner = inner[int(step)] if isinstance(inner, list) else inner.setdefault(step, {})
        inner[int(last) if isinstance(inner, list) else last] = value
    return out


def without(data: Any, path: str) -> Any:
    """A copy of nested plain data with one key taken out."""
    out = copy.deepcopy(data)
    *way, last = path.split(".")
    inner = out
    for step in way:
        inner = inner[int(step)] if isinstance(inner, list) else inner[step]
    del inner[last]
    return out


def fixture_with(changes: Mapping[str, Any] | None = None) -> Fixture:
    """``FIXTURE`` with changes at dotted paths; None takes a key out."""
    data = FIXTURE
    for path, value in (changes or {}).items():
        data = without(data, path) if value is None else changed(data, {path: value})
    return read_fixture(data)


def turn(
    swivel_deg: float, tilt_deg: float, packing_deg: float = 0.0, quarter_turns: int = 0
) -> Array:
    """Machine from stock by scipy: Rx(-tilt)·Ry(swivel)·Rz(packing + 90°·n), about moving axes."""
    angles = [-tilt_deg, swivel_deg, packing_deg + 90.0 * quarter_turns]
    return Rotation.from_euler("XYZ", angles, degrees=True).as_matrix()


def vec(numbers: Any) -> Vec:
    """Three numbers as the library's vector, plain floats."""
    x, y, z = (float(n) for n in numbers)
    return Vec(x, y, z)


def notch_at(frame: Any, at: Any, channels: Sequence[Any]) -> StockNotch:
    """A notch of frame Q (3, 3) through the point ``at``; channels: (low, high, depth)."""
    rows = vec(frame[0]), vec(frame[1]), vec(frame[2])
    return StockNotch(rows, vec(at), tuple(Channel(*map(float, c)) for c in channels))


def part_at(
    swivel_deg: float = 0.0,
    tilt_deg: float = 0.0,
    packing_deg: float = 0.0,
    side: int = 0,
    *,
    width_mm: float = 60.0,
    thickness_mm: float = 30.0,
    length_mm: float = 400.0,
    channels: Sequence[tuple[float, float, float]] = ((-5.0, 5.0, 20.0),),
    **rest: Any,
) -> Part:
    """Stock that asks for exactly these settings; channels from the middle of its section."""
    frame = turn(swivel_deg, tilt_deg, packing_deg, side)
    middle = [width_mm / 2, thickness_mm / 2, 0.0]
    notch = notch_at(frame, middle, channels)
    return Part("piece", width_mm, thickness_mm, length_mm, notches=(notch,), **rest)


def solved(part: Part, fixture: Fixture) -> EndSolution:
    """The end for one piece as drawn."""
    return solve_end(part, fixture, (Use(part.name, "near", "as_drawn", 1),))


def checks_of(part: Part, fixture: Fixture) -> dict[str, Check]:
    """The library's checks of a part with one setup, by name."""
    return {c.name: c for c in solved(part, fixture).checks}


@attrs.frozen
class Sample(JointType):
    """One piece with one slot, at settings given outright, and a mate that nothing is cut from.

    The piece's stock frame is the world, so that its notch is the one of ``part_at``.
    """

    name: ClassVar[str] = "sample"
    summary: ClassVar[str] = "A slot at given settings, for tests"

    swivel_deg: float = deg("Swivel it asks for", -80, 80, default=10.0)
    tilt_deg: float = deg("Tilt it asks for", -80, 80, default=5.0)
    width_mm: float = mm("Width of the stock", 0.1, default=60.0)

    def draw(self) -> Drawing:
        across, _, inward = (vec(row) for row in turn(self.swivel_deg, self.tilt_deg))
        middle = Vec(self.width_mm / 2, 15.0, 0.0)
        piece = Bar("piece", self.width_mm, 30.0, 400.0, Z, -Y, -X, middle)
        mate = Bar("mate", 80.0, 40.0, 500.0, X, Z, Y, Vec(-250.0, 15.0, 0.0))
        at = across @ middle
        slot = Notch("slot", piece, Plane.through(middle, -inward), across, [(at - 5, at + 5, 20)])
        return Drawing((piece, mate), (slot,))

    @classmethod
    def measure(cls, bar: Bar, mate: Bar) -> dict[str, Any]:
        del mate
        return {"width_mm": bar.width}

    @classmethod
    def examples(cls) -> tuple[Self, ...]:
        return (cls(),)
