"""Lines divided at places: counted by hand."""

from __future__ import annotations

import numpy as np
import pytest

from jointgeo.geometry.vectors import Plane, Vec
from jointgeo.sheet import many_planes
from jointgeo.sheet.many_planes import Solids, in_parts
from jointgeo.sheet.stretches import divided, runs


def test_each_line_is_divided_at_its_own_places_in_order() -> None:
    """A line of 10 at 7 and 2, one of 4 nowhere, one from 1 to 3 at 2; 1e-9 is no stretch."""
    which = np.array([0, 2, 0, 0])
    at = np.array([7.0, 2.0, 2.0, 2.0 + 1e-9])
    lines, start, stop = divided(which, at, np.array([0.0, 0, 1]), np.array([10.0, 4, 3]), 1e-6)
    assert lines.tolist() == [0, 0, 0, 1, 2, 2]
    assert start.tolist() == pytest.approx([0, 2, 7, 0, 1, 2], abs=1e-8)
    assert stop.tolist() == pytest.approx([2, 7, 10, 4, 2, 3], abs=1e-8)


def test_a_run_ends_with_its_line() -> None:
    """Two of three on the first line, all of the second: that both are wanted joins nothing."""
    which = np.array([0, 0, 0, 1, 1])
    wanted = np.array([False, True, True, True, True])
    first, last = runs(which, wanted)
    assert (first.tolist(), last.tolist()) == ([1, 3], [2, 4])


def test_points_worked_on_in_parts_are_all_there(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of 0 to 9 along X the slab from 2.5 to 6.5 holds 3 to 6, however many go together."""
    slab = Solids.of([[Plane(Vec(1.0, 0.0, 0.0), 6.5), Plane(Vec(-1.0, 0.0, 0.0), -2.5)]])
    points = np.array([[float(x), 0.0, 0.0] for x in range(10)])
    for at_once in (1, 7, 1000):
        monkeypatch.setattr(many_planes, "AT_ONCE", at_once)
        assert sum(len(part) for part in in_parts(points, 2)) == 10
        assert np.flatnonzero(slab.hold(points)[:, 0]).tolist() == [3, 4, 5, 6]
