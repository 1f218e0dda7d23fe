"""How a piece is put together: every step, the joints that close in it, and which way it goes.

Knows joints in the room and the steps of taking apart; writes no text.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property
from typing import Any

import attrs

from jointgeo.geometry.vectors import Vec
from jointgeo.joints.drawing import Drawing
from jointgeo.joints.placement import Placement
from jointgeo.pieces.assembly.contacts import Contacts, keyed
from jointgeo.pieces.assembly.strokes import Cone, Parting, partings

__all__ = ["Assembly", "Joining", "Move", "Step", "joining"]

STILL = 1e-6  # of the greatest way in a step
LEAST_CLOSED = 2  # joints at one stroke; no closed frame does with fewer


@attrs.frozen
class Joining:
    """A joint between two bars of the piece; its drawing and where that stands."""

    name: str
    bar: str
    mate: str
    contacts: Contacts
    placement: Placement

    def cone(self, *, with_fit: bool) -> Cone:
        own, way = self.contacts, self.placement.way
        walls = tuple((way(w.normal), own.lean(w) if with_fit else 0.0) for w in own.walls)
        return Cone(self.bar, self.mate, walls, way(own.out))

    def play_mm(self, way: Vec) -> float:
        """The clearance, both walls together, that the bar needs to be drawn out along ``way``."""
        own, out = self.contacts, self.placement.way(self.contacts.out) @ way
        past = max([0.0, *(self.placement.way(w.normal) @ way for w in own.walls)])
        return 2 * own.depth_mm * past / out if out > 0 else 0.0


def joining(name: str, drawing: Drawing, placement: Placement, names: Mapping[str, str]) -> Joining:
    """names: bars of the piece by the drawing's."""
    bar, mate = drawing.bars[:2]
    return Joining(name, names[bar.name], names[mate.name], keyed(drawing), placement)


@attrs.frozen
class Move:
    """Bars that move together. way: unit vector in the room, as they are put together; length_mm:
    how far they go while the least of all goes 1 mm."""

    bars: tuple[str, ...]
    way: Vec
    length_mm: float


@attrs.frozen
class Step:
    """joints: closed at one stroke, by their bars; still: bars that stay where they are; moves: of
    the others. play_mm: the clearance that one of its joints at least needs for it; 0 where it
    closes without."""

    joints: tuple[str, ...]
    still: tuple[str, ...]
    moves: tuple[Move, ...]
    play_mm: float


@attrs.frozen(eq=False, slots=False)
class Assembly:
    """joints: of the piece. bars: their names, in its order."""

    joints: tuple[Joining, ...]
    bars: tuple[str, ...]

    @cached_property
    def strict(self) -> tuple[Step, ...] | None:
        """The steps in the order of putting together, as drawn without any play; None where the
        piece cannot be put together so."""
        return self._steps(with_fit=False)

    @cached_property
    def with_fit(self) -> tuple[Step, ...] | None:
        """The same with the clearance that every joint has."""
        return self._steps(with_fit=True)

    @property
    def steps(self) -> tuple[Step, ...] | None:
        """Those to follow: without play, unless play spares joints at one stroke."""
        plain = self.strict
        if plain is not None and _most(plain) <= LEAST_CLOSED:
            return plain
        eased = self.with_fit
        if plain is None or eased is None:
            return eased if plain is None else plain
        return eased if _most(eased) < _most(plain) else plain

    @property
    def possible(self) -> bool:
        return self.steps is not None

    @property
    def most_at_once(self) -> int | None:
        """The most joints that must be closed at one stroke; None where there is no way."""
        return None if self.steps is None else _most(self.steps)

    def to_dict(self) -> dict[str, Any]:
        """Plain data. ``steps`` in the order of putting together; ways are the room's."""
        plain, eased = self.strict, self.with_fit
        return {
            "possible": self.possible,
            "most_at_once": None if plain is None else _most(plain),
            "most_at_once_with_fit": None if eased is None else _most(eased),
            "steps": [_form(s) for s in self.steps or ()],
        }

    def _steps(self, *, with_fit: bool) -> tuple[Step, ...] | None:
        cones = [j.cone(with_fit=with_fit) for j in self.joints]
        found = partings(cones, self.bars)
        if found is None:
            return None
        return tuple(self._step(parting) for parting in reversed(found))

    def _step(self, parting: Parting) -> Step:
        lengths = {g: parting.ways[g[0]].length for g in parting.groups}
        least = min(v for v in lengths.values() if v > STILL * max(lengths.values()))
        still: list[str] = []
        moves: list[Move] = []
        for group in parting.groups:
            way = parting.ways[group[0]]
            if way.length <= STILL * least:
                still += group
            else:
                moves.append(Move(group, -way.unit, way.length / least))
        own = [self.joints[i] for i in parting.joints]
        play = max(j.play_mm(parting.ways[j.bar] - parting.ways[j.mate]) for j in own)
        names = tuple(f"{j.bar} into {j.mate}" for j in own)
        return Step(names, tuple(still), tuple(moves), play if play > STILL else 0.0)


def _most(steps: Sequence[Step]) -> int:
    return max((len(s.joints) for s in steps), default=0)


def _form(step: Step) -> dict[str, Any]:
    return {
        "joints": list(step.joints),
        "still": list(step.still),
        "moves": [
            {"bars": list(m.bars), "way": list(m.way), "length_mm": m.length_mm} for m in step.moves
        ],
        "play_mm": step.play_mm,
    }
