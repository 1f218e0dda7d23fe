"""Every clamping inside the ranges is judged before a joint is called infeasible.

More range can only add clampings to choose from. Expected numbers are worked by hand or follow
from the property itself; the ranges tried are our choice.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import attrs
import pytest

from jointgeo import Fixture, JointType, joint_type, load_fixture, solve
from jointgeo.errors import InputError
from jointgeo.planning.choice import Wish
from jointgeo.planning.setups import plan_end
from jointgeo.solution.end import EndSolution, Use, can_fail, solve_end
from jointgeo.solution.serialise import end_settings
from jointgeo.solution.setup import Setup
from tests.proof.random_joints import DRAWS, joints

from .samples import BEAM, fixture_with, part_at, solved

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


def smallest(tilt_min_deg: float) -> Any:
    """A leg that the demo's tilt of one way serves, on one that goes both ways."""
    leg = joint_type("splayed_bridle")(
        leg_width_mm=66,
        leg_thickness_mm=44,
        leg_length_mm=430,
        rail_thickness_mm=30,
        tongue_thickness_mm=22,
        rail_depth_mm=60,
        rail_length_mm=900,
        splay_along_deg=5,
        splay_across_deg=15,
    )
    return solve(leg, ranges(PORCH, (-25, 25), (tilt_min_deg, 24)))


def test_the_smallest_case_fits_with_more_range_as_it_did_with_less() -> None:
    """With the face side on the plate the clamp bar swings 0.12 mm into the low beam."""
    one_way, both_ways = smallest(0), smallest(-24)
    assert one_way.status == both_ways.status == "caution"
    (one,), (both,) = one_way.setups, both_ways.setups
    assert both.against_plate == one.against_plate == "back"
    assert both.tilt_deg == pytest.approx(5.0, abs=EXACT)
    margins = [{(c.name, c.setup): c.margin for c in s.checks} for s in (one_way, both_ways)]
    assert margins[0].keys() == margins[1].keys()
    for key, margin in margins[0].items():
        assert margins[1][key] >= margin - EXACT  # that of an axis grows, no other moves


def test_the_candidates_say_what_was_judged_and_what_fails() -> None:
    (setup,) = smallest(-24).settings_dict(aids=False)["parts"][0]["setups"]
    by_side = {c["against_plate"]: c for c in setup["candidates"]}
    back, face = by_side["back"], by_side["face_side"]
    assert (back["chosen"], back["judged"], back["status"], back["failing"]) == (
        True,
        True,
        "pass",
        [],
    )
    assert (face["chosen"], face["judged"], face["status"], face["failing"]) == (
        False,
        True,
        "fail",
        ["front_beam"],
    )
    assert "face side on the plate comes first" in setup["chosen_because"]
    assert "fails front_beam" in setup["chosen_because"]
    assert setup["by_hand"] is None


def test_a_single_clamping_inside_the_ranges_is_not_judged_to_choose_it() -> None:
    (setup,) = smallest(0).settings_dict(aids=False)["parts"][0]["setups"]
    by_side = {c["against_plate"]: c for c in setup["candidates"]}
    assert setup["chosen_because"] == "the only clamping inside both axes' ranges"
    assert (by_side["back"]["judged"], by_side["back"]["status"]) == (False, None)
    other = by_side["face_side"]
    assert (other["judged"], other["status"], other["failing"]) == (False, "fail", ["tilt_range"])


def test_the_body_that_fouls_is_named() -> None:
    """On the face side the preferred clamping fails by its clamp bar, 0.12 mm (to 0.01 mm)."""
    answer = smallest(-24)
    plan = answer.setups[0].plan
    face = next(c for c in plan.candidates if c is not plan.chosen)
    found = plan.checks(face)
    assert found is not None
    beam = next(c for c in found if c.name == "front_beam")
    assert beam.margin == pytest.approx(-0.12, abs=0.005)
    assert beam.because == "of all that swings, the clamp bar comes nearest to the low beam"


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


def aside(setup: Setup) -> bool:
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
                gave_way += any(map(aside, answer.setups))
    # Or nothing would have been tried: 87 and 33 on the one fixture, 184 and 8 on the other.
    assert fits > 60
    assert gave_way > 5


# Chosen with what earlier setups leave, and judged once ------------------------------------


def test_every_setup_is_judged_with_those_before_it_and_none_after() -> None:
    """An end with two setups: the judge sees the setup itself last in the plan it is given."""
    tenon = joint_type("angled_tenon").examples()[0]
    fixture = ranges(PORCH, (-25, 25), (-24, 24))
    part, seen = solve(tenon, fixture).parts[0], []

    def judge(plan: Any, setup: Any) -> Any:
        seen.append((len(plan.setups), plan.setups[-1] is setup))
        return can_fail(fixture, plan, setup)

    plan = plan_end(part, fixture, 0.0, judge)
    assert [n for n, _ in seen if n == 1]
    assert {n for n, _ in seen} <= set(range(1, len(plan.setups) + 1))
    assert all(last for _, last in seen)


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


def test_settings_and_feasibility_tell_of_one_clamping() -> None:
    """Whichever is asked first: the smallest case, where the choice turns on a check."""
    first, second = smallest(-24), smallest(-24)
    assert isinstance(first.joint, JointType)
    checks, settings = first.feasibility_dict(), first.settings_dict(aids=False)
    assert settings == second.settings_dict(aids=False)
    assert checks == second.feasibility_dict()
    tilt = next(c for c in checks["checks"] if c["name"] == "tilt_range")
    assert tilt["value"] == settings["parts"][0]["setups"][0]["tilt_deg"]
