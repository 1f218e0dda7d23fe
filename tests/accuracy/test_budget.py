"""Error budgets: Monte Carlo, gaps by a tangent, shares, the inverse, other angles and checks."""

from __future__ import annotations

import json

import attrs
import numpy as np
import pytest

import jointgeo
from jointgeo.checks.accuracy import accuracy_checks
from jointgeo.fixtures.corrections import Correction, KerfCorrection
from jointgeo.fixtures.model import Fixture
from jointgeo.joints.stock import parts
from jointgeo.planning.end_plan import SetupPlan, plan_end
from jointgeo.uncertainty.budget import end_budget, setup_budget
from jointgeo.uncertainty.cutmodel import OUTCOMES, outcomes
from jointgeo.uncertainty.shape import ERRORS, setup_shape
from jointgeo.uncertainty.sources import sources

DRAWS = 40_000
# The standard deviation of n normal draws scatters by 1/√(2n) of itself: 0.35 %; four of those.
MONTE_CARLO = 0.015


def square_setup(fixture: Fixture, width_mm: float) -> SetupPlan:
    """A square tenon on a rail of that width: zero swivel and tilt in its first setup."""
    joint = jointgeo.joint_type("angled_tenon").from_dict(
        {
            "rail_width_mm": width_mm,
            "rail_thickness_mm": 24,
            "rail_length_mm": 400,
            "tenon_length_mm": 30,
            "tenon_width_mm": 50,
            "tenon_thickness_mm": 8,
            "mortised_thickness_mm": 60,
            "mortised_width_mm": 40,
        }
    )
    return plan_end(parts(joint.drawing)[0], fixture).setups[0]


def with_u(fixture: Fixture, **values: float) -> Fixture:
    return attrs.evolve(fixture, uncertainty=attrs.evolve(fixture.uncertainty, **values))


@pytest.mark.parametrize(("error_deg", "gap_mm"), [(5 / 60, 0.145), (0.1, 0.175)])
def test_gap_per_100_mm(exact: Fixture, error_deg: float, gap_mm: float) -> None:
    """A vernier's 5′ opens 100·tan 5′ = 0.145 mm over 100 mm, 0.1° 0.175 mm; to 0.001 mm, so
    0.0005.

    5′: US Army OD1642 (a bevel protractor reads to 5′; from memory, page not kept). The swivel
    alone is uncertain, and its standard uncertainty gives the standard gap; 1.960 of it is the
    normal's 95 %.
    """
    fixture = with_u(exact, swivel_deg=error_deg)
    setup = square_setup(fixture, 100.0)
    assert setup.chosen.swivel_deg == pytest.approx(0.0, abs=1e-9)
    found = setup_budget(setup, fixture)["shoulder_gap"]
    assert found.standard == pytest.approx(gap_mm, abs=0.0005)
    assert found.expanded == pytest.approx(1.960 * gap_mm, abs=0.001)
    assert found.largest[0] == "swivel_scale"
    assert found.largest[1] == pytest.approx(1.0, abs=1e-12)


def test_first_order_agrees_with_monte_carlo(
    setup: SetupPlan, porch: Fixture, rng: np.random.Generator
) -> None:
    """Every error drawn from a normal of its uncertainty, through the exact geometry."""
    shape = setup_shape(setup, porch)
    draws = np.zeros((DRAWS, len(ERRORS)))
    for source in sources(porch, setup.cutter.name, setup.chosen.swivel_deg, setup.chosen.tilt_deg):
        draws[:, ERRORS.index(source.error)] += rng.normal(0.0, source.u, DRAWS)
    spread = dict(zip(OUTCOMES, outcomes(draws, shape).std(axis=0).tolist(), strict=True))
    budget = setup_budget(setup, porch)
    pairs = {
        "shoulder_gap": ("shoulder_1_mm", "shoulder_2_mm"),
        "cheek_fit": ("cheek_fit_mm",),
        "cheek_wind": ("cheek_wind_1_mm", "cheek_wind_2_mm"),
        "depth": ("depth_mm",),
        "place": ("place_mm",),
        "corner_angle": ("corner_feed_deg", "corner_traverse_deg"),
    }
    for name, columns in pairs.items():
        worst = max(spread[c] for c in columns)
        assert budget[name].standard == pytest.approx(worst, rel=MONTE_CARLO), name


def test_the_gap_passes_its_95_percent_and_the_glue_line_as_rarely_as_it_says(
    setup: SetupPlan, porch: Fixture, rng: np.random.Generator
) -> None:
    """Both diagonals of the exact cut. Bounds are four binomial standard deviations,
    4·√(p·(1 - p)/40000): 0.44 % at 95 %, less for the chance of a glue line of 0.09 mm."""
    fixture = attrs.evolve(porch, practice=attrs.evolve(porch.practice, glue_line_mm=0.09))
    draws = np.zeros((DRAWS, len(ERRORS)))
    for source in sources(
        fixture, setup.cutter.name, setup.chosen.swivel_deg, setup.chosen.tilt_deg
    ):
        draws[:, ERRORS.index(source.error)] += rng.normal(0.0, source.u, DRAWS)
    gap = np.abs(outcomes(draws, setup_shape(setup, fixture))[:, :2]).max(axis=1)
    budget = setup_budget(setup, fixture)
    for limit, p in ((budget["shoulder_gap"].expanded, 0.95), (0.09, budget.closing.chance)):
        assert np.mean(gap <= limit) == pytest.approx(p, abs=4 * np.sqrt(p * (1 - p) / DRAWS))
    assert 0.02 < budget.closing.chance < 0.98  # a figure that could be wrong


