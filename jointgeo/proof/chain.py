"""A mis-set angle in a whole piece: bars cut off by it and put together one after the other.

Knows a solved piece as plain data and cut bars; shares no arithmetic with the sums that foretell
the same. Every bar is cut as its settings say and once more with the errors; how the cut frame of
an end then lies in its wood is measured on the machine (touch-off corner and trim plane of the cut
bodies). Joints are closed one by one, cut frame on cut frame; at each that closes a frame the bar
is compared with where its last joint wants it.

Where both bars of a joint are cut, either end says how far the corner closes about the line in
which the two meet: half of each is taken.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping

import attrs
import numpy as np

from jointgeo.proof.clamped import Clamped
from jointgeo.proof.form import PartForm, read_errors
from jointgeo.proof.kernel import Solid
from jointgeo.proof.mesh import Array
from jointgeo.proof.piece import cut_bar
from jointgeo.proof.pieceform import PieceBarForm, PieceForm, PieceJointForm, read_piece

__all__ = ["LastJoint", "chain_piece"]

ON_MM = 1e-3


@attrs.frozen(eq=False)
class LastJoint:
    """A joint that closes a frame, last of all.

    joint: its number in the piece; bar, mate: its bars. loop: (number of a joint, 1 from mate into
    bar or -1) round the frame, this one first. move: in the room, from where the bar is to where
    this joint wants it, (4, 4). points: corners of its cut faces as they were drawn, in the room,
    (n, 3). gap_mm: the greatest move of these; turn_deg: of the bar.
    """

    joint: int
    bar: str
    mate: str
    loop: tuple[tuple[int, float], ...]
    move: Array
    points: Array
    gap_mm: float
    turn_deg: float


@attrs.frozen(eq=False)
class _End:
    """frame: blank from cut frame as set, off: as mis-set, (4, 4). corners: of the shoulders or
    floors, or of the end where there are none, in the blank, (n, 3)."""

    frame: Array
    off: Array
    corners: Array


def chain_piece(piece: object, errors: Mapping[str, float]) -> tuple[LastJoint, ...]:
    """Every joint that closes a frame. piece, errors and InputError as for ``fit_piece``."""
    form, off = read_piece(piece), read_errors(errors)
    bars = {b.name: b for b in form.bars}
    solids = {b.name: cut_bar(b, read_errors(None)).solid for b in form.bars}
    steps = [_Step(i, j, bars, solids, off) for i, j in enumerate(form.joints)]
    poses, way = _put_together(form, steps)
    used = {i for loop in way.values() for i, _ in loop}
    return tuple(_last(s, bars, poses, way) for s in steps if s.number not in used)


class _Step:
    """One joint: how its bar lies on its mate when closed, with the errors."""

    def __init__(
        self,
        number: int,
        joint: PieceJointForm,
        bars: Mapping[str, PieceBarForm],
        solids: Mapping[str, Solid],
        errors: dict[str, float],
    ) -> None:
        self.number = number
        first, second = (b.name for b in joint.drawing.bars[:2])
        self.bar, self.mate = joint.bars[first], joint.bars[second]
        ends = {}
        for drawn in joint.drawing.bars[:2]:
            if joint.drawing.notches_of(drawn.name):
                bar = bars[joint.bars[drawn.name]]
                far = (joint.pose @ drawn.pose)[:3, 2] @ bar.pose[:3, 2] < 0
                ends[drawn.name] = _end(bar, solids[bar.name], errors, far=bool(far))
        self.corners = ends[first].corners if first in ends else np.zeros((0, 3))
        drawn_so = np.linalg.inv(bars[self.mate].pose) @ bars[self.bar].pose
        before = _moved(ends.get(second), np.eye(4))
        after = _moved(ends.get(first), np.eye(4))
        self.closed = before @ drawn_so @ np.linalg.inv(after)
        if len(ends) == 2:
            line = _line(joint)
            if line is not None:
                self._halve(line, bars[self.mate].pose, bars[self.bar].pose, before, after)

    def _halve(
        self,
        line: tuple[Array, Array],
        mate: Array,
        bar: Array,
        before: Array,
        after: Array,
    ) -> None:
        """Take back half of what both turn about the line, a point and a direction in the room."""
        point, along = line
        room = bar @ np.linalg.inv(after) @ np.linalg.inv(bar)
        both = mate @ before @ np.linalg.inv(mate)
        turn = float(_turn(both[:3, :3]) @ along) + float(_turn(room[:3, :3]) @ along)
        back = _about(point, along, -turn / 2)
        inside = np.linalg.inv(mate) @ back @ mate
        drawn_so = np.linalg.inv(mate) @ bar
        self.closed = before @ inside @ drawn_so @ np.linalg.inv(after)


def _moved(end: _End | None, same: Array) -> Array:
    """In the blank: from where the cut faces were drawn to where they are; ``same`` without."""
    return same if end is None else np.asarray(end.off @ np.linalg.inv(end.frame))


def _end(bar: PieceBarForm, solid: Solid, errors: dict[str, float], *, far: bool) -> _End:
    form = bar.far if far else bar.near
    turned = np.eye(4)
    if far:
        width, _, length = form.size_mm
        turned = np.diag([-1.0, 1.0, -1.0, 1.0])
        turned[0, 3], turned[2, 3] = width, length
    frame, deep = _frame(form, read_errors(None))
    off, _ = _frame(form, errors)
    frame, off = turned @ frame, turned @ off
    points = solid.mesh().vertices
    height = (points - frame[:3, 3]) @ frame[:3, 2]
    return _End(frame, off, points[np.abs(height - deep) <= ON_MM])


def _frame(form: PartForm, errors: dict[str, float]) -> tuple[Array, float]:
    """The first setup's cut frame in the stock, and the depth of its deepest cut.

    Origin: X at the touch-off corner, Z in the trim plane, Y where the centre line meets it.
    """
    setup = form.setups[0]
    at = Clamped(form, setup, errors, "clamping 1")
    blank = at.trimmed(Solid.box([0, 0, 0], form.size_mm))
    corner, _ = at.corner(at.end, blank)
    middle = np.array([form.size_mm[0] / 2, form.size_mm[1] / 2, 0.0])
    middle[2] = (at.trim_z - at.turn[2] @ middle) / at.turn[2, 2]
    origin = corner + errors["travel_mm"], at.turn[1] @ middle, at.trim_z + errors["depth_mm"]
    out = np.eye(4)
    out[:3, :3] = at.turn.T
    out[:3, 3] = at.turn.T @ np.array(origin)
    return out, max((c.depth_mm for c in setup.cuts), default=0.0)


def _line(joint: PieceJointForm) -> tuple[Array, Array] | None:
    """Where the two ends meet, in the room: a point and a direction; None where they are
    parallel."""
    first = {n.bar: n for n in reversed(joint.drawing.notches)}
    one, other = (first[b.name] for b in joint.drawing.bars[:2])
    along = np.cross(one.normal, other.normal)
    size = float(np.linalg.norm(along))
    if size < 1e-6:
        return None
    along = along / size
    rows = np.array([one.normal, other.normal, along])
    point = np.linalg.solve(rows, np.array([one.at_mm, other.at_mm, 0.0]))
    return joint.pose[:3, :3] @ point + joint.pose[:3, 3], joint.pose[:3, :3] @ along


def _put_together(
    form: PieceForm, steps: list[_Step]
) -> tuple[dict[str, Array], dict[str, tuple[tuple[int, float], ...]]]:
    """Each bar's pose, joint after joint from the first bar, and by which joints it was reached."""
    poses: dict[str, Array] = {}
    way: dict[str, tuple[tuple[int, float], ...]] = {}
    for bar in form.bars:
        if bar.name in poses:
            continue
        poses[bar.name], way[bar.name] = bar.pose, ()
        waiting = deque([bar.name])
        while waiting:
            here = waiting.popleft()
            for step in steps:
                if here not in (step.bar, step.mate):
                    continue
                there, sense = (step.mate, -1.0) if here == step.bar else (step.bar, 1.0)
                if there in poses:
                    continue
                on = step.closed if sense > 0 else np.linalg.inv(step.closed)
                poses[there] = poses[here] @ on
                way[there] = (*way[here], (step.number, sense))
                waiting.append(there)
    return poses, way


