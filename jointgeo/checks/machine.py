"""Can the machine reach it: axes, travel, height, depth, feed, cutter.

Knows one setup on one fixture (``context``); nothing about what may be struck.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import atan, cos, degrees, isfinite, radians, sin, tan

import attrs

from jointgeo.checks.context import Context
from jointgeo.geometry.clearance import BOX_EDGES, extent_in_slab
from jointgeo.joints.check import Check, Remedy, at_least, at_most
from jointgeo.joints.sides import in_words, opposite

__all__ = ["machine_checks"]


def machine_checks(context: Context) -> Iterator[Check]:
    """Every check of this file for one setup."""
    yield from _axes(context)
    yield _packing(context)
    yield _clamp(context)
    yield _plate(context)
    yield _traverse(context)
    yield _height(context)
    yield from _cutter(context)
    yield _feed(context)


def _axes(context: Context) -> Iterator[Check]:
    chosen, fixture = context.setup.chosen, context.fixture
    for name, value, axis in (
        ("swivel", chosen.swivel_deg, fixture.swivel),
        ("tilt", chosen.tilt_deg, fixture.tilt),
    ):
        because = f"the {name} goes from {axis.min_deg:g}° to {axis.max_deg:g}°"
        if axis.max_deg - value <= value - axis.min_deg:
            check = at_most(f"{name}_range", value, axis.max_deg, "deg", because)
        else:
            check = at_least(f"{name}_range", value, axis.min_deg, "deg", because)
        if check.status == "fail":
            check = attrs.evolve(check, remedies=tuple(_axis_remedies(context, name, check)))
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


def _axis_remedies(context: Context, name: str, check: Check) -> Iterator[Remedy]:
    excess = -check.margin
    limit = check.limit
    says = f"an angle that asks for a {name} no further out than {limit:g}°"
    yield Remedy("lessen_angle", says, {f"{name}_deg": limit})
    for other in context.setup.candidates:
        if other is not context.setup.chosen and other.in_range:
            yield Remedy("turn_stock", "another side on the plate is inside both ranges")
    yield _wedge_pair(context, name, excess, above=context.setup.chosen.tilt_deg > limit)
    yield Remedy(
        "other_fixture",
        f"otherwise a fixture made for this angle, {abs(check.value):.2f}°",
        {f"{name}_deg": check.value},
    )


def _wedge_pair(context: Context, name: str, excess_deg: float, above: bool) -> Remedy:
    """Wedge and counter-wedge that take up what the axis cannot give."""
    fixture, sides = context.fixture, context.sides
    if name == "tilt":
        side, thick_at = sides["plate"], "the cut end" if above else "the far end"
    else:
        side = sides[fixture.fence.side]
        clockwise = context.setup.chosen.swivel_deg > 0
        thick_at = "the far end" if clockwise == (fixture.fence.side == "left") else "the cut end"
    long = min(fixture.plate.height_mm, context.plan.blank_mm)
    thin = fixture.practice.wedge_thin_mm
    thick = thin + long * tan(radians(excess_deg))
    # The pair's outer faces are parallel; the stock between them is crossed aslant.
    aslant = context.deep_mm / cos(radians(excess_deg))
    opening = fixture.backing.thickness_mm + thin + thick + aslant
    fits = name == "swivel" or opening <= fixture.clamp.opening_mm
    says = (
        f"a wedge of {excess_deg:.3f}°, {long:.1f} mm long, {thin:.1f} mm to {thick:.1f} mm high, "
        f"on the {in_words(side)} with its thick end at {thick_at}, and a counter-wedge of the "
        f"same size the other way round on the {in_words(opposite(side))}"
    )
    swivel = context.setup.chosen.swivel_deg
    amounts: dict[str, float] = {}
    if name == "tilt" and swivel != 0:
        # Upright on the plate a wedge adds tilt alone, but the fence stands square to the plate
        # and not to the wedge: their planes meet along the grain at another swivel.
        swivel = degrees(atan(tan(radians(swivel)) / cos(radians(excess_deg))))
        says += f"; both upright on the plate, not along the stock, and the swivel at {swivel:.3f}°"
        amounts["swivel_deg"] = swivel
    if not fits:
        says += (
            f"; it takes {opening:.1f} mm, more than the clamp's {fixture.clamp.opening_mm:g} mm"
        )
    return Remedy(
        "wedge_pair",
        says,
        {
            "wedge_deg": excess_deg,
            "length_mm": long,
            "thin_mm": thin,
            "thick_mm": thick,
            "side": side,
            "thick_end_at": thick_at.removeprefix("the "),
            "counter_wedge_side": opposite(side),
            "opening_mm": opening,
            "fits_clamp": fits,
            **amounts,
        },
    )


def _packing(context: Context) -> Check:
    kappa = context.setup.chosen.packing_deg
    error = context.deep_mm * tan(radians(abs(kappa)))
    check = at_most(
        "packing",
        abs(kappa),
        0.0,
        "deg",
        "swivel and tilt alone make this cut"
        if kappa == 0
        else f"swivel and tilt alone leave {error:.3f} mm of error over the feed",
        short="caution",
    )
    if kappa == 0:
        return check
    thick_side = context.sides["left" if kappa > 0 else "right"]
    thin = context.fixture.practice.wedge_thin_mm
    thick = context.packing_mm
    plate, you = context.sides["plate"], context.sides["you"]
    says = (
        f"a wedge under the {in_words(plate)}, {context.wide_mm:.1f} mm across the "
        f"stock, {thin:.2f} mm to {thick:.2f} mm high, thick along the {in_words(thick_side)}, and "
        f"a counter-wedge of the same size on the {in_words(you)}, thick along the "
        f"{in_words(opposite(thick_side))}"
    )
    amounts = {
        "wedge_deg": abs(kappa),
        "length_mm": context.wide_mm,
        "thin_mm": thin,
        "thick_mm": thick,
        "side": plate,
        "thick_end_at": thick_side,
        "counter_wedge_side": you,
        "error_if_ignored_mm": error,
    }
    return attrs.evolve(check, remedies=(Remedy("wedge_pair", says, amounts),))


def _clamp(context: Context) -> Check:
    fixture = context.fixture
    turn = radians(abs(context.setup.chosen.packing_deg))
    # The turned stock's whole depth, and the thin ends of wedge and counter-wedge.
    turned = context.deep_mm * cos(turn) + context.wide_mm * sin(turn)
    value = fixture.backing.thickness_mm + turned + context.thin_ends_mm
    check = at_most(
        "clamp_opening",
        value,
        fixture.clamp.opening_mm,
        "mm",
        "backing, packing and stock must go into the clamp together",
    )
    if check.status == "fail":
        says = f"a clamp that opens {value:.1f} mm"
        remedies = [Remedy("wider_clamp", says, {"opening_mm": value})]
        most = context.deep_mm + check.margin / cos(turn)
        if most > 0:
            says = f"stock no thicker than {most:.1f} mm from plate to you"
            remedies.insert(0, Remedy("thinner_stock", says, {"thickness_mm": most}))
        return attrs.evolve(check, remedies=tuple(remedies))
    return check


def _plate(context: Context) -> Check:
    """The stock's reach to either side, over the height of the plate, as it is swivelled."""
    fixture, chosen = context.fixture, context.setup.chosen
    clamped = chosen.clamped
    untilted = [clamped.untilted(p) for p in clamped.stock_corners]
    left, right = extent_in_slab(untilted, BOX_EDGES, 0, 2, 0.0, fixture.plate.height_mm)
    reach = max(-left, right) if isfinite(left) else 0.0
    return at_most(
        "plate_width",
        reach,
        fixture.plate.width_mm / 2,
        "mm",
        "the swivelled stock must lie on the plate, measured from its middle",
    )


