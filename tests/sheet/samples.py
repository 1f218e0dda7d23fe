"""What the tests of the sheet draw: demo jobs, a stranger's joint, and ways to read an SVG."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from functools import cache
from typing import Any, ClassVar

import attrs
import numpy as np

import jointgeo
from jointgeo.geometry.rotations import about_x, about_y, pose
from jointgeo.jobs.file import load_job
from jointgeo.jobs.solve import solve_job
from jointgeo.joints.contract import Channel, Contact, Expectation, Face, Notch, Part, Placement
from jointgeo.joints.joint_type import JointType
from jointgeo.schema.fields import angle, length
from jointgeo.sheet import Book, Sheet, page, sheet_of_job, sheet_of_joint
from jointgeo.sheet.svg import Drawing

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
    """A stake with half of its slanted end cut away, against a square rail: a stranger's joint."""

    name: ClassVar[str] = "lapped_stake"
    summary: ClassVar[str] = "A slanted stake lapped on a rail"

    lean_deg: float = angle("Lean of the stake", low=-30, high=30, default=7.0)
    twist_deg: float = angle("Lean the other way", low=-30, high=30, default=4.0)
    width_mm: float = length("Width of the stake", above=0, high=200, default=40.0)
    lap_mm: float = length("Length of the lap", above=0, high=200, default=25.0)

    @property
    def _turn(self) -> Any:
        return about_x(-np.radians(self.lean_deg)) @ about_y(np.radians(self.twist_deg))

    def parts(self) -> tuple[Part, ...]:
        origin = [self.width_mm / 2, 12.0, 0.0]
        lap = Notch(self._turn, origin, (Channel(0.0, np.inf, self.lap_mm),))
        stake = Part(
            "stake", self.width_mm, 24.0, 300.0, notches=(lap,), slide=np.array([1.0, 0.0, 0.0])
        )
        return stake, Part("rail", 60.0, 20.0, 200.0)

    def placements(self) -> tuple[Placement, ...]:
        return (
            Placement("stake", 0, np.eye(4)),
            Placement("rail", 0, pose(np.eye(3), [self.width_mm / 2 + 40.0, 0.0, -100.0])),
        )

    def expectations(self) -> tuple[Expectation, ...]:
        out, across = self._turn[0], np.array([self.width_mm / 2, 12.0, 5.0])
        return (Contact(Face("stake", 0, "lap", across, out), Face("", 0, "rail", across, -out)),)

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


def tree(drawing: Drawing) -> ET.Element:
    return ET.fromstring(drawing.svg("x"))  # noqa: S314  # our own text, made just now


def points(element: ET.Element) -> np.ndarray[Any, np.dtype[np.float64]]:
    """Points of a polyline or polygon (n, 2), page millimetres."""
    return np.array([[float(v) for v in p.split(",")] for p in element.get("points", "").split()])


def lines_of(drawing: Drawing, mark: str) -> list[ET.Element]:
    """Elements of that class."""
    return [e for e in tree(drawing).iter() if e.get("class") == mark]


def scale_of(drawing: Drawing) -> float:
    """Paper over model, from the words of its title."""
    found = re.search(r"(\d+(?:\.\d+)?):(\d+(?:\.\d+)?)$", drawing.title)
    assert found is not None, drawing.title
    return float(found[1]) / float(found[2])
