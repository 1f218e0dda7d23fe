"""The fewest joints that open at one stroke, and the steps in which a piece comes apart.

Knows the cones of joints; no joint type, no wood, no text. Needs scipy, from the extra
``assembly``.

Theory. Every bar b has a velocity v_b, every joint j one binary z_j. With v the bar's velocity
against its mate, n a wall of the joint, q the way it is drawn out and ε what its play allows:

    n·v ≤ ε q·v    |v| ≤ M z_j    f_j·v ≥ z_j    Σ z ≥ 1,        least Σ z, then least Σ |v_b|

f_j is the sum of all -n, so that an open joint does open. Bars joined by z = 0 move together, and
the same is asked of each group that is left. Going on greedily never fails where there is a way:
taking a joint away never closes one. Only the order is a choice: fewest joints at each step. M is
only so large; the ways are found once more without it, and what leans on it is refused. Of ways
that need play the one is taken that needs the least.
"""

from __future__ import annotations

import importlib
from collections.abc import Mapping, Sequence
from typing import Any

import attrs
import numpy as np

from jointgeo.errors import MissingExtraError
from jointgeo.geometry.arrays import Array
from jointgeo.geometry.vectors import Vec

__all__ = ["Cone", "Parting", "partings"]

MOST_WAY = 200.0  # M: of the least that a joint opens; a splay of 0.3° asks for so much
SHORT = 1e-5  # weight of the way against one joint
OPEN = 0.5  # a binary, rounded
STILL = 1e-7  # of a velocity
PLAY = 1e-3  # share of the play that a way is told to


@attrs.frozen
class Cone:
    """A joint: bar against mate. walls: normals of the bar's own faces that bear, each with how far
    past square it may lean for 1 drawn out; out: the way it is drawn out. In the room."""

    bar: str
    mate: str
    walls: tuple[tuple[Vec, float], ...]
    out: Vec

    @property
    def opens(self) -> Vec:
        """f."""
        away = sum((-n for n, _ in self.walls), Vec(0.0, 0.0, 0.0))
        return away if away.length > STILL else self.out


@attrs.frozen
class Parting:
    """A step in taking apart. joints: that open, by number; ways: how each bar moves, the greatest
    group standing still; groups: of bars that stay together."""

    joints: tuple[int, ...]
    ways: Mapping[str, Vec]
    groups: tuple[tuple[str, ...], ...]


def _solver() -> Any:
    try:
        return importlib.import_module("scipy.optimize")
    except ImportError as error:
        raise MissingExtraError.of(
            "the order of assembly", "the solver of scipy", "assembly"
        ) from error


def partings(cones: Sequence[Cone], bars: Sequence[str]) -> tuple[Parting, ...] | None:
    """The steps from the whole piece to single bars; None where something can never come apart.

    Joints of a step may be any; what one step leaves together is parted by later ones, the greatest
    group first.
    """
    out: list[Parting] = []
    waiting = [tuple(bars)] if cones else []
    if cones:
        waiting = list(_groups(bars, [(c.bar, c.mate) for c in cones]))
    while waiting:
        group = waiting.pop(0)
        own = [i for i, c in enumerate(cones) if c.bar in group and c.mate in group]
        if not own:
            continue
        found = _stroke([cones[i] for i in own], group)
        if found is None:
            return None
        joints, ways = found
        left = [(cones[i].bar, cones[i].mate) for k, i in enumerate(own) if k not in joints]
        groups = tuple(_groups(group, left))
        out.append(Parting(tuple(own[k] for k in joints), _still(ways, groups), groups))
        waiting += groups
    return tuple(out)


def _groups(bars: Sequence[str], pairs: Sequence[tuple[str, str]]) -> list[tuple[str, ...]]:
    """Bars that hang together, the greatest group first."""
    of = {b: {b} for b in bars}
    for a, b in pairs:
        if of[a] is not of[b]:
            of[a] |= of[b]
            for name in of[b]:
                of[name] = of[a]
    found = {id(g): tuple(b for b in bars if b in g) for g in of.values()}
    return sorted(found.values(), key=lambda g: -len(g))


def _still(ways: Mapping[str, Vec], groups: Sequence[tuple[str, ...]]) -> dict[str, Vec]:
    rest = ways[groups[0][0]]
    return {bar: way - rest for bar, way in ways.items()}


def _stroke(
    cones: Sequence[Cone], bars: Sequence[str]
) -> tuple[tuple[int, ...], dict[str, Vec]] | None:
    """The fewest joints that open together, and how each bar moves."""
    model = _Model(cones, bars)
    held: list[Array] = []
    while True:
        chosen = model.fewest(held)
        if chosen is None:
            return None
        ways = model.shortest(chosen)
        if ways is not None:
            ways = model.least_play(chosen, ways)
            opened = tuple(i for i, z in enumerate(chosen) if z)
            return opened, {b: Vec(*ways[3 * i : 3 * i + 3].tolist()) for i, b in enumerate(bars)}
        held.append(~chosen)  # only M let it through: something else must open too


