"""Scales that are numbered the other way or from another figure: figures only, never the cut."""

from __future__ import annotations

import math
import tomllib
from typing import Any

import attrs
import pytest

import jointgeo
from jointgeo.calibration.calibrate import Calibrated, calibrate
from jointgeo.calibration.checkup import check_up
from jointgeo.calibration.readings import CheckUpReadings, CutReadings
from jointgeo.calibration.telling import calibration_lines
from jointgeo.calibration.trialpieces import trial_pieces
from jointgeo.errors import FixtureError, InputError
from jointgeo.fixtures.calibrated import scale_figure
from jointgeo.fixtures.file import read_fixture
from jointgeo.fixtures.model import Fixture
from jointgeo.fixtures.text import fixture_toml
from jointgeo.schema.tables import read

# Figures are sums of two numbers: 1e-9° is rounding many times over.
EXACT = 1e-9


@pytest.fixture(scope="module")
def gauge(porch: Fixture) -> Fixture:
    """The demo fixture; its fence numbered as a mitre gauge, 90 at square and falling as it turns
    clockwise, its tilt from 180 rising."""
    swivel = attrs.evolve(porch.swivel, scale_sense="against_axis", scale_zero_deg=90.0)
    return attrs.evolve(porch, swivel=swivel, tilt=attrs.evolve(porch.tilt, scale_zero_deg=180.0))


def corrected(fixture: Fixture) -> Fixture:
    """Both axes stand 0.2° and 0.1° short of what a scale from 0 reads."""
    changed = attrs.evolve(fixture.correction, swivel_zero_deg=0.2, tilt_zero_deg=0.1)
    return attrs.evolve(fixture, correction=changed)


@pytest.mark.parametrize(("angle", "figure"), [(0.0, 90.0), (12.0, 78.0), (-5.0, 95.0)])
def test_figure_and_angle(gauge: Fixture, angle: float, figure: float) -> None:
    """90 - angle, and back."""
    assert gauge.swivel.figure_deg(angle) == pytest.approx(figure, abs=EXACT)
    assert gauge.swivel.angle_of_figure_deg(figure) == pytest.approx(angle, abs=EXACT)
    assert gauge.tilt.figure_deg(angle) == pytest.approx(180 + angle, abs=EXACT)


def test_a_setting_is_read_from_the_scale_as_it_is_numbered(porch: Fixture, gauge: Fixture) -> None:
    """90 - (swivel + 0.2) and 180 + (tilt + 0.1); nothing else of the answer changes."""
    joint = jointgeo.joint_type("splayed_bridle").examples()[0]
    plain = jointgeo.solve(joint, corrected(porch)).setups
    setups = jointgeo.solve(joint, corrected(gauge)).setups
    assert len(setups) == len(plain) > 0
    for a, b in zip(plain, setups, strict=True):
        assert (b.swivel_deg, b.tilt_deg, b.cuts) == (a.swivel_deg, a.tilt_deg, a.cuts)
        assert a.scale_swivel_deg == pytest.approx(a.swivel_deg + 0.2, abs=EXACT)
        assert b.scale_swivel_deg == pytest.approx(89.8 - a.swivel_deg, abs=EXACT)
        assert b.scale_tilt_deg == pytest.approx(180.1 + a.tilt_deg, abs=EXACT)


def test_trial_pieces_tell_figures(gauge: Fixture) -> None:
    """Square: 90 - 0.2 and 180.1. Half of the tilt's 24° range: 180 + 12.1."""
    pieces = {p.name: p for p in trial_pieces(corrected(gauge))}
    square = pieces["square across"].cuts[0]
    assert square["scale_swivel_deg"] == pytest.approx(89.8, abs=EXACT)
    assert square["scale_tilt_deg"] == pytest.approx(180.1, abs=EXACT)
    half = pieces["tilt half way"].cuts[0]["scale_tilt_deg"]
    assert half == pytest.approx(192.1, abs=EXACT)


def cuts(fixture: Fixture, *, spacer: bool = False) -> CutReadings:
    """A square cut and one at 12° on each axis, read off that fixture's scales."""
    made = []
    for axis in ("swivel", "tilt"):
        scale = fixture.swivel if axis == "swivel" else fixture.tilt
        for name, at, off in (("A", 0.0, 0.11), ("B", 12.0, 0.14)):
            shown = at if spacer else scale.figure_deg(at)
            made.append(
                {"axis": axis, "cut": name, "scale_deg": shown, "measured_deg": at + off}
                | ({"set_with": "spacer"} if spacer else {})
            )
    return read(CutReadings, {"date": "today", "fixture": "porch", "angle": made})


def calibrated(readings: CutReadings, fixture: Fixture) -> Calibrated:
    return calibrate(readings, fixture, 400.0, {"swivel": [5.0], "tilt": [5.0]})