def _last(
    step: _Step,
    bars: Mapping[str, PieceBarForm],
    poses: Mapping[str, Array],
    way: Mapping[str, tuple[tuple[int, float], ...]],
) -> LastJoint:
    wanted = poses[step.mate] @ step.closed
    move = wanted @ np.linalg.inv(poses[step.bar])
    there, back = list(way[step.mate]), list(way[step.bar])
    while there and back and there[0] == back[0]:  # what both have come by is no part of the frame
        there, back = there[1:], back[1:]
    loop = ((step.number, 1.0), *((n, -s) for n, s in reversed(back)), *there)
    pose = bars[step.bar].pose
    drawn = step.corners @ pose[:3, :3].T + pose[:3, 3]
    pose = poses[step.bar]
    at = step.corners @ pose[:3, :3].T + pose[:3, 3]
    gaps = at @ move[:3, :3].T + move[:3, 3] - at
    return LastJoint(
        step.number,
        step.bar,
        step.mate,
        loop,
        move,
        drawn,
        float(np.linalg.norm(gaps, axis=1).max(initial=0.0)),
        float(np.degrees(np.linalg.norm(_turn(move[:3, :3])))),
    )


def _turn(rotation: Array) -> Array:
    """A small rotation as a vector, radians."""
    r = (rotation - rotation.T) / 2
    return np.array([r[2, 1], r[0, 2], r[1, 0]])


def _about(point: Array, along: Array, angle: float) -> Array:
    """A turn about a line, right-handed, (4, 4)."""
    x, y, z = along
    k = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    out = np.eye(4)
    out[:3, :3] += np.sin(angle) * k + (1.0 - np.cos(angle)) * (k @ k)
    out[:3, 3] = point - out[:3, :3] @ point
    return out
