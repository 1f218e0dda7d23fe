"""A fixture with room for everything, on which only the joint itself can be at fault.

Knows fixtures; knows no joint type. It stands on the fixture that ships for the demo, so
that what a fixture must tell besides its limits is said once.
"""

from __future__ import annotations

import attrs

from jointgeo.fixtures.file import load_fixture
from jointgeo.fixtures.model import (
    Body,
    Clamp,
    Cutter,
    CutterHeight,
    Feed,
    Fence,
    Fixture,
    FrontBeam,
    Plate,
    Swivel,
    Tilt,
    Traverse,
)

__all__ = ["DEMO", "demo_fixture", "wide_fixture"]

DEMO = "porch"


def demo_fixture() -> Fixture:
    """The fixture that ships, with the limits of a real one."""
    return load_fixture(DEMO)


def wide_fixture() -> Fixture:
    """Every axis far, every body metres away; one beam and one wall, so that gaps are finite.

    The disc cuts 480 mm deep and 2 mm wide; stock may be metres long.
    """
    everywhere = {"x_min_mm": -9000, "x_max_mm": 9000, "z_min_mm": -9000, "z_max_mm": 9000}
    return attrs.evolve(
        demo_fixture(),
        name="wide",
        title="A fixture with room for everything",
        swivel=Swivel(min_deg=-89, max_deg=89, pivot_z_mm=60),
        tilt=Tilt(min_deg=-89, max_deg=89, hinge_y_mm=12, hinge_z_mm=250),
        traverse=Traverse(min_mm=-8000, max_mm=8000, lead_mm=4, divisions=80),
        cutter=(
            Cutter(
                name="disc",
                kind="disc",
                diameter_mm=970,
                kerf_mm=2,
                reach_mm=480,
                depth_per_pass_mm=480,
                top_moves="towards_plate",
                rpm=1000,
                power_w=1000,
            ),
        ),
        cutter_height=CutterHeight(datum="floor", datum_z_mm=-5000, min_mm=-4000, max_mm=9000),
        feed=Feed(min_mm=-8000, max_mm=8000, sense="towards_plate"),
        plate=Plate(width_mm=8000, height_mm=380, thickness_mm=24),
        fence=Fence(side="left", x_mm=0, z_min_mm=0, z_max_mm=380),
        clamp=Clamp(opening_mm=8000, z_mm=60, force_n=10_000),
        front_beam=(
            FrontBeam(
                name="beam",
                face_distance_mm=8000,
                z_min_mm=-9000,
                z_max_mm=9000,
                fitted=True,
                removable=False,
            ),
        ),
        body=(Body(name="wall", fixed_to="base", y_min_mm=8900, y_max_mm=9000, **everywhere),),
    )
