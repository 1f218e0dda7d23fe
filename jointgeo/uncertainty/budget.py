"""Will the joint close, given how well this fixture can be set: the error budget of one setup.

Knows the error model (``derivatives``) and the fixture's uncertainties; no joint type, no
check, no text for a sheet.

Theory. Every standard uncertainty of the fixture file acts through one error of the
model (``sources`` says which); derivatives times uncertainties combine to first order
(``combine``).

Two questions a joint asks. If the assembly holds the drawing's angle, an axis set wrong
opens the shoulder: ``shoulder_gap``. If the joint is let close on its own shoulder, the
same error shows as ``corner_angle`` instead. The verdict ``closes`` is for the first, at 95 %,
against the fixture's glue line (``closing``); the other results are stated at k = 2. The
rejected alternative, width · tan of each axis's error taken alone, agrees for one square axis
and misses how the axes, the twist of the plate and a swivelled touch-off corner work together.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import cached_property
from math import atan, degrees, hypot, inf, isfinite, radians
from typing import Any

import attrs

from jointgeo.fixtures.model import Fixture
from jointgeo.planning.end_plan import EndPlan, SetupPlan
from jointgeo.uncertainty.closing import AXES, DEAD, Closing
from jointgeo.uncertainty.combine import COVERAGE, combined
from jointgeo.uncertainty.derivatives import Derivatives, Slopes, derivatives
from jointgeo.uncertainty.shape import setup_shape
from jointgeo.uncertainty.sources import Source, sources

__all__ = ["Budget", "Outcome", "end_budget", "setup_budget"]

#: Uncertainties that differ by less are equal, and the first of them is taken (mm, degrees).
SAME = 1e-9


@attrs.frozen
class _Kind:
    """A result that is reported. needs: "cuts", "walls" of a fit, or "" for nothing; glue_lines:
    its limit in them; slopes: its alternatives among the derivatives."""

    unit: str
    needs: str
    glue_lines: float | None
    slopes: Callable[[Derivatives], tuple[Slopes, ...]]


#: A floor is planed flush or hidden by glue room, so twice as much may pass (common practice,
#: no published source).
KINDS = {
    "shoulder_gap": _Kind("mm", "", 1.0, lambda d: d.shoulder),
    "cheek_fit": _Kind("mm", "walls", 1.0, lambda d: (d.cheek_fit,)),
    "cheek_wind": _Kind("mm", "walls", None, lambda d: d.cheek_wind),
    "depth": _Kind("mm", "cuts", 2.0, lambda d: (d.depth,)),
    "place": _Kind("mm", "walls", None, lambda d: (d.place,)),
    "corner_angle": _Kind("deg", "", None, lambda d: d.corner),
}


@attrs.frozen(eq=False)
class Outcome:
    """One result.

    parts: the standard uncertainty of this result that each contributor brings, in ``unit``; one
    that does not act on it is not named. limit: the most its expanded uncertainty may be; None
    where none is set. standard: combined standard uncertainty, k = 1. factor: what the expanded
    one is of it; that of a shoulder's gap counts both diagonals, for 95 %.
    """

    name: str
    unit: str
    parts: dict[str, float]
    limit: float | None
    standard: float
    factor: float = COVERAGE

    @property
    def expanded(self) -> float:
        """Expanded uncertainty, about 95 %."""
        return self.factor * self.standard

    @property
    def shares(self) -> dict[str, float]:
        """Each contributor's part of the combined variance, adding up to 1; 0 where that is 0."""
        total = self.standard**2 or 1.0
        return {name: part**2 / total for name, part in self.parts.items()}

    @property
    def closes(self) -> bool | None:
        """Whether the expanded uncertainty is within the limit; None without a limit."""
        return None if self.limit is None else self.expanded <= self.limit

    @property
    def largest(self) -> tuple[str, float]:
        """The contributor with the largest share, and that share."""
        most = max(self.parts.values())
        name = next(n for n, part in self.parts.items() if part >= most - SAME)
        return name, self.shares[name]

    def to_dict(self) -> dict[str, Any]:
        """Plain data."""
        unit = self.unit
        out: dict[str, Any] = {
            "name": self.name,
            f"standard_{unit}": self.standard,
            f"expanded_{unit}": self.expanded,
            "coverage_factor": self.factor,
        }
        if self.limit is not None:
            out |= {f"limit_{unit}": self.limit, "within_limit": self.closes}
        out["shares"] = [
            {"contributor": name, "share": share, f"standard_{unit}": self.parts[name]}
            for name, share in sorted(self.shares.items(), key=lambda item: -item[1])
            if self.parts[name] > 1e-12  # what does not act is not listed
        ]
        return out