@pytest.mark.parametrize("spacer", [False, True])
def test_what_is_calibrated_does_not_depend_on_the_numbering(
    porch: Fixture, gauge: Fixture, spacer: bool
) -> None:
    """A spacer's cut names the angle meant, whatever the scale shows."""
    plain = calibrated(cuts(porch, spacer=spacer), porch)
    other = calibrated(cuts(gauge, spacer=spacer), gauge)
    assert [(c.scale_deg, c.off_deg) for c in other.fixture.test_cut] == [
        (pytest.approx(c.scale_deg, abs=EXACT), pytest.approx(c.off_deg, abs=EXACT))
        for c in plain.fixture.test_cut
    ]
    for name in ("swivel_zero_deg", "tilt_zero_deg"):
        value = getattr(plain.fixture.correction, name)
        assert value < -0.05
        assert getattr(other.fixture.correction, name) == pytest.approx(value, abs=EXACT)
    swivel = next(v for v in other.values if v.name == "swivel").at[0]
    meant = scale_figure(plain.fixture, "swivel", 5.0).scale_deg
    assert swivel.scale == pytest.approx(90 - meant, abs=EXACT)
    assert f"set the scale to {90 - meant:.2f}°" in "\n".join(calibration_lines(other))


def test_the_next_cut_names_the_figure_too(porch: Fixture, gauge: Fixture) -> None:
    """After one square cut the scale's gain is open, which the end of the range tells most of: 25°,
    on the gauge 90 - 25 = 65."""
    found = []
    for fixture in (porch, gauge):
        square = attrs.evolve(cuts(fixture), angle=cuts(fixture).angle[:1])
        found.append(calibrate(square, fixture, 30.0, {"swivel": [12.0]}).next)
    plain, other = found
    assert plain is not None
    assert other is not None
    assert plain.at_deg == other.at_deg == 25.0
    assert "its scale at" not in plain.says
    assert "with the swivel at 25° (its scale at 65°)" in other.says


def turned(axis: str, gap: float, at: float) -> dict[str, Any]:
    side = "right" if axis == "swivel" else "plate"
    reading = {"axis": axis, "cut": "A", "gap_mm": gap, "open_at": side, "scale_deg": at}
    return reading | {"length_mm": 98.0}


def checked(fixture: Fixture, *readings: dict[str, Any]) -> Any:
    data = {"date": "today", "fixture": "porch", "turned_over": list(readings)}
    return check_up(read(CheckUpReadings, data), fixture)


def test_a_check_up_tells_what_to_add_to_the_figures(porch: Fixture, gauge: Fixture) -> None:
    """A fence that stands clockwise of square is to be set further anticlockwise, which on the
    gauge is a greater figure: the same number with the other sign."""
    plain = {s.name: s for s in checked(porch, turned("swivel", 1.0, 0.0)).steps}["swivel_zero"]
    other = {s.name: s for s in checked(gauge, turned("swivel", 1.0, 90.0)).steps}["swivel_zero"]
    assert plain.numbers == pytest.approx(other.numbers, abs=EXACT)
    assert plain.numbers["correction_deg"] < -0.1
    more = plain.numbers["correction_deg"]
    assert "when its scale reads 0, " in plain.says
    assert f"add {more:+.3f}° to the scale" in plain.says
    assert "when its scale reads 90, " in other.says
    assert f"add {-more:+.3f}° to the scale" in other.says


def test_a_figure_that_the_scale_has_not_got_is_refused(gauge: Fixture) -> None:
    """Swivel -25 to 25 is 115 to 65 on the gauge; turning over is told within 2° of square."""
    for at, told in ((0.0, r"65 to 115 deg, the swivel's range"), (93.0, r"88 to 92 deg")):
        with pytest.raises(InputError, match=rf"turned_over\[0\]\.scale_deg.*{told}"):
            checked(gauge, turned("swivel", 0.1, at))


def test_the_file_keeps_the_numbering(gauge: Fixture) -> None:
    data = tomllib.loads(fixture_toml(gauge))
    assert data["swivel"]["scale_sense"] == "against_axis"
    assert read_fixture(data) == gauge
    data["swivel"]["scale_sense"] = "clockwise"
    with pytest.raises(FixtureError, match=r"swivel\.scale_sense.*with_axis"):
        read_fixture(data)


def test_aids_speak_of_the_figures_on_the_scale(gauge: Fixture) -> None:
    """4° of tilt is 180 + 4 there; a wedge instead wants the fence at atan(tan s/cos 4°) for a
    swivel of s, and the scale of the fence falls from 90."""
    joint = jointgeo.joint_type("splayed_bridle").examples()[0]
    (setup,) = jointgeo.solve(attrs.evolve(joint, splay_along_deg=4.0), gauge).setups
    scale = {a.axis: a for a in setup.aids if a.aid == "scale"}
    assert scale["tilt"].says == "set the tilt's scale to 184.00°"
    assert scale["tilt"].numbers["scale_deg"] == pytest.approx(184.0, abs=EXACT)
    assert scale["tilt"].angle_deg == pytest.approx(4.0, abs=EXACT)
    shown = 90 - round(setup.swivel_deg, 2)
    assert scale["swivel"].says == f"set the swivel's scale to {shown:.2f}°"
    wedge = next(a for a in setup.aids if a.aid == "wedge" and a.axis == "tilt")
    across = math.tan(math.radians(setup.swivel_deg)) / math.cos(math.radians(4.0))
    fence = 90 - math.degrees(math.atan(across))
    # The wedge is made to a tenth of a millimetre, which moves the fence by far less than 0.01°.
    assert wedge.numbers["fence_scale_deg"] == pytest.approx(fence, abs=0.01)
