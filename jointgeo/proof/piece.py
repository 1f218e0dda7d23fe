"""The virtual shop for a whole piece: every bar cut by the settings of its ends alone, and put up.

Knows a solved piece as plain data, and the dry fit of one joint. A bar is cut twice from one blank,
for its near end and, turned end for end, for its far end; what both leave is the bar. Then every
two bars are held against each other, jointed or not, and every joint's faces are measured in its
own world on the bars as they are.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping
from typing import Any

import attrs
import numpy as np

from jointgeo.proof.bearing import Gap
from jointgeo.proof.finding import TOLERANCE_MM3, Finding
from jointgeo.proof.fit import Placed, bears_in
from jointgeo.proof.form import Form, PoseForm, read_errors
from jointgeo.proof.frames import NO_FRAME, rotation_fault
from jointgeo.proof.kernel import WOOD_MM3, Solid
from jointgeo.proof.laws import Pair, pairs, twice
from jointgeo.proof.mesh import Array, Mesh
from jointgeo.proof.pieceform import PieceBarForm, PieceJointForm, read_piece
from jointgeo.proof.rebuild import Cut, rebuild
from jointgeo.proof.shop import Shop

__all__ = ["PieceFit", "cut_bar", "fit_piece"]

LEVEL_MM = 1e-3  # corners this near a level lie in it


@attrs.frozen(eq=False)
class PieceFit:
    """The answer of ``fit_piece``.

    overlap_mm3: volume that two bars both fill, planned interference left out, over all pairs.
    gap_mm, press_mm: as in ``DryFit``, over all joints. findings: everything that was looked at.
    parts: meshes as cut, in the blank's frame, by bar; assembly: in the room.
    """

    overlap_mm3: float
    interference_mm3: float
    gap_mm: float
    press_mm: float
    findings: tuple[Finding, ...]
    parts: dict[str, Mesh]
    assembly: tuple[Placed, ...]

    @property
    def goes_together(self) -> bool:
        return all(f.ok for f in self.findings)

    @property
    def faults(self) -> tuple[Finding, ...]:
        return tuple(f for f in self.findings if not f.ok)

    @property
    def extents_mm(self) -> Array:
        """Least and greatest X, Y and Z of the whole piece, (2, 3)."""
        return Mesh.together([p.mesh for p in self.assembly]).extents_mm

    def extents_at_mm(self, level_mm: float) -> Array:
        """Least and greatest X and Y of the corners at a height, (2, 2); NaN where there are
        none."""
        points = Mesh.together([p.mesh for p in self.assembly]).vertices
        there = points[np.abs(points[:, 2] - level_mm) <= LEVEL_MM][:, :2]
        return np.stack([there.min(0), there.max(0)]) if len(there) else np.full((2, 2), np.nan)

    def to_dict(self) -> dict[str, Any]:
        """Plain data, without the meshes."""
        low, high = self.extents_mm.tolist()
        feet = self.extents_at_mm(low[2])
        return {
            "goes_together": self.goes_together,
            "overlap_mm3": self.overlap_mm3,
            "interference_mm3": self.interference_mm3,
            "gap_mm": self.gap_mm,
            "press_mm": self.press_mm,
            "lowest_mm": low[2],
            "height_mm": high[2] - low[2],
            "footprint_mm": (feet[1] - feet[0]).tolist(),
            "findings": [f.to_dict() for f in self.findings],
        }


def fit_piece(piece: object, errors: Mapping[str, float] | None = None) -> PieceFit:
    """Cut every bar, put the piece together, measure.

    piece: plain data in the form of ``PieceAnswer.to_dict()``; only its bars and joints are read.
    errors: what every setup is mis-set by, as for ``dry_fit``. Raises InputError, naming paths,
    where it cannot be read; MissingExtraError where the boolean kernel is not installed.
    """
    form, off = read_piece(piece), read_errors(errors)
    findings: list[Finding] = []
    cuts: dict[str, Cut] = {}
    for bar in form.bars:
        fault = rotation_fault(bar.pose)
        findings.append(
            Finding.zero(f"{bar.name}: its pose is a rotation", (bar.name,), fault, 1e-9, "1")
        )
        if fault <= NO_FRAME:
            cuts[bar.name] = cut_bar(bar, off)
            findings += cuts[bar.name].findings
    poses = {b.name: b.pose for b in form.bars if b.name in cuts}
    solids = {name: cut.solid.moved(poses[name]) for name, cut in cuts.items()}
    found = {frozenset(j.bars.values()): j for j in form.joints}
    gaps: list[Gap] = []
    joined: list[Pair] = []
    for joint in form.joints:
        if not set(joint.bars.values()) <= set(cuts):
            continue
        shop = _shop(joint, cuts, poses)
        pair = pairs(shop)
        faces, measured = bears_in(shop)
        gaps += measured
        joined += pair
        findings += [_of(joint, f) for f in (*twice(shop, pair), *faces)]
    apart = list(_unjoined(solids, set(found)))
    findings += [f for f, _ in apart]
    return PieceFit(
        overlap_mm3=sum(p.overlap_mm3 for p in joined) + sum(v for _, v in apart),
        interference_mm3=sum(p.interference_mm3 for p in joined),
        gap_mm=max([0.0, *(g.greatest_mm - g.stated_mm for g in gaps)]),
        press_mm=max([0.0, *(g.stated_mm - g.least_mm for g in gaps)]),
        findings=tuple(findings),
        parts={name: cut.solid.mesh() for name, cut in cuts.items()},
        assembly=tuple(Placed(name, solid.mesh()) for name, solid in solids.items()),
    )


def cut_bar(bar: PieceBarForm, errors: dict[str, float]) -> Cut:
    """What both ends' settings leave of one blank, in the near end's frame."""
    near, far = rebuild(bar.near, errors), rebuild(bar.far, errors)
    width, _, length = bar.near.size_mm
    turned = np.diag([-1.0, 1.0, -1.0, 1.0])
    turned[0, 3], turned[2, 3] = width, length
    solid = near.solid.meet(far.solid.moved(turned))
    count = sum(piece.volume_mm3 > WOOD_MM3 for piece in solid.pieces())
    whole = Finding(
        f"{bar.name}: pieces it is in after both ends are cut",
        (bar.name,),
        float(count),
        1.0,
        "1",
        count == 1,
        "a bar must stay in one piece",
    )
    blank = near.blank.meet(far.blank.moved(turned))
    return Cut(blank, solid, (*near.findings, *far.findings, whole))


def _shop(joint: PieceJointForm, cuts: dict[str, Cut], poses: dict[str, Array]) -> Shop:
    """The joint's two bars, as they are, in the joint's own world."""
    back = np.linalg.inv(joint.pose)
    stand = tuple(PoseForm(drawn, back @ poses[bar]) for drawn, bar in joint.bars.items())
    form = Form((), stand, joint.drawing)
    return Shop(form, {drawn: cuts[bar] for drawn, bar in joint.bars.items()})


def _of(joint: PieceJointForm, finding: Finding) -> Finding:
    """The finding under the names of the piece's bars."""
    parts = tuple(joint.bars.get(p, p) for p in finding.parts)
    into = " into ".join(joint.bars.values())
    return attrs.evolve(finding, what=f"{into}: {finding.what}", parts=parts)


def _unjoined(
    solids: dict[str, Solid], joined: set[frozenset[str]]
) -> Iterator[tuple[Finding, float]]:
    """Every two bars that no joint joins, and the volume they both fill."""
    for (a, one), (b, other) in itertools.combinations(solids.items(), 2):
        if frozenset((a, b)) in joined:
            continue
        both = one.room_taken(other, TOLERANCE_MM3)
        both = both if both > WOOD_MM3 else 0.0
        because = "two bars cannot be in one place"
        yield (
            Finding.zero(f"overlap of {a} and {b}", (a, b), both, TOLERANCE_MM3, "mm3", because),
            both,
        )