@attrs.frozen(eq=False, slots=False)
class Budget:
    """Error budget of one setup; each outcome is worked out when it is asked for.

    swivel_deg, tilt_deg: the angles it is for. names: of the outcomes that the setup has: without
    cuts no depth, without two walls no fit. limit_mm: the glue line.
    """

    swivel_deg: float
    tilt_deg: float
    names: tuple[str, ...]
    limit_mm: float
    slopes: Derivatives = attrs.field(repr=False)
    listed: tuple[Source, ...] = attrs.field(repr=False)

    def __getitem__(self, name: str) -> Outcome:
        """The outcome of that name; KeyError where the setup has none."""
        if name not in self.names:
            raise KeyError(name)
        kind = KINDS[name]
        parts, standard = _worst([_parts(a, self.listed) for a in kind.slopes(self.slopes)])
        most = None if kind.glue_lines is None else kind.glue_lines * self.limit_mm
        factor = COVERAGE
        if name == "shoulder_gap" and standard > 0:
            factor = self.closing.gap_95_mm / standard
        return Outcome(name, kind.unit, parts, most, standard, factor)

    @property
    def outcomes(self) -> tuple[Outcome, ...]:
        return tuple(self[name] for name in self.names)

    @cached_property
    def closing(self) -> Closing:
        """What the shoulder may gap, and how closely both axes must be set."""
        return Closing(self.slopes.shoulder, self.listed, self.limit_mm)

    @property
    def closes(self) -> bool:
        """Whether the joint closes: the shoulder's gap at 95 % is within the limit."""
        return self.closing.closes

    @property
    def within_deg(self) -> dict[str, float]:
        """For each axis, how far it alone may be off until the gap reaches the limit; inf where
        it does not act on the gap."""
        slopes = {axis: self.closing.slope(axis) for axis in AXES}
        return {
            axis: degrees(atan(radians(self.limit_mm / slope))) if slope > DEAD else inf
            for axis, slope in slopes.items()
        }

    @property
    def u_within_deg(self) -> dict[str, float]:
        """For each axis, see ``Closing.u_within_deg``."""
        return {axis: self.closing.u_within_deg(axis) for axis in AXES}

    def to_dict(self) -> dict[str, Any]:
        """Plain data; null where an axis does not act, or cannot be good enough by itself."""
        out: dict[str, Any] = {
            "swivel_deg": self.swivel_deg,
            "tilt_deg": self.tilt_deg,
            "coverage_factor": COVERAGE,
            "closes": self.closes,
            **self.closing.to_dict(),
        }
        within = {"within": self.within_deg, "u_within": self.u_within_deg}
        for axis in AXES:
            for key, value in within.items():
                out[f"{axis}_{key}_deg"] = value[axis] if isfinite(value[axis]) else None
        return out | {"outcomes": [o.to_dict() for o in self.outcomes]}


def end_budget(plan: EndPlan, fixture: Fixture) -> tuple[Budget, ...]:
    """The budget of every setup of one end, in cutting order."""
    return tuple(setup_budget(s, fixture) for s in plan.setups)


def setup_budget(
    setup: SetupPlan,
    fixture: Fixture,
    *,
    swivel_deg: float | None = None,
    tilt_deg: float | None = None,
) -> Budget:
    """The budget of one setup at its own angles, or as if the same cuts were made at others:
    section, side on the plate, depth and widths stay."""
    shape = setup_shape(setup, fixture, swivel_deg, tilt_deg)
    names = [
        name
        for name, kind in KINDS.items()
        if not kind.needs or (setup.cuts and (kind.needs == "cuts" or shape.wall != 0))
    ]
    return Budget(
        shape.swivel_deg,
        shape.tilt_deg,
        tuple(names),
        fixture.practice.glue_line_mm,
        derivatives(shape),
        sources(fixture, setup.cutter.name, shape.swivel_deg, shape.tilt_deg),
    )


def _parts(slopes: Slopes, listed: Iterable[Source]) -> dict[str, float]:
    """Contributions to one outcome, sources of one contributor combined."""
    out: dict[str, float] = {}
    for source in listed:
        slope = slopes.get(source.error)
        if slope is not None:
            part, known = abs(slope) * source.u, out.get(source.contributor)
            out[source.contributor] = part if known is None else hypot(known, part)
    return out


def _worst(alternatives: list[dict[str, float]]) -> tuple[dict[str, float], float]:
    """The one with the greatest combined uncertainty, the first of equals, and that."""
    worst, most = alternatives[0], combined(alternatives[0].values())
    for other in alternatives[1:]:
        total = combined(other.values())
        if total > most + SAME:
            worst, most = other, total
    return worst, most
