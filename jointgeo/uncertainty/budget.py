"""Will the joint close, given how well this fixture can be set: the error budget of one setup.

Knows the error model (``cutmodel``) and the fixture's uncertainties; no joint type, no
check, no text for a sheet.

Theory. Every standard uncertainty of the fixture file acts through one error of the
model (``sources`` says which); derivatives times uncertainties combine to first order
(``combine``).

Two questions a joint asks. If the assembly holds the drawing's angle, an axis set wrong
opens the shoulder: ``shoulder_gap``. If the joint is let close on its own shoulder, the
same error shows as ``corner_angle`` instead. The verdict ``closes`` is for the first, at
k = 2, against the fixture's glue line. The rejected alternative, width · tan of each
axis's error taken alone, agrees for one square axis and misses how the axes, the twist of
the plate and a swivelled touch-off corner work together.
"""

from __future__ import annotations

from functools import partial
from typing import Any

import attrs
import numpy as np
from numpy.typing import ArrayLike

from jointgeo.fixtures.model import Fixture
from jointgeo.geometry.arith import Number, arctan, degrees, radians, where
from jointgeo.geometry.rotations import Array
from jointgeo.planning.setups import EndPlan, SetupPlan
from jointgeo.uncertainty.combine import COVERAGE, combined, sensitivities
from jointgeo.uncertainty.cutmodel import (
    ERRORS,
    OUTCOMES,
    Shape,
    outcomes,
    setup_shape,
    shoulder_slope,
)
from jointgeo.uncertainty.sources import Source, sources

__all__ = ["Budget", "Outcome", "end_budget", "setup_budget", "sweep_budget"]

#: Steps of the central differences: 0.001 in degrees and millimetres, 1e-5 of a fraction.
STEPS = np.array([1e-5 if name.endswith("fraction") else 1e-3 for name in ERRORS])

#: Millimetres a degree; below it an axis moves no gap at all.
DEAD = 1e-9

#: Angles worked out at once: 28 disturbed settings of each stay within some megabytes.
PIECE = 4096

#: What is reported, and which columns of the model it is the worse of.
GROUPS = {
    "shoulder_gap": ("shoulder_1_mm", "shoulder_2_mm"),
    "cheek_fit": ("cheek_fit_mm",),
    "cheek_wind": ("cheek_wind_1_mm", "cheek_wind_2_mm"),
    "depth": ("depth_mm",),
    "place": ("place_mm",),
    "corner_angle": ("corner_feed_deg", "corner_traverse_deg"),
}
#: Limits in glue lines. A floor is planed flush or hidden by glue room, so twice as much may
#: pass (common practice, no published source).
LIMITS = {"shoulder_gap": 1.0, "cheek_fit": 1.0, "depth": 2.0}


@attrs.frozen(eq=False)
class Outcome:
    """One result. Arrays have the batch's shape (...).

    parts: each contributor's standard uncertainty of this result, in ``unit``.
    limit: the most its expanded uncertainty may be; None where none is set.
    """

    name: str
    unit: str
    parts: dict[str, Array]
    limit: float | None

    @property
    def standard(self) -> Array:
        """Combined standard uncertainty, k = 1."""
        return combined(list(self.parts.values()))

    @property
    def expanded(self) -> Array:
        """Expanded uncertainty, k = 2."""
        return COVERAGE * self.standard

    @property
    def shares(self) -> dict[str, Array]:
        """Each contributor's part of the combined variance, adding up to 1; 0 where that is 0."""
        total = self.standard**2
        safe = np.where(total > 0, total, 1.0)
        return {name: part**2 / safe for name, part in self.parts.items()}

    @property
    def closes(self) -> Array | None:
        """True where the expanded uncertainty is within the limit; None without a limit."""
        return None if self.limit is None else np.asarray(self.expanded <= self.limit)

    @property
    def largest(self) -> tuple[str, float]:
        """The contributor with the largest share (at the first of a batch), and that share."""
        first = {name: float(np.ravel(s)[0]) for name, s in self.shares.items()}
        name = max(first, key=lambda n: first[n])
        return name, first[name]

    def to_dict(self) -> dict[str, Any]:
        """Plain data; numbers, or lists of a batch's shape."""
        unit = self.unit
        shown = sorted(self.shares.items(), key=lambda item: -float(np.max(item[1])))
        out: dict[str, Any] = {
            "name": self.name,
            f"standard_{unit}": self.standard.tolist(),
            f"expanded_{unit}": self.expanded.tolist(),
        }
        if self.limit is not None and self.closes is not None:
            out |= {f"limit_{unit}": self.limit, "within_limit": self.closes.tolist()}
        out["shares"] = [
            {
                "contributor": name,
                "share": share.tolist(),
                f"standard_{unit}": self.parts[name].tolist(),
            }
            for name, share in shown
            if float(np.max(self.parts[name])) > 1e-12  # what does not act is not listed
        ]
        return out


