"""A fixture nobody has measured: where its beam stands, from limits that were observed.

Knows readings and the two kinds of contact; no fixture.

Angles alone do not tell the two kinds of contact (``contacts``) apart: readings of one kind are
fitted by the other within their noise, and stock beyond the range that was tried is then predicted
too favourably. So the kind is asked for; where it is not known, the readings are put in order of
their radius about the hinge, √(L²+T²), since those of less radius meet the face and those of
greater radius the edge, and every split of that order is fitted. The splits that agree with their
own radii and with the scatter are all reported, and of their limits the least is trusted. Where
overhangs differ the order depends on the hinge's height; every order that some height gives is
tried.

Two lengths measured with a rule, G and v, are worth more than any number of limits: the answer
says so first.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Any, Literal

import attrs
import numpy as np

from jointgeo.calibration.contacts import KINDS, Observed, Split, corner_limit_deg, fit_split
from jointgeo.calibration.readings import LimitReading, LimitReadings
from jointgeo.fixtures.estimate import Z_99, chi_square_point
from jointgeo.geometry.arrays import Array
from jointgeo.uncertainty.combine import COVERAGE

__all__ = ["MEASURE_FIRST", "LimitEstimate", "Predicted", "estimate_limits"]

EstimateStatus = Literal["estimated", "loose", "several", "no_residual", "too_few", "contradictory"]

#: Known to better than this (relative, k = 2) the fit is called good; our choice.
TIGHT = 0.2
#: Thicker stock with a limit greater by more than this many standard uncertainties: our choice.
REVERSED = 3.0
#: How much lower to hang the stock in the trial that tells the kinds apart; our choice.
TRIAL_MM = 40.0

MEASURE_FIRST = (
    "measure two lengths with a rule if you can reach them, which is better than any estimate: G, "
    "level from the hinge to the beam's face, and v, plumb from the hinge to the beam's lower "
    "edge; the fixture's file then has face_distance_mm = G less the plate's offset, z_min_mm = "
    "hinge_z_mm less v"
)
PLATE_OFFSET = (
    "the plate's offset from the hinge: it hardly changes what is observed (by its 1 - cos of the "
    "tilt), so measure it"
)


@attrs.frozen
class Predicted:
    """The limit to trust for one stock, the least over the splits kept.

    limit_deg, u_deg: that limit and its standard uncertainty; None: it never meets the beam.
    safe_deg: least over the splits of limit - 2u; None likewise. Below 0: not free upright either.
    """

    thickness_mm: float
    overhang_mm: float | None
    limit_deg: float | None
    u_deg: float | None
    safe_deg: float | None


@attrs.frozen
class LimitEstimate:
    """status: "estimated" (one split, well known); "loose" (one, more than TIGHT uncertain);
    "several" (more than one split agrees); "no_residual" (as many unknowns as readings, so that
    nothing judges the estimate); "too_few"; "contradictory". says: in words. splits: every split
    that agrees. undetermined: in words, what the readings leave open. first: what to do before
    all."""

    status: EstimateStatus
    says: str
    splits: tuple[Split, ...] = ()
    undetermined: tuple[str, ...] = ()
    depth_offset_mm: float = 0.0
    overhangs_known: bool = False
    first: str = MEASURE_FIRST

    @property
    def good(self) -> bool:
        return self.status == "estimated"

    def predict(self, thickness_mm: float, overhang_mm: float | None = None) -> Predicted | None:
        """The limit to trust for stock of that thickness; None where nothing was estimated.

        overhang_mm: where the readings state theirs; otherwise the limit is for stock that hangs
        as it hung when they were observed. None where it would be needed and is not given.
        """
        if self.status == "contradictory" or not self.splits:
            return None
        needed = self.overhangs_known and any(s.drop_mm is not None for s in self.splits)
        if needed and overhang_mm is None:
            return None
        own = overhang_mm or 0.0 if self.overhangs_known else 0.0
        depth = self.depth_offset_mm + thickness_mm
        found = [s.limit_deg(depth, own) for s in self.splits]
        limit, u = min(found)
        safe = min(t - COVERAGE * spread for t, spread in found)
        if np.isposinf(limit):
            return Predicted(thickness_mm, overhang_mm, None, None, None)
        # Stock beyond the edge at every tilt: said as the least tilt there is.
        limit, safe = max(limit, -90.0), max(safe, -90.0)
        return Predicted(thickness_mm, overhang_mm, limit, u, safe)

    def to_dict(self) -> dict[str, Any]:
        splits = [attrs.asdict(s) for s in self.splits]
        listed = {"undetermined": list(self.undetermined), "splits": splits}
        return {"status": self.status, "says": self.says, "first": self.first} | listed


def estimate_limits(readings: LimitReadings) -> LimitEstimate:
    """Every agreeing split by weighted least squares; too few or contradictory is an answer."""
    listed = readings.limit
    if len(listed) < 2:
        says = f"{len(listed)} limits are too few: two unknowns need at least two"
        return LimitEstimate("too_few", says)
    wrong = _reversed(listed)
    if wrong is not None:
        return LimitEstimate("contradictory", wrong)
    known = listed[0].overhang_mm is not None
    offset = readings.plate_offset_mm + readings.backing_mm
    seen = Observed(
        np.array([offset + r.thickness_mm for r in listed]),
        np.array([r.overhang_mm or 0.0 for r in listed]),
        np.radians([r.angle_deg for r in listed]),
        np.radians([r.u_deg for r in listed]),
        readings.u_thickness_mm,
    )
    asked = _splits(listed, seen)
    fits = [(corner, fit_split(seen, np.array(corner))) for corner in asked]
    unfitted = [corner for corner, fit in fits if fit is None]
    found = [fit for _, fit in fits if fit is not None]
    if asked and not found:
        says = (
            "the limits fix nothing, being of one thickness or one angle or too few for the "
            "unknowns: observe stock of other thicknesses"
        )
        return LimitEstimate("too_few", says)
    kept = tuple(s for s in found if s.agrees and _within(s))
    if not kept:
        return LimitEstimate("contradictory", _against(listed, found), tuple(_nearest(found)))
    open_ends = (*_undetermined(kept, known), *(_unjudged(unfitted, listed)), PLATE_OFFSET)
    status, says = _judged(kept, bool(unfitted), listed, seen)
    return LimitEstimate(status, says, kept, open_ends, offset, known)


# Which splits -------------------------------------------------------------------------------


def _splits(listed: tuple[LimitReading, ...], seen: Observed) -> list[tuple[bool, ...]]:
    """Every assignment to try, True for the corner: as told, or by the order of radii."""
    told = [r.touched for r in listed]
    if "unknown" not in told:
        return [tuple(t == KINDS[0] for t in told)]
    radius = [_radius_about(seen, h) for h in _heights(seen)]
    out: dict[tuple[bool, ...], None] = {}
    for squares in radius:
        # Equal radii are of one kind, so a split falls between different ones.
        for bound in [-np.inf, *sorted(set(squares.tolist()))]:
            corner = tuple(bool(q <= bound) for q in squares)
            if all(
                t in ("unknown", KINDS[0 if c else 1]) for t, c in zip(told, corner, strict=True)
            ):
                out[corner] = None
    return list(out)


def _radius_about(seen: Observed, height: float) -> Array:
    return np.asarray(np.round((height + seen.overhang_mm) ** 2 + seen.depth_mm**2, 6))


def _heights(seen: Observed) -> list[float]:
    """One hinge height for each order that the radii can have: between the heights at which two
    of them are equal."""
    o, q = seen.overhang_mm, seen.overhang_mm**2 + seen.depth_mm**2
    ties = set()
    for i in range(len(o)):
        for j in range(i):
            if o[i] != o[j]:
                ties.add(float((q[j] - q[i]) / (2 * (o[i] - o[j]))))
    least = -float(np.min(o))  # a corner hangs below the hinge
    ends = [least, *sorted(t for t in ties if t > least)]
    return [(a + b) / 2 for a, b in pairwise(ends)] + [ends[-1] + 100.0]


# Judging ------------------------------------------------------------------------------------


def _reversed(listed: tuple[LimitReading, ...]) -> str | None:
    """Thicker stock that hangs no higher must meet the beam at a smaller angle, of either kind."""
    for thin in listed:
        for thick in listed:
            lower = (thick.overhang_mm or 0.0) >= (thin.overhang_mm or 0.0)
            if thick.thickness_mm <= thin.thickness_mm or not lower:
                continue
            more = thick.angle_deg - thin.angle_deg
            if more > REVERSED * np.hypot(thick.u_deg, thin.u_deg):
                return (
                    "the limits contradict the geometry: thicker stock must foul at a smaller "
                    f"angle, and {thick.thickness_mm:g} mm at {thick.angle_deg:g}° is later than "
                    f"{thin.thickness_mm:g} mm at {thin.angle_deg:g}°; look at them again"
                )
    return None


def _within(split: Split) -> bool:
    return split.freedom == 0 or split.chi2 <= chi_square_point(split.freedom, Z_99)


def _nearest(found: list[Split]) -> list[Split]:
    return sorted(found, key=lambda s: s.chi2 / max(s.freedom, 1))[:1]


def _against(listed: tuple[LimitReading, ...], found: list[Split]) -> str:
    if not found:
        return (
            "what is told to have touched contradicts the geometry: of two stocks the one whose "
            "corner is farther from the hinge meets the beam's edge; look at them again"
        )
    best = _nearest(found)[0]
    if _within(best):
        return (
            "the limits contradict the geometry: no estimate has the beam in front of the hinge "
            "and each contact of the kind that its radius about the hinge says; look at them again"
        )
    worst = listed[best.worst]
    return (
        f"the limits contradict each other: the one at {worst.thickness_mm:g} mm and "
        f"{worst.angle_deg:g}° is {best.residual_deg[best.worst]:+.2f}° off the rest; "
        "observe it again"
    )


def _judged(
    kept: tuple[Split, ...], unjudged: bool, listed: tuple[LimitReading, ...], seen: Observed
) -> tuple[EstimateStatus, str]:
    if len(kept) > 1:
        says = f"{len(kept)} assignments of what touched agree with these limits"
        return "several", f"{says}; trust the least limit. {_trial(kept, listed, seen)}"
    split = kept[0]
    says = _lengths(split)
    if unjudged or split.freedom == 0:
        return "no_residual", f"{says}; no residual is left to judge that by: observe more limits"
    known = (
        (split.distance_mm, split.distance_u_mm),
        (split.drop_mm, split.drop_u_mm),
        (split.edge_mm, split.edge_u_mm),
    )
    if any(v is not None and u is not None and COVERAGE * u > TIGHT * v for v, u in known):
        return "loose", f"{says}; known only loosely: observe more limits, farther apart"
    return "estimated", says


def _lengths(split: Split) -> str:
    named = (
        ("level from the hinge to the beam's face (G)", split.distance_mm, split.distance_u_mm),
        (
            "plumb from the hinge to the stock's lower front corner (L)",
            split.drop_mm,
            split.drop_u_mm,
        ),
        ("plumb from the hinge to the beam's lower edge (v)", split.edge_mm, split.edge_u_mm),
    )
    parts = [f"{n} {v:.1f} ± {COVERAGE * u:.1f} mm" for n, v, u in named if v is not None and u]
    return ", ".join(parts) + " (k = 2)"


def _trial(kept: tuple[Split, ...], listed: tuple[LimitReading, ...], seen: Observed) -> str:
    """The trial that decides: edge contact does not move when the stock hangs lower."""
    best = (0.0, 0)
    for split in kept:
        if split.drop_mm is None:
            continue
        drop = split.drop_mm + seen.overhang_mm
        ends = [
            corner_limit_deg(d, split.distance_mm, seen.depth_mm) for d in (drop, drop + TRIAL_MM)
        ]
        for i, (old, new) in enumerate(zip(*ends, strict=True)):
            apart = {s.kinds[i] for s in kept}
            if len(apart) > 1 and np.isfinite(old) and old - new > best[0]:
                best = (float(old - new), i)
    fall, which = best
    if fall == 0.0:
        return "Look at what touches"
    return (
        f"Look at what touches; or hang the {listed[which].thickness_mm:g} mm stock "
        f"{TRIAL_MM:g} mm lower and tilt again: the limit falls by about {fall:.1f}° if its end "
        "meets the face, and stays if its front meets the edge"
    )


def _undetermined(kept: tuple[Split, ...], known: bool) -> list[str]:
    out = []
    if len(kept) > 1:
        out.append("what touched: more than one assignment agrees")
    name = (
        "the hinge's height above the plate's edge"
        if known
        else "how far below the hinge the stock's lower front corner lies"
    )
    if_so = ", if {}" if len(kept) > 1 else " (since {})"
    for split in kept:
        if split.drop_at_least_mm is not None:
            out.append(
                f"{name}{if_so.format('every front met the edge')}: at least "
                f"{split.drop_at_least_mm:.0f} mm"
            )
        if split.edge_at_least_mm is not None:
            out.append(
                "how far below the hinge the beam's lower edge lies"
                f"{if_so.format('every end met the face')}: at least "
                f"{split.edge_at_least_mm:.0f} mm"
            )
    if not known and any(s.drop_mm is not None for s in kept):
        out.append("stock that hangs otherwise than it hung here: no overhang was given")
    return out


def _unjudged(unfitted: list[tuple[bool, ...]], listed: tuple[LimitReading, ...]) -> list[str]:
    out = []
    for corner in unfitted:
        ends = [f"{r.thickness_mm:g} mm" for r, c in zip(listed, corner, strict=True) if c]
        edges = [f"{r.thickness_mm:g} mm" for r, c in zip(listed, corner, strict=True) if not c]
        out.append(
            "whether "
            + " and ".join(
                [
                    *([f"{', '.join(ends)} by the end"] if ends else []),
                    *([f"{', '.join(edges)} by the edge"] if edges else []),
                ]
            )
            + ": that has more unknowns than these limits fix, and stays possible"
        )
    return out