def test_shares_add_up_to_one(setup: SetupPlan, porch: Fixture) -> None:
    for outcome in setup_budget(setup, porch).outcomes:
        assert sum(s for s in outcome.shares.values()) == pytest.approx(1.0, abs=1e-12)


def test_an_axis_set_off_by_its_limit_opens_exactly_the_glue_line(
    setup: SetupPlan, porch: Fixture
) -> None:
    """The inverse, put back through the exact geometry: 0.15 mm to first order, so 0.6 % of it:
    second order, the error angle (0.41°) times the tangent of the other axis's 31°."""
    budget = setup_budget(setup, porch)
    shape = setup_shape(setup, porch)
    for axis in ("swivel", "tilt"):
        errors = np.zeros((1, len(ERRORS)))
        errors[0, ERRORS.index(f"{axis}_deg")] = budget.within_deg[axis]
        gap = np.abs(outcomes(errors, shape)[0, :2]).max()
        assert gap == pytest.approx(0.15, rel=0.006), axis


def test_the_uncertainty_an_axis_may_have_uses_up_the_limit(
    bridle: SetupPlan, porch: Fixture
) -> None:
    """With the swivel's scale as uncertain as the inverse allows, its gain and its zero exact, the
    gap at 95 % is the limit itself: 1e-6 mm, the root of the one against that of the other."""
    porch = with_u(porch, swivel_scale_fraction=0.0)
    allowed = setup_budget(bridle, porch).u_within_deg["swivel"]
    fixture = with_u(porch, swivel_deg=allowed, swivel_zero_deg=0.0)
    budget = setup_budget(bridle, fixture)
    assert budget["shoulder_gap"].expanded == pytest.approx(0.15, abs=1e-6)
    worse = with_u(porch, swivel_deg=1.01 * allowed, swivel_zero_deg=0.0)
    assert not setup_budget(bridle, worse).closes


def test_everything_else_being_too_much_is_an_answer(bridle: SetupPlan, porch: Fixture) -> None:
    fixture = with_u(porch, tilt_deg=1.0)
    budget = setup_budget(bridle, fixture)
    assert np.isnan(budget.u_within_deg["swivel"])
    plain = json.loads(json.dumps(budget.to_dict(), allow_nan=False))
    assert plain["swivel_u_within_deg"] is None
    assert plain["closes"] is False


def test_a_plain_trim_has_no_fit_and_no_depth(bridle: SetupPlan, porch: Fixture) -> None:
    notch, at = attrs.evolve(bridle.notch, channels=()), bridle.positions
    positions = attrs.evolve(at, frame=attrs.evolve(at.frame, notch=notch))
    trimmed = attrs.evolve(bridle, positions=positions, notch=notch, narrowest_mm=None)
    assert trimmed.cuts == ()
    names = [o.name for o in setup_budget(trimmed, porch).outcomes]
    assert names == ["shoulder_gap", "corner_angle"]
    assert [c.name for c in accuracy_checks(setup_budget(trimmed, porch))] == ["joint_closes"]


def test_a_budget_at_other_angles_is_that_of_the_exact_cut_there(
    bridle: SetupPlan, porch: Fixture, rng: np.random.Generator
) -> None:
    """The same cuts at 20° and 5°: drawn errors through the exact geometry at those angles, and
    each axis may be off as far as it may at them."""
    moved = setup_budget(bridle, porch, swivel_deg=-20.0, tilt_deg=5.0)
    assert (moved.swivel_deg, moved.tilt_deg) == (-20.0, 5.0)
    draws = np.zeros((DRAWS, len(ERRORS)))
    for source in sources(porch, bridle.cutter.name, -20.0, 5.0):
        draws[:, ERRORS.index(source.error)] += rng.normal(0.0, source.u, DRAWS)
    spread = outcomes(draws, setup_shape(bridle, porch, -20.0, 5.0))[:, :2].std(axis=0).max()
    assert moved["shoulder_gap"].standard == pytest.approx(spread, rel=MONTE_CARLO)
    own = setup_budget(bridle, porch)
    assert setup_budget(bridle, porch, tilt_deg=own.tilt_deg).within_deg == own.within_deg
    assert abs(moved["shoulder_gap"].expanded - own["shoulder_gap"].expanded) > 1e-4


