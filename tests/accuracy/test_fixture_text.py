"""Fixtures written as TOML and read back, corrections in the fixture, and what is refused."""

from __future__ import annotations

import tomllib

import attrs
import pytest

from jointgeo.errors import FixtureError
from jointgeo.fixtures.corrections import Correction, KerfCorrection, Past
from jointgeo.fixtures.file import read_fixture
from jointgeo.fixtures.model import Fixture
from jointgeo.fixtures.text import fixture_toml

DISC = "slotting disc 6"


def round_trip(fixture: Fixture) -> Fixture:
    return read_fixture(tomllib.loads(fixture_toml(fixture)))


def test_the_demo_fixture_comes_back_equal(porch: Fixture) -> None:
    assert round_trip(porch) == porch


def test_awkward_numbers_and_words_come_back_exactly(porch: Fixture) -> None:
    """Numbers without a short decimal form, very small ones, and text with quotes, backslashes,
    signs and letters beyond ASCII."""
    odd = attrs.evolve(
        porch,
        title='12" plate \\ "old" – größer, 5′ ° #1',
        uncertainty=attrs.evolve(porch.uncertainty, swivel_deg=0.1 + 0.2, kerf_mm=1e-17),
        correction=Correction(
            swivel_zero_deg=-1 / 3,
            lead_fraction=1.5e-7,
            date="first",
            kerf=(KerfCorrection(cutter=DISC, kerf_mm=2 / 7, kerf_u_mm=0.0),),
        ),
        history=(Past(date="d", name="correction.lead_fraction", was=0.0, now=1e300, source="x"),),
    )
    assert round_trip(odd) == odd


def test_no_correction_changes_nothing(porch: Fixture) -> None:
    assert porch.corrected == porch


def test_kerf_and_lead_are_applied_once(porch: Fixture) -> None:
    calibrated = attrs.evolve(
        porch,
        correction=Correction(
            swivel_zero_deg=0.3,
            lead_fraction=0.001,
            lead_fraction_u=0.0001,
            kerf=(KerfCorrection(cutter=DISC, kerf_mm=0.05, kerf_u_mm=0.01),),
        ),
    )
    made = calibrated.corrected
    assert [c.kerf_mm for c in made.cutter] == pytest.approx([6.05, 3.2])
    assert made.traverse.lead_mm == pytest.approx(4.004)
    assert made.correction.swivel_zero_deg == 0.3
    assert made.correction.lead_fraction_u == 0.0001
    assert made.corrected == made


def test_a_pin_stays_as_wide_as_its_kerf(porch: Fixture) -> None:
    disc = attrs.evolve(porch.cutter[1], top_moves=None)  # which way its top moves
    pin = attrs.evolve(disc, name="pin", kind="shank", diameter_mm=8.0, kerf_mm=8.0)
    calibrated = attrs.evolve(
        porch,
        cutter=(pin,),
        correction=Correction(kerf=(KerfCorrection(cutter="pin", kerf_mm=0.1, kerf_u_mm=0.0),)),
    )
    assert calibrated.corrected.cutter[0].kerf_mm == pytest.approx(8.1)
    assert calibrated.corrected.cutter[0].diameter_mm == pytest.approx(8.1)


@pytest.mark.parametrize(
    ("kerfs", "field"),
    [
        ([("no such saw", 0.1)], r"correction.kerf\[0\].cutter"),
        ([(DISC, 0.1), (DISC, 0.2)], r"correction.kerf\[1\].cutter"),
        ([("saw 3.2", -3.2)], r"correction.kerf\[0\].kerf_mm"),
    ],
)
def test_a_kerf_correction_must_fit_a_cutter(
    porch: Fixture, kerfs: list[tuple[str, float]], field: str
) -> None:
    listed = tuple(KerfCorrection(cutter=n, kerf_mm=k, kerf_u_mm=0.0) for n, k in kerfs)
    with pytest.raises(FixtureError, match=field):
        attrs.evolve(porch, correction=Correction(kerf=listed))
