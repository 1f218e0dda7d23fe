"""Chair and table drawn in a general solid library from their room numbers alone, against the cut.

Nothing of the library is used to draw them. A bar is a large cube trimmed by planes whose normals
are written down from the leans (numpy for vector products, manifold3d for solids); a tenon is a box
square to the leg's side at the rail's middle line, its width where that side meets the rail's face
side, thinner and narrower by the fit; a mortise is that box without the fit and 2 mm deeper. Then
every bar as cut from its settings is the drawn one, by the volume of their difference both ways.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, radians, sin, tan
from typing import Any

import attrs
import manifold3d
import numpy as np
import pytest

from jointgeo.fixtures.file import load_fixture
from jointgeo.pieces.registry import piece_type
from jointgeo.pieces.solve import PieceAnswer, solve_piece
from jointgeo.proof import fit_piece

from .test_chair import follows

# The kernel's rounding over bars of a metre is 4e-8 mm3; 0.01° of splay makes 10,000 times this.
SAME_MM3 = 1e-6
FIT, GLUE = 0.1, 2.0
X, Y, Z = np.eye(3)

PORCH = load_fixture("porch")
Array = np.ndarray
Half = tuple[Array, float]  # all p with n·p at most that


def unit(v: Sequence[float] | Array) -> Array:
    return np.asarray(v, float) / np.linalg.norm(v)


def solid(halves: Sequence[Half]) -> Any:
    out = manifold3d.Manifold.cube((5000.0, 5000.0, 5000.0), True)
    for normal, at in halves:
        out = out.trim_by_plane(tuple(-normal), -at)
    return out


def slab(normal: Array, point: Array, half: float) -> list[Half]:
    """Both sides of a bar, so far from a point of its middle."""
    n, at = unit(normal), float(unit(normal) @ point)
    return [(n, at + half), (-n, half - at)]


@attrs.define
class Drawn:
    """Bars and what is taken from them. tenon: length, width and thickness."""

    tenon: tuple[float, float, float]
    bars: dict[str, Any] = attrs.field(factory=dict)

    def leg(
        self, name: str, point: Array, sides: tuple[Array, Array], size: Any, top: float
    ) -> None:
        """size: across each of the two sides."""
        halves = [h for n, s in zip(sides, size, strict=True) for h in slab(n, point, s / 2)]
        self.bars[name] = solid([*halves, (Z, top), (-Z, 0.0)])

    def rail(self, name: str, run: tuple[Array, Array], face: Array, size: Any, ends: Any) -> None:
        """run: a point of the middle line, and its way. ends: each a leg's name, the normal of its
        side into the rail, and a point of that side."""
        (point, way), (width, thick), (long, wide, thin) = run, size, self.tenon
        way, face = unit(way), unit(face)
        body = [*slab(face, point, thick / 2), *slab(np.cross(face, way), point, width / 2)]
        planes, tenons = [], []
        for leg, normal, at in ends:
            n = unit(normal)
            planes.append((-n, float(-n @ at)))
            datum = point + way * ((n @ (at - point)) / (n @ way))
            along = unit(np.cross(n, face))
            around = (along, wide / 2), (np.cross(n, along), thin / 2)
            for deep, less, made in ((long, FIT / 2, tenons), (long + GLUE, 0.0, None)):
                box = [h for axis, half in around for h in slab(axis, datum, half - less)]
                box += [(n, float(n @ datum)), (-n, float(deep - n @ datum))]
                if made is None:
                    self.bars[leg] = self.bars[leg] - solid(box)
                else:
                    made.append(solid(box))
        self.bars[name] = solid([*body, *planes]) + tenons[0] + tenons[1]


def sides(name: str, *axes: str) -> list[float]:
    return [1.0 if word in name else -1.0 for word in axes]


def table(leaning: bool) -> Drawn:
    """720 high, 1000 × 600 between the tops, 8° and 5°, legs 50 × 50, aprons 90 × 22, their highest
    corner 15 below the tops; tenons 15 × 60 × 8."""
    a, c = radians(8), radians(5)
    out = Drawn((15.0, 60.0, 8.0))
    named = {
        f"{row} {side}": sides(side + row, "right", "back")
        for side in ("left", "right")
        for row in ("front", "back")
    }
    tops = {n: np.array([500 * x, 300 * y, 720.0]) for n, (x, y) in named.items()}
    ways = {n: np.array([tan(a) * x, tan(c) * y, -1.0]) for n, (x, y) in named.items()}
    # Square to the front view, and square to that and to the leg.
    ends = {n: np.array([cos(a) * x, 0.0, sin(a)]) for n, (x, _) in named.items()}
    fronts = {n: unit(np.cross(ways[n], ends[n])) for n in named}
    for n in named:
        out.leg(f"leg, {n}", tops[n], (ends[n], fronts[n]), (50, 50), 720.0)
    for kind, lean, pairs in (
        (
            "long apron",
            c,
            {"front": ("front left", "front right"), "back": ("back left", "back right")},
        ),
        (
            "short apron",
            a,
            {"left": ("front left", "back left"), "right": ("front right", "back right")},
        ),
    ):
        lean = lean if leaning else 0.0
        at = 705 - 45 * cos(lean) - 11 * sin(lean)
        for word, legs in pairs.items():
            one, other = (tops[n] + ways[n] * (720 - at) for n in legs)
            level = unit((one + other) * [1.0, 1.0, 0.0])
            met = ends if kind == "long apron" else fronts
            inward = []
            for n, p, q in ((legs[0], one, other), (legs[1], other, one)):
                normal = met[n] if met[n] @ (q - p) > 0 else -met[n]
                inward.append((f"leg, {n}", normal, tops[n] + normal * 25))
            face = level * cos(lean) + Z * sin(lean)
            out.rail(f"{kind}, {word}", (one, other - one), face, (90, 22), inward)
    return out


def chair() -> Drawn:
    """Legs' middles 440 and 360 apart, 380 deep at 400; raked 8°; front legs 42 × 42 and 440 high,
    back legs 42 × 36 and 850 high; rails 60 × 22, their middles at 400, the crest rail's at 800;
    the rails between the back legs lean with them; tenons 14 × 40 × 8."""
    r = radians(8)
    out = Drawn((14.0, 40.0, 8.0))
    front, up = np.array([0.0, -cos(r), sin(r)]), np.array([0.0, sin(r), cos(r)])
    for side, x in (("left", -1.0), ("right", 1.0)):
        fore, aft = np.array([220 * x, -190.0, 400.0]), np.array([180 * x, 190.0, 400.0])
        out.leg(f"front leg, {side}", fore, (X, Y), (42, 42), 440.0)
        out.leg(f"back leg, {side}", aft, (X, front), (42, 36), 850.0)
        run = aft - fore
        ends = (
            (f"front leg, {side}", Y, fore + Y * 21),
            (f"back leg, {side}", front, aft + front * 18),
        )
        out.rail(f"side rail, {side}", (fore, run), x * np.cross(run, Z), (60, 22), ends)
    for name, leg, middle, half, face, size in (
        ("front rail", "front leg", np.array([0.0, -190.0, 400.0]), 220, -Y, 21),
        ("back rail", "back leg", np.array([0.0, 190.0, 400.0]), 180, -front, 21),
        (
            "crest rail",
            "back leg",
            np.array([0.0, 190.0, 400.0]) + up * (400 / cos(r)),
            180,
            front,
            21,
        ),
    ):
        ends = tuple(
            (f"{leg}, {side}", -x * X, middle + X * x * (half - size))
            for side, x in (("left", -1.0), ("right", 1.0))
        )
        out.rail(name, (middle, X), face, (60, 22), ends)
    return out


def piece(name: str, **changes: Any) -> Any:
    return attrs.evolve(piece_type(name).examples()[0], **changes)


PAIRS = {
    "chair": (piece("side_chair"), chair()),
    **{
        how: (
            piece(
                "splayed_table",
                apron_width_mm=90,
                tenon_width_mm=60,
                aprons_stand=how,
            ),
            table(how == "leaning"),
        )
        for how in ("leaning", "upright")
    },
}


def bars_cut(answer: PieceAnswer) -> dict[str, Any]:
    """Every bar in the room, cut by its settings, as a solid of that library."""
    out = {}
    for placed in fit_piece(answer.bars_dict()).assembly:
        corners = np.array(placed.mesh.vertices, np.float64, order="C")
        faces = np.array(placed.mesh.triangles, np.uint64, order="C")
        out[placed.part] = manifold3d.Manifold(manifold3d.Mesh64(corners, faces))
    return out


@pytest.mark.parametrize("which", PAIRS)
def test_what_is_cut_is_what_is_drawn(which: str) -> None:
    made, drawn = PAIRS[which]
    answer = solve_piece(follows(made.piece(), "face_side"), PORCH)
    cut = bars_cut(answer)
    assert cut.keys() == drawn.bars.keys()
    for name, there in cut.items():
        here = drawn.bars[name]
        assert here.volume() > 1e5
        apart = (here - there).volume() + (there - here).volume()
        assert apart <= SAME_MM3, name


@pytest.mark.parametrize("by", [0.01, -0.01])
def test_a_hundredth_of_a_degree_is_seen(by: float) -> None:
    """So that the comparison above has teeth."""
    drawn = PAIRS["leaning"][1]
    other = piece("splayed_table", apron_width_mm=90, tenon_width_mm=60, splay_long_deg=8 + by)
    answer = solve_piece(follows(other.piece(), "face_side"), PORCH)
    cut = bars_cut(answer)
    for name in ("leg, front left", "long apron, back", "short apron, right"):
        assert (drawn.bars[name] - cut[name]).volume() > 100 * SAME_MM3, name
