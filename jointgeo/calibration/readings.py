"""What a person measures on a fixture and on test pieces, as values.

Knows field declarations and the rules of what a reading means; judges nothing
(``checkup``, ``calibrate`` and ``limits`` do).

Turning over. Two pieces are cut at one setting and laid flat, cut ends together, one of
them turned over so that the edges that lay on the fence (or the sides that lay on the
plate) are on one straight edge again. An end that is truly square shows no gap; an end
off by e gapes by twice e: gap = 2 · length · tan e. Which side gapes gives the sign,
since the lower the plane runs into the stock the shorter that side is:

    swivel positive (clockwise): the right-hand side is short and gapes  (back on the plate)
    tilt positive (cut end towards you): the side on the plate is short and gapes
"""

from __future__ import annotations

import attrs
import numpy as np
from numpy.typing import ArrayLike

from jointgeo.errors import InputError, Problem
from jointgeo.fixtures.testcuts import SET_WITH
from jointgeo.geometry.arrays import Array
from jointgeo.schema.fields import angle, choice, count, flag, length, text

__all__ = [
    "AngleReading",
    "CheckUpReadings",
    "CouponReading",
    "CutReadings",
    "GrooveReading",
    "LimitReading",
    "LimitReadings",
    "PlayReading",
    "RailReading",
    "SpacerReading",
    "SpacingReading",
    "SquareReading",
    "StopReading",
    "TurnedOver",
    "turned_over_deg",
]


def turned_over_deg(gap_mm: ArrayLike, length_mm: ArrayLike) -> Array:
    """Error of a cut (degrees) whose two pieces, one turned over, gape by ``gap_mm``.

    length_mm: across the end, from where they touch to where the gap is measured. The gap
    shows the error double. Broadcasts; the sign is that of the gap.
    """
    return np.asarray(np.degrees(np.arctan2(gap_mm, 2 * np.asarray(length_mm, float))))


@attrs.frozen
class TurnedOver:
    """A cut tested by turning one of its two pieces over (see the module's text)."""

    axis: str = choice("Axis the gap tells of", ("swivel", "tilt"))
    cut: str = text("Name of the cut; several places of one cut share its setting", most=40)
    place: str = text("Where along the piece it was measured", most=40, default="middle")
    gap_mm: float = length("Gap as measured", low=0, high=20)
    open_at: str = choice(
        "Side that gapes, as it lay in the fixture (left or right for the swivel, "
        "plate or you for the tilt)",
        ("left", "right", "plate", "you"),
    )
    length_mm: float = length("Across the end, from touching to gap", above=0, high=2000)
    scale_deg: float = angle(
        "What the axis's scale showed, as it is numbered (set by something else: the angle meant); "
        "turning over works near an angle of 0 only",
        low=-540,
        high=540,
    )
    u_mm: float = length("Standard uncertainty of the gap", above=0, high=5, default=0.02)
    set_with: str = choice("What the axis was set with", SET_WITH, default="scale")
    left_out: str | None = text("Why it is not to be used, if so", most=80, default=None)

    def __attrs_post_init__(self) -> None:
        allowed = ("left", "right") if self.axis == "swivel" else ("plate", "you")
        if self.open_at not in allowed:
            says = f"one of {', '.join(allowed)} for the {self.axis}"
            raise InputError(
                Problem("open_at", "is no side this axis gapes at", self.open_at, says)
            )

    @property
    def angle_deg(self) -> float:
        """The true angle of the axis at that setting, signed."""
        sign = 1.0 if self.open_at in ("right", "plate") else -1.0
        return sign * float(turned_over_deg(self.gap_mm, self.length_mm))

    @property
    def u_deg(self) -> float:
        return float(np.degrees(self.u_mm / (2 * self.length_mm)))


@attrs.frozen
class SquareReading:
    """A square stood on the base against a plate, at one side of it."""

    side: str = choice("Side of the plate, as you face it", ("left", "right"))
    gap_mm: float = length("Gap between square and plate", low=0, high=20)
    open_at: str = choice("Where it gapes", ("top", "bottom"))
    height_mm: float = length("From where they touch to the gap", above=0, high=2000)
    u_mm: float = length("Standard uncertainty of the gap", above=0, high=5, default=0.02)

    @property
    def angle_deg(self) -> float:
        """Lean of the plate as a tilt: positive with its lower edge towards you.

        The square stands in front; where it gapes at the top, the plate touches it with
        its lower edge.
        """
        sign = 1.0 if self.open_at == "top" else -1.0
        return sign * float(np.degrees(np.arctan2(self.gap_mm, self.height_mm)))

    @property
    def u_deg(self) -> float:
        return float(np.degrees(self.u_mm / self.height_mm))


