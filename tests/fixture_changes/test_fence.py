"""The fence's least move against a grid of moves with the whole list of checks run on each."""

from __future__ import annotations

from typing import Any

import attrs
import numpy as np
import pytest

from jointgeo.fixture_changes import allowed, usual, what_would_do
from jointgeo.fixture_changes.changes import Allowed, applied
from jointgeo.fixture_changes.demands import Demand, demands, spots
from jointgeo.fixture_changes.needs import Need, needed
from jointgeo.fixtures.model import Body, Fixture
from jointgeo.solution.solution import solve

from .samples import PORCH, leg

RIGHT, LEFT = allowed("fence_right"), allowed("fence_left")
LEG = leg(66, 44, 12, 8)
# The leg's swivel is atan(tan 8°·cos 12°) = 7.827°; it slides by 10 mm where the fence moves by
# 10·cos 7.827°, to four digits.
TEN = 9.9068
EXACT = 1e-9  # mm: rounding
JUST_LESS = 1e-6  # mm: less than the least move, and far more than rounding


def enough(wanted: tuple[Demand, ...], fixture: Fixture, room: float = 0.0) -> bool:
    return not any(s.taken(room).short(room) for s in spots(wanted, fixture))


def travels(fixture: Fixture = PORCH) -> tuple[float, float]:
    """Of the leg, as it is clamped by preference."""
    (spot,) = spots(demands([solve(LEG, fixture)]), fixture)
    return spot.clampings[0].context.setup.travel_x_mm


def window(low: float, high: float, **more: Any) -> Fixture:
    """The porch fixture with a traverse that ends so far beyond the leg's own travels."""
    least, most = travels()
    traverse = attrs.evolve(PORCH.traverse, min_mm=least + low, max_mm=most + high)
    return attrs.evolve(PORCH, traverse=traverse, **more)


def least(change: Allowed, fixture: Fixture, room: float = 0.0) -> Need | None:
    return needed(change, demands([solve(LEG, fixture)]), fixture, room)


def on_a_grid(change: Allowed, wanted: tuple[Demand, ...], fixture: Fixture, room: float) -> None:
    """What is found is enough, nothing less of it is, and where nothing is found nothing is."""
    need = needed(change, wanted, fixture, room)
    places = list(np.linspace(0.0, change.most, 41))
    if need is not None:
        assert enough(wanted, applied(fixture, change, need.amount), room)
        places = [p for p in places if p < need.amount - JUST_LESS]
        places += [need.amount - by for by in (JUST_LESS, 0.01, 0.3) if by < need.amount]
    half = fixture.plate.width_mm / 2
    for amount in map(float, places):
        if abs(fixture.fence.x_mm + amount * (1 if change.kind == RIGHT.kind else -1)) <= half:
            assert not enough(wanted, applied(fixture, change, amount), room), (need, amount)


def stop(low: Any, high: Any) -> Body:
    """On the traverse, between two corners."""
    sizes = {}
    for axis, least_mm, most_mm in zip("xyz", low, high, strict=True):
        sizes |= {f"{axis}_min_mm": float(least_mm), f"{axis}_max_mm": float(most_mm)}
    return Body(name="stop", fixed_to="traverse", **sizes)


def random_setup(seed: int) -> tuple[tuple[Demand, ...], Fixture, float]:
    """One leg or two on a fixture whose traverse, plate or what stands on the traverse is in their
    way; no beam, which no fence gets round."""
    rng = np.random.default_rng([41, seed])
    fixture = attrs.evolve(
        PORCH,
        front_beam=(),
        plate=attrs.evolve(PORCH.plate, width_mm=float(rng.uniform(170, 420))),
        tilt=attrs.evolve(PORCH.tilt, min_deg=float(rng.choice([0.0, -24.0]))),
    )
    legs = [
        leg(*rng.uniform((40, 32), (90, 60)), rng.uniform(3, 22), rng.uniform(-15, 15))
        for _ in range(rng.integers(1, 3))
    ]
    wanted = demands([solve(one, fixture) for one in legs])
    ends = [s.clampings[0].context.setup.travel_x_mm for s in spots(wanted, fixture)]
    low, high = min(a for a, _ in ends), max(b for _, b in ends)
    on, spare = float(rng.uniform(-35, 35)), float(rng.uniform(0, 40))
    traverse = attrs.evolve(fixture.traverse, min_mm=low + on - spare / 2, max_mm=high + on + spare)
    bodies = list(fixture.body)
    if rng.random() < 0.7:
        low_at = rng.uniform((-140, -160, 0), (100, 0, 300))
        bodies.append(stop(low_at, low_at + rng.uniform((2, 5, 5), (25, 60, 60))))
    room = float(rng.choice([0.0, 1.5]))
    return wanted, attrs.evolve(fixture, traverse=traverse, body=tuple(bodies)), room


@pytest.mark.parametrize("seed", range(40))
def test_no_move_of_a_grid_is_less(seed: int) -> None:
    wanted, fixture, room = random_setup(seed)
    for change in (RIGHT, LEFT):
        on_a_grid(change, wanted, fixture, room)


