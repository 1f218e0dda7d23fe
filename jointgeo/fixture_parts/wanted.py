"""What a person asks for of a part, and what stands in where nobody said anything.

Knows the fixture and parameter fields; works out no part.

Where a figure is not asked for, the fixture file's ``practice`` is looked at; where that does not
state it either, common practice stands in, which has no published source, and the figure says so.
"""

from __future__ import annotations

from typing import Literal

import attrs

from jointgeo.fixture_parts.model import ASSUMED, Figure, Source
from jointgeo.fixtures.model import Fixture
from jointgeo.schema.fields import angle, choice, info_of, length, number

__all__ = ["Drilled", "Facts", "Wanted"]


@attrs.frozen
class Drilled:
    """A hole that is in the board already. Its place is (X, Z) on the plate, or (Y, Z) at the
    plate's end for a part of the tilt, in the machine frame at zero."""

    across_mm: float = length("X (or Y) of its middle", low=-5000)
    up_mm: float = length("Z of its middle", low=-5000)
    diameter_mm: float = length("Its diameter", above=0, high=200)
    keep: Literal["clear", "screw"] = choice(
        "clear: the slot keeps off it; screw: a locking screw stays in it",
        ("clear", "screw"),
        default="clear",
    )


@attrs.frozen
class Wanted:
    """Everything may be left out; what a part cannot do without it says."""

    min_deg: float | None = angle("Least angle of the slot", low=-89, high=0, default=None)
    max_deg: float | None = angle("Greatest angle of the slot", low=0, high=89, default=None)
    screw_mm: float | None = length("Diameter of the locking screw", low=1, high=30, default=None)
    radius_mm: float | None = length(
        "From the axis to the slot's middle", low=1, high=2000, default=None
    )
    screw_at_deg: float | None = angle(
        "Where the screw stands at zero: clockwise from straight up at the pivot, or from straight "
        "down at the hinge towards you",
        low=-180,
        high=180,
        default=None,
    )
    slot_in: Literal["fixed", "moving"] = choice(
        "fixed: the screw moves, in a slot of the plate or quadrant that stands still; moving: the "
        "slot moves, past a screw that stands still",
        ("fixed", "moving"),
        default="fixed",
    )
    play_mm: float | None = length(
        "How much wider the slot is than the screw", low=0, high=5, default=None
    )
    wall_mm: float | None = length(
        "Wood of a quadrant around its slot", above=0, high=100, default=None
    )
    web_mm: float | None = length(
        "Least wood between a slot and a hole or an edge", low=0, high=100, default=None
    )
    over_run_deg: float | None = angle(
        "How far a slot runs on past both ends of the range", low=0, high=10, default=None
    )
    room_mm: float | None = length(
        "Room kept between what moves and what stands", low=0, high=100, default=None
    )
    board_mm: float | None = length(
        "Thickness of the board that a quadrant is made of", above=0, high=100, default=None
    )
    torque_nm: float | None = number(
        "N·m", "Torque the locking screw is done up with", low=0.01, high=200, default=None
    )
    stock_mm: float | None = length(
        "Thickness of the stock that must still go in", low=1, high=500, default=None
    )
    overhang_mm: float | None = length(
        "Overhang of that stock below the plate", low=0, high=2000, default=None
    )
    beam_mm: float | None = length("Thickness of the front beam", above=0, high=500, default=None)
    fixed_above_mm: float | None = length(
        "How far the part that the plate is hinged to reaches above the hinge line",
        low=0,
        default=None,
    )
    lean_mm: float | None = length(
        "How far a level laid across the plate is out, positive where the left is high",
        low=-100,
        high=100,
        default=None,
    )
    lean_over_mm: float | None = length("Over which length", low=10, default=None)
    swivel_deg: float | None = angle("True swivel of the stock", low=-89, high=89, default=None)
    tilt_deg: float | None = angle("True tilt of the stock", low=-89, high=89, default=None)
    wedge_mm: float | None = length("Length of a wedge", above=0, high=2000, default=None)
    hole: tuple[Drilled, ...] = attrs.field(kw_only=True, default=())


#: What stands in where neither the person nor the file says it: value and where it comes from.
STANDING_IN: dict[str, tuple[float, str]] = {
    "screw_mm": (8.0, ASSUMED),
    "play_mm": (0.5, ASSUMED),
    "wall_mm": (10.0, ASSUMED),
    "web_mm": (8.0, ASSUMED),
    "over_run_deg": (0.5, "our choice: no slot's end then limits the scale"),
    "room_mm": (2.0, ASSUMED),
    "board_mm": (18.0, ASSUMED),
    "torque_nm": (2.0, "hand-tight by a small knob; from memory"),
    "stock_mm": (50.0, ASSUMED),
    "overhang_mm": (95.0, "our choice: a deep cut of a splayed leg"),
}
IN_FILE: Source = "from the fixture file"
#: Names in the fixture file's ``practice`` table.
PRACTICE = {
    "play_mm": "slot_play_mm",
    "wall_mm": "slot_wall_mm",
    "web_mm": "slot_web_mm",
    "over_run_deg": "slot_over_run_deg",
    "room_mm": "part_room_mm",
}


@attrs.frozen
class Facts:
    """A fixture and what is wanted of it; every figure that was taken says where it came from."""

    fixture: Fixture
    wanted: Wanted
    taken: dict[str, Figure] = attrs.field(factory=dict)

    def take(self, name: str) -> float:
        """A figure that something stands in for."""
        value, source, because = getattr(self.wanted, name), "asked", ""
        if value is None and name in PRACTICE:
            value, source = getattr(self.fixture.practice, PRACTICE[name]), IN_FILE
            because = f"practice.{PRACTICE[name]}"
        if value is None:
            (value, because), source = STANDING_IN[name], "assumed"
        return self._keep(name, value, source, because)  # type: ignore[arg-type]

    def asked(self, name: str) -> float | None:
        """A figure that nothing stands in for; None where it was not asked for."""
        value = getattr(self.wanted, name)
        return None if value is None else self._keep(name, value, "asked", "")

    def stated(self, name: str, value: float, because: str = "") -> float:
        """A figure of the fixture file."""
        unit = "deg" if name.endswith("_deg") else "mm"
        self.taken[name] = Figure(name, value, unit, IN_FILE, because)
        return value

    def _keep(self, name: str, value: float, source: Source, because: str) -> float:
        field = next(f for f in attrs.fields(Wanted) if f.name == name)
        self.taken[name] = Figure(name, value, info_of(field).unit, source, because)
        return value

    def figures(self, *worked_out: Figure) -> tuple[Figure, ...]:
        """Those that were worked out, then those that they rest on."""
        return (*worked_out, *self.taken.values())
