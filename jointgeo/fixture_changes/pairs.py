"""Two changes together, of which neither alone is enough or both together are cheaper.

Knows single searches.

Theory. Where the need of the second only falls as the first grows, the amounts that are enough lie
above a falling edge, and the cheapest lies on it. The first is stepped through its bound, the
second asked for what it then needs, and the stretch about the cheapest of these is halved until it
is short. A beam that moves out and up at once is not stepped: its edge is known exactly (``beam``).
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from jointgeo.errors import FixtureError
from jointgeo.fixture_changes.beam import least_move
from jointgeo.fixture_changes.changes import Allowed, applied
from jointgeo.fixture_changes.found import Curve, Option, Point
from jointgeo.fixture_changes.needs import Method, Need, acts_on, beam_needed
from jointgeo.fixture_changes.plans import Search

__all__ = ["FIRST", "SECOND", "pairs_of"]

#: Those stepped, and those asked for what they then need; each first with each second.
FIRST = ("backing_thinner", "overhang_less", "hinge_lower", "body_up", "beam_off", "other_beam")
SECOND = ("beam_out", "beam_up", "body_out", "clamp_wider", "fence_right", "fence_left")
STEPS = 8  # of the first through its bound
REFINED_MM = 0.05  # the cheapest is known this closely; finer than a person could tell


def pairs_of(search: Search) -> tuple[list[Option], tuple[Curve, ...]]:
    """The cheapest option of each pair, and its curve where both have amounts."""
    options: list[Option] = []
    curves: list[Curve] = []
    for first, second in _pairs(search):
        points = _edge(search, first, second)
        if not points:
            continue
        best = min(points, key=lambda p: p.price)
        if best.first and best.second:
            asked = _asked(search, first, second, best.first)
            if asked is not None:
                need, by_range = asked
                own = Need(first, best.first, _found(first))
                option = search.option((own, need), by_range)
                options += [] if option is None else [option]
        if first.of.unit and second.of.unit and len(points) > 1:
            says = (
                f"{len(points)} amounts of the first, each with the least of the second that is "
                f"then enough; the cheapest to {REFINED_MM:g} mm"
            )
            named = first.words(0.0).replace("0.00 mm", "so much"), second.words(0.0)
            curves.append(
                Curve(
                    named[0],
                    named[1].replace("0.00 mm", "so much"),
                    first.of.unit,
                    second.of.unit,
                    tuple(points),
                    says,
                )
            )
    options += list(_beam_both_ways(search))
    return options, tuple(curves)


def _pairs(search: Search) -> Iterator[tuple[Allowed, Allowed]]:
    """Pairs of which each acts on something that falls short now."""
    useful = [c for c in search.others if acts_on(c) & search.short]
    for a, b in combinations(useful, 2):
        for first, second in ((a, b), (b, a)):
            if first.kind in FIRST and second.kind in SECOND and second.kind != "beam_up":
                yield first, second
                break


def _found(change: Allowed) -> Method:
    return "halved" if change.of.unit else "tried"


def _asked(
    search: Search, first: Allowed, second: Allowed, amount: float
) -> tuple[Need, frozenset[str]] | None:
    try:
        fixture = applied(search.fixture, first, amount) if amount else search.fixture
        return search.need(second, fixture)
    except FixtureError:
        return None


def _edge(search: Search, first: Allowed, second: Allowed) -> list[Point]:
    """Points that are enough, by rising amount of the first."""
    known: dict[float, Point] = {}

    def point(amount: float) -> Point | None:
        if amount not in known:
            asked = _asked(search, first, second, amount)
            if asked is None:
                return None
            need, _ = asked
            price = first.costs(amount) + second.costs(need.amount)
            known[amount] = Point(amount, need.amount, price)
        return known[amount]

    if not first.of.unit:
        point(1.0)
        return list(known.values())
    for step in range(STEPS + 1):
        point(first.most * step / STEPS)
    width = first.most / STEPS
    while known and width > REFINED_MM:
        width /= 2
        middle = min(known.values(), key=lambda p: p.price).first
        for amount in (middle - width, middle + width):
            if 0.0 <= amount <= first.most:
                point(amount)
    return sorted(known.values(), key=lambda p: p.first)


def _beam_both_ways(search: Search) -> Iterator[Option]:
    """A beam moved out and up at once: exact."""
    outs = {c.target: c for c in search.others if c.kind == "beam_out"}
    for rise in (c for c in search.others if c.kind == "beam_up" and c.target in outs):
        out = outs[rise.target]
        beam = next(b for b in search.fixture.front_beam if b.name == rise.target)
        cured = search.by_range | acts_on(rise)
        function = beam_needed(search.before, beam, search.room_mm, cured)
        move = least_move(function, -rise.most, rise.most, out.price, rise.price)
        if 0 < move.out_mm <= out.most and move.up_mm:
            needs = Need(out, move.out_mm, "exact"), Need(rise, move.up_mm, "exact")
            option = search.option(needs)
            if option is not None:
                yield option
