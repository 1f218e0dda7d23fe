"""The cheapest change of a fixture that makes everything feasible that has to be cut.

Knows changes, needs and what has to be cut; prints nothing.

Theory. Ranges and travels are cured by exactly what falls short; so they are added to any plan that
needs them. A short traverse is cured by moving the fence too: with a fence the traverse is left as
it is first, and only then made longer. The rest (beam, backing, fence, hinge, bodies, overhang) act
on each other's checks and are searched: one alone, each by its own exact or halving way
(``needs``); then two together (``pairs``). Whatever is found is put on the fixture, and the whole
list of checks is run again: what is told is never more than what that says.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from jointgeo.errors import InputError
from jointgeo.fixture_changes.changes import Allowed, usual
from jointgeo.fixture_changes.demands import cautions, demands, own_faults
from jointgeo.fixture_changes.found import Found, Option
from jointgeo.fixture_changes.needs import acts_on
from jointgeo.fixture_changes.pairs import pairs_of
from jointgeo.fixture_changes.plans import MOST_PLANS, Progress, Search
from jointgeo.fixtures.model import Fixture

__all__ = ["ROOM_MM", "what_would_do"]

ROOM_MM = 2.0  # wanted beside what swings: common practice, no published source


def what_would_do(
    answers: Sequence[object],
    fixture: Fixture,
    changes: Sequence[Allowed] | None = None,
    *,
    room_mm: float = ROOM_MM,
    pairs: bool = True,
    progress: Progress | None = None,
    most_plans: int = MOST_PLANS,
    stop: Callable[[], bool] | None = None,
) -> Found:
    """What of ``changes`` (all usual ones) makes every end of ``answers`` feasible, cheapest first.

    answers: of joints, jobs or pieces, solved on any fixture. room_mm: wanted beside what swings.
    pairs: whether two changes of which neither alone is enough are looked for together.
    most_plans: the search ends after so many; stop: asked before each plan, True ends it; what was
    found until then is told, and that the search was cut short.
    Raises InputError where the answers cut nothing or ``room_mm`` is out of its range.
    """
    if not 0 <= room_mm <= 1000:
        raise InputError.of("room_mm", "is out of range", f"{room_mm:g}", "0 to 1000 mm", "mm")
    known = tuple(usual(fixture) if changes is None else changes)
    search = Search(demands(answers), fixture, known, room_mm, progress, most_plans, stop)
    short = search.short
    if not short:
        return Found(
            fixture,
            room_mm,
            (),
            own_faults(answers),
            cautions=cautions(answers),
            unstated=search.unstated,
        )
    options = search.singles()
    found, curves = pairs_of(search) if pairs else ([], ())
    options = sorted([*options, *_worth(found, options)], key=lambda o: (o.price, len(o.needs)))
    lifted = () if options else tuple(search.lifted())
    acted = frozenset[str]().union(*map(acts_on, known))
    return Found(
        fixture,
        room_mm,
        tuple(options),
        own_faults(answers),
        short=tuple(sorted(short)),
        untouched=tuple(sorted(short - acted)),
        wedges=search.wedges,
        cautions=cautions(answers),
        unstated=search.unstated,
        lifted=lifted,
        curves=curves,
        tried=search.tried,
        whole=not search.cut_short,
    )


def _worth(pairs: Sequence[Option], singles: Sequence[Option]) -> list[Option]:
    """Without those that ask for more than one of their changes does that is enough alone."""

    def cheaper(pair: Option) -> bool:
        own = {n.change for n in pair.needs}
        return any(o.needs and o.needs[0].change in own and o.price <= pair.price for o in singles)

    return [p for p in pairs if not cheaper(p)]
