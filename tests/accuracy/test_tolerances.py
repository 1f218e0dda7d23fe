"""Tolerance presets against the standard's table, and the gap of an angle."""

from __future__ import annotations

import pytest

from jointgeo.errors import InputError
from jointgeo.uncertainty.tolerances import VERNIER_DEG, angle_tolerance_deg, gap_mm


@pytest.mark.parametrize(
    ("preset", "minutes"),
    [
        ("iso2768_f", [60, 30, 20, 10, 5]),
        ("iso2768_m", [60, 30, 20, 10, 5]),
        ("iso2768_c", [90, 60, 30, 15, 10]),
    ],
)
def test_iso_2768_1_table_3(preset: str, minutes: list[float]) -> None:
    """ISO 2768-1:1989, Table 3 (secondary copy): one leg inside each range, and its upper end."""
    inside, ends = [5, 30, 80, 300, 900], [10, 50, 120, 400, 401]
    for legs in (inside, ends):
        found = [60 * angle_tolerance_deg(preset, leg) for leg in legs]
        assert found == pytest.approx(minutes, abs=1e-9)


def test_a_leg_just_past_a_range_belongs_to_the_next() -> None:
    assert 60 * angle_tolerance_deg("iso2768_m", 10.001) == pytest.approx(30)


@pytest.mark.parametrize(("error", "gap"), [(VERNIER_DEG, 0.145), (0.1, 0.175)])
def test_gap_per_100_mm(error: float, gap: float) -> None:
    """A vernier bevel protractor's 5′ (US Army OD1642; from memory, page not kept), and 0.1°: 100
    mm times the tangent, to 0.001 mm."""
    assert gap_mm(100.0, error) == pytest.approx(gap, abs=0.0005)
    assert gap_mm(200.0, error) == pytest.approx(2 * gap, abs=0.001)


def test_what_is_no_class_or_no_leg_is_refused() -> None:
    with pytest.raises(InputError, match=r"preset.*iso2768_c"):
        angle_tolerance_deg("iso2768_v", 20)
    with pytest.raises(InputError, match="shorter_leg_mm"):
        angle_tolerance_deg("iso2768_m", 0.0)
