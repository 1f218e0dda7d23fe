"""A leg that a tilt of both ways failed and a tilt of one way did not, until both were judged.

The ranges are our choice; margins are worked out by the library on one clamping and on the other.
"""

from __future__ import annotations

from typing import Any

import attrs
import pytest

from jointgeo import joint_type, load_fixture, solve

#: Rounding over metres is 1e-12.
EXACT = 1e-9
PORCH = load_fixture("porch")


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
    return solve(leg, attrs.evolve(PORCH, tilt=attrs.evolve(PORCH.tilt, min_deg=tilt_min_deg)))


def test_the_smallest_case_fits_with_more_range_as_it_did_with_less() -> None:
    """With the face side on the plate the clamp bar swings 0.12 mm into the straight beam."""
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
    assert beam.because == "of all that swings, the clamp bar comes nearest to the straight beam"


def test_settings_and_feasibility_tell_of_one_clamping() -> None:
    """Whichever is asked first: the smallest case, where the choice turns on a check."""
    first, second = smallest(-24), smallest(-24)
    checks, settings = first.feasibility_dict(), first.settings_dict(aids=False)
    assert settings == second.settings_dict(aids=False)
    assert checks == second.feasibility_dict()
    tilt = next(c for c in checks["checks"] if c["name"] == "tilt_range")
    assert tilt["value"] == settings["parts"][0]["setups"][0]["tilt_deg"]
