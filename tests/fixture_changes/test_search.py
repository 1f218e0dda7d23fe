"""The search against a grid of every change, and against the whole list of checks."""

from __future__ import annotations

import attrs
import pytest

import jointgeo
from jointgeo.errors import InputError
from jointgeo.fixture_changes import Found, Margin, Option, allowed, usual, what_would_do
from jointgeo.fixture_changes.changes import applied
from jointgeo.fixture_changes.demands import demands, spots
from jointgeo.fixture_changes.needs import acts_on, needed
from jointgeo.fixture_changes.telling import found_lines
from jointgeo.jobs.file import load_job
from jointgeo.jobs.solve import solve_job
from jointgeo.solution.solution import solve

from .samples import PORCH, leg, random_legs, three_legs

OUT = allowed("beam_out", "straight beam")
BACKING = allowed("backing_thinner", most=18.0)
HINGE = allowed("hinge_lower", most=80.0)


def enough(answers, fixture, room=0.0) -> bool:
    return not any(s.taken(room).short(room) for s in spots(demands(answers), fixture))


def test_known_needs_of_three_legs() -> None:
    """The same source as in ``test_beam``: a grid over all checks, 195 points, no mismatch."""
    wanted = demands(three_legs())
    out = needed(OUT, wanted, PORCH, 0.0)
    assert out is not None
    assert (out.amount, out.method) == (pytest.approx(20.2097, abs=5e-5), "exact")
    bare = needed(OUT, wanted, applied(PORCH, BACKING, 18.0), 0.0)
    assert bare is not None
    assert bare.amount == pytest.approx(1.0545, abs=5e-5)
    lower = needed(OUT, wanted, applied(PORCH, HINGE, 60.0), 0.0)
    assert lower is not None
    assert lower.amount == pytest.approx(2.0728, abs=5e-5)


@pytest.mark.parametrize("change", [OUT, BACKING, HINGE], ids=lambda c: c.kind)
def test_one_change_is_the_least_on_a_grid(change) -> None:
    """No amount of a grid below it is enough, and it is."""
    for answer in random_legs(12, 3):
        need = needed(change, demands([answer]), PORCH, 0.0)
        if need is None or not need.amount:
            continue
        assert enough([answer], applied(PORCH, change, need.amount))
        for step in range(40):
            amount = change.most * step / 40
            if amount < need.amount - 1e-6:
                assert not enough([answer], applied(PORCH, change, amount))


def test_two_changes_are_the_cheapest_of_a_grid() -> None:
    found = what_would_do(three_legs(), PORCH, [OUT, BACKING], room_mm=0.0)
    assert found.best is not None
    for i in range(13):
        for j in range(31):
            thinner, out = 18.0 * i / 12, 30.0 * j / 30
            fixture = applied(applied(PORCH, BACKING, thinner), OUT, out)
            if enough(three_legs(), fixture):
                assert BACKING.costs(thinner) + OUT.costs(out) >= found.best.price - 1e-9


def test_a_curve_has_only_points_that_are_enough_and_none_to_spare() -> None:
    found = what_would_do(three_legs(), PORCH, [OUT, HINGE], room_mm=0.0)
    (curve,) = found.curves
    assert len(curve.points) > 8
    for p in curve.points:
        lower = applied(PORCH, HINGE, p.first)
        assert enough(three_legs(), applied(lower, OUT, p.second))
        assert p.second < 1e-6 or not enough(three_legs(), applied(lower, OUT, p.second - 1e-3))
    assert curve.to_dict()["points"][0] == {
        "first_mm": 0.0,
        "second_mm": pytest.approx(20.2097, abs=5e-5),
        "price": pytest.approx(40.2097, abs=5e-5),
    }


#: Left out are those made or not, of a limit of its own, and those whose margins go up and down: of
#: a beam up and of the fence every amount that is enough is known (``test_beam``, ``test_fence``).
HALVED = [
    c for c in usual(PORCH) if c.of.unit and not c.kind.startswith(("beam_up", "travel_", "fence_"))
]


@pytest.mark.parametrize("change", HALVED, ids=lambda c: f"{c.kind}-{c.target}")
def test_what_a_change_acts_on_never_gets_worse_by_it(change) -> None:
    """On what the halving rests: the margin of every check it acts on, at rising amounts."""
    looked = 0
    for answer in random_legs(10, 7):
        before: dict[tuple[int, str, str], float] = {}
        for step in range(6):
            fixture = applied(PORCH, change, change.most * step / 6)
            for spot in spots(demands([answer]), fixture):
                for clamped in spot.clampings:
                    if change.of.forwards and clamped.context.setup.chosen.tilt_deg < 0:
                        continue
                    for name in acts_on(change) & clamped.margins.keys():
                        key, now = (spot.number, clamped.against_plate, name), clamped.margins[name]
                        if name == "front_beam" and _none_beside(clamped):
                            before.pop(
                                key, None
                            )  # free in height: what is told then is another room
                            continue
                        looked += 1
                        assert now >= before.get(key, now) - 1e-9, (change.kind, key, step)
                        before[key] = now
    assert looked > 50


def _none_beside(clamped) -> bool:
    because = next(c.because for c in clamped.checks if c.name == "front_beam")
    return because.startswith("everything")