@attrs.frozen
class StopReading(SquareReading):
    """The same against the tilting plate with the tilt at its stop."""

    scale_deg: float = angle(
        "What the tilt's scale showed at its stop, as it is numbered", low=-540, high=540
    )


@attrs.frozen
class SpacerReading:
    """The spacers under the two sides of the plate; meant to be alike."""

    left_mm: float = length("Spacer under the left-hand side", low=0)
    right_mm: float = length("Spacer under the right-hand side", low=0)
    u_mm: float = length("Standard uncertainty of each", above=0, high=5, default=0.01)


@attrs.frozen
class RailReading:
    """Heights of the two rails along which the cutter is fed."""

    higher: str = choice("The higher rail, as you face the plate", ("left", "right"))
    difference_mm: float = length("Difference in height", low=0, high=20)
    spacing_mm: float = length("Distance between the rails", above=0)
    u_mm: float = length("Standard uncertainty of the difference", above=0, high=5, default=0.02)

    @property
    def angle_deg(self) -> float:
        """Roll of the fixture as a swivel: a higher left rail turns it clockwise."""
        sign = 1.0 if self.higher == "left" else -1.0
        return sign * float(np.degrees(np.arctan2(self.difference_mm, self.spacing_mm)))

    @property
    def u_deg(self) -> float:
        return float(np.degrees(self.u_mm / self.spacing_mm))


@attrs.frozen
class PlayReading:
    """How far a locked axis gives when it is pushed to and fro by hand."""

    axis: str = choice("Axis that was pushed", ("swivel", "tilt"))
    movement_mm: float = length("Whole movement, from one end to the other", low=0, high=20)
    arm_mm: float = length("From hinge or pivot to where it was measured", above=0)


@attrs.frozen
class _OnOneZero:
    """On which zeros of the axes readings were taken, and whether they were taken anew."""

    swivel_zero: int | None = count(
        "Which zero of the swivel it was made on, if not the one in the fixture's file: one more "
        "each time the zero was moved",
        low=1,
        high=10_000,
        default=None,
    )
    tilt_zero: int | None = count(
        "The same of the tilt, whose stop screws move it", low=1, high=10_000, default=None
    )
    again: bool = flag(
        "These readings were taken anew, though they equal earlier ones", default=False
    )


@attrs.frozen
class CheckUpReadings(_OnOneZero):
    """A check-up of one fixture, in the order in which it is made."""

    date: str = text("When it was made", most=40)
    fixture: str = text("Name of the fixture", most=400)
    across_mm: float = length(
        "Size of stock, across the plate and from plate to you, that must close",
        above=0,
        default=100.0,
    )
    fixed_plate: tuple[SquareReading, ...] = attrs.field(kw_only=True, default=())
    tilt_at_stop: tuple[StopReading, ...] = attrs.field(kw_only=True, default=())
    spacers: SpacerReading | None = attrs.field(kw_only=True, default=None)
    rails: RailReading | None = attrs.field(kw_only=True, default=None)
    play: tuple[PlayReading, ...] = attrs.field(kw_only=True, default=())
    turned_over: tuple[TurnedOver, ...] = attrs.field(kw_only=True, default=())


@attrs.frozen
class AngleReading:
    """An angle measured on a test piece that was cut with the other axis at zero."""

    axis: str = choice("Axis that was set", ("swivel", "tilt"))
    cut: str = text("Name of the cut", most=40)
    scale_deg: float = angle(
        "What the scale showed, as it is numbered (set by something else: the angle meant)",
        low=-540,
        high=540,
    )
    measured_deg: float = angle("Angle found on the piece, signed as the axis", low=-89, high=89)
    u_deg: float = angle(
        "Standard uncertainty of the measurement; a vernier reading to 5′ has 0.024",
        low=0.0001,
        high=5,
        default=0.024,
    )
    set_with: str = choice("What the axis was set with", SET_WITH, default="scale")
    instrument: str | None = text(
        "Instrument whose own error lasts, if it cannot be reversed", most=40, default=None
    )
    instrument_u_deg: float = angle(
        "Standard uncertainty of that; a bevel protractor may have 0.02", low=0, high=5, default=0.0
    )
    left_out: str | None = text("Why it is not to be used, if so", most=80, default=None)


