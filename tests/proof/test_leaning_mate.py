"""A groove that runs on beside a mate that leans: what the mate leaves open, and no more.

A rail of 60 × 22 mm leans along an upright's groove; its tongue, 8 mm thick and 12 long, lies in
a groove of the same size. Volumes by hand: the tongue's end is 60 / cos lean long.
"""

from __future__ import annotations

from math import cos, radians, sin

import pytest

from jointgeo.plugin import INF, Bar, Drawing, Notch, Plane, Vec, X, Y, Z, groove
from jointgeo.proof import dry_fit

from .mutations import BRIDLE, redrawn
from .samples import Settings, solved

ROUND_MM3 = 0.01  # open space is let out by 1e-6 mm, over some thousands of mm² at the most


def tongue(lean_deg: float, too_deep: float = 0.0, too_wide: float = 0.0) -> Drawing:
    """Shoulder at Z = 0, Z into the rail, the groove along X."""
    lean = radians(lean_deg)
    rail = Bar.leaning("rail", (60, 22, 400), Vec(sin(lean), 0.0, cos(lean)), -Y, Y * 11)
    upright = Bar.cornered("upright", (40, 32, 300), X, Z, Y, Vec(-150.0, 38.0, 0.0))
    cut = Notch("tongue", rail, Plane(-Z, 12.0), Y, [(-INF, 14.0, 12.0)])
    middle = Y * (18 + too_wide / 2)
    slot = groove(upright, "face_side", "groove", middle, 8 + too_wide, 12 + too_deep)
    return Drawing((rail, upright), (cut,), (slot,), slides={"rail": Z})


def settings_of(drawing: Drawing) -> Settings:
    """Settings of a drawing of nobody's type: a joint that gives it in place of its own."""
    return solved(redrawn(BRIDLE, lambda _: drawing))


@pytest.mark.parametrize("lean", [0.0, 0.5, -4.0, 20.0, 44.0, -60.0])
def test_a_groove_may_run_on_beside_a_tongue_that_leans(lean: float) -> None:
    assert dry_fit(settings_of(tongue(lean))).faults == ()


@pytest.mark.parametrize("lean", [0.0, 7.0, 20.0, -55.0])
def test_a_tongue_that_leans_must_reach_floor_and_walls(lean: float) -> None:
    """2 mm short of the floor: 8 × 2 × 60 / cos lean. 2 mm short of a wall: 2 × 12 as long."""
    long = 60 / cos(radians(lean))
    for drawing, hole in ((tongue(lean, too_deep=2), 16 * long), (tongue(lean, 0, 2), 24 * long)):
        fit = dry_fit(settings_of(drawing))
        found = {f.what: f.measured for f in fit.faults}
        assert found["upright: open space where it was cut"] == pytest.approx(hole, abs=ROUND_MM3)
        # Beside the tongue the rail was cut away as well: each place counts once.
        assert fit.open_mm3 == pytest.approx(hole, abs=ROUND_MM3)
