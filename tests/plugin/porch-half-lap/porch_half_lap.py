"""Corner half lap: two rails of a frame, each halved across the other's end, at any angle.

World: X along rail a from the outer corner, Y into the frame, Z out of the face sides, which
are flush. Each rail ends in the plane of the other's outer edge, its face edge, and is lapped
as deep as the other is wide. Rail a keeps its back half, rail b its face half.
"""

import math
from typing import ClassVar

import attrs
import numpy as np

from jointgeo.geometry.rotations import Array, pose
from jointgeo.joints.check import Check, at_least
from jointgeo.joints.contract import (
    Channel,
    Contact,
    Expectation,
    Face,
    Flush,
    Notch,
    Part,
    Placement,
)
from jointgeo.joints.joint_type import JointType
from jointgeo.schema.fields import angle, length

__version__ = "1.0.0"
X, Y, Z = np.eye(3)


@attrs.frozen
class CornerHalfLap(JointType):
    name: ClassVar[str] = "corner_half_lap"
    summary: ClassVar[str] = "Two rails of a frame halved across each other's ends, at any angle"
    contract: ClassVar[int] = 1

    width_a_mm: float = length("Width of rail a", above=0, high=300)
    width_b_mm: float = length("Width of rail b", above=0, high=300)
    thickness_mm: float = length("Thickness of both rails", low=6, high=200)
    length_a_mm: float = length("Length of rail a along its outer edge", above=0)
    length_b_mm: float = length("Length of rail b along its outer edge", above=0)
    corner_deg: float = angle("Inside angle between the rails", low=30, high=150)
    fit_mm: float = length("Gap between the two cheeks", low=-1, high=2, default=0.0)

    def _axes(self, rail: str) -> tuple[Array, Array, Array]:
        """World directions: the grain, inwards from the outer edge, and stock x (world turn)."""
        c, s = math.cos(math.radians(self.corner_deg)), math.sin(math.radians(self.corner_deg))
        grain, inside = (X, Y) if rail == "a" else (c * X + s * Y, s * X - c * Y)
        across = -inside if rail == "a" else inside
        return grain, inside, np.stack([across, -Z, grain], axis=-1)

    def _rail(self, rail: str, other: str, width: float, long: float, cut: Channel) -> Part:
        *_, turn = self._axes(rail)
        deep = self._axes(other)[1] @ turn  # the other's outer edge is where this one ends
        notch = Notch([Y, np.cross(deep, Y), deep], X * width * (rail == "a"), [cut])
        edge = "back_edge" if rail == "a" else "face_edge"
        name, slide = f"rail {rail}", deep if rail == "a" else None
        size = (width, self.thickness_mm, long)
        return Part(name, *size, edge, (notch,), slide=slide, turns_over=False)

    def parts(self) -> tuple[Part, ...]:
        low, high = ((self.thickness_mm + sign * self.fit_mm) / 2 for sign in (-1, 1))
        face_half = Channel(-np.inf, high, self.width_b_mm)
        back_half = Channel(low, np.inf, self.width_a_mm)
        return (
            self._rail("a", "b", self.width_a_mm, self.length_a_mm, face_half),
            self._rail("b", "a", self.width_b_mm, self.length_b_mm, back_half),
        )

    def placements(self) -> tuple[Placement, ...]:
        at = {"a": Y * self.width_a_mm, "b": 0 * Y}
        return tuple(Placement(f"rail {r}", 0, pose(self._axes(r)[2], at[r])) for r in "ab")

    def expectations(self) -> tuple[Expectation, ...]:
        in_a, in_b = self._axes("a")[1], self._axes("b")[1]
        a, b, t, fit = self.width_a_mm, self.width_b_mm, self.thickness_mm, self.fit_mm

        def face(rail: str, name: str, normal: Array, at: tuple[float, float], z: float) -> Face:
            """at: how far inside a's and b's outer edge; z: above the back."""
            point = np.linalg.solve([in_a, in_b, Z], [*at, z - t])
            return Face(f"rail {rail}", 0, name, point, normal)

        lap = (a / 2, b / 2)
        low, high = (t - fit) / 2, (t + fit) / 2
        cheeks = face("a", "cheek", Z, lap, low), face("b", "cheek", -Z, lap, high)
        sides = face("b", "face side", Z, lap, t), face("a", "face side", Z, (a / 2, 1.2 * b), t)
        out: list[Expectation] = [Contact(*cheeks, fit), Flush(*sides)]
        for mine, other, inward, shoulder, end, kept in (
            ("a", "b", in_b, (a / 2, b), (a / 2, 0), 0.2 * t),
            ("b", "a", in_a, (a, b / 2), (0, b / 2), 0.8 * t),
        ):
            against = face(other, "back edge", inward, shoulder, t - kept)
            out.append(Contact(face(mine, "shoulder", -inward, shoulder, t - kept), against))
            beside = face(other, "face edge", -inward, end, t - kept)
            out.append(Flush(face(mine, "end", -inward, end, kept), beside))
        return tuple(out)

    def checks(self) -> tuple[Check, ...]:
        half, why = (self.thickness_mm - self.fit_mm) / 2, "a thinner half breaks off in the lap"
        return (at_least("lapped_half", half, 5.0, "mm", why, short="caution"),)

    @classmethod
    def examples(cls) -> tuple["CornerHalfLap", ...]:
        size = {"width_a_mm": 60, "width_b_mm": 50, "thickness_mm": 22}
        size |= {"length_a_mm": 420, "length_b_mm": 380}
        return cls(**size, corner_deg=84, fit_mm=0.1), cls(**size, corner_deg=100)