class _Model:
    """Unknowns: v (3 B), |v| (3 B), z (J)."""

    def __init__(self, cones: Sequence[Cone], bars: Sequence[str]) -> None:
        self._count, self._joints = len(bars), len(cones)
        place = {b: i for i, b in enumerate(bars)}
        self._relative = np.zeros((len(cones), 3, 3 * len(bars)))
        walls, leans, rows = [], [], []
        for j, cone in enumerate(cones):
            for bar, sign in ((cone.bar, 1.0), (cone.mate, -1.0)):
                at = 3 * place[bar]
                self._relative[j, :, at : at + 3] += sign * np.eye(3)
            for normal, lean in cone.walls:
                walls.append(np.array(normal) @ self._relative[j])
                leans.append(lean * np.array(cone.out) @ self._relative[j])
            rows.append(np.array(cone.opens.unit) @ self._relative[j])
        self._square = np.array(walls).reshape(-1, 3 * len(bars))
        self._leans = np.array(leans).reshape(-1, 3 * len(bars))
        self._opens = np.array(rows)

    def _walls(self, share: float = 1.0) -> Array:
        """Walls over v; share: of the play that there is."""
        return np.asarray(self._square - share * self._leans)

    def _lengths(self) -> Array:
        """|v| ≥ v and |v| ≥ -v, over v and |v|."""
        one = np.eye(3 * self._count)
        return np.block([[one, -one], [-one, -one]])

    def fewest(self, held: Sequence[Array]) -> Any:
        """Which joints open, (J,) of bool. held: of each, one at least must open."""
        optimize, n, joints = _solver(), 3 * self._count, self._joints
        z = np.eye(joints)
        parts = [
            np.hstack([self._walls(), np.zeros((len(self._square), n + joints))]),
            np.hstack([self._lengths(), np.zeros((2 * n, joints))]),
            np.hstack([-self._opens, np.zeros((joints, n)), z]),
        ]
        for sign in (1.0, -1.0):
            moved = (sign * self._relative).reshape(3 * joints, n)
            most = -MOST_WAY * np.repeat(z, 3, axis=0)
            parts.append(np.hstack([moved, np.zeros((3 * joints, n)), most]))
        at_most = np.concatenate(parts)
        some = np.array([np.ones(joints), *held]).reshape(-1, joints)
        at_least = np.hstack([np.zeros((len(some), 2 * n)), some])
        cost = np.concatenate([np.zeros(n), np.full(n, SHORT), np.ones(joints)])
        found = optimize.milp(
            cost,
            constraints=[
                optimize.LinearConstraint(at_most, -np.inf, 0.0),
                optimize.LinearConstraint(at_least, 1.0, np.inf),
            ],
            integrality=np.concatenate([np.zeros(2 * n), np.ones(joints)]),
            bounds=optimize.Bounds(
                np.concatenate([np.full(n, -np.inf), np.zeros(n + joints)]),
                np.concatenate([np.full(2 * n, np.inf), np.ones(joints)]),
            ),
            options={"mip_rel_gap": 0.0},
        )
        return None if found.x is None else found.x[2 * n :] > OPEN

    def least_play(self, chosen: Any, ways: Array) -> Array:
        """The way that needs the least play, all joints taking the same share of theirs."""
        if not self._leans.any():
            return ways
        low, high = -PLAY, 1.0
        while high - low > PLAY:
            share = max((low + high) / 2, 0.0) if low >= 0.0 else 0.0
            found = self.shortest(chosen, share)
            if found is None:
                low = share
            else:
                high, ways = share, found
        return ways

    def shortest(self, chosen: Any, share: float = 1.0) -> Array | None:
        """How the bars move, (3 B,), if just those joints open; None where they cannot. share: of
        the play that there is."""
        optimize, n = _solver(), 3 * self._count
        apart = self._relative[~chosen].reshape(-1, n)
        wide = np.hstack([self._walls(share), np.zeros((len(self._square), n))])
        opened = -self._opens[chosen]
        limits = np.concatenate(
            [wide, self._lengths(), np.hstack([opened, np.zeros((len(opened), n))])]
        )
        most = np.concatenate([np.zeros(len(wide) + 2 * n), -np.ones(len(opened))])
        together = np.hstack([apart, np.zeros((len(apart), n))]) if len(apart) else None
        found = optimize.linprog(
            np.concatenate([np.zeros(n), np.ones(n)]),
            A_ub=limits,
            b_ub=most,
            A_eq=together,
            b_eq=np.zeros(len(apart)) if len(apart) else None,
            bounds=[(None, None)] * n + [(0, None)] * n,
            method="highs",
        )
        return None if found.x is None else np.asarray(found.x[:n])
