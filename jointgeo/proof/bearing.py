"""Faces bear: every cheek and floor that a notch makes meets its mate at the stated clearance.

Knows drawn faces, and parts in place by their flat faces. Measured on the parts as cut, over all
that two faces share, so that a mis-set angle shows as a wedge.

What a face need not meet: space left empty on purpose that begins at it, and the mate where the
mate does not reach, as a shoulder that stands out beside a narrower post.

Rejected: probing gaps by rays between the parts. A ray sees one point, and the gap that an angle
opens is widest at an edge, where a ray is least sure of its triangle.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

import attrs
import numpy as np

from jointgeo.proof.faces import LEAST_MM2, Facets, PlaneFace, flat, gaps_mm
from jointgeo.proof.finding import TOLERANCE_MM, Finding
from jointgeo.proof.kernel import Region
from jointgeo.proof.mesh import Array
from jointgeo.proof.solids import Face

__all__ = ["Gap", "PartInPlace", "Space", "bearing"]

REACH_MM = 20.0  # further off than this it is another face
STEP_MM, STEP_MM2 = 1.0, 0.01  # a step in the mate, beside where they meet
ALIKE = 0.99  # cosine; 8° off is no floor of a mis-set notch
AT_FACE_MM = 0.01  # space left empty begins this near the face it is left before


@attrs.frozen(eq=False)
class Gap:
    """A face as measured against its mate, and the stated clearance."""

    least_mm: float
    greatest_mm: float
    stated_mm: float

    @property
    def off_mm(self) -> float:
        return max(self.greatest_mm - self.stated_mm, self.stated_mm - self.least_mm)

    @classmethod
    def over(cls, gaps: Sequence[Gap]) -> Gap:
        """The least and the greatest of several of one face."""
        least, greatest = min(g.least_mm for g in gaps), max(g.greatest_mm for g in gaps)
        return cls(least, greatest, gaps[0].stated_mm)


@attrs.frozen(eq=False)
class PartInPlace:
    """One part in place: its faces as cut, and the corners (n, 3) of its trimmed blank."""

    name: str
    cut: Facets
    blank: Array


@attrs.frozen(eq=False)
class Space:
    """Space left empty: its corners (8, 3), and those of the same with the clearances beside it."""

    corners: Array
    let_out: Array


def bearing(
    faces: Iterable[Face], placed: Sequence[PartInPlace], empty: Sequence[Space]
) -> tuple[list[Finding], list[Gap]]:
    """Findings and gaps of all faces that there are."""
    findings: list[Finding] = []
    gaps: list[Gap] = []
    for face in faces:
        own = next((p for p in placed if p.name == face.bar), None)
        reals = [] if own is None else _real(face, own)  # the laws of volume say what is not there
        mates = [p for p in placed if p is not own]
        met = [_met(face, real, mates, empty) for real in reals]
        found = [gap for gap in met if isinstance(gap, Gap)]
        if found:
            gaps.append(Gap.over(found))
            findings += _held(face, gaps[-1])
        elif not all(met):
            because = "it looks at its mate and does not meet it"
            what = f"gap at {_name(face)}"
            findings.append(Finding(what, (face.bar,), None, face.gap_mm, "mm", False, because))
    because = "notches that touch nothing cannot be held against anything"
    count = len(gaps)
    findings.append(Finding("faces that bear", (), float(count), 1.0, "1", count >= 1, because))
    return findings, gaps


def _name(face: Face) -> str:
    return f"{face.bar}, {face.name}"


def _held(face: Face, gap: Gap) -> Iterator[Finding]:
    for name, measured in (("least", gap.least_mm), ("greatest", gap.greatest_mm)):
        ok = abs(measured - gap.stated_mm) <= TOLERANCE_MM
        because = "over all that it shares with its mate"
        what = f"{name} gap at {_name(face)}"
        yield Finding(what, (face.bar,), measured, gap.stated_mm, "mm", ok, because)


def _middle(face: Face, out: float = 0.0) -> Array:
    return np.asarray((face.low + face.high) / 2 @ face.axes + face.normal * (face.at_mm + out))


def _real(face: Face, own: PartInPlace) -> list[tuple[PlaneFace, Region]]:
    """The face as cut that lies nearest to the drawn one, with what of it lies in its bounds.

    Of a floor all that lie near: where two notches cut one shoulder and a setting is wrong, they
    differ.
    """
    bounds = Region.of(face.triangles)
    out: list[tuple[PlaneFace, Region]] = []
    for near in own.cut.near(face.normal, _middle(face), REACH_MM):
        if out and not (face.floor and _beside(near, face)):
            continue
        region = bounds & flat(near, face.axes)
        if region.area_mm2 >= (STEP_MM2 if out else LEAST_MM2):
            out.append((near, region))
    return out


def _beside(near: PlaneFace, face: Face) -> bool:
    cosine = float(near.normal @ face.normal)
    return cosine > ALIKE and abs(near.height - float(near.normal @ _middle(face))) <= STEP_MM


def _met(
    face: Face, real: tuple[PlaneFace, Region], mates: Sequence[PartInPlace], empty: Sequence[Space]
) -> Gap | bool:
    """The gap to the mate; else whether it need not meet it."""
    cut, region = real
    for space in empty:
        if _begins_at(space, face):
            region = region - Region.hull(space.let_out @ face.axes.T)
    if region.area_mm2 < LEAST_MM2:
        return True
    gaps = [g for mate in mates if (g := _gap(face, cut, region, mate)) is not None]
    if gaps:
        return min(gaps, key=lambda g: g.off_mm)
    before = (region & Region.hull(mate.blank @ face.axes.T) for mate in mates)
    return all(shared.area_mm2 < LEAST_MM2 for shared in before)


def _gap(face: Face, cut: PlaneFace, region: Region, mate: PartInPlace) -> Gap | None:
    """Over the mate's face that lies nearest to where it is meant to be, and over others beside it
    that are not far off: a step in the mate is a fault, another shoulder far behind is none."""
    found: list[Gap] = []
    at = _middle(face, face.gap_mm)
    for reach, least in ((REACH_MM, LEAST_MM2), (STEP_MM, STEP_MM2)):
        for other in mate.cut.near(-face.normal, at, reach):
            if region.area_mm2 < least or (found and reach == REACH_MM):
                break
            shared = region & flat(other, face.axes)
            if shared.area_mm2 >= least:
                ends = gaps_mm(cut, other, face.normal, face.axes, shared)
                found.append(Gap(*ends, face.gap_mm))
                region = region - shared
    return Gap.over(found) if found else None


def _begins_at(space: Space, face: Face) -> bool:
    out = space.corners @ face.normal - face.at_mm
    return bool(out.min() <= AT_FACE_MM < out.max())
