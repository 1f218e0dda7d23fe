"""How close is close enough for a named joint: the figure ``solve`` prints, and forecasts."""

from __future__ import annotations

import attrs
import pytest

import jointgeo
from jointgeo.calibration import needs as needs_module
from jointgeo.calibration.advice import AxisTask, next_cut
from jointgeo.calibration.calibrate import Calibrated, calibrate
from jointgeo.calibration.needs import joint_needs, rough_need
from jointgeo.calibration.readingfiles import load_readings
from jointgeo.calibration.readings import CutReadings
from jointgeo.calibration.telling import calibration_lines
from jointgeo.fixtures.calibrated import axis_error, scale_figure
from jointgeo.fixtures.model import Fixture
from jointgeo.jobs.file import load_job
from jointgeo.jobs.solve import solve_job
from jointgeo.joints.joint_type import JointType

AXES = ("swivel", "tilt")


@pytest.fixture
def leg() -> JointType:
    return jointgeo.joint_type("splayed_bridle").examples()[0]


@pytest.fixture
def calibrated(porch: Fixture, leg: JointType) -> Calibrated:
    return calibrate(load_readings(CutReadings, "porch-test-cuts"), porch, cut=leg)


def test_needed_is_what_the_solver_asks_of_the_same_fixture(
    calibrated: Calibrated, leg: JointType
) -> None:
    """Angles are told to 0.001°, tolerances alike to rounding, 1e-12°."""
    setup = jointgeo.solve(leg, calibrated.fixture).setups[0]
    for axis, angle in (("swivel", 7.827), ("tilt", 12.0)):
        (at,) = calibrated[axis].at
        assert at.wanted == pytest.approx(angle, abs=1e-9)
        assert at.needed == pytest.approx(setup.budget.closing.needed_deg[axis], abs=1e-12)
        assert at.scale == pytest.approx(getattr(setup, f"scale_{axis}_deg"), abs=6e-4)
    # Equally hard: on both axes the same part of what a later cut comes to, but for the locks of
    # the tilt, which are no part of its tolerance: 0.0075° of 0.0435°, 1.5 % in quadrature.
    parts = [calibrated[axis].at[0].needed / calibrated[axis].at[0].known.later for axis in AXES]
    assert parts[0] == pytest.approx(parts[1], rel=0.02)
    assert calibrated[AXES[0]].at[0].to_dict("deg")["possible"] is True


def test_a_forecast_leaves_the_other_axis_as_it_is_known(porch: Fixture, leg: JointType) -> None:
    """The demo leg gaps 1.1593 mm a degree of swivel and 0.7851 of tilt, 0.15 mm in all."""
    needs = joint_needs(leg, porch)
    later = {"swivel": 7.827, "tilt": 12.0}
    later = {a: scale_figure(porch, a, v).known.later for a, v in later.items()}
    swivel, tilt = needs["swivel"][7.827], needs["tilt"][12.0]
    assert swivel.alone == pytest.approx((0.15 - 0.7851 * later["tilt"]) / 1.1593, abs=1e-4)
    assert tilt.alone == pytest.approx((0.15 - 1.1593 * later["swivel"]) / 0.7851, abs=1e-4)
    assert swivel.weight == pytest.approx(0.15 / 1.1593, abs=1e-5)
    assert tilt.weight == pytest.approx(0.15 / 0.7851, abs=2e-5)
    assert swivel.possible
    assert tilt.possible


def test_a_job_is_calibrated_for_at_every_angle_it_is_solved_at(porch: Fixture) -> None:
    """The bench's legs stand both ways: each at its own tolerance, the strictest of its setups."""
    job = load_job("bench")
    needs = joint_needs(job, porch)
    assert set(needs["swivel"]) >= {7.827, -7.827}
    wanted: dict[float, float] = {}
    for end in solve_job(attrs.evolve(job, fixture=porch)).ends:
        for setup in end.setups:
            angle = round(setup.swivel_deg, 3) + 0.0
            need = setup.budget.closing.needed_deg["swivel"]
            wanted[angle] = min(wanted.get(angle, need), need)
    assert {a: n.needed for a, n in needs["swivel"].items()} == pytest.approx(wanted, abs=1e-12)


@pytest.mark.parametrize("order", [(0.15, 0.10), (0.10, 0.15)])
def test_of_two_setups_at_one_angle_the_stricter_counts(
    porch: Fixture, leg: JointType, monkeypatch: pytest.MonkeyPatch, order: tuple[float, float]
) -> None:
    """The leg to close within 0.15 mm and the leg to close within 0.10 mm."""
    practice = [attrs.evolve(porch.practice, glue_line_mm=limit) for limit in (0.10, *order)]
    fixtures = [attrs.evolve(porch, practice=p) for p in practice]
    strict, *both = (jointgeo.solve(leg, f).setups[0].budget for f in fixtures)
    alone = joint_needs(leg, fixtures[0])
    monkeypatch.setattr(needs_module, "_budgets", lambda *_: iter(both))
    assert joint_needs(leg, porch) == alone
    assert alone["tilt"][12.0].needed == strict.closing.needed_deg["tilt"]


def test_what_no_cut_can_reach_is_said(porch: Fixture, leg: JointType) -> None:
    """Zeros that repeat to 0.02° gap 2·0.02·(1.1593 + 0.7851) = 0.078 mm: more than 0.05 mm."""
    tight = attrs.evolve(porch, practice=attrs.evolve(porch.practice, glue_line_mm=0.05))
    found = calibrate(load_readings(CutReadings, "porch-test-cuts"), tight, cut=leg)
    for axis in AXES:
        assert found[axis].hopeless
        assert found[axis].more_cuts is None
    assert found.next is None
    told = "\n".join(calibration_lines(found))
    assert told.count("no number of cuts is enough") == 2


def test_an_axis_whose_partner_takes_all_of_the_line_says_so(calibrated: Calibrated) -> None:
    """After the demo's cuts the swivel's 0.126° take 0.146 mm of the 0.15."""
    assert calibrated["tilt"].more_cuts is None
    assert not calibrated["tilt"].hopeless
    told = "\n".join(calibration_lines(calibrated))
    assert "cuts of this axis alone will not do" in told
    assert calibrated.next is not None
    assert calibrated.next.axis == "swivel"


@pytest.mark.parametrize(("swivel", "tilt", "axis"), [(0.2, 0.1, "tilt"), (0.1, 0.2, "swivel")])
def test_the_next_cut_goes_where_the_gap_is(
    porch: Fixture, swivel: float, tilt: float, axis: str
) -> None:
    """Two axes known alike: the one of which less error opens the glue line."""
    u = attrs.evolve(porch.uncertainty, hinge_play_mm=0.0, tilt_lock_difference_mm=0.0)
    level = attrs.evolve(u, rail_height_difference_mm=0.0)
    fixture = attrs.evolve(porch, uncertainty=level)
    tasks = {
        name: AxisTask(axis_error(fixture, name), {12.0: weight}, {12.0: 0.006})
        for name, weight in (("swivel", swivel), ("tilt", tilt))
    }
    found = next_cut(tasks)
    assert found is not None
    assert found.axis == axis


def test_without_a_joint_it_is_the_rough_rule() -> None:
    """atan(0.15 / 100) / √2 = 0.0608°; 2·0.03° is within that, 2·0.031° is not."""
    assert rough_need(0.15, 100.0, 0.03).needed == pytest.approx(0.06077, abs=1e-5)
    assert rough_need(0.15, 100.0, 0.03).possible
    assert not rough_need(0.15, 100.0, 0.031).possible
