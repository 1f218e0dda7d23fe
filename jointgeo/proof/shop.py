"""The parts put together: where each stands, what two of them both fill, what nobody fills.

Knows the settings' form, cut parts and the kernel; judges no face (``held`` does).

Theory. In the assembled pose

* the **joint** is what the trimmed blanks of two parts both claim: the block in which one
  is cut to receive the other. Its volume does not depend on how long the parts are.
* **overlap** is what two cut parts both fill. What lies between two faces whose stated gap
  is negative is planned interference and is counted apart.
* **open space** is what is left of the joint when all parts are in place, less what is
  planned: stated gaps, space meant to be empty, and what both parts' layouts take away.
  It finds a gap on cheeks that no expectation names.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator

import attrs
import numpy as np

from jointgeo.proof.faces import Facets
from jointgeo.proof.finding import Finding
from jointgeo.proof.form import EmptyForm, Form, PoseForm
from jointgeo.proof.frames import NO_FRAME, rotation_fault, with_z
from jointgeo.proof.kernel import WOOD_MM3, Solid
from jointgeo.proof.rebuild import Cut

__all__ = ["Instance", "Pair", "Shop"]

ROUNDING_MM = 2e-6  # covers the kernel's rounding on both faces of a stated gap


@attrs.frozen
class Pair:
    """Two instances, e.g. ("leg 0", "rail 0"). Volumes in mm³.

    joint_mm3: what their trimmed blanks both claim. overlap_mm3, interference_mm3: what
    both fill, beyond what is planned and as planned. open_mm3: what neither they nor any
    other part fills and nothing plans to leave open.
    """

    parts: tuple[str, str]
    joint_mm3: float
    overlap_mm3: float
    interference_mm3: float
    open_mm3: float


class Instance:
    """One part in place."""

    def __init__(self, form: PoseForm, cut: Cut) -> None:
        self.form = form
        self.name = f"{form.part} {form.instance}"
        self.blank, self.solid = cut.blank.moved(form.pose), cut.solid.moved(form.pose)
        self.waste = Solid.joined([w.moved(form.pose) for w in cut.waste])
        self.mesh = self.solid.mesh()
        self.facets = Facets(self.mesh)


class Shop:
    """All instances in place, by (part, instance); findings: about their places."""

    def __init__(self, form: Form, cuts: dict[str, Cut]) -> None:
        self._form = form
        self.placed: dict[tuple[str, int], Instance] = {}
        self.findings = tuple(self._place(cuts))
        self.pairs = tuple(self._pairs())

    def _place(self, cuts: dict[str, Cut]) -> Iterator[Finding]:
        for pose in self._form.poses:
            name = f"{pose.part} {pose.instance}"
            known = pose.part in cuts
            yield _there(f"{name}: there are settings for this part", pose.part, known)
            if not known:
                continue
            fault = rotation_fault(pose.pose)
            because = "a pose must be a right-handed rotation with a translation"
            yield Finding.zero(
                f"{name}: its pose is a rotation", (pose.part,), fault, 1e-9, "1", because
            )
            if fault <= NO_FRAME:
                self.placed[pose.part, pose.instance] = Instance(pose, cuts[pose.part])
        placed = {part for part, _ in self.placed}
        stated = {face.part for e in self._form.expect for face in e.faces}
        for name in cuts:
            yield _there(f"{name}: has a place in the assembly", name, name in placed)
            yield _there(f"{name}: has a face that something is expected of", name, name in stated)
        count = len(self.placed)
        because = "a joint needs two parts"
        yield Finding("parts put together", (), float(count), 2.0, "1", count >= 2, because)

    def _pairs(self) -> Iterator[Pair]:
        interference = Solid.joined(list(self._between(-1.0)))
        planned = [*self._between(1.0), *self._left_empty()]
        pairs = list(itertools.combinations(self.placed.values(), 2))
        overlaps = [a.solid.meet(b.solid) for a, b in pairs]
        for (a, b), both in zip(pairs, overlaps, strict=True):
            joint = a.blank.meet(b.blank)
            # Parts that only touch share a sheet without thickness: nothing to look into.
            touching = both.volume_mm3 <= WOOD_MM3
            meant = 0.0 if touching else both.meet(interference).volume_mm3
            others = [o for o in overlaps if o is not both and o.volume_mm3 > WOOD_MM3]
            room = joint.minus([*planned, a.waste.meet(b.waste)])
            yield Pair(
                (a.name, b.name),
                joint.volume_mm3,
                max(0.0, both.volume_mm3 - meant),
                meant,
                max(0.0, self._unfilled(room, others) + both.volume_mm3),
            )

    def _unfilled(self, room: Solid, others: list[Solid]) -> float:
        """What of ``room`` no part fills, less what its own two fill together.

        Worked out from what each part fills and what two fill together, ``others`` where
        a third part comes in. Not by taking the parts away: what is then left has no
        thickness, and the kernel's volume of crumpled sheets means nothing.
        """
        inside = sum(room.meet(i.solid).volume_mm3 for i in self.placed.values())
        return room.volume_mm3 - inside + sum(room.meet(both).volume_mm3 for both in others)

    def _between(self, sign: float) -> Iterator[Solid]:
        """The slabs between stated faces whose gap is negative (-1) or positive (1).

        They run on sideways past everything: a slab as thin as a stated gap can hide
        nothing else of any size.
        """
        whole = [i.mesh.extents_mm for i in self.placed.values()]
        if not whole:
            return
        long = float(np.ptp(np.concatenate(whole), axis=0).max()) * 4 + 1.0
        for contact in self._form.contacts:
            if contact.gap_mm * sign > 0:
                frame = np.eye(4)
                frame[:3, :3] = with_z(contact.a.normal)
                frame[:3, 3] = (contact.a.point_mm + contact.b.point_mm) / 2
                size = np.array([long, long, abs(contact.gap_mm) + ROUNDING_MM])
                yield Solid.centred(frame, size)

    def _left_empty(self) -> Iterator[Solid]:
        for expected in self._form.expect:
            if isinstance(expected, EmptyForm) and rotation_fault(expected.box.frame) <= NO_FRAME:
                yield Solid.centred(expected.box.frame, expected.box.size_mm)


def _there(what: str, part: str, ok: bool) -> Finding:
    return Finding(what, (part,), float(ok), 1.0, "1", ok, "" if ok else "it is missing")
