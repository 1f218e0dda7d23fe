"""Can both axes be set to it, and what takes up what one of them cannot give.

Knows one setup on one fixture (``context``); no other limit of the machine.

Theory. An axis must reach the true angle, and where a correction was found its scale must reach
the figure that it has to show for it; the worse of the two is judged. What then is wanting is what
the remedies are for: less than a scale is set to is left; a wedge that would hardly rise is left,
with its cost, or is paper; what a stack of wedges or the clamp cannot take is no wedge at all.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import cos, radians, tan

import attrs

from jointgeo.checks.context import Context
from jointgeo.fixtures.indication import (
    SETTABLE_DEG,
    Room,
    contradicted,
    range_room,
    scale_room,
    true_deg,
)
from jointgeo.fixtures.wedging import (
    MOST_WEDGES,
    STEEPEST_WEDGE_DEG,
    fence_deg,
    held,
    most_wedge_deg,
)
from jointgeo.joints.check import Check, Remedy, at_least, at_most
from jointgeo.joints.sides import in_words, opposite
from jointgeo.planning.packing import LEAST_RISE_MM, PAPER_MM, slip_words, slips
from jointgeo.schema.units import fixed

__all__ = ["axis_checks", "said"]


def axis_checks(context: Context) -> Iterator[Check]:
    """The range of both axes, and whether they can be told apart."""
    chosen, fixture = context.setup.chosen, context.fixture
    held_at = held(fixture, chosen.swivel_deg, chosen.tilt_deg)
    for name, angle, axis in (
        ("swivel", held_at.swivel_set_deg, fixture.swivel),
        ("tilt", chosen.tilt_deg, fixture.tilt),
    ):
        if axis.lacking:
            yield _by_wedge(context, name, angle)
            continue
        because = f"the {name} goes from {axis.min_deg:g}° to {axis.max_deg:g}°"
        room, scale = range_room(fixture, name, angle), scale_room(fixture, name, angle)
        # What contradicting test cuts say of a scale is no figure to judge by.
        if scale.room_deg < room.room_deg and not contradicted(fixture, name):
            room = scale
            figure, wanted = fixed(scale.value_deg, 3), fixed(angle, 3)
            because += f" on its scale, which with its correction must show {figure}° for {wanted}°"
        compare = at_most if room.above else at_least
        # A scale that just cannot show its correction leaves the axis at its end: what that gaps
        # over the stock is judged by the glue line, like every other gap.
        size = context.deep_mm if name == "tilt" else context.wide_mm
        gaps = size * tan(radians(min(max(-room.room_deg, 0.0), STEEPEST_WEDGE_DEG)))
        left = room is scale and gaps <= fixture.practice.glue_line_mm
        check = compare(
            f"{name}_range",
            room.value_deg,
            room.limit_deg,
            "deg",
            because,
            short="caution" if left else "fail",
        )
        if check.status != "pass":
            check = attrs.evolve(check, remedies=tuple(_remedies(context, name, angle, room)))
        yield check
    if chosen.degenerate:
        yield at_most(
            "gimbal_lock",
            abs(chosen.swivel_deg),
            89.9,
            "deg",
            "at a swivel of 90° tilt and packing turn about one line and are not determined "
            "one by one; compare the clamped stock with the drawing, not the angles",
            short="caution",
        )


def _by_wedge(context: Context, name: str, angle_deg: float) -> Check:
    """Whether wedges give what there is no axis for."""
    most = most_wedge_deg(context.fixture)
    because = (
        f"the fixture has no {name}; wedges give it, up to {most:.1f}° with {MOST_WEDGES} of "
        f"{context.fixture.aids.wedge_stock_mm:g} mm in a stack (our choice)"
    )
    check = at_most(f"{name}_range", abs(angle_deg), most, "deg", because)
    if check.status == "pass":
        return check
    says = f"an angle that asks for a {name} of {most:.3f}° or less"
    other = f"otherwise a fixture with a {name}, for {abs(angle_deg):.2f}°"
    remedies = (
        Remedy("lessen_angle", says, {f"{name}_deg": most}),
        Remedy("other_fixture", other, {f"{name}_deg": angle_deg}),
    )
    return attrs.evolve(check, remedies=remedies)


def said(value: float, unit: str) -> str:
    """An amount without sign, to three decimals; what would print as none is less than 0.001."""
    return f"{value:.3f}{unit}" if value >= 0.0005 else f"less than 0.001{unit}"


def _remedies(context: Context, name: str, angle_deg: float, room: Room) -> Iterator[Remedy]:
    # The furthest true angle that both the axis and its scale reach.
    ends = room.limit_deg, true_deg(context.fixture, name, room.limit_deg)
    limit = min(ends) if room.above else max(ends)
    excess = abs(angle_deg - limit)
    taken_up = tuple(_taken_up(context, name, excess, room))
    if taken_up and taken_up[0].do == "leave_at_stop":
        yield from taken_up
    says = f"an angle that asks for a {name} no further out than {limit:g}°"
    if limit and (limit > 0) != room.above:  # a scale that ends before its zero does
        says = (
            f"an angle that asks for a {name} of {limit:g}° or {'less' if room.above else 'more'}"
        )
    yield Remedy("lessen_angle", says, {f"{name}_deg": limit})
    for other in context.setup.candidates:
        angles = (("swivel", other.swivel_deg), ("tilt", other.tilt_deg))
        shows = not any(scale_room(context.fixture, n, a).beyond for n, a in angles)
        if other is not context.setup.chosen and other.in_range and shows:
            yield Remedy("turn_stock", "another side on the plate is inside both ranges")
    if taken_up and taken_up[0].do == "leave_at_stop":
        return  # nobody makes a fixture for so little
    yield from taken_up
    yield Remedy(
        "other_fixture",
        f"otherwise a fixture made for this angle, {abs(angle_deg):.2f}°",
        {f"{name}_deg": angle_deg},
    )


def _taken_up(context: Context, name: str, excess_deg: float, room: Room) -> Iterator[Remedy]:
    """What takes up what the axis cannot give: nothing, paper, or wedge and counter-wedge; no
    remedy where no wedge can. Where paper would do, what it is to leave it is said first."""
    fixture, sides = context.fixture, context.sides
    if name == "tilt":
        side, thick_at, size = sides["plate"], "far end", context.deep_mm
        if room.above:
            thick_at = "cut end"
    else:
        side, size = sides[fixture.fence.side], context.wide_mm
        thick_at = "far end" if room.above == (fixture.fence.side == "left") else "cut end"
    long = min(fixture.plate.height_mm, context.plan.blank_mm)
    slope = tan(radians(min(excess_deg, STEEPEST_WEDGE_DEG)))
    rise = long * slope
    if excess_deg < SETTABLE_DEG or rise < LEAST_RISE_MM:
        yield _left(context, name, excess_deg, room, size)
        number = slips(rise) if excess_deg >= SETTABLE_DEG else 0
        if number:
            left = size * abs(slope - number * PAPER_MM / long)
            yield _paper(number, long, side, thick_at, left)
        return
    most = MOST_WEDGES * (fixture.aids.wedge_stock_mm - fixture.practice.wedge_thin_mm)
    if excess_deg < STEEPEST_WEDGE_DEG and rise <= most:
        yield from _wedge_pair(context, name, excess_deg, side, thick_at)


def _left(context: Context, name: str, excess_deg: float, room: Room, size_mm: float) -> Remedy:
    """size_mm: the part's size across which the angle opens."""
    axis = context.fixture.swivel if name == "swivel" else context.fixture.tilt
    stop, gap = axis.figure_deg(room.limit_deg), size_mm * tan(radians(excess_deg))
    says = (
        f"leave the {name} at its stop, {stop:g}° on its scale: that is "
        f"{said(excess_deg, '°')} off, "
        f"{said(gap, ' mm')} over the part's {size_mm:.1f} mm"
    )
    amounts = {"scale_deg": stop, "left_deg": excess_deg, "left_mm": gap, "over_mm": size_mm}
    return Remedy("leave_at_stop", says, amounts)


