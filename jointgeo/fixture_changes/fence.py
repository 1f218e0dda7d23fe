"""How far the fence may be moved: every stretch of its move that is enough, so also the least.

Knows changes, what has to be cut and the checks that a move acts on; searches no other change.

Theory. With the fence moved by d the stock slides along X by d / cos of the fence's turn, and so do
the cutter's travels; what turns with the fence goes by d along the plate. Nothing else moves, and
nothing turns. Of what a clamping is short of

* travel and plate: either end of the stock's or the cutter's reach goes straight with d, so what
  the limits leave is one stretch, its ends read off. Where the span just fits, it lies anywhere;
* bodies and cutter: the signed distance of two boxes is convex in a move of one of them. So the
  moves that leave less than is wanted are one stretch: the gap falls all the way to its least and
  rises all the way after it. Both ends of the stretch are found by halving, each on its own side.

A clamping can be cured where all of these hold; a setup where one of its clampings can; the work
where all setups can. Nothing is sampled, so no place however narrow is stepped over.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from math import hypot
from typing import TypeAlias

from jointgeo.checks.fouling import Pair, body_pairs, cutter_pairs
from jointgeo.checks.machine import plate_extent_mm
from jointgeo.fixture_changes.changes import Allowed, applied
from jointgeo.fixture_changes.demands import Clamped, Demand, spots
from jointgeo.fixtures.model import Fixture
from jointgeo.geometry.boxes import box_gap
from jointgeo.geometry.stretches import Stretch, both, either, where_at_least

__all__ = ["FENCE", "FENCE_ACTS_ON", "fence_moves"]

#: Kind → which way it goes along X.
FENCE = {"fence_right": 1.0, "fence_left": -1.0}
FENCE_ACTS_ON = frozenset({"traverse_travel", "plate_width", "bodies", "cutter_clearance"})

Stretches: TypeAlias = tuple[Stretch, ...]

PROBE_MM = 1.0  # the fence is tried so far on to see what goes with it; any length would do
ROUNDING_MM = 1e-9  # of a margin, as checks have it


def fence_moves(
    change: Allowed,
    wanted: Sequence[Demand],
    fixture: Fixture,
    room_mm: float,
    cured: frozenset[str],
    bound_mm: float,
) -> Stretches:
    """The moves from 0 to ``bound_mm`` that leave no setup short of anything but what is ``cured``.

    exact: whether a stretch begins at a limit that was read off; else it was closed in on by
    halving.
    """
    way, x = FENCE[change.kind], fixture.fence.x_mm
    bound = min(bound_mm, fixture.plate.width_mm / 2 - way * x)  # beside the plate is no fence
    if bound < 0.0:
        return ()
    by = PROBE_MM if way * x <= 0.0 else -PROBE_MM  # towards the plate's middle, so still on it
    probe = applied(fixture, change, by)
    whole: Stretches = (Stretch(0.0, bound),)
    found = whole
    for spot, moved in zip(spots(wanted, fixture), spots(wanted, probe), strict=True):
        there = {c.against_plate: c for c in moved.clampings}
        own = (
            _joined(_limits(c, there[c.against_plate], 1.0 / by, room_mm, cured, bound), whole)
            for c in spot.clampings
            if not c.short(room_mm).keys() - cured - FENCE_ACTS_ON
        )
        found = both(found, either(s for some in own for s in some))
        if not found:
            break
    return found


def _joined(limits: Iterable[Stretches], whole: Stretches) -> Stretches:
    """What all of them leave; none is worked out after one that leaves nothing."""
    left = whole
    for limit in limits:
        left = both(left, limit)
        if not left:
            break
    return left


def _limits(
    now: Clamped,
    moved: Clamped,
    each: float,
    room_mm: float,
    cured: frozenset[str],
    bound: float,
) -> Iterator[Stretches]:
    """What each check leaves of the moves of one clamping. each: moves for what ``moved`` shows."""
    a, b = now.context, moved.context
    if "traverse_travel" not in cured:
        axis, (low, high) = a.fixture.traverse, a.setup.travel_x_mm
        speed = (b.setup.travel_x_mm[0] - low) * each
        yield _within((low, high), speed, (axis.min_mm, axis.max_mm), bound)
    if "plate_width" not in cured:
        half, (left, right) = a.fixture.plate.width_mm / 2, plate_extent_mm(a)
        if left <= right:
            speed = (plate_extent_mm(b)[0] - left) * each
            yield _within((left, right), speed, (-half, half), bound)
    for name, pairs, wanted in (
        ("bodies", body_pairs, room_mm),
        ("cutter_clearance", cutter_pairs, a.fixture.practice.clearance_mm),
    ):
        if name not in cured:
            for pair, other in zip(pairs(a), pairs(b), strict=True):
                yield _apart(pair, other, each, wanted, bound)


def _within(
    ends: tuple[float, float], speed: float, limits: tuple[float, float], bound: float
) -> Stretches:
    """Where what reaches from end to end, and goes by ``speed`` for each mm, lies in the limits."""
    at = (limits[0] - ends[0]) / speed, (limits[1] - ends[1]) / speed
    low, high = at if speed > 0.0 else at[::-1]
    low = 0.0 if low <= ROUNDING_MM else low
    if high < low - ROUNDING_MM:
        return ()
    return both((Stretch(low, max(low, high)),), (Stretch(0.0, bound),))


def _apart(pair: Pair, moved: Pair, each: float, wanted: float, bound: float) -> Stretches:
    """Where the two boxes of a pair are as far apart as is wanted."""
    (_, one, _, two), (_, a, _, b) = pair, moved
    least = wanted - ROUNDING_MM / 2  # so that rounding does not make the check fail there
    # How the second goes, seen from the first, for each mm.
    x, y, z = (
        (v - u - (q - p)) * each
        for p, q, u, v in zip(one.centre, two.centre, a.centre, b.centre, strict=True)
    )

    def gap(move: float) -> float:
        u, v, w = two.centre
        return box_gap(one, two._replace(centre=(u + x * move, v + y * move, w + z * move)))

    far = least + hypot(x, y, z) * bound  # from here they cannot come too near
    if box_gap(one, two, far) >= far:
        return (Stretch(0.0, bound),)
    return where_at_least(gap, least, bound)
