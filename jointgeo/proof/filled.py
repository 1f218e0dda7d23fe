"""Nothing lost: where wood is cut away, its mate fills what it left.

Knows drawn bars, parts in place and the kernel.

Theory. What one bar is cut for, the other fills: of a channel or a pocket everything must be full
that lies in the bar's trimmed blank and *behind or beside the mate*: the mate's trimmed blank,
swept towards the walls of the cut. So a hole is found too where the mate ends short of a wall or
of a floor, outside the block that both blanks share. Left out are

* stated clearance before a cheek, and space left empty on purpose;
* waste that runs out of the wood beside the mate: no wall lies that way. A channel runs through
  along its feed, a groove along its bar, a shoulder out at the rail's side;
* what another notch of the bar takes too, beside the mate: a cheek ends where the other cut
  begins, so no wall stands there. Towards the shoulder it is held all the same;
* what is planed off: a pocket with but one side in the wood holds nothing.

A pocket is laid out so as to be filled up to its mouth; a channel may stand proud of the mate, as
fingers do that are planed off later. So channels have the mate swept towards their walls only,
pockets both ways; and there along the mate's own axes, lest a tongue that leans in its groove cast
a shadow on the groove beside it.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence

import numpy as np

from jointgeo.proof.drawing import BoxForm
from jointgeo.proof.kernel import WOOD_MM3, Solid
from jointgeo.proof.mesh import Array
from jointgeo.proof.solids import DrawnBar, DrawnChannel, DrawnNotch

__all__ = ["ROUNDING_MM", "to_fill"]

ROUNDING_MM = 1e-6  # covers the kernel's rounding on both faces of a stated gap
APART_MM = 1e-8  # of two faces that must not lie in each other; ten times that rounding
JUST_OUTSIDE_MM = 0.01  # a side of a pocket lies in the wood if wood is so near to it


def to_fill(bar: DrawnBar, others: Sequence[DrawnBar], empty: Sequence[Solid]) -> list[Solid]:
    """What of a bar's own waste the others must fill: what its notches left, what its pockets
    left."""
    walls = [_walls(bar, pocket) for pocket in bar.pockets]
    held = [len(w) > 1 for w in walls]
    planed = [bar.pocket(p) for p, h in zip(bar.pockets, held, strict=True) if not h]
    channels = [r for n in bar.notches for r in _of_notch(bar, n, others)]
    pockets = [
        room
        for pocket, sides, hold in zip(bar.pockets, walls, held, strict=True)
        if hold
        for room in _of_pocket(bar, pocket, sides, others)
    ]
    slabs = [
        notch.slab(cheek, ROUNDING_MM)
        for other in others
        for notch in other.notches
        for cheek in notch.cheeks
        if cheek.gap_mm > 0 and pockets
    ]
    out = []
    for rooms, left_out in (
        (channels, [*planed, *empty]),
        (pockets, [*planed, *empty, *slabs]),
    ):
        if rooms:
            room = Solid.joined(rooms)
            out.append(room.minus([Solid.joined(left_out)]) if left_out else room)
    return [room for room in out if room.volume_mm3 > WOOD_MM3]


def _of_notch(bar: DrawnBar, notch: DrawnNotch, others: Sequence[DrawnBar]) -> Iterator[Solid]:
    x, _, z = notch.form.rows
    alike: dict[tuple[bool, bool], list[DrawnChannel]] = {}
    for channel in notch.channels:
        walls = channel.low is not None, channel.high is not None
        alike.setdefault(walls, []).append(channel)
    for (low, high), channels in alike.items():
        taken = notch.tool(channels, clear=True).cropped(bar.blank)
        sides = [0.0 * x, *([-x] if low else []), *([x] if high else [])]
        if elsewhere := [n.tool(n.channels) for n in bar.notches if n is not notch]:
            yield from _behind(taken, others, [[0.0 * z, z]])
            taken = taken.minus(elsewhere)
        yield from _behind(taken, others, [[0.0 * z, z], sides])


def _of_pocket(
    bar: DrawnBar, pocket: BoxForm, walls: Sequence[tuple[int, int]], others: Sequence[DrawnBar]
) -> Iterator[Solid]:
    taken = bar.pocket(pocket).cropped(bar.blank)
    axes = sorted({axis for axis, _ in walls})
    if len(axes) == 3:
        yield taken
        return
    walled = pocket.frame[:3, axes].T
    for other in others:
        ways = [[-way, way] for way in _along_its_sides(other, walled)]
        yield from _behind(taken, [other], ways)


def _along_its_sides(mate: DrawnBar, walled: Array) -> list[Array]:
    """As many of the mate's own axes as the pocket has axes with walls: those that sweep it towards
    these, and along the faces by which it ends where the pocket runs on."""
    columns = mate.form.pose[:3, :3].T
    ends = [notch.form.normal for notch in mate.notches][:1] or [columns[2]]
    normals = np.stack([*columns[:2], *ends])
    if len(walled) == 1:
        return [columns[int(np.argmax(np.abs(normals @ walled[0])))]]
    across = int(np.argmax(np.abs(normals @ np.cross(walled[0], walled[1]))))
    return [way for k, way in enumerate(columns) if k != across]


def _behind(
    taken: Solid, others: Sequence[DrawnBar], ways: Sequence[Sequence[Array]]
) -> Iterator[Solid]:
    """What of ``taken`` lies in another's trimmed blank, swept by every sum of one way of each.

    Swept no further than to cross what was taken, and only what of the blank can reach it: a
    bar's whole length would cost digits.
    """
    low, high = taken.mesh().extents_mm
    long = float(np.linalg.norm(high - low))
    if long == 0.0:
        return
    # Let out by a rounding, lest its faces lie in those of what was taken.
    let_out = [np.array(s) * APART_MM for s in itertools.product((-1.0, 1.0), repeat=3)]
    moves = [long * sum(way) + out for way in itertools.product(*ways) for out in let_out]
    for other in others:
        points = other.blank.cropped(Solid.box(low - long, high + long)).mesh().vertices
        if len(points):
            yield taken.cropped(Solid.hull(np.concatenate([points + move for move in moves])))


def _walls(bar: DrawnBar, pocket: BoxForm) -> list[tuple[int, int]]:
    """The sides of a pocket (axis, sign) that have wood of the bar's blank behind them."""
    out = []
    half = pocket.size_mm / 2
    for axis, sign in itertools.product(range(3), (-1, 1)):
        a, b = (k for k in range(3) if k != axis)
        inside = np.zeros((4, 3))
        inside[:, axis] = sign * (half[axis] + JUST_OUTSIDE_MM)
        inside[:, a] = half[a] * np.array([-1, 1, 1, -1])
        inside[:, b] = half[b] * np.array([-1, -1, 1, 1])
        corners = inside @ pocket.frame[:3, :3].T + pocket.frame[:3, 3]
        if bar.holds(corners):
            out.append((axis, sign))
    return out
