"""What the fields declare, measured with neither ``draw`` nor ``measure`` to vouch for it.

Knows declared dimensions, drawings and the proof's cut solids. A dimension is worth no more than
the planes it is taken from: each must be a face of the wood that the settings cut.
"""

from __future__ import annotations

import attrs
import numpy as np
from numpy.typing import NDArray

from jointgeo.conformance.meaning import same
from jointgeo.conformance.report import Notes
from jointgeo.conformance.subject import Subject
from jointgeo.geometry.vectors import Plane
from jointgeo.joints.dimensions import Dimension, Length, used_planes, value
from jointgeo.joints.dimensions import dimensions as declared
from jointgeo.joints.joint_type import JointType
from jointgeo.proof import dry_fit
from jointgeo.schema.fields import plain
from jointgeo.solution.setup import HANDS
from jointgeo.solution.solution import Solution, solve

__all__ = ["dimensions"]

Array = NDArray[np.float64]

ON_PLANE_MM = 1e-6  # rounding of the solids' booleans is 1e-10
LEAST_MM2 = 1e-3
ONE_WAY = 1.0 - 1e-9


def dimensions(subject: Subject, notes: Notes) -> None:
    """each length and angle is what its field declares, on the drawing, its image and the wood"""
    said = declared(subject.cls)
    for info in subject.fields:
        if info.unit in ("mm", "deg") and info.name not in said:
            kind = "Length" if info.unit == "mm" else "Turn"
            notes.fault(
                f"{info.name}: it declares no dimension; give its field a {kind} between marked "
                "sides or cut faces"
            )
    measured = faces = 0
    for joint in (*subject.cases, *subject.possible):
        both = joint.drawing, joint.drawing.mirrored  # first: drawing may not change what is asked
        asked = {n: v for n, v in plain(joint).items() if n in said and _shows(said[n], v)}
        for hand, drawing in zip(HANDS, both, strict=True):
            for name, number in asked.items():
                measured += 1
                found = value(said[name], drawing)
                if not same(found, number):
                    notes.fault(
                        f"{name}, {hand}: {number!r} asked for, and {found!r} where its field "
                        f"declares it: {said[name]}; mend the sign or the place in draw(), or the "
                        f"declaration ({plain(joint)})"
                    )
    for joint in subject.cases:
        faces += sum(_faces(joint, solve(joint, subject.wide, hand), notes) for hand in HANDS)
    notes.did(
        f"{len(said)} declarations, {measured} measurements, {faces} planes sought on the cut wood"
    )


def _faces(joint: JointType, answer: Solution, notes: Notes) -> int:
    """The number of planes looked for on the parts that the settings cut."""
    parts = _cut(answer)
    sought = 0
    for name, dimension in declared(type(joint)).items():
        if not _shows(dimension, getattr(joint, name)):
            continue
        for bar, plane in used_planes(dimension, answer.drawing):
            sought += 1
            if not parts[bar].has(plane):
                notes.fault(
                    f"{name}, {answer.hand}: it is measured from a plane of {bar} where the cut "
                    f"wood has no face: {dimension} ({plain(joint)})"
                )
    return sought


@attrs.frozen(eq=False)
class _CutPart:
    """A part as the settings cut it, in the joint's world, mm.

    corners: (n, 3, 3) of the triangles of its surface. sides: normal (3,) and place of the four
    sides of its stock: a bevel may have taken one of them, and it was there to measure from.
    """

    corners: Array
    sides: tuple[tuple[Array, float], ...]

    def has(self, plane: Plane) -> bool:
        """Whether some of the surface, or a side of the stock, lies there and looks that way."""
        normal = np.array(plane.normal)
        for way, at in self.sides:
            if way @ normal > ONE_WAY and abs(at - plane.at) <= ON_PLANE_MM:
                return True
        flat = (np.abs(self.corners @ normal - plane.at) <= ON_PLANE_MM).all(axis=-1)
        twice = np.cross(*(self.corners[flat, i] - self.corners[flat, 0] for i in (1, 2)))
        area = np.sqrt((twice**2).sum(-1))
        return bool(area[twice @ normal > ONE_WAY * area].sum() / 2 > LEAST_MM2)


def _shows(dimension: Dimension, asked: float | None) -> bool:
    """Whether a drawing shows the parameter at all."""
    left_out = isinstance(dimension, Length) and dimension.optional and not asked
    return asked is not None and not left_out


def _cut(answer: Solution) -> dict[str, _CutPart]:
    settings = answer.settings_dict(aids=False)
    poses = {a["part"]: np.array(a["pose"]) for a in settings["assembly"]}
    solids = dry_fit(settings).parts
    out = {}
    for part in settings["parts"]:
        name, stock = part["part"], part["stock"]
        turn, place = poses[name][:3, :3], poses[name][:3, 3]
        sides = []
        for axis, size in enumerate((stock["width_mm"], stock["thickness_mm"])):
            way = turn[:, axis]
            sides += [(-way, float(-way @ place)), (way, float(way @ place) + size)]
        out[name] = _CutPart(solids[name].corners @ turn.T + place, tuple(sides))
    return out
