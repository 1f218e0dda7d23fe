"""Movement with moisture against the Wood Handbook's worked example and table."""

from __future__ import annotations

import json

import pytest

from jointgeo.errors import InputError
from jointgeo.uncertainty.moisture import WoodMove, change_mm, coefficient


def test_worked_example_of_the_handbook() -> None:
    """Wood Handbook, FPL-GTR-190 (2010), Eq. 13-2: 8 in × 0.0026 × 6 = 0.1248 in."""
    assert change_mm(8 * 25.4, 0.0026, 6) / 25.4 == pytest.approx(0.1248, abs=1e-12)


@pytest.mark.parametrize(
    ("species", "radial", "tangential"),
    [
        ("white_oak", 0.00180, 0.00365),
        ("red_oak", 0.00158, 0.00369),
        ("sugar_maple", 0.00165, 0.00353),
        ("black_walnut", 0.00190, 0.00274),
        ("black_cherry", 0.00126, 0.00248),
        ("white_ash", 0.00169, 0.00274),
    ],
)
def test_table_13_5(species: str, radial: float, tangential: float) -> None:
    """Wood Handbook, FPL-GTR-190 (2010), Table 13-5."""
    assert coefficient(species, "radial") == radial
    assert coefficient(species, "tangential") == tangential
    assert coefficient(species, "along") == 0.0


def test_a_fit_tightens_where_the_slot_shrinks_more_than_the_tongue() -> None:
    """30 mm, 12 to 8 %: white oak slot, tangential, 30·0.00365·4 = 0.438 mm narrower; red oak
    tongue, radial, 30·0.00158·4 = 0.1896 mm thinner."""
    found = WoodMove(
        size_mm=30,
        species="white_oak",
        tongue_species="red_oak",
        tongue_grain="radial",
        from_percent=12,
        to_percent=8,
    ).answer()
    assert found.piece_mm == pytest.approx(-0.438, abs=1e-9)
    assert found.tongue_mm == pytest.approx(-0.1896, abs=1e-9)
    assert found.fit_mm == pytest.approx(-0.2484, abs=1e-9)
    assert found.within_range
    json.dumps(found.to_dict(), allow_nan=False)


def test_a_piece_alone_has_no_fit_and_a_wet_one_is_outside_the_rule() -> None:
    found = WoodMove(size_mm=100, species="black_cherry", from_percent=25, to_percent=8).answer()
    assert found.fit_mm is None
    assert not found.within_range


def test_an_unknown_species_is_named_with_those_there_are() -> None:
    with pytest.raises(InputError, match=r"species.*black_cherry"):
        WoodMove(size_mm=100, species="balsa", from_percent=10, to_percent=8)
