"""Does the joint close: what its shoulder may gap, and how closely its two axes must be set.

Knows the derivatives of the shoulder's two diagonals and the uncertainties that act on them; no
fixture, no setup, no text.

Theory. The gap is the greater of the two diagonals, each linear in every error. Drawn together
they are two correlated normal errors, so the gap that is not passed at 95 % and the chance that
it stays within the glue line follow exactly (``coverage``). Twice the standard deviation of the
worse diagonal would leave out the other one: it is passed up to 8.9 % of the time, not 4.6 %.

Swivel and tilt by themselves, off by d_s and d_t, open the gap a·|d_s| + b·|d_t| (a, b: millimetres
a degree, of the worse diagonal). So two tolerances hold together if a·t_s + b·t_t is the limit. Of
all such pairs ``needed_deg`` is the one that is equally hard to keep on both axes:

    t = ρ·u,  ρ = limit / max over diagonals of (a·u_s + b·u_t)

with u what an axis is set to, its zero and its play included. The rejected alternative, each
axis's tolerance if the other were right and divided by √2, lets the gap pass the limit by 41 %.
"""

from __future__ import annotations

from functools import cached_property
from math import hypot, inf, nan, sqrt
from typing import Any

import attrs

from jointgeo.uncertainty.coverage import PROBABILITY, bound, chance, root
from jointgeo.uncertainty.derivatives import Slopes
from jointgeo.uncertainty.sources import Source

__all__ = ["AXES", "DEAD", "OWN", "Closing"]

AXES = ("swivel", "tilt")

#: Millimetres a degree; below it an axis moves no gap at all.
DEAD = 1e-9

#: Contributors that are an axis's own setting.
OWN = {
    "swivel": ("swivel_scale", "swivel_zero"),
    "tilt": ("tilt_scale", "tilt_zero", "hinge_play"),
}


@attrs.frozen(eq=False, slots=False)
class Closing:
    """One shoulder.

    diagonals: what either changes by for each unit of an error, mm. listed: every uncertainty.
    limit_mm: the widest gap that still closes.
    """

    diagonals: tuple[Slopes, Slopes]
    listed: tuple[Source, ...]
    limit_mm: float

    @cached_property
    def _spread(self) -> tuple[float, float, float]:
        """Standard deviation of either diagonal (mm), and their correlation."""
        one, other = self.diagonals
        first = second = mixed = 0.0
        for source in self.listed:
            if source.error in one:
                a, b = one[source.error] * source.u, other[source.error] * source.u
                first, second, mixed = first + a * a, second + b * b, mixed + a * b
        both = sqrt(first * second)
        together = max(-1.0, min(1.0, mixed / both)) if both > 0 else 0.0
        return sqrt(first), sqrt(second), together

    @cached_property
    def gap_95_mm(self) -> float:
        """The gap that is not passed with a probability of 95 %."""
        return bound(PROBABILITY, *self._spread)

    @cached_property
    def chance(self) -> float:
        """Probability that the gap stays within the limit, 0 to 1."""
        return chance(self.limit_mm, *self._spread)

    @property
    def closes(self) -> bool:
        """Whether that is 95 % or more."""
        return self.gap_95_mm <= self.limit_mm

    def slope(self, axis: str) -> float:
        """The gap at the worse diagonal for each degree of one axis alone, mm."""
        key = f"{axis}_deg"
        return max(abs(diagonal[key]) for diagonal in self.diagonals)

    @property
    def needed_deg(self) -> dict[str, float]:
        """How closely each axis must be set (±) for the gap of both to stay within the limit: the
        pair that is equally hard to keep; half of the limit each where an axis has no uncertainty
        of its own to tell by. inf for an axis that does not act on the gap."""
        u = {axis: self._own_u(axis) for axis in AXES}
        if min(u.values()) == 0.0:
            return self.shared_deg(0.5)
        ratio = self.limit_mm / max(
            sum(abs(diagonal[f"{axis}_deg"]) * u[axis] for axis in AXES)
            for diagonal in self.diagonals
        )
        return {axis: ratio * u[axis] if self.slope(axis) > DEAD else inf for axis in AXES}

    def shared_deg(self, swivel_share: float) -> dict[str, float]:
        """The pair that gives the swivel that share of the limit (0 to 1) and the tilt the rest,
        each counted at its own worse diagonal, so that the gap stays within the limit."""
        shares = {"swivel": swivel_share, "tilt": 1.0 - swivel_share}
        return {
            axis: share * self.limit_mm / self.slope(axis) if self.slope(axis) > DEAD else inf
            for axis, share in shares.items()
        }

    def u_within_deg(self, axis: str) -> float:
        """The standard uncertainty that an axis may have for the joint to close just so while
        everything else stays as it is; inf where it does not act on the gap, nan where everything
        else alone is already too much."""
        if self.slope(axis) <= DEAD:
            return inf
        others = self.without(*OWN[axis])
        if not others.closes:
            return nan

        def lacks(u: float) -> float:
            own = Source(f"{axis}_scale", f"{axis}_deg", u)
            return PROBABILITY - attrs.evolve(others, listed=(*others.listed, own)).chance

        return root(lacks, 0.0, self.limit_mm / self.slope(axis))

    def without(self, *contributors: str) -> Closing:
        """The same shoulder with some contributors taken for exact."""
        rest = tuple(s for s in self.listed if s.contributor not in contributors)
        return attrs.evolve(self, listed=rest)

    def _own_u(self, axis: str) -> float:
        """Standard uncertainty that an axis is set to, in degrees of it."""
        one, other = self.diagonals
        diagonal = max(one, other, key=lambda slopes: abs(slopes[f"{axis}_deg"]))
        by_degree = abs(diagonal[f"{axis}_deg"])
        if by_degree <= DEAD:
            return hypot(*(s.u for s in self.listed if s.error == f"{axis}_deg"))
        own = (s for s in self.listed if s.contributor in OWN[axis])
        return hypot(*(abs(diagonal[s.error]) * s.u for s in own)) / by_degree

    def to_dict(self) -> dict[str, Any]:
        """Plain data; null for an axis that does not act."""
        needed = {axis: None if t == inf else t for axis, t in self.needed_deg.items()}
        return {
            "limit_mm": self.limit_mm,
            "gap_95_mm": self.gap_95_mm,
            "chance": self.chance,
            **{f"{axis}_needed_deg": t for axis, t in needed.items()},
        }
