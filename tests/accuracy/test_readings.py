"""What a reading means, against end planes cut in the machine, and files with faults."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from jointgeo.calibration.readingfiles import load_readings
from jointgeo.calibration.readings import (
    CheckUpReadings,
    CouponReading,
    CutReadings,
    LimitReadings,
    PlayReading,
    RailReading,
    SquareReading,
    TurnedOver,
    turned_over_deg,
)
from jointgeo.errors import InputError, UnknownNameError


def end_plane(swivel: float, tilt: float) -> np.ndarray:
    """Normal of the cut end in stock coordinates, n = 0, by scipy: the machine's Z axis."""
    turn = Rotation.from_euler("x", -tilt, degrees=True) * Rotation.from_euler(
        "y", swivel, degrees=True
    )
    return np.asarray(turn.as_matrix()[2])


def gap_turned_over(swivel: float, tilt: float, axis: str, size: float) -> tuple[float, str]:
    """Two cut pieces end to end, one turned over: the gap, and the side it is on, by geometry.

    Along the side that is measured the end stands back by a height h(s) from s = 0 to
    ``size``. The turned-over piece shows the same side against the same straight edge, so
    the gap is twice h less its least value.
    """
    n = end_plane(swivel, tilt)
    along = 0 if axis == "swivel" else 1
    stands_back = np.array([0.0, -n[along] / n[2] * size])
    gaps = 2 * (stands_back - stands_back.min())
    far = int(np.argmax(gaps))
    # With the back on the plate x grows to the right and y towards the plate.
    side = (("left", "right") if axis == "swivel" else ("you", "plate"))[far]
    return float(gaps[far]), side


@pytest.mark.parametrize(("axis", "angle"), [("swivel", 0.2), ("swivel", -0.3), ("tilt", 0.25)])
def test_a_turned_over_cut_shows_its_error_double_and_its_direction(
    axis: str, angle: float
) -> None:
    both = {"swivel": 0.0, "tilt": 0.0} | {axis: angle}
    gap, side = gap_turned_over(both["swivel"], both["tilt"], axis, 98.0)
    assert gap == pytest.approx(2 * 98 * np.tan(np.radians(abs(angle))), abs=1e-9)
    seen = TurnedOver(axis=axis, cut="A", gap_mm=gap, open_at=side, length_mm=98.0, scale_deg=0.0)
    assert seen.angle_deg == pytest.approx(angle, abs=1e-9)


def test_turning_over_broadcasts() -> None:
    """0.2 mm over 100 mm: atan(0.001) = 0.0573°."""
    assert turned_over_deg([0.2, -0.2], 100.0) == pytest.approx([0.0573, -0.0573], abs=5e-5)


def test_a_plate_that_touches_the_square_below_leans_as_a_tilt() -> None:
    """Tilt positive: the lower edge comes towards you, where the square stands."""
    low = SquareReading(side="left", gap_mm=0.2, open_at="top", height_mm=200.0)
    assert low.angle_deg == pytest.approx(0.0573, abs=5e-5)
    high = SquareReading(side="left", gap_mm=0.2, open_at="bottom", height_mm=200.0)
    assert high.angle_deg == pytest.approx(-0.0573, abs=5e-5)


def test_a_higher_left_rail_turns_clockwise() -> None:
    """Facing the plate, left up is a clockwise turn: as a positive swivel. 0.42 / 420: 0.0573°."""
    rails = RailReading(higher="left", difference_mm=0.42, spacing_mm=420.0)
    assert rails.angle_deg == pytest.approx(0.0573, abs=5e-5)
    other = RailReading(higher="right", difference_mm=0.42, spacing_mm=420.0)
    assert other.angle_deg == pytest.approx(-0.0573, abs=5e-5)


@pytest.mark.parametrize(
    ("name", "cls"),
    [
        ("porch-check-up", CheckUpReadings),
        ("porch-test-cuts", CutReadings),
        ("porch-limits", LimitReadings),
    ],
)
def test_the_readings_that_ship_are_read(name: str, cls: type) -> None:
    assert isinstance(load_readings(cls, name), cls)


def test_a_side_that_the_axis_does_not_gape_at_is_refused() -> None:
    with pytest.raises(InputError, match=r"open_at.*plate.*left, right for the swivel"):
        TurnedOver(
            axis="swivel", cut="A", gap_mm=0.1, open_at="plate", length_mm=98.0, scale_deg=0.0
        )


def test_every_fault_of_a_file_is_named(tmp_path: Path) -> None:
    path = tmp_path / "bad.toml"
    path.write_text(
        'date = "today"\nfixture = "porch"\nacross = 3\n'
        '[[turned_over]]\naxis = "swivel"\ncut = "A"\ngap_mm = -1\nopen_at = "left"\n'
        "length_mm = 98\nu_m = 2\n"
        '[[play]]\naxis = "tilt"\nmovement_mm = 0.1\n'
    )
    with pytest.raises(InputError) as caught:
        load_readings(CheckUpReadings, path)
    fields = {p.field for p in caught.value.problems}
    turned = {f"turned_over[0].{key}" for key in ("gap_mm", "u_m", "scale_deg")}
    assert fields == {"across", "play[0].arm_mm"} | turned
    assert str(path) in str(caught.value)


def test_an_unknown_name_says_what_there_is() -> None:
    with pytest.raises(UnknownNameError, match="porch-check-up"):
        load_readings(CheckUpReadings, "nowhere")


def test_inches_are_taken_in_readings(tmp_path: Path) -> None:
    path = tmp_path / "r.toml"
    path.write_text(
        'date = "today"\nfixture = "porch"\nacross_in = "4"\n'
        '[[play]]\naxis = "tilt"\nmovement_in = 0.004\narm_in = "9 1/2"\n'
    )
    seen = load_readings(CheckUpReadings, path)
    assert seen.across_mm == pytest.approx(101.6)
    assert seen.play == (PlayReading(axis="tilt", movement_mm=0.1016, arm_mm=241.3),)


def test_a_coupon_whose_every_slot_is_entered_fixes_nothing() -> None:
    with pytest.raises(InputError, match=r"entered.*1 to 8"):
        CouponReading(name="a", cutter="saw 3.2", tongue_mm=4.0, widest_mm=4.2, slots=9, entered=9)
