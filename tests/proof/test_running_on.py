"""A groove runs on beside the tongue that leans in it, and is a hole where it is too large.

The tongue of a rail, sloping in a groove along the whole of an upright. World: the upright's face
side is Z = 0, its grain X; the rail stands on it, Z into the rail, and slopes in the plane of X, Z.
"""

from __future__ import annotations

from math import atan2, cos, degrees, radians, sin
from typing import Any, ClassVar

import attrs
import pytest

from jointgeo.geometry.vectors import Plane, Vec, X, Y, Z
from jointgeo.joints.drawing import Bar, Drawing, Notch
from jointgeo.joints.joint_type import JointType
from jointgeo.joints.pockets import groove
from jointgeo.proof import DryFit, dry_fit

from .samples import solved

TONGUE, DEEP = 8.0, 12.0  # of a rail 60 × 22


@attrs.frozen
class Tongue(JointType):
    name: ClassVar[str] = "leaning_tongue"
    summary: ClassVar[str] = "A leaning tongue in a groove, for this test alone"

    slope_deg: float = 0.0
    wider_mm: float = 0.0
    deeper_mm: float = 0.0

    def draw(self) -> Drawing:
        a = radians(self.slope_deg)
        size, long = (60.0, 22.0, 400.0), 1000.0
        rail = Bar.leaning("rail", size, Vec(sin(a), 0.0, cos(a)), -Y, Vec(0.0, 0.0, 0.0))
        corner = Vec(-long / 2, 20.0, 0.0)
        upright = Bar.cornered("upright", (40.0, 32.0, long), X, Z, Y, corner)
        half = TONGUE / 2
        cuts = [(-float("inf"), -half, DEEP), (half, float("inf"), DEEP)]
        tongue = Notch("tongue", rail, Plane(-Z, DEEP), Y, cuts)
        wide, deep = TONGUE + self.wider_mm, DEEP + self.deeper_mm
        middle = Y * (self.wider_mm / 2)
        slot = groove(upright, "face_side", "groove", middle, wide, deep)
        return Drawing((rail, upright), (tongue,), (slot,), {"rail": Z})

    @classmethod
    def measure(cls, bar: Bar, mate: Bar) -> dict[str, Any]:
        return {"slope_deg": degrees(atan2(bar.grain @ mate.grain, bar.grain @ mate.face))}

    @classmethod
    def examples(cls) -> tuple[Tongue, ...]:
        return (cls(),)


def fit(**sizes: float) -> DryFit:
    return dry_fit(solved(Tongue(**sizes)))


@pytest.mark.parametrize("slope", [0.0, 7.0, -30.0, 55.0])
def test_it_may_run_on(slope: float) -> None:
    assert fit(slope_deg=slope).faults == ()


@pytest.mark.parametrize("slope", [0.0, 7.0, -30.0, 55.0])
def test_too_deep_under_the_tongue_is_a_hole(slope: float) -> None:
    """Under the tongue's end, which is 60 / cos(slope) long and 8 wide."""
    found = fit(slope_deg=slope, deeper_mm=0.3)
    assert [f.what for f in found.faults] == ["upright: open space where it was cut"]
    assert found.open_mm3 == pytest.approx(0.3 * TONGUE * 60 / cos(radians(slope)), rel=1e-6)


@pytest.mark.parametrize("slope", [0.0, 7.0, -30.0, 55.0])
def test_too_wide_beside_the_tongue_is_a_hole(slope: float) -> None:
    """At one cheek, 12 deep; the gap there is seen as well."""
    found = fit(slope_deg=slope, wider_mm=0.3)
    assert found.open_mm3 == pytest.approx(0.3 * DEEP * 60 / cos(radians(slope)), rel=1e-6)
    assert found.gap_mm == pytest.approx(0.3, abs=1e-6)