def test_the_grid_meets_every_kind_of_answer() -> None:
    """None, no move, one read off and one closed in on, and a place with too little before it and
    too much behind it: else the setups above would say little."""
    met, inside = set(), 0
    for seed in range(40):
        wanted, fixture, room = random_setup(seed)
        for change in (RIGHT, LEFT):
            need = needed(change, wanted, fixture, room)
            met.add("none" if need is None else need.method if need.amount else "no move")
            if need is not None and need.amount:
                try:
                    inside += not enough(wanted, applied(fixture, change, change.most), room)
                except ValueError:  # beside the plate
                    inside += 1
    assert met == {"none", "no move", "exact", "halved"}
    assert inside >= 5


@pytest.mark.parametrize(("change", "way"), [(RIGHT, 1.0), (LEFT, -1.0)])
def test_a_place_inside_with_neither_end_of_the_bound_enough(change: Allowed, way: float) -> None:
    """The traverse's ends lie 10 and 15 mm to that side of the leg's travels, or the other way
    round: it fits from 10·cos of the swivel on, and at 15·cos no longer."""
    fixture = window(*sorted((10 * way, 15 * way)))
    wanted = demands([solve(LEG, fixture)])
    assert not enough(wanted, fixture)
    assert not enough(wanted, applied(fixture, change, change.most))
    need = least(change, fixture)
    assert need is not None
    assert (need.amount, need.method) == (pytest.approx(TEN, abs=5e-5), "exact")
    assert enough(wanted, applied(fixture, change, need.amount))
    assert not enough(wanted, applied(fixture, change, need.amount - JUST_LESS))
    assert enough(wanted, applied(fixture, change, need.amount * 1.5 - JUST_LESS))
    assert not enough(wanted, applied(fixture, change, need.amount * 1.5 + JUST_LESS))


def test_a_traverse_that_just_takes_the_span_is_found_and_a_shorter_one_is_not() -> None:
    need = least(RIGHT, window(10, 10))
    assert need is not None
    assert (need.amount, need.method) == (pytest.approx(TEN, abs=5e-5), "exact")
    assert least(RIGHT, window(10, 9.99)) is None
    assert least(LEFT, window(10, 15)) is None


def test_nothing_short_asks_for_no_move_and_a_bound_below_it_finds_none() -> None:
    need = least(RIGHT, PORCH)
    assert need is not None
    assert (need.amount, need.method) == (0.0, "exact")
    assert least(attrs.evolve(RIGHT, most=9.9), window(10, 15)) is None
    assert least(attrs.evolve(RIGHT, most=9.91), window(10, 15)) is not None


@pytest.mark.parametrize(
    ("corner", "short"), [((5, -75, 60), {"bodies"}), ((5, -95, 0), {"traverse_travel"})]
)
def test_a_stop_on_the_traverse_is_gone_round(
    corner: tuple[int, int, int], short: set[str]
) -> None:
    """It stands in the stock's way, at once or as soon as the fence is where the traverse asks for
    it, free again at the bound: the gap falls before it rises, and what is enough begins where it
    has risen to the room wanted."""
    far = attrs.evolve(RIGHT, most=200.0)
    wide = attrs.evolve(PORCH.plate, width_mm=500.0)
    bodies = (*PORCH.body, stop(corner, np.add(corner, (3, 10, 20))))
    fixture = window(10 if "bodies" not in short else -10, 400, plate=wide, body=bodies)
    wanted = demands([solve(LEG, fixture)])
    (spot,) = spots(wanted, fixture)
    assert spot.clampings[0].short(2.0).keys() == short
    need = needed(far, wanted, fixture, 2.0)
    assert need is not None
    assert need.method == "halved"
    (spot,) = spots(wanted, applied(fixture, far, need.amount))
    assert spot.taken(2.0).margins["bodies"] == pytest.approx(2.0, abs=EXACT)
    on_a_grid(far, wanted, fixture, 2.0)


def test_stock_that_hangs_over_the_plate_is_moved_on_to_it() -> None:
    narrow = attrs.evolve(PORCH.plate, width_mm=160.0)
    fixture = attrs.evolve(PORCH, plate=narrow, fence=attrs.evolve(PORCH.fence, x_mm=0.0))
    need = least(LEFT, fixture)
    assert need is not None
    assert need.method == "exact"
    assert need.amount > 1
    on_a_grid(LEFT, demands([solve(LEG, fixture)]), fixture, 0.0)


def test_what_turns_with_the_fence_goes_with_it() -> None:
    moved = applied(PORCH, LEFT, 10.0)
    assert moved.fence.x_mm == PORCH.fence.x_mm - 10.0
    for old, new in zip(PORCH.body, moved.body, strict=True):
        by = -10.0 if old.fixed_to == "fence" else 0.0
        assert (new.x_min_mm, new.x_max_mm) == (old.x_min_mm + by, old.x_max_mm + by)


def test_the_fence_is_offered_beside_a_longer_traverse_and_is_the_cheapest() -> None:
    """2 for a move and 0.2 for each mm, against 50 and 0.5 for each mm of the traverse."""
    fixture = window(10, 15)
    found = what_would_do([solve(LEG, fixture)], fixture, room_mm=0.0)
    assert found.best is not None
    assert [n.change.kind for n in found.best.needs] == ["fence_right"]
    assert found.best.price == pytest.approx(2 + 0.2 * TEN, abs=1e-4)
    assert ["travel_less"] in [[n.change.kind for n in o.needs] for o in found.options]
    for option in found.options:
        kinds = {n.change.kind for n in option.needs}
        assert not ("fence_left" in kinds and "travel_less" in kinds), option.says
    assert {"fence_right", "fence_left"} <= {c.kind for c in usual(fixture)}