def _traverse(context: Context) -> Check:
    fixture, setup = context.fixture, context.setup
    low, high = setup.travel_x_mm
    because = "every pass, the trim and the touch-off must lie within the traverse"
    axis = fixture.traverse
    if axis.max_mm - high <= low - axis.min_mm:
        check = at_most("traverse_travel", high, axis.max_mm, "mm", because)
    else:
        check = at_least("traverse_travel", low, axis.min_mm, "mm", because)
    span = high - low
    if check.status == "fail" and span <= axis.max_mm - axis.min_mm:
        # The stock slides along the moved fence to keep its overhang, so it goes further.
        slant = cos(radians(setup.chosen.swivel_deg))
        by = -check.margin * slant * (-1 if check.value > check.limit else 1)
        says = f"the fence moved by {by:.1f} mm (positive: to the right)"
        return attrs.evolve(check, remedies=(Remedy("move_fence", says, {"fence_by_mm": by}),))
    return check


def _height(context: Context) -> Check:
    scale = context.fixture.cutter_height
    low = context.end_z_mm - scale.datum_z_mm
    high = low + context.setup.depth_mm
    because = f"heights above the {scale.datum} go from {scale.min_mm:g} to {scale.max_mm:g} mm"
    if scale.max_mm - high <= low - scale.min_mm:
        return at_most("cutter_height", high, scale.max_mm, "mm", because)
    return at_least("cutter_height", low, scale.min_mm, "mm", because)


def _cutter(context: Context) -> Iterator[Check]:
    setup = context.setup
    cutter = setup.cutter
    deepest = max(setup.depth_mm, setup.trim_mm)
    check = at_most(
        "cutter_reach",
        deepest,
        cutter.reach_mm,
        "mm",
        f"{cutter.name} cuts {cutter.reach_mm:g} mm deep before its hub touches; the trim counts",
    )
    longer = [c for c in context.fixture.cutter if c.reach_mm >= deepest]
    if check.status == "fail":
        remedies = tuple(
            Remedy("other_cutter", f"{c.name} reaches {c.reach_mm:g} mm", {"cutter": c.name})
            for c in longer
        ) or (
            Remedy(
                "longer_cutter",
                f"a cutter that reaches {deepest:.1f} mm",
                {"reach_mm": deepest},
            ),
        )
        check = attrs.evolve(check, remedies=remedies)
    yield check
    if setup.narrowest_mm is not None:
        fits = at_least(
            "socket_width",
            setup.narrowest_mm,
            cutter.kerf_mm,
            "mm",
            f"the narrowest channel must take {cutter.name}",
        )
        if fits.status == "fail":
            says = f"a cutter no wider than {setup.narrowest_mm:.2f} mm, or a wider channel"
            remedy = Remedy("narrower_cutter", says, {"kerf_mm": setup.narrowest_mm})
            fits = attrs.evolve(fits, remedies=(remedy,))
        yield fits


def _feed(context: Context) -> Check:
    """The stroke from clear before the wood to clear behind it, over the cutter's chord."""
    feed = context.fixture.feed
    low, high = context.stroke
    because = (
        f"the cutter reaches {context.chord_mm:.1f} mm beyond its centre along the feed and must "
        "start and end clear of the wood"
    )
    if feed.max_mm - high <= low - feed.min_mm:
        return at_most("feed_travel", high, feed.max_mm, "mm", because)
    return at_least("feed_travel", low, feed.min_mm, "mm", because)
