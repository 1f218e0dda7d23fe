"""Swivel, tilt and packing measured on stock that a general boolean kernel has cut.

The kernel is manifold3d (3.5.4 when this was written). Stock and cutter are placed by hand from
what each joint is, with nothing of the library; the angles are read off the faces of the solid
that is left. The tests of the joint types hold the library to the same four-place numbers.
"""

from __future__ import annotations

import math

import manifold3d
import numpy as np
import pytest
from numpy.typing import NDArray

Array = NDArray[np.float64]
X, Y, Z = np.eye(3)
# Half of the fourth place, and what doubles leave of a face of some 20 mm.
FOUR_PLACES = 0.00005 + 1e-9


def tan(degrees: float) -> float:
    return math.tan(math.radians(degrees))


def unit(way: Array) -> Array:
    return np.asarray(way / np.linalg.norm(way))


def cut(across: Array, deep: Array) -> manifold3d.Manifold:
    """A stick of 60 × 30 × 300 mm in its own frame (width, thickness, grain) with one channel.

    across: square to the channel's walls; deep: square to its floor, up the grain.
    """
    stock = manifold3d.Manifold.cube((60, 30, 300), True)
    axes = np.stack([across, np.cross(deep, across), deep], axis=1)
    box = manifold3d.Manifold.cube((14, 2000, 1000), True)
    # The box's top is the floor, 20 mm above the middle of the stick at its axis.
    placed = np.hstack([axes, (deep * (20 - 500))[:, None]])
    return stock - box.transform(placed)


def faces(solid: manifold3d.Manifold) -> list[tuple[Array, float]]:
    """Unit normals of the faces that are none of the stick's own, and the area of each."""
    mesh = solid.to_mesh64()
    corners = np.asarray(mesh.vert_properties)[:, :3][np.asarray(mesh.tri_verts)]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    out: list[tuple[Array, float]] = []
    for normal in normals[np.argsort(-np.linalg.norm(normals, axis=1))]:
        area = float(np.linalg.norm(normal)) / 2
        way = normal / (2 * area) if area > 1 else np.zeros(3)  # slivers tell no direction
        known = [*(s * a for a in (X, Y, Z) for s in (1, -1)), *(n for n, _ in out)]
        if area > 1 and not any(way @ k > 1 - 1e-9 for k in known):
            out.append((way, area))
    return out


def measured(across: Array, deep: Array) -> tuple[float, float, float]:
    """(swivel, tilt, packing) without sign, from the walls and the floor as they were cut."""
    found = [n for n, _ in faces(cut(across, deep))]
    assert len(found) in (2, 3)  # walls on both sides and a floor; a square wall is a stick's own
    floor = max(found, key=lambda n: abs(n[2]))
    up = floor if floor[2] > 0 else -floor
    wall = min(found, key=lambda n: abs(n @ floor))
    along = np.cross(up, wall)
    swivel = math.asin(wall[2])
    tilt = math.atan2(along[2], up[2])
    packing = math.atan2(*sorted((abs(wall[0]), abs(wall[1]))))
    return abs(math.degrees(swivel)), abs(math.degrees(tilt)), math.degrees(packing)


def test_the_bridle_of_twelve_and_eight_degrees() -> None:
    """Rail along Y, its slot square to X, floor square to Z; the leg leans 8° over X and 12° over
    Y."""
    grain = unit(np.array([tan(8), tan(12), 1.0]))
    face = unit(np.cross(X, grain))
    stock = np.stack([np.cross(face, grain), face, grain])
    found = measured(stock @ X, stock @ Z)
    assert found == pytest.approx((7.8274, 12.0, 0.0), abs=FOUR_PLACES)


@pytest.mark.parametrize(
    ("sides", "slope", "swivel", "tilt"), [(4, 15, 14.5108, 3.8410), (6, 20, 11.1702, 33.9514)]
)
def test_two_boxes(sides: int, slope: float, swivel: float, tilt: float) -> None:
    """Boards of a regular box that lean out by ``slope``: walls square to the corner's edge, floor
    on the other board's face."""
    turn, lean = 2 * math.pi / sides, math.radians(slope)
    plans = [np.array([math.cos(a), math.sin(a), 0.0]) for a in (0.0, turn)]
    first, second = (math.cos(lean) * n - math.sin(lean) * Z for n in plans)
    grain = np.cross(Z, plans[0])
    stock = np.stack([np.cross(first, grain), first, grain])
    floor = stock @ second
    found = measured(stock @ unit(np.cross(first, second)), floor * np.sign(floor[2]))
    assert found == pytest.approx((swivel, tilt, 0.0), abs=FOUR_PLACES)


# Square to the shoulder, in the rail's own frame: it slopes 5° over the width, 8° over the
# thickness. The mortise follows the shoulder's line on the face side, or that on the face edge.
SHOULDER = unit(np.array([-tan(5), -tan(8), 1.0]))
ON_FACE, ON_EDGE = unit(np.array([1.0, 0.0, tan(5)])), unit(np.array([0.0, 1.0, tan(8)]))


@pytest.mark.parametrize(
    ("across", "angles"),
    [
        (ON_FACE, (5.0, 7.9699, 0.0)),
        (np.cross(SHOULDER, ON_FACE), (7.9394, 5.0485, 0.6991)),
        (np.cross(ON_EDGE, SHOULDER), (4.9033, 8.0296, 0.6908)),
        (ON_EDGE, (8.0, 4.9516, 0.0)),
    ],
)
def test_a_tenon_with_both_angles(across: Array, angles: tuple[float, float, float]) -> None:
    assert measured(across, SHOULDER) == pytest.approx(angles, abs=FOUR_PLACES)
