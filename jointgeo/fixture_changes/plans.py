"""One search: what is wanted, on which fixture, what may be changed, and how far it has gone.

Knows changes, needs and what has to be cut; knows of no pair.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

import attrs

from jointgeo.errors import FixtureError
from jointgeo.fixture_changes.changes import Allowed, applied
from jointgeo.fixture_changes.demands import Clamped, Demand, Spot, spots
from jointgeo.fixture_changes.fence import FENCE, FENCE_ACTS_ON
from jointgeo.fixture_changes.found import Margin, Option
from jointgeo.fixture_changes.needs import Need, acts_on, needed
from jointgeo.fixtures.model import Fixture

__all__ = ["MOST_PLANS", "Progress", "Search"]

#: The search ends after so many plans; our choice, some times what a piece needs.
MOST_PLANS = 3000
LIFTED = 10.0  # times its bound, to tell what would be enough without it
ROUNDS = 4  # a travel that was short at one end may then be short at the other

#: Told of each plan tried: how many so far, and the most there can be.
Progress = Callable[[int, int], None]


@attrs.define(eq=False)
class Search:
    """One search: what is wanted, where, and what may be changed.

    most_plans: it ends after so many; stop: asked before each plan, True ends it. cut_short:
    whether one of them did. tried: plans so far.
    """

    wanted: tuple[Demand, ...]
    fixture: Fixture
    changes: tuple[Allowed, ...]
    room_mm: float
    progress: Progress | None = None
    most_plans: int = MOST_PLANS
    stop: Callable[[], bool] | None = None
    cut_short: bool = attrs.field(init=False, default=False)
    tried: int = 0
    before: tuple[Spot, ...] = attrs.field(init=False)

    def __attrs_post_init__(self) -> None:
        self.before = spots(self.wanted, self.fixture)

    @property
    def short(self) -> set[str]:
        """Checks that fall short in the clamping that each setup takes now."""
        return {n for s in self.before for n in s.taken(self.room_mm).short(self.room_mm)}

    @property
    def unstated(self) -> tuple[str, ...]:
        """Checks that nobody can tell, in the clamping that each setup takes now."""
        taken = (s.taken(self.room_mm) for s in self.before)
        return tuple(sorted({name for t in taken for name in t.unstated}))

    @property
    def wedges(self) -> tuple[str, ...]:
        """What stands in for the range an axis lacks now, in the words of its check."""
        taken = (s.taken(self.room_mm) for s in self.before)
        says = (r.says for t in taken for c in t.checks for r in c.remedies if r.do == "wedge_pair")
        return tuple(dict.fromkeys(says))

    @property
    def ranges(self) -> dict[tuple[str, str], Allowed]:
        """Those of axes and travels, by kind and target."""
        found = (c for c in self.changes if c.kind.startswith(("range_", "travel_")))
        return {(c.kind, c.target): c for c in found}

    @property
    def others(self) -> list[Allowed]:
        known = self.ranges.values()
        return [c for c in self.changes if c not in known]

    @property
    def by_range(self) -> frozenset[str]:
        """The checks that ranges and travels cure."""
        return frozenset[str]().union(*map(acts_on, self.ranges.values()))

    def singles(self) -> list[Option]:
        """Ranges alone, and each other change with the ranges it needs."""
        found = [self.option(())]
        for change in self.others:
            amounts: set[float] = {0.0}
            for by_range in self._left_to_ranges(change):
                need = self._need(change, self.fixture, by_range)
                if need is not None and need.amount not in amounts:
                    amounts.add(need.amount)
                    found.append(self.option((need,), by_range))
        return [o for o in found if o is not None]

    def lifted(self) -> list[Option]:
        """As ``singles``, every bound lifted; nothing is made thinner than nothing."""
        whole = [
            attrs.evolve(c, most=c.most if c.of.to_nothing else LIFTED * max(c.most, c.of.bound))
            for c in self.changes
        ]
        left = self.most_plans - self.tried
        wide = Search(self.wanted, self.fixture, tuple(whole), self.room_mm, None, left, self.stop)
        found = sorted(wide.singles(), key=lambda o: o.price)
        self.tried += wide.tried
        self.cut_short |= wide.cut_short
        return found

    def need(self, change: Allowed, fixture: Fixture) -> tuple[Need, frozenset[str]] | None:
        """The least of that change on that fixture, and the checks left to ranges; None where none
        is enough, or the search has gone on long enough."""
        for by_range in self._left_to_ranges(change):
            need = self._need(change, fixture, by_range)
            if need is not None:
                return need, by_range
        return None

    def _left_to_ranges(self, change: Allowed) -> Iterable[frozenset[str]]:
        """The checks that ranges are to cure beside a change. A fence and a longer traverse cure
        one check: first it is left to the fence, then to the traverse."""
        own = FENCE_ACTS_ON if change.kind in FENCE else frozenset()
        return dict.fromkeys((self.by_range - own, self.by_range))

    def _need(self, change: Allowed, fixture: Fixture, by_range: frozenset[str]) -> Need | None:
        if self.tried >= self.most_plans or (self.stop is not None and self.stop()):
            self.cut_short = True
            return None
        self.tried += 1
        if self.progress is not None:
            self.progress(self.tried, self.most_plans)
        return needed(change, self.wanted, fixture, self.room_mm, by_range)

    def option(
        self, needs: tuple[Need, ...], by_range: frozenset[str] | None = None
    ) -> Option | None:
        """These changes with the ranges they need; None where something still falls short.

        by_range: the checks that ranges may cure; all that they can where it is not given.
        """
        may = self.by_range if by_range is None else by_range
        fixture, ranges = self.fixture, dict[Allowed, float]()
        try:
            for need in needs:
                fixture = applied(fixture, need.change, need.amount)
            for _ in range(ROUNDS):
                more = self._ranges(fixture, may)
                if not more:
                    break
                for change, amount in more.items():
                    ranges[change] = ranges.get(change, 0.0) + amount
                    fixture = applied(fixture, change, amount)
        except FixtureError:
            return None
        if any(amount > change.most for change, amount in ranges.items()):
            return None
        after = spots(self.wanted, fixture)
        if any(s.taken(self.room_mm).short(self.room_mm) for s in after):
            return None
        asked = tuple(Need(c, a, "exact") for c, a in ranges.items())
        return Option((*needs, *asked), fixture, self._margins(after))

    def _ranges(self, fixture: Fixture, may: frozenset[str]) -> dict[Allowed, float]:
        """What of ranges and travels falls short, the cheapest clamping of each setup taken."""
        amounts: dict[Allowed, float] = {}
        for spot in spots(self.wanted, fixture):
            found = (self._of_clamping(c, may) for c in spot.clampings)
            plans = [p for p in found if p is not None]
            if plans:
                best = min(plans, key=lambda p: sum(c.costs(a) for c, a in p.items()))
                for change, amount in best.items():
                    amounts[change] = max(amounts.get(change, 0.0), amount)
        return amounts

    def _of_clamping(self, clamped: Clamped, may: frozenset[str]) -> dict[Allowed, float] | None:
        """What it asks for of each range; None where more falls short than ranges may cure."""
        out: dict[Allowed, float] = {}
        for check in clamped.checks:
            if check.name not in clamped.short(self.room_mm):
                continue
            axis = check.name.removesuffix("_range").removesuffix("_travel")
            kind = "range" if check.name.endswith("_range") else "travel"
            way = "more" if check.value > check.limit else "less"
            change = self.ranges.get((f"{kind}_{way}", axis))
            if change is None or check.name not in may:
                return None
            out[change] = max(out.get(change, 0.0), -check.margin)
        return out

    def _margins(self, after: Sequence[Spot]) -> tuple[Margin, ...]:
        out: list[Margin] = []
        for old, new in zip(self.before, after, strict=True):
            first, then = old.taken(self.room_mm), new.taken(self.room_mm)
            was, now = first.margins, then.margins
            units = first.units | then.units
            out += [Margin(old.name, n, units[n], was.get(n), now.get(n)) for n in units]
        return tuple(out)
