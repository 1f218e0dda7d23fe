"""The envelope, against the closed form of the front beam's limit and against the checks."""

from __future__ import annotations

import math

import attrs
import numpy as np
import pytest

import jointgeo
from jointgeo.joints.stock import parts
from jointgeo.planning.end_plan import plan_end
from jointgeo.sheet import sheet_of_joint
from jointgeo.sheet.envelope import HIGH, WIDE, envelope, greatest_tilt_deg

from .samples import LOW, PORCH, joint_sheet, lines_of, points, sheet_of

BEAM = LOW.fitted_beams[0]


def leg(thickness: float, tilt: float) -> jointgeo.JointType:
    base = jointgeo.joint_type("splayed_bridle").examples()[0]
    return attrs.evolve(
        base, leg_thickness_mm=thickness, splay_along_deg=tilt, splay_across_deg=0.0
    )


@pytest.mark.parametrize("thickness", [12.0, 30.0, 44.0, 70.0])
def test_the_limit_by_its_closed_form(thickness: float) -> None:
    """L·sin τ + T·cos τ = G, so τ = asin(G/√(L² + T²)) - atan(T/L), with no swivel.

    The hinge lies 12 mm behind the plate's face and 250 mm up; the beam's face 170 mm before
    it: G = 182, T = 12 + 18 + thickness, L = 250 + overhang at that tilt. The foremost corner
    must lie at the beam's height for the form to hold, which the test looks at first.
    """
    bench = sheet_of_joint(leg(44.0, 12.0), LOW).ends[0].setups[0].scene.bench
    tilt = greatest_tilt_deg(bench, BEAM, thickness, 60.0)
    chosen = plan_end(parts(leg(thickness, tilt).drawing)[0], LOW).setups[0].chosen
    overhang = float(chosen.clamped.overhang_mm)
    deep, drop = 12.0 + 18.0 + thickness, 250.0 + overhang
    corner_z = 250.0 - drop * np.cos(np.radians(tilt)) + deep * np.sin(np.radians(tilt))
    assert BEAM.z_min_mm < corner_z < BEAM.z_max_mm
    wanted = np.degrees(np.arcsin(182.0 / np.hypot(drop, deep)) - np.arctan2(deep, drop))
    assert tilt == pytest.approx(wanted, abs=1e-4)  # degrees; far below what can be set
    assert chosen.gap_mm == pytest.approx(0.0, abs=1e-3)


def test_a_job_lies_under_its_curve_if_and_only_if_it_clears_the_beam() -> None:
    for tilt in (8.0, 14.0, 18.0, 19.0, 23.0):
        end = sheet_of_joint(leg(44.0, tilt), LOW).ends[0]
        bench = end.setups[0].scene.bench
        most = greatest_tilt_deg(bench, BEAM, 44.0, 60.0)
        check = next(c for c in end.checks if c.name == "front_beam")
        assert (tilt <= most) == (check.value >= 0)


def test_thicker_stock_tilts_less_and_a_beam_further_out_lets_more() -> None:
    bench = sheet_of("bench").ends[0].setups[0].scene.bench
    deep = np.linspace(10.0, 90.0, 9).tolist()
    near, far = ([greatest_tilt_deg(bench, b, t, 60.0) for t in deep] for b in PORCH.front_beam)
    assert np.all(np.diff(near) < 0)
    assert all(a > b for a, b in zip(far, near, strict=True))


def test_where_the_beam_is_never_reached_there_is_no_limit() -> None:
    bench = sheet_of("bench").ends[0].setups[0].scene.bench
    out = attrs.evolve(BEAM, face_distance_mm=5000.0)
    assert greatest_tilt_deg(bench, out, 44.0, 40.0) == math.inf
    on_it = attrs.evolve(BEAM, face_distance_mm=1.0)
    assert greatest_tilt_deg(bench, on_it, 44.0, 40.0) == 0.0


def test_the_job_is_marked_at_its_own_thickness_and_tilt() -> None:
    """The bench: 44 mm at 12°, on axes that end at 100 mm and 30°."""
    drawing = envelope(sheet_of("bench"))
    assert drawing is not None
    (mark,) = lines_of(drawing, "job")
    assert float(mark.get("cx", "")) == pytest.approx(WIDE * 0.44, abs=0.01)
    assert float(mark.get("cy", "")) == pytest.approx(-HIGH * 12 / 30, abs=0.01)
    curves = [points(e) for e in lines_of(drawing, "curve")]
    assert len(curves) == 2
    assert "gap 31.71 mm" in drawing.description
    assert "operations" in [w for w, _ in drawing.texts]


def test_what_does_not_fit_lies_beyond_the_curve() -> None:
    drawing = envelope(sheet_of("planter-six"))
    assert drawing is not None
    (mark,) = lines_of(drawing, "job")
    x, y = float(mark.get("cx", "")), float(mark.get("cy", ""))
    for curve in (points(e) for e in lines_of(drawing, "curve")):
        assert y < np.interp(x, curve[:, 0], curve[:, 1])  # the page's y runs down
    assert "fouls by 49.66 mm" in drawing.description


def test_no_beam_no_envelope() -> None:
    bare = attrs.evolve(PORCH, front_beam=())
    joint = jointgeo.joint_type("splayed_bridle").examples()[0]
    assert envelope(sheet_of_joint(joint, bare)) is None
    assert joint_sheet("splayed_bridle").ends
