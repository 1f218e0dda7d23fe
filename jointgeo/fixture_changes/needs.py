"""The least amount of one change that is enough, for every setup that has to be cut.

Knows changes and what has to be cut; knows prices only to choose between clampings.

Theory. A change cures a clamping if it acts on every check that falls short there. Of a beam moved
out the amount is read off exact functions (``beam``). Where a check's margin grows by exactly the
amount, what falls short is the amount. Where it only never falls, the amounts that are enough are
all from the least one on, and the least is found by halving. A change that is none of these is not
searched by halving: its margins go up and down, and a free place can be stepped over. Of a fence
that is moved every stretch that is enough is known (``fence``).

Of the clampings of a setup the one that asks for least is taken; of all setups the greatest. Other
checks may fall meanwhile: the whole list is run again at that amount, and if something else fails
there, the next greater amount that some clamping asks for is tried.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Literal

import attrs

from jointgeo.errors import FixtureError
from jointgeo.fixture_changes.beam import least_rise, out_needed
from jointgeo.fixture_changes.changes import Allowed, applied
from jointgeo.fixture_changes.demands import Clamped, Demand, Spot, spots
from jointgeo.fixture_changes.fence import FENCE, FENCE_ACTS_ON, fence_moves
from jointgeo.fixtures.model import Fixture, FrontBeam
from jointgeo.geometry.piecewise import Piecewise, greatest_of, least_of

__all__ = ["Method", "Need", "acts_on", "beam_needed", "needed"]

#: How an amount was found. exact: read off break points or a check's own limit; halved: between an
#: amount that is not enough and one that is, on margins that do not fall between them; tried: made
#: or not.
Method = Literal["exact", "halved", "tried"]

HALVINGS = 40  # of a bound: 1e-12 of it, far below any setting
_RANGES = {"swivel": "swivel_range", "tilt": "tilt_range"}
_TRAVELS = {"traverse": "traverse_travel", "feed": "feed_travel", "cutter_height": "cutter_height"}


@attrs.frozen
class Need:
    """amount: in the change's unit, 1 for one that is made or not."""

    change: Allowed
    amount: float
    method: Method


def acts_on(change: Allowed) -> frozenset[str]:
    """The checks that it can cure; of all but the fence, more of it never makes them worse."""
    kind = change.of
    if change.kind in ("range_more", "range_less"):
        return frozenset({_RANGES[change.target]})
    if change.kind in ("travel_more", "travel_less"):
        return frozenset({_TRAVELS[change.target]})
    if change.kind == "cutter":
        return frozenset({"cutter_reach", "socket_width", "cutter_clearance", "feed_travel"})
    if change.kind == "beam_up":
        return frozenset({"front_beam", "cutter_clearance"})
    if change.kind in FENCE:
        return FENCE_ACTS_ON
    return kind.rising | kind.one_to_one


def beam_needed(
    found: Sequence[Spot], beam: FrontBeam, room_mm: float, cured: frozenset[str]
) -> Piecewise:
    """How far out ``beam`` must go for every setup, by how far up: of each setup the clamping that
    asks for least, of those that nothing but the beam and what is ``cured`` stands in the way of.
    """
    own = cured | {"front_beam"}
    return greatest_of(
        least_of(
            out_needed(c.context, beam, room_mm)
            for c in spot.clampings
            if not c.short(room_mm).keys() - own
        )
        for spot in found
        if any(not c.short(room_mm).keys() - own for c in spot.clampings)
    )


