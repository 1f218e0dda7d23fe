"""What the boolean kernel can and cannot do, and that its slips are noticed.

manifold3d is imported plainly: without it these tests fail, and are not skipped. Figures
are measured with 3.5.4; limits leave a factor of a hundred.
"""

from __future__ import annotations

import importlib
from typing import Any

import manifold3d
import numpy as np
import pytest

from jointgeo.errors import JointgeoError, MissingExtraError
from jointgeo.proof import dry_fit
from jointgeo.proof.frames import machine_from_stock
from jointgeo.proof.kernel import Region, Solid, _kernel
from jointgeo.proof.mesh import Mesh

from .handmade import square_tenon


def turned(rng: np.random.Generator) -> np.ndarray:
    pose = np.eye(4)
    pose[:3, :3] = machine_from_stock(int(rng.integers(4)), *rng.uniform(-60, 60, 3))
    return pose


def shift(x: float, y: float, z: float) -> np.ndarray:
    pose = np.eye(4)
    pose[:3, 3] = (x, y, z)
    return pose


@pytest.mark.parametrize(("away_mm", "limit_mm"), [(0, 1e-12), (1e4, 1e-10), (1e6, 1e-8)])
def test_boxes_that_share_a_face_overlap_by_rounding_only(
    rng: np.random.Generator, away_mm: float, limit_mm: float
) -> None:
    """One of the two is turned away and back. Depth of overlap over the shared face."""
    there, back = shift(away_mm, away_mm / 3, -away_mm), shift(-away_mm, -away_mm / 3, away_mm)
    for _ in range(50):
        w, h, d = rng.uniform(10, 100, 3)
        turn = turned(rng)
        a = Solid.box([0, 0, 0], [w, h, d]).moved(there @ turn)
        b = Solid.box([w, 0, 0], [2 * w, h, d]).moved(there @ turn)
        b = b.moved(back).moved(np.linalg.inv(turn)).moved(turn).moved(there)
        assert abs(a.meet(b).volume_mm3) / (h * d) < limit_mm


def test_single_precision_is_the_trap_it_is_said_to_be() -> None:
    """Through the single-precision mesh a board's tolerance and volume are spoilt."""
    board = manifold3d.Manifold.cube([100, 20, 300]).translate([1 / 3, 0, 500])
    coarse = manifold3d.Manifold(board.to_mesh())
    fine = manifold3d.Manifold(board.to_mesh64())
    assert coarse.get_tolerance() > 1e-5
    assert fine.get_tolerance() < 1e-8
    assert abs(fine.volume() - 600_000) < 1e-6
    assert abs(coarse.volume() - 600_000) > 1e-3


def test_meshes_come_back_in_double_precision() -> None:
    mesh = Solid.box([0, 0, 0], [1, 2, 3]).moved(shift(1 / 3, 0, 0)).mesh()
    assert mesh.vertices[:, 0].min() == 1 / 3
    assert mesh.volume_mm3 == pytest.approx(6, abs=1e-14)


