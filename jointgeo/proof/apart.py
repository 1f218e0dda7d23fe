"""It comes apart: every bar with a slide leaves the joint along it, and no face is in its way.

Knows parts in place and their flat faces.

Two tests, because either alone can be passed by a wrong joint. **Moved**: along its slide the bar
takes no more room of its mates than at rest, at 0.02, 1, 4, 15 and 60 mm: wood in its way is found
at the step that meets it, whatever shape it has. **The cone**: wherever a face of one part bears on
a face of another, the bar may move only away from it or along it; the directions that all such
faces leave are the cone in which the joint comes apart, and the slide must lie in it. A slide that
runs into a cheek by a hundredth of a degree moves no wood that a volume would show.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from jointgeo.proof.faces import Facets, flat
from jointgeo.proof.finding import TOLERANCE_MM, TOLERANCE_MM3, Finding
from jointgeo.proof.frames import with_z
from jointgeo.proof.laws import Pair
from jointgeo.proof.mesh import Array
from jointgeo.proof.shop import Placed, Shop

__all__ = ["apart", "cone"]

STEPS_MM = (0.02, 1.0, 4.0, 15.0, 60.0)
OPPOSITE = 1e-9  # one plus the cosine of faces that lie on each other: 0.003°
LEAST_MM2 = 0.01  # faces that share less bear nothing
ALONG = 1e-6  # into a face by so much of the way: 60 nm over the longest step


def apart(shop: Shop, found: Sequence[Pair]) -> Iterator[Finding]:
    """Findings of both tests for every bar with a slide, and that there is one."""
    slides = shop.form.drawing.slides
    because = "a joint that nothing is drawn out of cannot be put together"
    count = len(slides)
    yield Finding("bars with a slide", (), float(count), 1.0, "1", count >= 1, because)
    widest = shop.form.drawing.widest_gap_mm
    for name, way in slides.items():
        part = shop.placed.get(name)
        if part is None:
            continue  # that it has no place has been said
        mates = [p for p in shop.placed.values() if p is not part]
        yield _moved(part, way, mates, found)
        faces = np.concatenate([np.zeros((0, 3)), *(cone(part, mate, widest) for mate in mates)])
        into = max(0.0, float(-(faces @ way).min(initial=0.0)))
        what = f"{name}: its slide, against the faces it bears on"
        because = "it must lead away from every one of them, or along it"
        yield Finding.zero(what, (name,), into, ALONG, "1", because)


def _moved(part: Placed, way: Array, mates: Sequence[Placed], found: Sequence[Pair]) -> Finding:
    rest = {frozenset(pair.parts): pair.both_mm3 for pair in found}
    worst = 0.0
    for step in STEPS_MM:
        pose = np.eye(4)
        pose[:3, 3] = way * step
        moved = part.solid.moved(pose)
        for mate in mates:
            before = rest[frozenset((part.name, mate.name))]
            worst = max(worst, moved.room_taken(mate.solid, before + TOLERANCE_MM3) - before)
    what = f"{part.name}: wood in its way as it is drawn out"
    because = "along its slide it may take no more room than at rest"
    return Finding.zero(what, (part.name,), worst, TOLERANCE_MM3, "mm3", because)


def cone(part: Placed, mate: Placed, widest_gap_mm: float) -> Array:
    """Normals (n, 3) of the mate's faces that bear on the part, out of the mate: the part comes
    apart along every direction that has no component against any of them."""
    a, b = part.facets, mate.facets
    if not (len(a.faces) and len(b.faces)):
        return np.zeros((0, 3))
    opposite = a.normals @ b.normals.T <= -1.0 + OPPOSITE
    away = np.abs(a.heights[:, None] + b.heights[None, :])
    out = [
        b.normals[j]
        for i, j in np.argwhere(opposite & (away <= widest_gap_mm + TOLERANCE_MM))
        if _share(a, b, int(i), int(j))
    ]
    return np.array(out).reshape(-1, 3)


def _share(a: Facets, b: Facets, i: int, j: int) -> bool:
    axes = with_z(a.normals[i]).T[:2]
    return (flat(a.faces[i], axes) & flat(b.faces[j], axes)).area_mm2 >= LEAST_MM2