def needed(
    change: Allowed,
    wanted: Sequence[Demand],
    fixture: Fixture,
    room_mm: float,
    cured: frozenset[str] = frozenset(),
    most: float | None = None,
) -> Need | None:
    """The least amount from 0 that leaves no setup short of anything but what is ``cured`` by other
    changes; None where no amount up to ``most`` (the change's own bound) does."""
    bound = change.most if most is None else most
    if change.kind in FENCE:
        for stretch in fence_moves(change, wanted, fixture, room_mm, cured, bound):
            if _enough(change, stretch.low, wanted, fixture, room_mm, cured):
                return Need(change, stretch.low, "exact" if stretch.exact else "halved")
        return None
    found = spots(wanted, fixture)
    if not change.of.unit:
        return (
            Need(change, 1.0, "tried")
            if _enough(change, 1.0, wanted, fixture, room_mm, cured)
            else None
        )
    if change.kind in ("beam_out", "beam_up"):
        amount = _of_beam(change, found, fixture, room_mm, cured, bound)
        good = amount is not None and _enough(change, amount, wanted, fixture, room_mm, cured)
        return Need(change, amount, "exact") if good and amount is not None else None
    amounts: list[list[tuple[float, Method]]] = []
    for spot in found:
        asked = sorted(_asked(change, spot, fixture, room_mm, cured, bound))
        if not asked:
            return None
        amounts.append(asked)
    least = max(asked[0][0] for asked in amounts)
    steps = sorted({a for asked in amounts for a, _ in asked if a >= least})
    exact = all(m == "exact" for asked in amounts for a, m in asked if a > 0)
    for amount in steps:
        if _enough(change, amount, wanted, fixture, room_mm, cured):
            return Need(change, amount, "exact" if exact else "halved")
    return None


def _of_beam(
    change: Allowed,
    found: Sequence[Spot],
    fixture: Fixture,
    room_mm: float,
    cured: frozenset[str],
    bound: float,
) -> float | None:
    beam = next((b for b in fixture.fitted_beams if b.name == change.target), None)
    if beam is None:
        return None
    function = beam_needed(found, beam, room_mm, cured | acts_on(change))
    if change.kind == "beam_up":
        return least_rise(function, -bound, bound)
    amount = max(0.0, function.at(0.0))
    return amount if amount <= bound else None


def _asked(
    change: Allowed,
    spot: Spot,
    fixture: Fixture,
    room_mm: float,
    cured: frozenset[str],
    bound: float,
) -> Iterator[tuple[float, Method]]:
    """The least amount for each clamping that the change can cure."""
    for clamped in spot.clampings:
        short = {n: by for n, by in clamped.short(room_mm).items() if n not in cured}
        if not short:
            yield 0.0, "exact"
        elif change.of.forwards and clamped.context.setup.chosen.tilt_deg < 0:
            continue
        elif not short.keys() - acts_on(change):
            if not short.keys() - change.of.one_to_one:
                yield max(short.values()), "exact"
            elif (
                amount := _halved(change, spot, clamped, fixture, room_mm, set(short), bound)
            ) is not None:
                yield amount, "halved"


def _halved(
    change: Allowed,
    spot: Spot,
    clamped: Clamped,
    fixture: Fixture,
    room_mm: float,
    names: set[str],
    bound: float,
) -> float | None:
    """The least amount at which none of ``names`` falls short in that clamping."""

    def enough(amount: float) -> bool:
        try:
            changed = applied(fixture, change, amount)
        except FixtureError:
            return False
        again = spots([spot.demand], changed)[spot.number - 1]
        same = next(c for c in again.clampings if c.against_plate == clamped.against_plate)
        return not names & same.short(room_mm).keys()

    if not enough(bound):
        return None
    low, high = 0.0, bound
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        low, high = (low, middle) if enough(middle) else (middle, high)
    return high


def _enough(
    change: Allowed,
    amount: float,
    wanted: Sequence[Demand],
    fixture: Fixture,
    room_mm: float,
    cured: frozenset[str],
) -> bool:
    """Whether every setup then has a clamping that falls short of nothing but what is cured."""
    try:
        changed = applied(fixture, change, amount)
    except FixtureError:
        return False
    return all(
        any(not c.short(room_mm).keys() - cured for c in spot.clampings)
        for spot in spots(wanted, changed)
    )
