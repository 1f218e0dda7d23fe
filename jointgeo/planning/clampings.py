"""The ways to clamp one frame on one fixture, and which of them is tried first.

Knows the fixture, orientation and stand; no cutter, no pass and no verdict.

Theory. Of the two clampings of a frame (see ``orientation``) the preferred one lies in both
axes' ranges (or least far out), then needs least packing, then leaves most room to the front
beam, then has least tilt, then least swivel; last, marked sides go on plate and fence.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cached_property

import attrs

from jointgeo.fixtures.model import Fixture
from jointgeo.joints.sides import clamped_sides
from jointgeo.joints.stock import Part, StockNotch
from jointgeo.planning.clamped_stock import ClampedStock, axis_margins, clamp_stock, front_gap
from jointgeo.planning.orientation import SENSES, Clamping, clamping

__all__ = ["Candidate", "both_clampings", "in_order"]


@attrs.frozen(eq=False)
class Candidate:
    """One clamping. stands: how it stands on the fixture, worked out when it is first asked for."""

    sense: float
    side: int
    swivel_deg: float
    tilt_deg: float
    packing_deg: float
    degenerate: bool
    swivel_room_deg: float
    tilt_room_deg: float
    stands: Standing = attrs.field(repr=False)

    @property
    def clamped(self) -> ClampedStock:
        """The stock as clamped."""
        return self.stands.clamped

    @property
    def gap_mm(self) -> float | None:
        """Room to the fitted front beam, None where none is near."""
        return self.stands.gap_mm

    @property
    def in_range(self) -> bool:
        return self.swivel_room_deg >= -1e-9 and self.tilt_room_deg >= -1e-9

    @property
    def out_of(self) -> tuple[str, ...]:
        """The axes, "swivel" and "tilt", whose range does not hold it."""
        rooms = (("swivel", self.swivel_room_deg), ("tilt", self.tilt_room_deg))
        return tuple(axis for axis, room in rooms if room < -1e-9)


@attrs.frozen(eq=False)
class Standing:
    """How a clamping stands on the fixture. blank: the blank's length; cut: depth of trim and
    deepest cut together (mm). Worked out when asked: most clampings are told apart by angles."""

    part: Part
    fixture: Fixture
    blank: float
    cut: float
    turned: Clamping
    packing_deg: float

    @cached_property
    def clamped(self) -> ClampedStock:
        """The stock as clamped."""
        return clamp_stock(
            self.fixture,
            self.part.width_mm,
            self.part.thickness_mm,
            self.blank,
            self.turned.swivel_deg,
            self.turned.tilt_deg,
            self.packing_deg,
            self.turned.side,
            cut_above_lowest_mm=self.cut,
        )

    @cached_property
    def gap_mm(self) -> float | None:
        """Room to the fitted front beam, None where none is near."""
        beams = self.fixture.fitted_beams
        gap = min([front_gap(b, self.clamped) for b in beams], default=math.inf)
        return gap if math.isfinite(gap) else None


def both_clampings(
    part: Part, fixture: Fixture, blank: float, cut: float, notch: StockNotch
) -> tuple[Candidate, ...]:
    """Both clampings of one frame, stood on the fixture."""
    both = [clamping(notch.rows, sense) for sense in SENSES]
    # Rounding of a frame that needs no packing is 1e-14°; a wedge of 1e-9° is none.
    square = all(abs(c.packing_deg) < 1e-9 for c in both)
    packing = [0.0 if square else c.packing_deg for c in both]
    return tuple(
        Candidate(
            sense,
            c.side,
            c.swivel_deg,
            c.tilt_deg,
            kappa,
            c.degenerate,
            *axis_margins(fixture, c.swivel_deg, c.tilt_deg),
            Standing(part, fixture, blank, cut, c, kappa),
        )
        for sense, c, kappa in zip(SENSES, both, packing, strict=True)
    )


def in_order(candidates: Sequence[Candidate], part: Part, fixture: Fixture) -> list[Candidate]:
    """The preferred first. Where angles alone tell them apart, no more is worked out."""
    fits = {_fit(c) for c in candidates}
    if len(fits) == len(candidates):
        return sorted(candidates, key=_fit)
    return sorted(candidates, key=lambda c: _preference(c, part, fixture))


def _fit(c: Candidate) -> tuple[float, float]:
    """What the preference goes by first; least is best."""
    outside = max(0.0, -c.swivel_room_deg) + max(0.0, -c.tilt_room_deg)
    # Rounded, so that rounding of the arithmetic does not choose between two that are alike.
    return round(outside, 9), round(abs(c.packing_deg), 9)


def _preference(c: Candidate, part: Part, fixture: Fixture) -> tuple[float, ...]:
    """Least is best. Marked sides on plate and fence decide only where all else is equal: room
    to the beam comes before them, since it is what makes a cut possible at all."""
    sides = clamped_sides(c.side, part.x_from)
    marked = {"face_side", "face_edge"}
    unmarked = (sides["plate"] not in marked) + (sides[fixture.fence.side] not in marked)
    gap = 1e9 if c.gap_mm is None else c.gap_mm
    return (
        *_fit(c),
        -round(gap, 9),
        round(abs(c.tilt_deg), 9),
        round(abs(c.swivel_deg), 9),
        float(unmarked),
        float(c.side),
    )