def test_the_planter_with_six_sides_gets_its_change_and_is_feasible_with_it() -> None:
    job = load_job("planter-six")
    found = what_would_do([solve_job(job)], job.fixture)
    assert found.short == ("front_beam", "tilt_range")
    best = found.best
    assert best is not None
    assert [(n.change.kind, n.change.target) for n in best.needs] == [
        ("beam_off", "straight beam"),
        ("range_more", "tilt"),
    ]
    # tan tilt = tan 20°·... : the corner's own tilt of 33.951° against the axis's end at 24°
    assert best.needs[1].amount == pytest.approx(33.9514 - 24.0, abs=5e-5)
    assert best.undoes == "the zero of that axis"
    assert found.wedges == ()  # 10° over 300 mm is more than any stack of wedges takes up

    assert not best.worse
    assert solve_job(attrs.evolve(job, fixture=best.fixture)).feasible
    again = what_would_do([solve_job(job)], best.fixture)
    assert again.feasible_now
    assert again.options == ()


def test_a_wedge_pair_is_named_where_one_can_take_up_what_the_axis_lacks() -> None:
    short = attrs.evolve(PORCH, tilt=attrs.evolve(PORCH.tilt, max_deg=10.0))
    found = what_would_do([solve(leg(66, 44, 12, 8), short)], short)
    assert found.short == ("tilt_range",)
    (says,) = found.wedges
    assert "wedge" in says
    assert "2.00°" in says or "2°" in says  # the leg's own tilt is its splay of 12°


def test_only_beams_allowed_it_is_told_that_the_axis_ends_first() -> None:
    job = load_job("planter-six")
    beams = [c for c in usual(job.fixture) if c.kind.startswith("beam")]
    found = what_would_do([solve_job(job)], job.fixture, beams)
    assert found.options == ()
    assert found.untouched == ("tilt_range",)


def test_a_bound_that_stands_in_the_way_is_told() -> None:
    near = attrs.evolve(OUT, most=10.0)
    found = what_would_do(three_legs(), PORCH, [near], room_mm=0.0)
    assert found.options == ()
    assert [o.needs[0].amount for o in found.lifted] == [pytest.approx(20.2097, abs=5e-5)]


def test_margins_are_in_the_units_of_their_checks() -> None:
    (best, *_) = what_would_do(three_legs(), PORCH).options
    units = {m.check: m.unit for m in best.margins}
    # forces, angles and lengths, as the checks' own documentation has them
    assert units["clamp_force"] == "N"
    assert {n for n, unit in units.items() if unit == "deg"} == {
        "packing",
        "swivel_range",
        "tilt_range",
    }
    assert units["front_beam"] == "mm"
    assert {"check", "unit", "before", "after"} <= best.margins[0].to_dict().keys()


@pytest.mark.parametrize(
    ("check", "unit", "says"),
    [
        ("clamp_force", "N", "clamp force in leg: -60.02 N before, +1.00 N after"),
        ("packing", "deg", "packing in leg: -60.02° before, +1.00° after"),
        ("front_beam", "mm", "front beam in leg: -60.02 mm before, +1.00 mm after"),
    ],
)
def test_a_margin_is_told_in_its_unit(check: str, unit: str, says: str) -> None:
    margin = Margin("leg", check, unit, -60.02, 1.0)
    found = Found(PORCH, 2.0, (Option((), PORCH, (margin,)),), (), short=(check,))
    assert f"   {says}" in list(found_lines(found))


def test_what_no_fixture_cures_is_named() -> None:
    """A rail of 60 mm stands out of its housing in the leg, whatever cuts it."""
    answer = solve(attrs.evolve(leg(66, 44, 12, 8), rail_thickness_mm=60.0), PORCH)
    found = what_would_do([answer], PORCH)
    assert {c.name for c in found.no_fixture_cures} == {"housing_covered"}


def test_every_clamping_is_judged() -> None:
    """On a tilt that goes both ways the other side of the stock may be free of the beam."""
    both = attrs.evolve(PORCH, tilt=attrs.evolve(PORCH.tilt, min_deg=-24.0))
    answer = solve(leg(66, 80, 15, 8), PORCH)
    one_way = needed(OUT, demands([answer]), PORCH, 0.0)
    two_way = needed(OUT, demands([answer]), both, 0.0)
    assert one_way is not None
    assert two_way is not None
    assert two_way.amount <= one_way.amount


def test_bad_questions() -> None:
    with pytest.raises(InputError, match="room_mm: is out of range"):
        what_would_do(three_legs(), PORCH, room_mm=-1)
    with pytest.raises(InputError, match="is no kind of change"):
        allowed("no_such_change")
    with pytest.raises(InputError, match="cut nothing"):
        what_would_do([], PORCH)


def test_it_says_how_far_it_is() -> None:
    told: list[tuple[int, int]] = []
    what_would_do(
        three_legs(), PORCH, [OUT, BACKING], progress=lambda n, most: told.append((n, most))
    )
    assert [n for n, _ in told] == list(range(1, len(told) + 1))
    assert len(told) > 5


def test_demo_work_asks_for_nothing() -> None:
    for name in ("bench", "chair", "planter"):
        job = load_job(name)
        assert what_would_do([solve_job(job)], job.fixture).feasible_now, name
    assert jointgeo.load_fixture("porch").changed_from is None
