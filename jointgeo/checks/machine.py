"""Can the machine reach it: travel, height, depth, feed, cutter.

Knows one setup on one fixture (``context``); nothing about what may be struck.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import cos, isfinite, radians, sin

import attrs

from jointgeo.checks.axes import axis_checks, said
from jointgeo.checks.context import Context
from jointgeo.fixtures.wedging import held, wedge
from jointgeo.geometry.clearance import BOX_EDGES, extent_in_slab
from jointgeo.joints.check import Check, Remedy, at_least, at_most
from jointgeo.planning.packing import PAPER_MM, packing_of

__all__ = ["machine_checks", "plate_extent_mm"]


def machine_checks(context: Context) -> Iterator[Check]:
    """Every check of this file for one setup."""
    yield from axis_checks(context)
    yield _packing(context)
    yield _clamp(context)
    yield _plate(context)
    yield _traverse(context)
    yield _height(context)
    yield from _cutter(context)
    yield _feed(context)


def _packing(context: Context) -> Check:
    kappa = context.setup.chosen.packing_deg
    plate, you = context.sides["plate"], context.sides["you"]
    thick_side = context.sides["left" if kappa > 0 else "right"]
    thin = context.fixture.practice.wedge_thin_mm
    found = packing_of(kappa, context.wide_mm, context.deep_mm, thin, thick_side)
    error = found.error_if_ignored_mm
    check = at_most(
        "packing",
        abs(kappa),
        0.0,
        "deg",
        "swivel and tilt alone make this cut"
        if kappa == 0
        else f"swivel and tilt alone leave {said(error, ' mm')} of error over the feed",
        short="caution",
    )
    if kappa == 0:
        return check
    over = f"over the feed of {context.deep_mm:.1f} mm"
    at = {"side": plate, "thick_end_at": thick_side, "error_if_ignored_mm": error}
    if found.slips == 0:
        says = f"{found.paper}: the cut is then {said(error, ' mm')} off {over}"
        remedy = Remedy("leave_it", says, {"error_if_ignored_mm": error})
    elif found.slips is not None:
        left = found.left_mm
        says = f"{found.what(plate, _mm)}: that leaves {said(left, ' mm')} {over}"
        paper = {"slips": found.slips, "slip_mm": PAPER_MM, "left_mm": left}
        remedy = Remedy("paper", says, {**paper, **at})
    else:
        thick = context.packing_mm
        says = found.what(plate, _mm)
        wedge = {"length_mm": context.wide_mm, "thin_mm": thin, "thick_mm": thick}
        amounts = {"wedge_deg": abs(kappa), **wedge, "counter_wedge_side": you, **at}
        remedy = Remedy("wedge_pair", says, amounts)
    return attrs.evolve(check, remedies=(remedy,))


def _mm(value: float) -> str:
    return f"{value:.2f} mm"


def _clamp(context: Context) -> Check:
    fixture = context.fixture
    turn = radians(abs(context.setup.chosen.packing_deg))
    # The turned stock's whole depth, and the thin ends of wedge and counter-wedge.
    turned = context.deep_mm * cos(turn) + context.wide_mm * sin(turn)
    chosen = context.setup.chosen
    behind = held(fixture, chosen.swivel_deg, chosen.tilt_deg).behind_deg
    value = fixture.backing.thickness_mm + turned + context.thin_ends_mm
    if behind:  # crossed aslant, between a wedge and its counter-wedge
        value = value / cos(radians(behind)) + wedge(fixture, behind).together_mm
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


def plate_extent_mm(context: Context) -> tuple[float, float]:
    """Where the stock reaches to left and right over the height of the plate, as it is swivelled,
    from the plate's middle; (inf, -inf) where none of it lies there."""
    clamped = context.setup.chosen.clamped
    untilted = [clamped.untilted(p) for p in clamped.stock_corners]
    return extent_in_slab(untilted, BOX_EDGES, 0, 2, 0.0, context.fixture.plate.height_mm)


def _plate(context: Context) -> Check:
    left, right = plate_extent_mm(context)
    reach = max(-left, right) if isfinite(left) else 0.0
    return at_most(
        "plate_width",
        reach,
        context.fixture.plate.width_mm / 2,
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
