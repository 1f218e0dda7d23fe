"""A scale at the joint's own angle: what it must show, how well that is known, and who is told."""

from __future__ import annotations

import math

import attrs
import pytest

import jointgeo
from jointgeo.fixtures.calibrated import axis_error, scale_figure, setting_factor
from jointgeo.fixtures.corrections import Correction
from jointgeo.fixtures.indication import setting_times, shown
from jointgeo.fixtures.model import Fixture
from jointgeo.fixtures.testcuts import AxisCut
from jointgeo.joints.drawing import Drawing
from jointgeo.setting_aids.aids import axis_aids
from jointgeo.uncertainty.sources import sources


def cut(name: str, scale: float, off: float) -> AxisCut:
    return AxisCut(id=f"d/tilt/{name}", axis="tilt", scale_deg=scale, off_deg=off, u_deg=0.006)


@pytest.fixture
def tested(porch: Fixture) -> Fixture:
    """A tilt that stands 0.04° too far on at 0 and 0.16° at 12°, by two settings of each."""
    cuts = (cut("a", 0, 0.03), cut("b", 0, 0.05), cut("c", 12, 0.15), cut("d", 12, 0.17))
    return attrs.evolve(porch, test_cut=cuts)


def leg() -> Drawing:
    return jointgeo.joint_type("splayed_bridle").examples()[0]


@pytest.mark.parametrize("axis", ["swivel", "tilt"])
def test_without_cuts_the_file_says_it(porch: Fixture, axis: str) -> None:
    """0.03° of the scale and 0.005 of 20.2°, hypot 0.1053°; with a correction known to 0.01° and
    so set to 20.2° for 20°: hypot(0.01, 0.101) = 0.1015°."""
    assert shown(porch, axis, 20.2).scale_deg == 20.2
    assert shown(porch, axis, 20.2).u_deg == pytest.approx(0.10536, abs=1e-5)
    stated = Correction(**{f"{axis}_zero_deg": 0.2, f"{axis}_zero_u_deg": 0.01})
    found = shown(attrs.evolve(porch, correction=stated), axis, 20.0)
    assert found.scale_deg == pytest.approx(20.2, abs=1e-12)
    assert found.u_deg == pytest.approx(0.10149, abs=1e-5)
    assert setting_times(porch, axis) == 1.0


@pytest.mark.parametrize("wanted", [-7.0, 0.0, 12.0])
def test_without_cuts_it_is_what_the_estimate_says(porch: Fixture, wanted: float) -> None:
    """The same by the least squares of ``calibrated``; 1e-12°, rounding."""
    figure = scale_figure(porch, "tilt", wanted)
    found = shown(porch, "tilt", wanted)
    assert found.scale_deg == pytest.approx(figure.scale_deg, abs=1e-12)
    assert found.u_deg == pytest.approx(figure.known.mean / 2, abs=1e-12)


def test_the_solver_sets_what_was_calibrated_at_its_own_angle(tested: Fixture) -> None:
    """12° is set as some 11.84°: the cuts there say 0.16°, and 0.01° for what of it the file's
    claim of 0 still takes. The correction at 0 alone would say 11.96°."""
    setup = jointgeo.solve(leg(), tested).setups[0]
    assert setup.tilt_deg == pytest.approx(12.0, abs=1e-9)
    assert setup.scale_tilt_deg == pytest.approx(11.845, abs=0.01)
    assert setup.scale_tilt_deg == scale_figure(tested, "tilt", setup.tilt_deg).scale_deg
    assert setup.scale_swivel_deg == setup.swivel_deg
    scale = next(a for a in axis_aids(tested, "tilt", 12.0, 0.1) if a.aid == "scale")
    assert scale.numbers["scale_deg"] == round(setup.scale_tilt_deg, 2)
    # Half of the scale's last digit at most.
    assert abs(scale.error_deg) <= 0.005 + 1e-9


def test_the_budget_takes_the_uncertainty_at_its_own_angle(tested: Fixture) -> None:
    """Zero, play and lock are √φ·t/2 times the file's; the scale's is half of what the estimate is
    known to. 24° was not tested, and is known less well."""
    error = axis_error(tested, "tilt")
    times = math.sqrt(error.scatter) * error.factor / 2
    assert times > 1.1
    at = {a: {s.contributor: s.u for s in sources(tested, "", 0.0, a)} for a in (12.0, 24.0)}
    known = scale_figure(tested, "tilt", 12.0).known
    assert at[12.0]["tilt_scale"] == pytest.approx(known.mean / 2, abs=1e-15)
    assert at[24.0]["tilt_scale"] > 1.5 * at[12.0]["tilt_scale"]
    u = tested.uncertainty
    for name, filed in (
        ("tilt_zero", u.tilt_zero_deg),
        ("hinge_play", u.hinge_play_mm),
        ("tilt_lock_difference", u.tilt_lock_difference_mm),
    ):
        assert at[12.0][name] == pytest.approx(times * filed, rel=1e-12), name
    assert at[12.0]["swivel_zero"] == u.swivel_zero_deg


def test_a_stop_keeps_the_correction_at_zero(tested: Fixture) -> None:
    """A pin at the stop shares the zero and not the scale: it opens 12° less the 0.04° there, and
    its setting scatters as the cuts say."""
    calibrated = attrs.evolve(
        tested, correction=Correction(tilt_zero_deg=-0.04, tilt_zero_u_deg=0.011)
    )
    pins = {a.aid: a for a in axis_aids(calibrated, "tilt", 12.0, 0.1)}
    plain = attrs.evolve(calibrated, test_cut=())
    without = {a.aid: a for a in axis_aids(plain, "tilt", 12.0, 0.1)}
    assert pins["pin"].numbers == without["pin"].numbers
    u = tested.uncertainty
    setting = math.hypot(
        u.tilt_zero_deg, math.degrees(math.atan(u.hinge_play_mm / u.tilt_lock_arm_mm))
    )
    times = setting_factor(axis_error(tested, "tilt"))
    more = pins["pin"].u_deg ** 2 - without["pin"].u_deg ** 2
    assert more == pytest.approx((times**2 - 1) * setting**2, rel=1e-9)