@attrs.frozen(eq=False)
class Budget:
    """Error budget of one setup; arrays have the batch's shape (...).

    within_deg: for each axis, how far it alone may be off until the gap reaches the limit
    (inf where it does not act on the gap). u_within_deg: the standard uncertainty it may
    have for the expanded gap to stay under the limit while everything else stays as it
    is; nan where everything else alone is already too much.
    """

    swivel_deg: Array
    tilt_deg: Array
    outcomes: tuple[Outcome, ...]
    limit_mm: float
    within_deg: dict[str, Array]
    u_within_deg: dict[str, Array]

    def __getitem__(self, name: str) -> Outcome:
        """The outcome of that name; KeyError where the setup has none."""
        for outcome in self.outcomes:
            if outcome.name == name:
                return outcome
        raise KeyError(name)

    @property
    def closes(self) -> Array:
        """Whether the joint closes: the shoulder's expanded gap is within the limit."""
        return np.asarray(self["shoulder_gap"].expanded <= self.limit_mm)

    def to_dict(self) -> dict[str, Any]:
        """Plain data; null where an axis does not act, or cannot be good enough by itself."""
        out: dict[str, Any] = {
            "swivel_deg": self.swivel_deg.tolist(),
            "tilt_deg": self.tilt_deg.tolist(),
            "coverage_factor": COVERAGE,
            "limit_mm": self.limit_mm,
            "closes": self.closes.tolist(),
        }
        for axis in ("swivel", "tilt"):
            out[f"{axis}_within_deg"] = _finite(self.within_deg[axis])
            out[f"{axis}_u_within_deg"] = _finite(self.u_within_deg[axis])
        return out | {"outcomes": [o.to_dict() for o in self.outcomes]}


def _finite(value: Array) -> Any:
    """Plain numbers, null for inf and nan."""
    out = value.astype(object)
    out[~np.isfinite(value)] = None
    return out.tolist()


def end_budget(plan: EndPlan, fixture: Fixture) -> tuple[Budget, ...]:
    """The budget of every setup of one end, in cutting order."""
    return tuple(setup_budget(s, fixture) for s in plan.setups)


def setup_budget(setup: SetupPlan, fixture: Fixture) -> Budget:
    """The budget of one setup at its own angles."""
    return _budget(setup_shape(setup, fixture), setup, fixture)


def setup_within_deg(setup: SetupPlan, fixture: Fixture) -> dict[str, float]:
    """How far each axis alone may be off for the shoulder to close: ``Budget.within_deg``, scalar.

    Without the rest of the budget, for those who ask for nothing else; inf where an axis does
    not act.
    """
    shape, limit = setup_shape(setup, fixture), fixture.practice.glue_line_mm
    steps = {axis: float(STEPS[ERRORS.index(f"{axis}_deg")]) for axis in ("swivel", "tilt")}
    return {
        axis: _within_deg(shoulder_slope(shape, f"{axis}_deg", step), limit)
        for axis, step in steps.items()
    }


def sweep_budget(
    setup: SetupPlan,
    fixture: Fixture,
    swivel_deg: ArrayLike | None = None,
    tilt_deg: ArrayLike | None = None,
) -> Budget:
    """The budget if the same cuts were made at other angles: arrays in, arrays of budget out.

    swivel_deg, tilt_deg: broadcast against each other to shape (...); None keeps the
    setup's own. Section, side on the plate, depth and widths stay.
    """
    shape = setup_shape(setup, fixture, swivel_deg, tilt_deg)
    return _budget(shape, setup, fixture)


