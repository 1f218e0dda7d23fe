"""What this setup does to hands and to loose pieces, from its own numbers.

Knows one setup on one fixture (``context``); judges nothing, and says nothing that does not hold
for this very setup: what holds for every machine is said once elsewhere.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise, takewhile

from jointgeo.checks.context import Context
from jointgeo.checks.cutting import climbs
from jointgeo.checks.holding import clamp_need_n, clamps_met, held_mm, holding_checks
from jointgeo.joints.sides import in_words
from jointgeo.planning.blank import corner_points, end_pieces

__all__ = ["setup_cautions"]

FINGER_MM = 25.0  # ISO 13854, least gap that does not crush a finger; from memory
SHARP_DEG = 80.0  # our choice: an edge no blunter than this breaks out


def setup_cautions(context: Context) -> tuple[str, ...]:
    """Sentences with this setup's numbers, none where there is nothing to say."""
    return (
        *_held(context),
        *_disc(context),
        *_loose(context),
        *_turning(context),
        *_sharp(context),
        *_gap(context),
    )


def _held(context: Context) -> Iterator[str]:
    """Stock that is held less than wanted: too little on the plate, a clamp that does not meet it
    or does not press enough."""
    met, high = clamps_met(context), max(0.0, held_mm(context))
    reaches = f"the stock, which lies on the plate up to {high:.1f} mm above its lower edge"
    for check in holding_checks(context):
        if check.status not in ("caution", "fail"):
            continue
        if check.name == "held_length":
            yield (
                f"only {high:.1f} mm of the stock's length lie on the plate where "
                f"{check.limit:.1f} mm should: it may tip"
            )
        elif check.name == "clamp_contact" and met:
            yield f"the upper clamp, at {check.limit:g} mm, does not meet {reaches}"
        elif check.name == "clamp_contact":
            lowest = context.fixture.clamp.at_mm[0]
            yield f"the clamp, at {lowest:g} mm, does not meet {reaches}: nothing holds it"
        elif check.name == "clamp_force":
            yield (
                f"the clamp presses with {check.value:.0f} N where {check.limit:.0f} N are needed: "
                "the cutter may move the stock"
            )


def _disc(context: Context) -> Iterator[str]:
    """How far a disc's rim stands out of the wood at either end of the stroke."""
    cutter = context.setup.cutter
    if cutter.kind != "disc":
        return
    near, far = context.stroke
    radius, corners = cutter.diameter_mm / 2, context.setup.chosen.clamped.stock_corners
    behind = far + radius - context.fixture.plate.thickness_mm
    before = min([y for _, y, _ in corners]) - (near - radius)
    ends = {"behind the plate": behind, "in front of the stock": before}
    towards = context.fixture.feed.sense == "towards_plate"
    for place, out in ends.items():
        when = "after" if towards == (place == "behind the plate") else "before"
        if out > 0:
            yield (
                f"{when} each pass {cutter.name} stands out up to {out:.0f} mm {place}: no hand "
                "and nobody there while it turns"
            )


def _loose(context: Context) -> Iterator[str]:
    """Wood so thin that it breaks off, and where it then lies."""
    setup, least = context.setup, context.fixture.practice.wall_mm
    cuts = setup.cuts
    if not cuts:
        return
    deep = {"left": cuts[0].depth_mm, "right": cuts[-1].depth_mm}
    for side, wall in _walls(context).items():
        if not 0 < wall < least:
            continue
        fence = side == context.fixture.fence.side
        where = "between cutter and fence, where it jams" if fence else "beside the cutter, loose"
        yield (
            f"the wood left on the {side} is {wall:.1f} mm thick and {deep[side]:.0f} mm tall: "
            f"broken off it lies {where}; clear it with the cutter stopped"
        )
    for number, (one, two) in enumerate(pairwise(cuts), 1):
        web, tall = two.left_mm - one.right_mm, min(one.depth_mm, two.depth_mm)
        if 0 < web < least:
            yield (
                f"between cut {number} and cut {number + 1} stand {web:.1f} mm of wood, "
                f"{tall:.0f} mm tall: broken off it is thrown along the feed"
            )


def _walls(context: Context) -> dict[str, float]:
    """Wood beside the outermost cuts at the trimmed end as it now is; none beside an outer cut."""
    setup, plan = context.setup, context.plan
    earlier = tuple(s.notch for s in takewhile(lambda s: s is not setup, plan.setups))
    pieces = end_pieces(corner_points(setup.notch, 0.0, plan.corners), earlier)
    right = max(setup.chosen.clamped.machine(p)[0] for piece in pieces for p in piece)
    first, last = setup.cuts[0], setup.cuts[-1]
    return {"left": first.left_mm, "right": right - setup.corner_x_mm - last.right_mm}


def _turning(context: Context) -> Iterator[str]:
    """Climb, and a pull off the plate; that it is unknown where it is."""
    cutter, found = context.setup.cutter, climbs(context)
    if found is None:
        yield (
            f"which way {cutter.name} turns is not stated: find out, with the power isolated, "
            "whether it climbs"
        )
        return
    force = cutter.force_n
    most = "" if force is None else f" with up to {force:.0f} N"
    if found and cutter.kind == "disc":
        yield f"{cutter.name} climbs: it pulls the slide along{most}; hold it back by its drive"
    elif found and any(len(c.passes) > 1 for c in context.setup.cuts):
        yield (
            f"{cutter.name} climbs in every pass after the first of a cut and pulls along the "
            f"feed{most}: take the passes from right to left"
        )
    if cutter.exit_at(context.fixture.feed.sense) == "you":
        need = "" if force is None else f", {clamp_need_n(context, force, False)[0]:.0f} N at least"
        yield f"{cutter.name} pulls the stock off the plate, at its end{most}: clamp it hard{need}"


def _sharp(context: Context) -> Iterator[str]:
    """A tilted end is sharp on one side; it breaks out if the teeth leave there."""
    tilt, at = (
        context.setup.chosen.tilt_deg,
        context.setup.cutter.exit_at(context.fixture.feed.sense),
    )
    place = "you" if tilt > 0 else "plate"
    edge = 90.0 - abs(tilt)
    if edge <= SHARP_DEG and at in (place, None):
        maybe = "may leave" if at is None else "leave"
        yield (
            f"the teeth {maybe} through the {in_words(context.sides[place])}, where the wood ends "
            f"in an edge of {edge:.0f}°: it flies in splinters unless a scrap backs it to the end"
        )


def _gap(context: Context) -> Iterator[str]:
    gap = context.setup.chosen.gap_mm
    if gap is not None and 0 <= gap < FINGER_MM:
        yield (
            f"between the front beam and what is clamped are {gap:.0f} mm: it crushes a finger "
            f"({FINGER_MM:g} mm is the least that does not)"
        )
