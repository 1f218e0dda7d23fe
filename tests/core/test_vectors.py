"""Vectors and planes: known ones in, where do they land."""

from __future__ import annotations

import doctest
import math

import pytest

import jointgeo.geometry.vectors as module
from jointgeo.geometry.vectors import Plane, Vec, X, Y, Z, angle_between, line, meet, turned_deg

TINY = 1e-12  # mm, degrees or a share: rounding of a few products


def test_the_examples_of_its_text() -> None:
    assert doctest.testmod(module).failed == 0


def test_arithmetic_is_that_of_vectors_and_not_of_tuples() -> None:
    a = Vec(1.0, 2.0, 3.0)
    assert a + Vec(1.0, 0.0, 0.0) == (2, 2, 3)
    assert a - Z == (1, 2, 2)
    assert 2 * a == a * 2 == (2, 4, 6)
    assert -a / 2 == (-0.5, -1, -1.5)
    assert a @ Vec(4.0, 5.0, 6.0) == 32
    assert Vec(3.0, 4.0, 12.0).length == 13


def test_vector_products_are_right_handed() -> None:
    assert (X ^ Y, Y ^ Z, Z ^ X) == (Z, X, Y)


def test_across_leaves_what_is_square() -> None:
    assert Vec(3.0, 4.0, 5.0).across(Y) == (3, 0, 5)


def test_a_plane_looks_out_of_the_wood() -> None:
    top = Plane.through(Vec(9.0, 9.0, 20.0), Z)
    assert top.out(Vec(0.0, 0.0, 23.0)) == 3
    assert top.moved(-5.0).at == 15
    assert top.hit(Vec(0.0, 0.0, 50.0), Vec(0.0, 3.0, -10.0)) == 3
    with pytest.raises(ZeroDivisionError):
        top.hit(Vec(0.0, 0.0, 0.0), X)


def test_images_in_the_plane_x_0() -> None:
    assert Vec(1.0, 2.0, 3.0).mirrored == (-1, 2, 3)
    slope = Plane.through(Vec(5.0, 1.0, 0.0), Vec(0.6, 0.8, 0.0))
    assert slope.mirrored.out(Vec(5.0, 1.0, 0.0).mirrored) == pytest.approx(0.0, abs=TINY)


def test_two_planes_cross_in_a_line_and_three_in_a_point() -> None:
    a, b, c = Plane(X, 1.0), Plane(Y, 2.0), Plane(Vec(0.0, 0.6, 0.8), 3.0)
    assert line(a, b, -Z) == -Z
    point = meet(a, b, c)
    assert max(abs(p.out(point)) for p in (a, b, c)) < TINY
    with pytest.raises(ZeroDivisionError):
        meet(a, a.moved(1.0), b)


def test_small_angles_keep_their_digits() -> None:
    small = 1e-9  # radians; the arccosine of its cosine would be 0
    tilted = Vec(math.sin(small), 0.0, math.cos(small))
    assert angle_between(Z, tilted) == pytest.approx(math.degrees(small), rel=1e-9)


@pytest.mark.parametrize(("towards", "sign"), [(X, 1.0), (-X, -1.0)])
def test_an_angle_is_positive_towards_what_is_named(towards: Vec, sign: float) -> None:
    """A leg that leans 30° to X and much along Y, seen along Y: 30° and nothing of the rest."""
    leg = Vec(math.tan(math.radians(30)), 5.0, 1.0).unit
    assert turned_deg(Z, leg, Y, towards) == pytest.approx(sign * 30.0, abs=1e-12)
