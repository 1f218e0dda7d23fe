"""What the tests of the sheet draw: demo jobs, a third-party joint, and ways to read an SVG."""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET
from functools import cache
from typing import Any, ClassVar

import attrs
import numpy as np

import jointgeo
from jointgeo.jobs.file import load_job
from jointgeo.jobs.solve import solve_job
from jointgeo.plugin import (
    INF,
    Bar,
    Drawing,
    JointType,
    Length,
    Notch,
    Plane,
    Turn,
    Vec,
    X,
    Y,
    Z,
    deg,
    mm,
)
from jointgeo.sheet import Book, Sheet, page, sheet_of_job, sheet_of_joint, svg

__all__ = [
    "JOBS",
    "LOW",
    "PORCH",
    "LappedStake",
    "book_of",
    "joint_sheet",
    "lines_of",
    "points",
    "scale_of",
    "sheet_of",
    "tree",
]

PORCH = jointgeo.load_fixture("porch")
#: The demo fixture with beams that reach down past the stock's lowest corner, so that the
#: limit has its closed form: faces 170 and 205 mm before the plate's.
LOW = attrs.evolve(
    PORCH,
    front_beam=tuple(
        attrs.evolve(beam, face_distance_mm=face, z_min_mm=-230.0, z_max_mm=-20.0)
        for beam, face in zip(PORCH.front_beam, (170.0, 205.0), strict=True)
    ),
)
JOBS = ("bench", "chair", "planter", "planter-six")
SVG = "{http://www.w3.org/2000/svg}"


@attrs.frozen
class LappedStake(JointType):
    """A slanted stake, half of whose end is cut away against a rail: a third-party joint.

    World: X from the rail's face side to its back, Y along it, Z down from its top edge.
    """

    name: ClassVar[str] = "lapped_stake"
    summary: ClassVar[str] = "A slanted stake lapped on a rail"

    lean_deg: float = deg(
        "Lean of the stake along the rail",
        -30,
        30,
        Turn("rail.back_edge", "stake.grain", seen="rail.face_side", towards="rail.grain"),
        default=7.0,
    )
    twist_deg: float = deg(
        "Lean the other way",
        -30,
        30,
        Turn("rail.back_edge", "stake.grain", seen="rail.grain", towards="rail.back"),
        default=4.0,
    )
    width_mm: float = mm(
        "Width of the stake", 1, 200, Length("stake.face_edge", "stake.back_edge"), default=40.0
    )
    lap_mm: float = mm(
        "Length of the lap", 1, 200, Length("stake/lap.end", "stake/lap.floor"), default=25.0
    )

    def draw(self) -> Drawing:
        lean, twist = math.radians(self.lean_deg), math.radians(self.twist_deg)
        grain = Vec(math.tan(twist), math.tan(lean), 1.0)
        size = self.width_mm, 24.0, 300.0
        stake = Bar.leaning("stake", size, grain, -Y, Vec(0.0, 0.0, 0.0))
        rail = Bar.cornered("rail", (self.lap_mm, 20.0, 200.0), Y, -X, -Z, Vec(0.0, -100.0, 0.0))
        lap = Notch("lap", stake, Plane(-Z, 0.0), X, [(0.0, INF, self.lap_mm)])
        return Drawing((stake, rail), (lap,), slides={"stake": -X})

    @classmethod
    def measure(cls, bar: Bar, mate: Bar) -> dict[str, Any]:
        down = bar.grain @ -mate.edge
        return {
            "lean_deg": math.degrees(math.atan2(bar.grain @ mate.grain, down)),
            "twist_deg": math.degrees(math.atan2(bar.grain @ -mate.face, down)),
            "width_mm": bar.width,
            "lap_mm": mate.width,
        }

    @classmethod
    def examples(cls) -> tuple[LappedStake, ...]:
        return (cls(),)


@cache
def sheet_of(name: str) -> Sheet:
    """The sheet of a demo job."""
    return sheet_of_job(solve_job(load_job(name)))


@cache
def book_of(name: str) -> tuple[str, Book]:
    """Page and drawings of a demo job."""
    book = Book()
    return page(sheet_of(name), book), book


def joint_sheet(joint_type: str, fixture: jointgeo.Fixture = PORCH, **changed: Any) -> Sheet:
    """The sheet of a type's first example with some parameters changed."""
    joint = attrs.evolve(jointgeo.joint_type(joint_type).examples()[0], **changed)
    return sheet_of_joint(joint, fixture)


def tree(drawing: svg.Drawing) -> ET.Element:
    return ET.fromstring(drawing.svg("x"))  # noqa: S314  # our own text, made just now


def points(element: ET.Element) -> np.ndarray[Any, np.dtype[np.float64]]:
    """Points of a polyline or polygon (n, 2), page millimetres."""
    return np.array([[float(v) for v in p.split(",")] for p in element.get("points", "").split()])


def lines_of(drawing: svg.Drawing, mark: str) -> list[ET.Element]:
    """Elements of that class."""
    return [e for e in tree(drawing).iter() if e.get("class") == mark]


def scale_of(drawing: svg.Drawing) -> float:
    """Paper over model, from the words of its title."""
    found = re.search(r"(\d+(?:\.\d+)?):(\d+(?:\.\d+)?)$", drawing.title)
    assert found is not None, drawing.title
    return float(found[1]) / float(found[2])
