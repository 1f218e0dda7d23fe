"""Parts and drawn bars brought together: where each stands, and whether all are there.

Knows the settings' form, cut parts and drawn bars; judges no joint (``laws`` does). A pose or a
frame that is no rotation is named and leaves its part out.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from jointgeo.proof.drawing import BoxForm
from jointgeo.proof.faces import Facets
from jointgeo.proof.finding import Finding
from jointgeo.proof.form import Form
from jointgeo.proof.frames import NO_FRAME, rotation_fault
from jointgeo.proof.kernel import Solid
from jointgeo.proof.mesh import Array
from jointgeo.proof.rebuild import Cut
from jointgeo.proof.solids import DrawnBar

__all__ = ["Placed", "Shop", "corners"]


class Placed:
    """One part in place."""

    def __init__(self, name: str, cut: Cut, pose: Array) -> None:
        self.name = name
        self.blank, self.solid = cut.blank.moved(pose), cut.solid.moved(pose)
        self.mesh = self.solid.mesh()
        self.facets = Facets(self.mesh)


class Shop:
    """placed: parts as cut, by name. drawn: bars as drawn, by name. empty: boxes of the world that
    no wood may enter. findings: about what is there and where."""

    def __init__(self, form: Form, cuts: dict[str, Cut]) -> None:
        self.form = form
        self.placed: dict[str, Placed] = {}
        self.drawn: dict[str, DrawnBar] = {}
        self.empty: list[BoxForm] = []
        self.findings = tuple(
            finding
            for said in (self._draw(), self._place(cuts), self._together(cuts))
            for finding in said
        )

    def _draw(self) -> Iterator[Finding]:
        drawing = self.form.drawing
        sound = {n.name: True for n in drawing.bars}
        for bar in drawing.bars:
            yield from _turned(f"drawing, {bar.name}: its pose", (bar.name,), bar.pose)
            sound[bar.name] = rotation_fault(bar.pose) <= NO_FRAME
        for pocket in drawing.pockets:
            what = f"drawing, {pocket.name} of {pocket.bar}: its frame"
            yield from _turned(what, (pocket.bar,), pocket.frame)
            sound[pocket.bar] &= rotation_fault(pocket.frame) <= NO_FRAME
        for space in drawing.empty:
            yield from _turned(f"drawing, {space.name}: its frame", (), space.frame)
            if rotation_fault(space.frame) <= NO_FRAME:
                self.empty.append(space)
        for bar in drawing.bars:
            across = all(
                abs(n.normal @ bar.pose[:3, 2]) > 1e-6 for n in drawing.notches_of(bar.name)
            )
            yield _there(f"drawing, {bar.name}: end planes that cross its grain", bar.name, across)
            if sound[bar.name] and across:
                self.drawn[bar.name] = DrawnBar(bar, drawing)

    def _place(self, cuts: dict[str, Cut]) -> Iterator[Finding]:
        for pose in self.form.poses:
            known = pose.part in cuts
            yield _there(f"{pose.part}: there are settings for this part", pose.part, known)
            if not known:
                continue
            yield from _turned(f"{pose.part}: its pose", (pose.part,), pose.pose)
            if rotation_fault(pose.pose) <= NO_FRAME:
                self.placed[pose.part] = Placed(pose.part, cuts[pose.part], pose.pose)

    def _together(self, cuts: dict[str, Cut]) -> Iterator[Finding]:
        bars = {b.name for b in self.form.drawing.bars}
        for name in cuts:
            yield _there(f"{name}: has a place in the assembly", name, name in self.placed)
            yield _there(f"{name}: is drawn", name, name in bars)
        for name in sorted(bars - set(cuts)):
            yield _there(f"{name}: is drawn, and there are settings for it", name, False)
        count = len(self.placed)
        because = "a joint needs two parts"
        yield Finding("parts put together", (), float(count), 2.0, "1", count >= 2, because)

    def space(self, box: BoxForm, let_out_mm: float = 0.0) -> Solid:
        """A box of the world, larger by that much on each side."""
        return Solid.centred(box.frame, box.size_mm + 2 * let_out_mm)


def corners(box: BoxForm, let_out_mm: float = 0.0) -> Array:
    """A box's corners (8, 3)."""
    signs = np.array([[x, y, z] for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)])
    inside = signs * (box.size_mm / 2 + let_out_mm)
    return np.asarray(inside @ box.frame[:3, :3].T + box.frame[:3, 3])


def _turned(what: str, parts: tuple[str, ...], frame: Array) -> Iterator[Finding]:
    because = "a right-handed rotation with a translation is needed"
    fault = rotation_fault(frame)
    yield Finding.zero(f"{what} is a rotation", parts, fault, 1e-9, "1", because)


def _there(what: str, part: str, ok: bool) -> Finding:
    return Finding(what, (part,), float(ok), 1.0, "1", ok, "" if ok else "it is missing")
