"""The assembled parts held against what the settings expect of them.

Knows the settings' form, placed parts and their faces. A stated face must be there and
stand where it is stated; contacts are measured over the whole region that both faces
share, flush faces over their whole extent.

Rejected: probing gaps by rays between the parts. A ray sees one point, and the gap that
an angle opens is widest at an edge, where a ray is least sure of its triangle.
"""

from __future__ import annotations

from collections.abc import Iterator

import attrs
import numpy as np

from jointgeo.proof.faces import PlaneFace, gaps_mm, off_plane_mm
from jointgeo.proof.finding import TOLERANCE_MM, TOLERANCE_SHARE, Finding
from jointgeo.proof.form import ContactForm, EmptyForm, FaceForm, FlushForm, Form
from jointgeo.proof.frames import NO_FRAME, rotation_fault
from jointgeo.proof.kernel import Solid
from jointgeo.proof.shop import Shop

__all__ = ["Gap", "held"]


@attrs.frozen
class Gap:
    """A contact as measured: least and greatest distance of its faces, and the stated one."""

    least_mm: float
    greatest_mm: float
    stated_mm: float


def held(form: Form, shop: Shop) -> tuple[list[Finding], list[Gap]]:
    """Every expectation's findings, and the gap of every contact that could be measured."""
    findings: list[Finding] = []
    gaps: list[Gap] = []
    for expected in form.expect:
        if isinstance(expected, EmptyForm):
            findings += _empty(expected, shop)
            continue
        a, b = (_real(face, shop) for face in expected.faces)
        for face, real in zip(expected.faces, (a, b), strict=True):
            if face.part:
                findings.append(_stands(face, real))
        if isinstance(expected, FlushForm):
            findings.append(_flush(expected, a, b))
            continue
        found = None if a is None or b is None else gaps_mm(a, b, expected.a.normal)
        gap = None if found is None else Gap(*found, expected.gap_mm)
        findings += _contact(expected, gap)
        gaps += [] if gap is None else [gap]
    if not form.contacts:
        because = "settings that state no contact cannot be held against anything"
        findings.append(Finding("faces meant to touch", (), 0.0, 1.0, "1", False, because))
    return findings, gaps


def _real(face: FaceForm, shop: Shop) -> PlaneFace | None:
    there = shop.placed.get((face.part, face.instance))
    return None if there is None else there.facets.face_at(face.point_mm, face.normal)


def _parts(expected: FlushForm | ContactForm) -> tuple[str, ...]:
    return tuple(face.part for face in expected.faces if face.part)


def _stands(face: FaceForm, real: PlaneFace | None) -> Finding:
    what, parts = f"{face}: off where it is stated", (face.part,)
    if real is None:
        because = "no face of that part lies there and looks that way"
        return Finding(what, parts, None, 0.0, "mm", False, because)
    ok = abs(real.off_mm) <= TOLERANCE_MM
    return Finding(what, parts, real.off_mm, 0.0, "mm", ok, "positive: it stands proud")


def _contact(expected: ContactForm, gap: Gap | None) -> Iterator[Finding]:
    parts, stated = _parts(expected), expected.gap_mm
    pair = f"{expected.a} to {expected.b}"
    if gap is None:
        because = "the two faces do not look at each other"
        yield Finding(f"gap, {pair}", parts, None, stated, "mm", False, because)
        return
    for name, measured in (("least", gap.least_mm), ("greatest", gap.greatest_mm)):
        ok = abs(measured - stated) <= TOLERANCE_MM
        because = "over all that the two faces share"
        yield Finding(f"{name} gap, {pair}", parts, measured, stated, "mm", ok, because)


def _flush(expected: FlushForm, a: PlaneFace | None, b: PlaneFace | None) -> Finding:
    """Each real face against the other's plane; a datum is its own plane."""
    pair = f"{expected.a} flush with {expected.b}"
    parts = _parts(expected)
    off = []
    for face, other_form, other in ((a, expected.b, b), (b, expected.a, a)):
        if other_form.part == "":
            plane = (other_form.point_mm, other_form.normal)
        elif other is not None:
            plane = (other.corners[0, 0], other.normal)
        else:
            continue
        if face is not None:
            off.append(off_plane_mm(face, *plane))
    if not off:
        because = "one of the two faces is not there"
        return Finding(pair, parts, None, 0.0, "mm", False, because)
    because = "over the whole of both faces"
    return Finding.zero(pair, parts, max(off), TOLERANCE_MM, "mm", because)


def _empty(expected: EmptyForm, shop: Shop) -> Iterator[Finding]:
    box = expected.box
    fault = rotation_fault(box.frame)
    yield Finding.zero(f"space {box.name}: its frame is a rotation", (), fault, 1e-9, "1")
    if fault > NO_FRAME:
        return
    room = Solid.centred(box.frame, box.size_mm)
    limit = TOLERANCE_SHARE * float(np.prod(box.size_mm))
    for there in shop.placed.values():
        volume = max(0.0, there.solid.meet(room).volume_mm3)
        what = f"wood of {there.name} in {box.name}"
        because = "space meant to be empty"
        yield Finding.zero(what, (there.form.part,), volume, limit, "mm3", because)