def _derivatives(shape: Shape) -> Array:
    """Derivatives of every outcome, shape (errors, ..., outcomes); a long batch goes in pieces."""
    angles = np.broadcast_arrays(shape.swivel_deg, shape.tilt_deg, shape.packing_deg)
    lead = angles[0].shape
    flat = [np.ravel(a) for a in angles]
    pieces = []
    for start in range(0, max(1, flat[0].size), PIECE):
        swivel, tilt, packing = (a[start : start + PIECE] for a in flat)
        part = attrs.evolve(shape, swivel_deg=swivel, tilt_deg=tilt, packing_deg=packing)
        pieces.append(sensitivities(partial(outcomes, shape=part), len(ERRORS), STEPS))
    whole = np.concatenate(pieces, axis=1)
    return np.asarray(whole.reshape(len(ERRORS), *lead, len(OUTCOMES)))


def _budget(shape: Shape, setup: SetupPlan, fixture: Fixture) -> Budget:
    derivatives = _derivatives(shape)
    listed = sources(fixture, setup.cutter.name)
    limit = fixture.practice.glue_line_mm
    found = []
    for name, columns in GROUPS.items():
        needs_cuts = name not in ("shoulder_gap", "corner_angle")
        needs_walls = name in ("cheek_fit", "cheek_wind", "place")
        if (needs_cuts and not setup.cuts) or (needs_walls and shape.wall == 0):
            continue
        parts = _worse([_parts(derivatives[..., OUTCOMES.index(c)], listed) for c in columns])
        unit = columns[0].rsplit("_", 1)[1]
        most = LIMITS[name] * limit if name in LIMITS else None
        found.append(Outcome(name, unit, parts, most))
    within, allowed = {}, {}
    for axis in ("swivel", "tilt"):
        slope = _slope_at_worst(derivatives, axis)
        acts = slope > DEAD
        within[axis] = np.asarray(_within_deg(slope, limit))
        others = [
            part for name, part in found[0].parts.items() if name not in _own_contributors(axis)
        ]
        left = (limit / COVERAGE) ** 2 - combined(others) ** 2
        spare = np.sqrt(np.maximum(left, 0.0)) / np.where(acts, slope, 1.0)
        allowed[axis] = np.where(left >= 0, np.where(acts, spare, np.inf), np.nan)
    swivel, tilt = np.broadcast_arrays(shape.swivel_deg, shape.tilt_deg)
    return Budget(swivel, tilt, tuple(found), limit, within, allowed)


def _slope_at_worst(derivatives: Array, axis: str) -> Array:
    """Gap at the shoulder's worst corner for each degree of one axis, shape (...)."""
    columns = [OUTCOMES.index(c) for c in GROUPS["shoulder_gap"]]
    return np.asarray(np.abs(derivatives[ERRORS.index(f"{axis}_deg")][..., columns]).max(-1))


def _within_deg(slope: Number, limit_mm: float) -> Number:
    """How far an axis may be off until the gap reaches the limit; inf where it moves no gap."""
    acts = slope > DEAD
    safe = where(acts, slope, 1.0)
    return where(acts, degrees(arctan(radians(limit_mm / safe))), np.inf)


def _own_contributors(axis: str) -> tuple[str, ...]:
    return (f"{axis}_scale", f"{axis}_zero", *(("hinge_play",) if axis == "tilt" else ()))


def _parts(derivatives: Array, listed: tuple[Source, ...]) -> dict[str, Array]:
    """Contributions to one outcome, sources of one contributor combined."""
    out: dict[str, Array] = {}
    for source in listed:
        part = np.abs(derivatives[ERRORS.index(source.error)]) * source.u
        known = out.get(source.contributor)
        out[source.contributor] = part if known is None else np.hypot(known, part)
    return out


def _worse(alternatives: list[dict[str, Array]]) -> dict[str, Array]:
    """The alternative with the greater combined uncertainty, place by place of the batch."""
    worst = alternatives[0]
    for other in alternatives[1:]:
        take = combined(list(other.values())) > combined(list(worst.values()))
        worst = {name: np.where(take, other[name], worst[name]) for name in worst}
    return worst