def test_checks_pass_and_warn_with_numbers(bridle: SetupPlan, porch: Fixture) -> None:
    """With gains of both scales that are exact; as the file leaves them open, 0.005 of 8° and 12°,
    the shoulder warns too."""
    open_gain = {c.name: c.status for c in accuracy_checks(setup_budget(bridle, porch))}
    assert open_gain == {"joint_closes": "caution", "cheek_fit": "pass", "depth": "pass"}
    porch = with_u(porch, swivel_scale_fraction=0.0, tilt_scale_fraction=0.0)
    good = {c.name: c for c in accuracy_checks(setup_budget(bridle, porch))}
    assert {c.status for c in good.values()} == {"pass"}
    assert list(good) == ["joint_closes", "cheek_fit", "depth"]
    poor = with_u(porch, swivel_deg=0.2, backlash_mm=0.2, depth_mm=0.3)
    bad = {c.name: c for c in accuracy_checks(setup_budget(bridle, poor))}
    assert {c.status for c in bad.values()} == {"caution"}
    closer = next(r for r in bad["joint_closes"].remedies if r.do == "set_closer")
    # The swivel's 0.2010° and the tilt's 0.0368° (scale, zero, play) are to stand as they do to
    # each other: 0.15 mm / (1.1593 mm/° · 0.2010° + 0.7851 mm/° · 0.0368°) = 0.5727 of each.
    assert closer.amounts["swivel_within_deg"] == pytest.approx(0.1151, abs=0.0001)
    assert closer.amounts["tilt_within_deg"] == pytest.approx(0.0211, abs=0.0001)
    assert "the swivel to ±0.115° and the tilt to ±0.021°" in closer.says
    assert "the chance that it closes is" in bad["joint_closes"].because
    largest = next(r for r in bad["joint_closes"].remedies if r.do == "reduce_largest_share")
    assert largest.amounts["contributor"] == "swivel_scale"
    left = with_u(poor, swivel_deg=0.0)
    rest = setup_budget(bridle, left)["shoulder_gap"].expanded
    assert largest.amounts["left_mm"] == pytest.approx(rest, abs=1e-9)


def test_what_was_calibrated_stands_in_place_of_the_file(bridle: SetupPlan, porch: Fixture) -> None:
    """A scale known to 0.03° and calibrated to 0.003° leaves the zero's repeatability and the rest,
    as its gain, 0.005 of what the scale shows: hypot(0.003, 0.005·8.0274) / hypot(0.03,
    0.005·7.8274) = 0.04025° / 0.04931°."""
    name = bridle.cutter.name
    calibrated = Correction(
        swivel_zero_deg=0.2,
        swivel_zero_u_deg=0.003,
        lead_fraction_u=1e-5,
        kerf=(KerfCorrection(cutter=name, kerf_mm=0.05, kerf_u_mm=0.001),),
    )
    before = setup_budget(bridle, porch)
    after = setup_budget(bridle, attrs.evolve(porch, correction=calibrated))
    ratio = (
        after["shoulder_gap"].parts["swivel_scale"] / before["shoulder_gap"].parts["swivel_scale"]
    )
    assert ratio == pytest.approx(0.81620, abs=1e-5)  # angles are given to 0.0001°
    assert after["cheek_fit"].parts["kerf"] == pytest.approx(0.001, abs=1e-9)
    other = next(c.name for c in porch.cutter if c.name != name)
    assert next(s.u for s in sources(porch, other, 0.0, 0.0) if s.contributor == "kerf") == 0.02


def test_end_budget_has_one_for_each_setup(porch: Fixture) -> None:
    part = parts(jointgeo.joint_type("angled_tenon").examples()[0].drawing)[0]
    plan = plan_end(part, porch)
    assert len(end_budget(plan, porch)) == len(plan.setups) == 2


def test_an_outcome_that_is_not_there_is_a_key_error(bridle: SetupPlan, porch: Fixture) -> None:
    with pytest.raises(KeyError):
        setup_budget(bridle, porch)["beauty"]


def test_parts_of_fit_and_depth_by_hand(bridle: SetupPlan, porch: Fixture) -> None:
    """Two walls set apart from each other: √2·0.02 of backlash, √2·0.05/√12 of the handwheel's
    divisions of 0.05 mm; two heights: √2·0.05; lead 0.0005 over the travel between the walls."""
    budget = setup_budget(bridle, porch)
    slot = next(c for c in bridle.cuts if not c.outer)
    span = slot.right_mm - slot.left_mm - bridle.cutter.kerf_mm
    expected = {
        "backlash": np.sqrt(2) * 0.02,
        "handwheel": np.sqrt(2) * 0.05 / np.sqrt(12),
        "kerf": 0.02,
        "runout": 0.02,
        "traverse_lead": 0.0005 * span,
    }
    parts = {n: p for n, p in budget["cheek_fit"].parts.items() if p > 1e-9}
    assert parts == pytest.approx(expected, abs=1e-9)
    parts = {n: p for n, p in budget["depth"].parts.items() if p > 1e-9}
    assert parts == pytest.approx(
        {"cutter_height": np.sqrt(2) * 0.05, "stock_thickness": 0.05}, abs=1e-9
    )