def test_a_mesh_has_no_corner_twice() -> None:
    mesh = Solid.box([0, 0, 0], [9, 9, 9]).minus([Solid.box([3, 3, -1], [6, 6, 10])]).mesh()
    assert len(np.unique(mesh.vertices, axis=0)) == len(mesh.vertices) == 16
    assert mesh.volume_mm3 == pytest.approx(9 * 9 * 9 - 3 * 3 * 9, abs=1e-9)
    edges = np.sort(mesh.triangles[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1)
    assert (np.unique(edges, axis=0, return_counts=True)[1] == 2).all()  # closed


def test_an_empty_body_has_an_empty_mesh() -> None:
    nothing = Solid.box([0, 0, 0], [1, 1, 1]).meet(Solid.box([5, 5, 5], [6, 6, 6]))
    assert nothing.volume_mm3 == 0
    assert nothing.mesh().volume_mm3 == 0
    assert nothing.mesh().extents_mm.tolist() == [[0, 0, 0], [0, 0, 0]]
    assert Mesh.together([]).volume_mm3 == 0


class _Slipping:
    """A body whose difference is wrong until it has been turned often enough."""

    def __init__(self, body: Any, slips: int) -> None:
        self.body, self.slips = body, slips

    def transform(self, matrix: Any) -> _Slipping:
        return _Slipping(self.body.transform(matrix), self.slips - 1)

    def __xor__(self, other: _Slipping) -> Any:
        return self.body ^ other.body

    def __sub__(self, other: _Slipping) -> Any:
        return self.body if self.slips > 0 else self.body - other.body

    def __getattr__(self, name: str) -> Any:
        return getattr(self.body, name)


def slipping(slips: int) -> tuple[Solid, Solid]:
    cube = manifold3d.Manifold.cube
    half = cube([1, 3, 3]).translate([0.5, -1, -1])
    return Solid(_Slipping(cube([1, 1, 1]), slips)), Solid(_Slipping(half, slips))


def test_a_slip_of_the_kernel_is_worked_again_from_another_side() -> None:
    a, b = slipping(1)
    assert a.minus([b]).volume_mm3 == pytest.approx(0.5, abs=1e-12)
    low, high = slipping(1)[0].minus([b]).mesh().extents_mm
    assert low.tolist() == pytest.approx([0, 0, 0], abs=1e-12)  # turned back afterwards
    assert high.tolist() == pytest.approx([0.5, 1, 1], abs=1e-12)


def test_a_kernel_that_always_contradicts_itself_is_an_error() -> None:
    a, b = slipping(1000)
    with pytest.raises(JointgeoError, match="contradicts itself"):
        a.meet(b)


def test_a_body_the_kernel_gave_up_on_is_an_error() -> None:
    broken = manifold3d.Manifold.cube([1, 1, 1]).translate([float("nan"), 0, 0])
    with pytest.raises(JointgeoError, match="could not work out"):
        Solid(broken).mesh()


def test_what_two_squares_have_in_common() -> None:
    """Two squares of 2 that share a quarter, each as two triangles."""
    square = np.array([[[0, 0], [2, 0], [2, 2]], [[0, 0], [2, 2], [0, 2]]], float)
    shared = Region.of(square) & Region.of(square + 1.0)
    assert shared.area_mm2 == pytest.approx(1, abs=1e-8)
    assert sorted(map(tuple, np.round(shared.corners, 6))) == [(1, 1), (1, 2), (2, 1), (2, 2)]
    # Seen from behind, triangles run the other way round.
    assert (Region.of(square[:, ::-1]) & Region.of(square)).area_mm2 == pytest.approx(4, abs=1e-8)
    left = Region.of(square) - Region.hull(np.array([[1.0, -1], [3, -1], [3, 3], [1, 3]]))
    assert left.area_mm2 == pytest.approx(2, abs=1e-8)
    nothing = Region.of(square) & Region.of(square + 5.0)
    assert nothing.area_mm2 == 0
    assert nothing.corners.shape == (0, 2)


def test_a_hull_and_what_a_plane_leaves_of_it() -> None:
    """A cube of 2 swept 3 along x, then cut off at x + y = 1: a prism of 1 × 1 / 2 × 2."""
    corners = Solid.box([0, 0, 0], [2, 2, 2]).mesh().vertices
    swept = Solid.hull(np.concatenate([corners, np.add(corners, (3.0, 0, 0))]))
    assert swept.volume_mm3 == pytest.approx(5 * 2 * 2, abs=1e-12)
    normal = np.array([1.0, 1.0, 0.0]) / np.sqrt(2)
    assert swept.trimmed(normal, float(np.sqrt(0.5))).volume_mm3 == pytest.approx(1, abs=1e-12)


def test_room_taken_is_worked_both_ways_where_it_is_too_much() -> None:
    a, b = slipping(1000)
    assert a.room_taken(b, 0.5 + 1e-12) == pytest.approx(0.5, abs=1e-12)
    with pytest.raises(JointgeoError, match="contradicts itself"):
        a.room_taken(b, 0.4)


def test_without_the_kernel_the_message_says_what_to_install(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    real = importlib.import_module

    def missing(name: str, *more: Any) -> Any:
        if name == "manifold3d":
            raise ImportError(name)
        return real(name, *more)

    monkeypatch.setattr(importlib, "import_module", missing)
    _kernel.cache_clear()
    try:
        with pytest.raises(MissingExtraError, match=r"pip install '\.\[proof\]'"):
            dry_fit(square_tenon())
    finally:
        _kernel.cache_clear()
