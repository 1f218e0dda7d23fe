"""Every clamping inside the ranges is judged before a joint is called infeasible.

More range can only add clampings to choose from. Expected numbers are worked by hand or follow
from the property itself; the ranges tried are our choice.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import attrs
import pytest

from jointgeo import Fixture, load_fixture, solve
from jointgeo.errors import InputError
from jointgeo.planning.choice import Wish
from jointgeo.planning.end_plan import plan_end
from jointgeo.solution.end import EndSolution, Use, can_fail, solve_end
from jointgeo.solution.serialise import end_settings
from jointgeo.solution.setup import Setup
from tests.proof.random_joints import DRAWS, joints

from .samples import BEAM, fixture_with, notch_at, part_at, solved, turn

#: Rounding over metres is 1e-12.
EXACT = 1e-9
PORCH = load_fixture("porch")

#: A bar on the plate, 20 mm left of the fence, that stands out 160 mm towards you.
BAR: dict[str, Any] = {
    "name": "bar",
    "fixed_to": "tilt",
    "x_min_mm": -90,
    "x_max_mm": -40,
    "y_min_mm": -160,
    "y_max_mm": -40,
    "z_min_mm": 40,
    "z_max_mm": 80,
}


def ranges(fixture: Fixture, swivel: tuple[float, float], tilt: tuple[float, float]) -> Fixture:
    """The same fixture with other ranges (deg)."""
    return attrs.evolve(
        fixture,
        swivel=attrs.evolve(fixture.swivel, min_deg=swivel[0], max_deg=swivel[1]),
        tilt=attrs.evolve(fixture.tilt, min_deg=tilt[0], max_deg=tilt[1]),
    )


# More range never takes away -------------------------------------------------------------

#: From narrow to wide, each inside the next: swivel and tilt (deg).
WIDER = [
    ((-25.0, 25.0), (0.0, 24.0)),
    ((-25.0, 25.0), (-8.0, 24.0)),
    ((-25.0, 40.0), (-24.0, 24.0)),
    ((-40.0, 40.0), (-30.0, 40.0)),
]


def crowded() -> Fixture:
    """The sample fixture with a deep saw, and with a beam and a bar near enough to matter."""
    beam = {**BEAM, "face_distance_mm": 260, "z_min_mm": 30, "z_max_mm": 130}
    saw = {"kerf_mm": 3, "reach_mm": 200, "diameter_mm": 500}
    deep = {f"cutter.0.{name}": value for name, value in saw.items()}
    return fixture_with({"front_beam": [beam], "body": [BAR], **deep})


def gives_way(setup: Setup) -> bool:
    """Whether a clamping that fails gave way to one that passes."""
    chosen = next(c for c in setup.candidates if c.chosen)
    return not chosen.failing and any(c.judged and c.failing for c in setup.candidates)


@pytest.mark.parametrize("make", [lambda: PORCH, crowded], ids=["porch", "sample"])
def test_more_range_never_makes_a_joint_infeasible(make: Callable[[], Fixture]) -> None:
    fixture, gave_way, fits = make(), 0, 0
    for name in DRAWS:
        for joint in joints(name, 50, 11):
            before = False
            for swivel, tilt in WIDER:
                answer = solve(joint, ranges(fixture, swivel, tilt))
                assert answer.feasible or not before, (joint, swivel, tilt)
                before = answer.feasible
                fits += before
                gave_way += any(map(gives_way, answer.setups))
    # Or nothing would have been tried: 87 and 33 on the one fixture, 184 and 8 on the other.
    assert fits > 60
    assert gave_way > 5


# Chosen with what earlier setups leave, and judged once ------------------------------------


def test_every_setup_is_judged_with_those_before_it_and_none_after() -> None:
    """An end with two setups: the judge sees the setup itself last in the plan it is given."""
    fixture = fixture_with({"tilt.min_deg": -60})
    notches = tuple(notch_at(q, [30, 15, 0], [(-5, 5, 20)]) for q in (turn(0, 0), turn(0, 0, 90)))
    part, seen = attrs.evolve(part_at(), notches=notches), []

    def judge(plan: Any, setup: Any) -> Any:
        seen.append((len(plan.setups), plan.setups[-1] is setup))
        return can_fail(fixture, plan, setup)

    plan = plan_end(part, fixture, 0.0, judge)
    assert len(plan.setups) == 2
    assert seen == []  # nobody has asked for a setup yet
    first = plan.setups[0]
    assert seen == [(1, True)]
    assert plan.setups[1].judged
    assert seen == [(1, True), (2, True)]  # neither has a check that fails
    assert plan.setups[0] is first


def test_where_all_fail_the_preferred_one_stays_and_its_remedies_say_so() -> None:
    """A bar that swings into the beam on the preferred side; a clamp that opens too little.

    The bar's front stands 160 mm before the plate, 20 mm more than the beam's face. On either
    side backing and stock, 18 and 40 mm, go into a clamp of 50.
    """
    beam = {**BEAM, "face_distance_mm": 140, "z_min_mm": 0, "z_max_mm": 200}
    both = {"tilt.min_deg": -60, "front_beam": [beam], "body": [BAR], "clamp.opening_mm": 50}
    part, fixture = part_at(0, 2.0, thickness_mm=40.0), fixture_with(both)
    answer = solved(part, fixture)
    (setup,) = answer.setups
    assert setup.chosen_because.startswith("every clamping fails a check")
    assert setup.plan.chosen.side == plan_end(part, fixture).setups[0].chosen.side
    assert all("clamp_opening" in c.failing for c in setup.candidates)
    check = next(c for c in answer.checks if c.name == "front_beam")
    (remedy,) = (r for r in check.remedies if r.do == "turn_stock")
    assert "but fails" in remedy.says
    assert "clamp_opening" in remedy.amounts["fails"]


def test_a_side_chosen_by_hand_is_not_sent_to_one_that_fails() -> None:
    """The bar fouls the beam on either side, by 20 mm and more; the stock alone never would."""
    beam = {**BEAM, "face_distance_mm": 140, "z_min_mm": 0, "z_max_mm": 200}
    both = {"tilt.min_deg": -60, "front_beam": [beam], "body": [BAR]}
    part, fixture = part_at(0, 2.0, thickness_mm=40.0), fixture_with(both)
    (own,) = solved(part, fixture).setups
    (other,) = (c.against_plate for c in own.candidates if not c.chosen)
    use = Use("piece", "near", "as_drawn", 1)
    answer = solve_end(part, fixture, (use,), 0.0, Wish(against_plate=other))
    check = next(c for c in answer.checks if c.name == "front_beam")
    assert check.margin < -20
    (remedy,) = (r for r in check.remedies if r.do == "turn_stock")
    assert "front_beam" in remedy.amounts["fails"]
    assert "but fails front_beam" in remedy.says


def chosen_by_hand(wish: Wish, **angles: float) -> EndSolution:
    fixture = ranges(PORCH, (-25, 25), (-24, 24))
    part = part_at(angles.get("swivel", 5.0), angles.get("tilt", 8.0))
    return solve_end(part, fixture, (Use("piece", "near", "as_drawn", 1),), 0.0, wish)


def test_a_person_chooses_the_side_and_sees_what_it_costs() -> None:
    own = chosen_by_hand(Wish()).setups[0].against_plate
    other = {"back": "face_side", "face_side": "back"}[own]
    answer = chosen_by_hand(Wish(against_plate=other))
    setup = answer.setups[0]
    assert setup.against_plate == other
    assert setup.by_hand is not None
    assert (setup.by_hand.against_plate, setup.by_hand.differs) == (own, True)
    costs = {c.check: (c.margin, c.library_margin) for c in setup.by_hand.costs}
    mine = {c.name: c.margin for c in answer.checks}
    library = {c.name: c.margin for c in chosen_by_hand(Wish()).checks}
    assert costs["front_beam"] == pytest.approx((mine["front_beam"], library["front_beam"]))
    (data,) = end_settings(answer, aids=False)["setups"]
    assert data["by_hand"]["costs"][0].keys() == {"check", "unit", "margin", "library_margin"}


def test_asking_for_what_the_library_takes_costs_nothing() -> None:
    own = chosen_by_hand(Wish()).setups[0].against_plate
    setup = chosen_by_hand(Wish(against_plate=own)).setups[0]
    assert setup.by_hand is not None
    assert (setup.by_hand.differs, setup.by_hand.costs) == (False, ())


def test_a_cutter_by_name() -> None:
    """The library takes the widest that fits a channel of 10 mm; a person may take the saw."""
    assert chosen_by_hand(Wish()).setups[0].cutter == "slotting disc 6"
    setup = chosen_by_hand(Wish(cutter="saw 3.2")).setups[0]
    assert (setup.cutter, setup.kerf_mm) == ("saw 3.2", 3.2)
    assert setup.by_hand is not None
    assert setup.by_hand.cutter == "slotting disc 6"
    # 10 mm of channel less the kerf: 6.8 mm of room and not 4.
    costs = {c.check: (c.margin, c.library_margin) for c in setup.by_hand.costs}
    assert costs["socket_width"] == pytest.approx((6.8, 4.0), abs=EXACT)


@pytest.mark.parametrize(
    ("wish", "field", "allowed"),
    [
        (Wish(against_plate="face_edge"), "against_plate", "back"),
        (Wish(cutter="jointing disc"), "cutter", "saw 3.2"),
    ],
)
def test_a_wish_that_nothing_grants_is_refused(wish: Wish, field: str, allowed: str) -> None:
    with pytest.raises(InputError) as caught:
        chosen_by_hand(wish)
    (problem,) = caught.value.problems
    assert problem.field == field
    assert allowed in problem.allowed
