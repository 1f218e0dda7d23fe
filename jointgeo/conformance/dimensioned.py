"""What the fields declare, measured with neither ``draw`` nor ``measure`` to vouch for it.

Knows declared dimensions, drawings and the proof's cut solids. A dimension is worth no more than
the planes it is taken from: each must be a face of the wood that the settings cut.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from jointgeo.conformance.meaning import same
from jointgeo.conformance.report import Notes
from jointgeo.conformance.subject import Subject
from jointgeo.geometry.vectors import Plane
from jointgeo.joints.dimensions import dimensions as declared
from jointgeo.joints.dimensions import used_planes, value
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
    for joint in (*subject.cases, *subject.taken):
        asked = {n: v for n, v in plain(joint).items() if n in said and v is not None}
        for hand, drawing in zip(HANDS, (joint.drawing, joint.drawing.mirrored), strict=True):
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
    """The number of planes looked for on the solids that the settings cut."""
    solids = _solids(answer)
    sought = 0
    for name, dimension in declared(type(joint)).items():
        if getattr(joint, name) is None:
            continue
        for bar, plane in used_planes(dimension, answer.drawing):
            sought += 1
            if not _is_a_face(plane, solids[bar]):
                notes.fault(
                    f"{name}, {answer.hand}: it is measured from a plane of {bar} where the cut "
                    f"wood has no face: {dimension} ({plain(joint)})"
                )
    return sought


def _solids(answer: Solution) -> dict[str, Array]:
    """The triangles (n, 3, 3) of every cut part, in the joint's world, mm."""
    settings = answer.settings_dict(aids=False)
    poses = {a["part"]: np.array(a["pose"]) for a in settings["assembly"]}
    parts: dict[str, Any] = dry_fit(settings).parts
    return {
        name: mesh.corners @ poses[name][:3, :3].T + poses[name][:3, 3]
        for name, mesh in parts.items()
    }


def _is_a_face(plane: Plane, corners: Array) -> bool:
    """Whether some of the surface lies in the plane and looks its way."""
    normal = np.array(plane.normal)
    flat = (np.abs(corners @ normal - plane.at) <= ON_PLANE_MM).all(axis=-1)
    twice = np.cross(*(corners[flat, i] - corners[flat, 0] for i in (1, 2)))
    area = np.sqrt((twice**2).sum(-1))
    return bool(area[twice @ normal > ONE_WAY * area].sum() / 2 > LEAST_MM2)
