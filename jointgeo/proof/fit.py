"""The virtual shop: cut every part as the settings say, put them together, hold the laws.

Knows the settings JSON only, through ``form``. Shares no code with the solver that made
it: a formula that is wrong in sign looks right to whoever shares it, and wood is dear.
``rebuild`` cuts the parts, ``solids`` builds the bars of the drawing, ``shop`` brings them
together; then ``laws``, ``bearing`` and ``apart`` say whether it is a joint:

* settings cut what is drawn;
* nothing is twice: no place is filled by two parts, and space left empty by none;
* nothing is lost: what was cut away is filled, but for stated gaps;
* faces bear, at their stated clearance;
* it comes apart along its slides.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Literal

import attrs

from jointgeo.proof.apart import apart
from jointgeo.proof.bearing import Gap, PartInPlace, Space, bearing
from jointgeo.proof.finding import TOLERANCE_MM, Finding
from jointgeo.proof.form import read_errors, read_settings
from jointgeo.proof.laws import Pair, as_drawn, lost, pairs, twice
from jointgeo.proof.mesh import Mesh
from jointgeo.proof.rebuild import rebuild
from jointgeo.proof.shop import Shop, corners

__all__ = ["DryFit", "Placed", "bears_in", "dry_fit"]

Verdict = Literal["goes together", "does not go together"]


@attrs.frozen(eq=False)
class Placed:
    """One part in the assembled joint; mesh in world coordinates, mm."""

    part: str
    mesh: Mesh


@attrs.frozen(eq=False)
class DryFit:
    """The answer of ``dry_fit``.

    joint_mm3: volume that two trimmed blanks both claim, over all pairs.
    overlap_mm3: volume that two parts both fill, planned interference left out.
    overlap_fraction: the same as a share of joint_mm3 (of the smallest part, where the
    blanks share nothing).
    open_mm3: volume that was cut away and that nothing fills, stated gaps left out.
    gap_mm: the widest gap before a cheek or floor of the drawing, less the stated gap;
    press_mm: the deepest it runs into its mate, likewise. 0 where there is none; a face that
    does not meet its mate is no part of either, and is a finding.
    findings: everything that was looked at; faults: those that are not ok.
    parts: meshes as cut, in stock frame (z = 0 at the blank's square end), by name.
    """

    joint_type: str
    fixture: str
    joint_mm3: float
    overlap_mm3: float
    overlap_fraction: float
    interference_mm3: float
    open_mm3: float
    gap_mm: float
    press_mm: float
    pairs: tuple[Pair, ...]
    findings: tuple[Finding, ...]
    parts: dict[str, Mesh]
    assembly: tuple[Placed, ...]

    @property
    def goes_together(self) -> bool:
        return all(f.ok for f in self.findings)

    @property
    def verdict(self) -> Verdict:
        return "goes together" if self.goes_together else "does not go together"

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
            "open_mm3": self.open_mm3,
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
    """Cut the parts of ``settings``, assemble them, and hold them against the drawing they carry.

    settings: plain data in the form of ``Settings.to_dict()``, and nothing else.
    errors: what every setup is mis-set by, {name: amount}; names swivel_deg, tilt_deg,
    packing_deg (added to the angles), depth_mm (deeper), travel_mm (further right),
    kerf_mm (a wider cutter). The trim stays at its height above the lowest corner.
    Raises InputError, naming paths, where either cannot be read; MissingExtraError where
    the boolean kernel is not installed. A joint that does not go together is an answer.
    """
    form = read_settings(settings)
    off = read_errors(errors)
    cuts = {part.name: rebuild(part, off) for part in form.parts}
    shop = Shop(form, cuts)
    found = pairs(shop)
    same = tuple(as_drawn(shop))
    holes, open_mm3 = lost(shop, drawn=all(f.ok for f in same))
    bears, gaps = bears_in(shop)
    joint = sum(p.joint_mm3 for p in found)
    overlap = sum(p.overlap_mm3 for p in found)
    whole = joint or min((cut.solid.volume_mm3 for cut in cuts.values()), default=0.0)
    named: Any = settings
    return DryFit(
        joint_type=str(named.get("joint_type", "")),
        fixture=str(named.get("fixture", "")),
        joint_mm3=joint,
        overlap_mm3=overlap,
        overlap_fraction=overlap / (whole or 1.0),
        interference_mm3=sum(p.interference_mm3 for p in found),
        open_mm3=open_mm3,
        gap_mm=max([0.0, *(g.greatest_mm - g.stated_mm for g in gaps)]),
        press_mm=max([0.0, *(g.stated_mm - g.least_mm for g in gaps)]),
        pairs=found,
        findings=(
            *(f for cut in cuts.values() for f in cut.findings),
            *shop.findings,
            *same,
            *twice(shop, found),
            *holes,
            *bears,
            *apart(shop, found),
        ),
        parts={name: cut.solid.mesh() for name, cut in cuts.items()},
        assembly=tuple(Placed(name, part.mesh) for name, part in shop.placed.items()),
    )


def bears_in(shop: Shop) -> tuple[list[Finding], list[Gap]]:
    """Findings and gaps of every face that a notch of the drawing makes."""
    faces = [f for bar in shop.drawn.values() for notch in bar.notches for f in notch.faces()]
    placed = [
        PartInPlace(name, shop.placed[name].facets, bar.points)
        for name, bar in shop.drawn.items()
        if name in shop.placed
    ]
    let_out = shop.form.drawing.widest_gap_mm + TOLERANCE_MM
    empty = [Space(corners(box), corners(box, let_out)) for box in shop.empty]
    return bearing(faces, placed, empty)