def _paper(number: int, long_mm: float, side: str, thick_at: str, left_mm: float) -> Remedy:
    bears = "far end" if thick_at == "cut end" else "cut end"
    says = (
        f"{slip_words(number)} on the {in_words(side)} at the {thick_at}, {long_mm:.1f} mm from "
        f"where the stock bears at the {bears}; that leaves {said(left_mm, ' mm')}"
    )
    amounts = {
        "slips": number,
        "slip_mm": PAPER_MM,
        "distance_mm": long_mm,
        "side": side,
        "thick_end_at": thick_at,
        "left_mm": left_mm,
    }
    return Remedy("paper", says, amounts)


def _wedge_pair(
    context: Context, name: str, excess_deg: float, side: str, thick_at: str
) -> Iterator[Remedy]:
    """Wedge and counter-wedge; none where the clamp does not take them."""
    fixture = context.fixture
    long = min(fixture.plate.height_mm, context.plan.blank_mm)
    thin = fixture.practice.wedge_thin_mm
    thick = thin + long * tan(radians(excess_deg))
    # The pair's outer faces are parallel; the stock between them is crossed aslant.
    aslant = context.deep_mm / cos(radians(excess_deg))
    opening = fixture.backing.thickness_mm + thin + thick + aslant
    if name == "tilt" and opening > fixture.clamp.opening_mm:
        return
    says = (
        f"a wedge of {excess_deg:.3f}°, {long:.1f} mm long, {thin:.1f} mm to {thick:.1f} mm high, "
        f"on the {in_words(side)} with its thick end at the {thick_at}, and a counter-wedge of the "
        f"same size the other way round on the {in_words(opposite(side))}"
    )
    swivel = context.setup.chosen.swivel_deg
    amounts: dict[str, float] = {}
    if name == "tilt" and swivel != 0:
        # Upright on the plate a wedge adds tilt alone, but the fence stands square to the plate
        # and not to the wedge: their planes meet along the grain at another swivel.
        swivel = fence_deg(swivel, excess_deg)
        says += f"; both upright on the plate, not along the stock, and the swivel at {swivel:.3f}°"
        amounts["swivel_deg"] = swivel
    yield Remedy(
        "wedge_pair",
        says,
        {
            "wedge_deg": excess_deg,
            "length_mm": long,
            "thin_mm": thin,
            "thick_mm": thick,
            "side": side,
            "thick_end_at": thick_at,
            "counter_wedge_side": opposite(side),
            "opening_mm": opening,
            **amounts,
        },
    )
