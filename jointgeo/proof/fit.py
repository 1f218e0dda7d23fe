"""The virtual shop: cut every part as the settings say, put them together, measure.

Knows the settings JSON only, through ``form``. Shares no code with the solver that made
it: a formula that is wrong in sign looks right to whoever shares it, and wood is dear.
``rebuild`` cuts the parts, ``shop`` puts them together, ``held`` measures faces.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Literal

import attrs

from jointgeo.proof.finding import TOLERANCE_SHARE, Finding
from jointgeo.proof.form import read_errors, read_settings
from jointgeo.proof.held import held
from jointgeo.proof.mesh import Mesh
from jointgeo.proof.rebuild import rebuild
from jointgeo.proof.shop import Pair, Shop

__all__ = ["DryFit", "Placed", "dry_fit"]

Verdict = Literal["fits", "does not fit"]


@attrs.frozen(eq=False)
class Placed:
    """One instance in the assembled joint; mesh in world coordinates, mm."""

    part: str
    instance: int
    mesh: Mesh


@attrs.frozen(eq=False)
class DryFit:
    """The answer of ``dry_fit``.

    joint_mm3: volume that two trimmed blanks both claim, over all pairs.
    overlap_mm3: volume that two parts both fill, planned interference left out.
    overlap_fraction: the same as a share of joint_mm3 (of the smallest part, where the
    blanks share nothing).
    gap_mm: the widest gap between faces meant to touch, less the stated gap; press_mm: the
    deepest they run into each other, likewise. 0 where there is none; a contact whose
    faces are not there is no part of either, and is a finding.
    findings: everything that was looked at; faults: those that are not ok.
    parts: meshes as cut, in stock frame (z = 0 at the blank's square end), by name.
    """

    joint_type: str
    fixture: str
    joint_mm3: float
    overlap_mm3: float
    overlap_fraction: float
    interference_mm3: float
    gap_mm: float
    press_mm: float
    pairs: tuple[Pair, ...]
    findings: tuple[Finding, ...]
    parts: dict[str, Mesh]
    assembly: tuple[Placed, ...]

    @property
    def fits(self) -> bool:
        return all(f.ok for f in self.findings)

    @property
    def verdict(self) -> Verdict:
        return "fits" if self.fits else "does not fit"

    @property
    def faults(self) -> tuple[Finding, ...]:
        return tuple(f for f in self.findings if not f.ok)

    def to_dict(self) -> dict[str, Any]:
        """Plain data, without the meshes; what could not be measured is None."""
        return {
            "joint_type": self.joint_type,
            "fixture": self.fixture,
            "verdict": self.verdict,
            "joint_mm3": self.joint_mm3,
            "overlap_mm3": self.overlap_mm3,
            "overlap_fraction": self.overlap_fraction,
            "interference_mm3": self.interference_mm3,
            "gap_mm": self.gap_mm,
            "press_mm": self.press_mm,
            "pairs": [attrs.asdict(p) | {"parts": list(p.parts)} for p in self.pairs],
            "parts": [
                {
                    "part": name,
                    "volume_mm3": mesh.volume_mm3,
                    "extents_mm": mesh.extents_mm.tolist(),
                }
                for name, mesh in self.parts.items()
            ],
            "findings": [f.to_dict() for f in self.findings],
        }


def dry_fit(settings: object, errors: Mapping[str, float] | None = None) -> DryFit:
    """Cut the parts of ``settings``, assemble them, and measure how they fit.

    settings: plain data in the form of ``Settings.to_dict()``, and nothing else.
    errors: what every setup is mis-set by, {name: amount}; names swivel_deg, tilt_deg,
    packing_deg (added to the angles), depth_mm (deeper), travel_mm (further right),
    kerf_mm (a wider cutter). The trim stays at its height above the lowest corner.
    Raises InputError, naming paths, where either cannot be read; MissingExtraError where
    the boolean kernel is not installed. A joint that does not fit is an answer.
    """
    form = read_settings(settings)
    off = read_errors(errors)
    cuts = {part.name: rebuild(part, off) for part in form.parts}
    shop = Shop(form, cuts)
    measured, gaps = held(form, shop)
    joint = sum(p.joint_mm3 for p in shop.pairs)
    overlap = sum(p.overlap_mm3 for p in shop.pairs)
    whole = joint or min((cut.solid.volume_mm3 for cut in cuts.values()), default=0.0)
    filled = [f for pair in shop.pairs for f in _filled(pair, TOLERANCE_SHARE * whole)]
    named: Any = settings
    return DryFit(
        joint_type=str(named.get("joint_type", "")),
        fixture=str(named.get("fixture", "")),
        joint_mm3=joint,
        overlap_mm3=overlap,
        overlap_fraction=overlap / (whole or 1.0),
        interference_mm3=sum(p.interference_mm3 for p in shop.pairs),
        gap_mm=max([0.0, *(g.greatest_mm - g.stated_mm for g in gaps)]),
        press_mm=max([0.0, *(g.stated_mm - g.least_mm for g in gaps)]),
        pairs=shop.pairs,
        findings=(
            *(f for cut in cuts.values() for f in cut.findings),
            *shop.findings,
            *filled,
            *measured,
        ),
        parts={name: cut.solid.mesh() for name, cut in cuts.items()},
        assembly=tuple(Placed(*key, i.mesh) for key, i in shop.placed.items()),
    )


def _filled(pair: Pair, limit: float) -> Iterator[Finding]:
    both = " and ".join(pair.parts)
    for what, volume, because in (
        ("overlap of", pair.overlap_mm3, "two parts cannot be in one place"),
        ("open space between", pair.open_mm3, "the joint should be filled but for stated gaps"),
    ):
        yield Finding.zero(f"{what} {both}", pair.parts, volume, limit, "mm3", because)
