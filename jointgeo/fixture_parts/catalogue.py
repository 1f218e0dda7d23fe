"""Every part that can be worked out from a fixture file, by name.

Knows the parts' makers. What cannot be made for want of a figure, or because the fixture has no
such axis, is left out with the reason; that is no error unless it was asked for by name.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import attrs

from jointgeo.errors import InputError, shown
from jointgeo.fixture_parts.beam import beam_cut_away
from jointgeo.fixture_parts.hinge import hinge_gap
from jointgeo.fixture_parts.model import FixturePart
from jointgeo.fixture_parts.quadrant import tilt_quadrant
from jointgeo.fixture_parts.spacer import traverse_spacer
from jointgeo.fixture_parts.sweeps import swept_by_tilt
from jointgeo.fixture_parts.swivel import swivel_slots
from jointgeo.fixture_parts.wanted import Facts, Wanted
from jointgeo.fixture_parts.wedge import wedge_pairs
from jointgeo.fixtures.model import Fixture

__all__ = ["PARTS", "Maker", "Parts", "fixture_part", "fixture_parts"]


@attrs.frozen
class Maker:
    """says: what the part is. axis: which axis it belongs to, "" for none."""

    make: Callable[[Facts], FixturePart]
    says: str
    axis: str = ""


PARTS: dict[str, Maker] = {
    "swivel_slots": Maker(swivel_slots, "arc slots in which the fence is locked", "swivel"),
    "tilt_quadrant": Maker(tilt_quadrant, "slotted quadrant in which the tilt is locked", "tilt"),
    "hinge_gap": Maker(hinge_gap, "room behind the plate, and where the fixed part ends", "tilt"),
    "beam_cut_away": Maker(beam_cut_away, "front beam cut away for stock of one size", "tilt"),
    "swept": Maker(swept_by_tilt, "outlines of all that swings with the plate", "tilt"),
    "traverse_spacer": Maker(traverse_spacer, "spacer that levels the traverse"),
    "wedges": Maker(wedge_pairs, "wedge pairs for angles that no axis gives"),
}


@attrs.frozen
class Parts:
    """fixture: its name. left_out: why a part is not here, by its name."""

    fixture: str
    parts: tuple[FixturePart, ...]
    left_out: dict[str, str]

    def to_dict(self) -> dict[str, Any]:
        return {
            "fixture": self.fixture,
            "parts": [p.to_dict() for p in self.parts],
            "left_out": dict(self.left_out),
        }


def fixture_part(fixture: Fixture, kind: str, wanted: Wanted | None = None) -> FixturePart:
    """One part by its name; InputError where it cannot be made."""
    maker = PARTS.get(kind)
    if maker is None:
        allowed = "one of " + ", ".join(f'"{name}"' for name in PARTS)
        raise InputError.of("part", "is no part of a fixture", shown(kind), allowed)
    if maker.axis and {"swivel": fixture.swivel, "tilt": fixture.tilt}[maker.axis].lacking:
        message = f"belongs to the {maker.axis}, which the fixture lacks"
        raise InputError.of(
            "part", message, shown(kind), f"a fixture whose file has [{maker.axis}]"
        )
    return maker.make(Facts(fixture, wanted or Wanted()))


def fixture_parts(
    fixture: Fixture, wanted: Wanted | None = None, kinds: Sequence[str] = ()
) -> Parts:
    """The parts of those names, or every one that can be made."""
    if kinds:
        return Parts(fixture.name, tuple(fixture_part(fixture, k, wanted) for k in kinds), {})
    made, left = [], {}
    for kind in PARTS:
        try:
            made.append(fixture_part(fixture, kind, wanted))
        except InputError as why:
            left[kind] = str(why)
    return Parts(fixture.name, tuple(made), left)