@attrs.frozen
class GrooveReading:
    """A groove cut in one pass: its width is the kerf."""

    name: str = text("Name of the groove", most=40)
    cutter: str = text("Name of the cutter", most=40)
    width_mm: float = length("Width found", above=0, high=500)
    u_mm: float = length("Standard uncertainty of that", above=0, high=5, default=0.02)
    left_out: str | None = text("Why it is not to be used, if so", most=80, default=None)


@attrs.frozen
class SpacingReading:
    """Two grooves, the screw turned one way only between them."""

    name: str = text("Name of the pair", most=40)
    travel_mm: float = length("Travel by the handwheel: turns times the lead in the file", above=0)
    measured_mm: float = length("Found, from a wall to the same wall of the other", above=0)
    u_mm: float = length("Standard uncertainty of that", above=0, high=5, default=0.02)
    left_out: str | None = text("Why it is not to be used, if so", most=80, default=None)


@attrs.frozen
class CouponReading:
    """The coupon of fits: how many of its slots the tongue enters by hand."""

    name: str = text("Name of the coupon", most=40)
    cutter: str = text("Name of the cutter", most=40)
    tongue_mm: float = length("Thickness of the tongue as measured", above=0, high=500)
    widest_mm: float = length("Width the widest slot was set for", above=0, high=500)
    step_mm: float = length("Step from slot to slot", above=0, high=1, default=0.05)
    slots: int = count("Number of slots", low=2, high=100, default=9)
    entered: int = count("How many of them the tongue enters", low=1, high=99)
    u_mm: float = length("Standard uncertainty of the tongue", above=0, high=5, default=0.02)
    left_out: str | None = text("Why it is not to be used, if so", most=80, default=None)

    def __attrs_post_init__(self) -> None:
        if self.entered >= self.slots:
            given, most = f"{self.entered}", f"1 to {self.slots - 1}: make narrower slots"
            raise InputError(Problem("entered", "leaves no slot that is too narrow", given, most))


@attrs.frozen
class CutReadings(_OnOneZero):
    """Test pieces measured, all cut on one fixture."""

    date: str = text("When they were cut", most=40)
    fixture: str = text("Name of the fixture", most=400)
    turned_over: tuple[TurnedOver, ...] = attrs.field(kw_only=True, default=())
    angle: tuple[AngleReading, ...] = attrs.field(kw_only=True, default=())
    groove: tuple[GrooveReading, ...] = attrs.field(kw_only=True, default=())
    spacing: tuple[SpacingReading, ...] = attrs.field(kw_only=True, default=())
    coupon: tuple[CouponReading, ...] = attrs.field(kw_only=True, default=())


@attrs.frozen
class LimitReading:
    """Stock of one thickness, tilted until it just touches the front beam, swivel at zero."""

    thickness_mm: float = length("Thickness of the stock, plate to you", above=0)
    angle_deg: float = angle("Tilt at which it just touches", low=0, high=89)
    u_deg: float = angle("Standard uncertainty of that", low=0.0001, high=10, default=0.5)
    touched: str = choice(
        "What touched: the lower end of the stock on the beam's face, or the stock's front on the "
        "beam's lower edge",
        ("end_on_face", "face_on_edge", "unknown"),
        default="unknown",
    )
    overhang_mm: float | None = length(
        "From the plate's lower edge down to the stock's lower end, along the plate; state it for "
        "every limit or for none, which means that all hung alike",
        low=-5000,
        default=None,
    )


@attrs.frozen
class LimitReadings:
    """Limits observed on a fixture that nobody has measured."""

    date: str = text("When they were observed", most=40, default="not given")
    backing_mm: float = length("Thickness of the backing board", low=0)
    plate_offset_mm: float = length(
        "From the hinge plane to the plate's face, positive in front of the hinge",
        low=-5000,
        default=0.0,
    )
    u_thickness_mm: float = length("Standard uncertainty of a thickness", low=0, default=0.2)
    limit: tuple[LimitReading, ...] = attrs.field(kw_only=True, default=())

    def __attrs_post_init__(self) -> None:
        missing = [i for i, r in enumerate(self.limit) if r.overhang_mm is None]
        if missing and len(missing) < len(self.limit):
            message, says = "is given for some limits only", "a length for every limit, or for none"
            raise InputError(Problem(f"limit[{missing[0]}].overhang_mm", message, None, says))
