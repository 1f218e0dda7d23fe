"""A piece as it is given: bars in the room, joints between them, plain ends.

Knows vectors, planes and the class of joint types; works nothing out.

Room: right-handed, millimetres, Z up, the floor Z = 0. Facing the piece +X is to the right and +Y
away from you. A bar's two points only say where its centre line runs; joints and planes find its
ends. The near end is the one at ``start``.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import isfinite
from typing import Any, TypeAlias

import attrs

from jointgeo.errors import InputError, shown
from jointgeo.geometry.vectors import Plane, Vec
from jointgeo.joints.drawing import XFrom
from jointgeo.joints.joint_type import JointType

__all__ = ["Against", "End", "Joined", "Piece", "PieceJoint", "Plain", "RoomBar"]

LEAST_RUN_MM = 1e-3


@attrs.frozen
class PieceJoint:
    """A joint that may stand at several places of a piece.

    sizes: its own only (tenon, tongue, fit), what two bars do not show.
    """

    name: str
    type: type[JointType]
    sizes: Mapping[str, Any] = attrs.field(factory=dict)


@attrs.frozen
class Joined:
    """An end that is cut for a joint. side: the mate's marked side that it comes to; None for the
    one that looks at it most. first: at a corner, whether it is cut as the first board drawn; None
    for as it is marked."""

    joint: str
    mate: str
    side: str | None = None
    first: bool | None = None


@attrs.frozen
class Plain:
    """An end that is cut to a plane, whose normal looks out of the wood."""

    plane: Plane


@attrs.frozen
class Against:
    """An end that is cut plain to the side of another bar, without a joint. side: as of
    ``Joined``."""

    mate: str
    side: str | None = None


End: TypeAlias = Joined | Plain | Against


@attrs.frozen
class RoomBar:
    """A bar in the room.

    faces: which way the face side looks, as nearly as it can; None leaves it to the joint that
    forces it. forced: that ``faces`` only says which of the two ways that a joint leaves is meant.
    x_from: where x is 0 at the near end: "face_edge", so that the face edge looks along
    ``faces`` ^ grain, or "back_edge" for the other side.
    """

    name: str
    width: float
    thickness: float
    start: Vec
    end: Vec
    near: End
    far: End
    faces: Vec | None = None
    forced: bool = False
    x_from: XFrom = "face_edge"

    def __attrs_post_init__(self) -> None:
        for what in ("width", "thickness"):
            size = getattr(self, what)
            if not 0.0 < size < 1e5:
                raise InputError.of(f"{self.name}.{what}", "is no size", size, "above 0 mm", "mm")
        run = self.end - self.start
        if not (all(map(isfinite, run)) and run.length > LEAST_RUN_MM):
            raise InputError.of(self.name, "runs from a point to the same point", shown(self.start))

    @property
    def grain(self) -> Vec:
        """Unit vector from the near end to the far one."""
        return (self.end - self.start).unit

    @property
    def turned_round(self) -> RoomBar:
        """The same wood, its ends exchanged; face side and face edge stay where they are."""
        other: XFrom = "back_edge" if self.x_from == "face_edge" else "face_edge"
        return attrs.evolve(
            self, start=self.end, end=self.start, near=self.far, far=self.near, x_from=other
        )


@attrs.frozen
class Piece:
    """A piece of furniture. InputError where a name is used twice, or stands for nothing."""

    title: str
    joints: tuple[PieceJoint, ...]
    bars: tuple[RoomBar, ...]

    def __attrs_post_init__(self) -> None:
        for what, names in (
            ("joint", [j.name for j in self.joints]),
            ("bar", [b.name for b in self.bars]),
        ):
            for name in names:
                if names.count(name) > 1:
                    raise InputError.of(what, "is used twice", shown(name), "a name of its own")
        if not self.bars:
            raise InputError.of("bar", "is an empty list", "[]", "at least one bar")
        for bar in self.bars:
            for where, end in (("near", bar.near), ("far", bar.far)):
                if not isinstance(end, Plain):
                    self._known(bar, where, end)

    def _known(self, bar: RoomBar, where: str, end: Joined | Against) -> None:
        joints, bars = [j.name for j in self.joints], [b.name for b in self.bars]
        path = f"{bar.name}.{where}"
        if isinstance(end, Joined) and end.joint not in joints:
            allowed = f"one of {', '.join(joints)}"
            raise InputError.of(path, "is no joint of this piece", shown(end.joint), allowed)
        if end.mate not in bars or end.mate == bar.name:
            allowed = f"one of {', '.join(n for n in bars if n != bar.name)}"
            raise InputError.of(path, "is no other bar of this piece", shown(end.mate), allowed)

    def bar(self, name: str) -> RoomBar:
        """The bar of that name; KeyError for none."""
        return {b.name: b for b in self.bars}[name]

    def joint(self, name: str) -> PieceJoint:
        """The joint of that name; KeyError for none."""
        return {j.name: j for j in self.joints}[name]
