"""Wood moves: what becomes of a fit when the moisture content changes. Guidance, not design.

Knows numbers and field declarations; no fixture, no joint.

Source. Wood Handbook, FPL-GTR-190 (2010), Table 13-5 (change per 1 % of moisture content,
radial and tangential) and Eq. 13-2, ΔD = D·C·(M₂ - M₁); good between about 6 and 14 %
(range from memory). Only the species whose figures were read in a copy are listed; for
others give the coefficients. Along the grain wood moves so little that 0 is taken.
"""

from __future__ import annotations

from typing import Any

import attrs

from jointgeo.schema.fields import choice, length, number

__all__ = ["SPECIES", "Species", "WoodAnswer", "WoodMove", "change_mm", "coefficient"]


@attrs.frozen
class Species:
    """Change for each 1 % of moisture content, as a fraction of the size."""

    name: str
    radial: float
    tangential: float


#: Wood Handbook, FPL-GTR-190 (2010), Table 13-5.
SPECIES: dict[str, Species] = {
    s.name: s
    for s in (
        Species("white_oak", 0.00180, 0.00365),
        Species("red_oak", 0.00158, 0.00369),
        Species("sugar_maple", 0.00165, 0.00353),
        Species("black_walnut", 0.00190, 0.00274),
        Species("black_cherry", 0.00126, 0.00248),
        Species("white_ash", 0.00169, 0.00274),
    )
}

GRAIN = ("radial", "tangential", "along")
LOW_PERCENT, HIGH_PERCENT = 6.0, 14.0


def change_mm(size_mm: float, coefficient: float, change_percent: float) -> float:
    """Eq. 13-2: ΔD = D·C·(M₂ - M₁), in the unit of the size; positive: it swells."""
    return size_mm * coefficient * change_percent


def coefficient(species: str, grain: str) -> float:
    """Change per 1 % of a listed species: grain "radial", "tangential" or "along" (0)."""
    wood = SPECIES[species]
    return {"along": 0.0, "radial": wood.radial, "tangential": wood.tangential}[grain]


@attrs.frozen
class WoodMove:
    """A piece, or a fit of two, and the moisture content it goes from and to."""

    size_mm: float = length("Size of the piece or of the fit, the way it moves", above=0)
    species: str = choice("Wood of the piece, or of the slot", tuple(SPECIES))
    grain: str = choice("How that size lies in the wood", GRAIN, default="tangential")
    tongue_species: str | None = choice("Wood of the tongue", tuple(SPECIES), default=None)
    tongue_grain: str = choice("How the size lies in the tongue", GRAIN, default="tangential")
    from_percent: float = number("%", "Moisture content now", low=0, high=30)
    to_percent: float = number("%", "Moisture content later", low=0, high=30)

    def answer(self) -> WoodAnswer:
        """What becomes of it."""
        change = self.to_percent - self.from_percent
        piece = change_mm(self.size_mm, coefficient(self.species, self.grain), change)
        tongue = None
        if self.tongue_species is not None:
            own = coefficient(self.tongue_species, self.tongue_grain)
            tongue = change_mm(self.size_mm, own, change)
        both = (self.from_percent, self.to_percent)
        inside = all(LOW_PERCENT <= m <= HIGH_PERCENT for m in both)
        return WoodAnswer(piece, tongue, inside)


@attrs.frozen
class WoodAnswer:
    """piece_mm: change of the piece or slot; tongue_mm: of the tongue, None where there is none;
    both positive where it swells. within_range: Eq. 13-2 is good at both contents."""

    piece_mm: float
    tongue_mm: float | None
    within_range: bool

    @property
    def fit_mm(self) -> float | None:
        """Change of the fit, slot less tongue; positive: looser. A slot grows as wood would."""
        return None if self.tongue_mm is None else self.piece_mm - self.tongue_mm

    def to_dict(self) -> dict[str, Any]:
        return attrs.asdict(self) | {"fit_mm": self.fit_mm}
