"""The closing of a solved piece: its joints as ties.

Knows standing joints, bars and solved ends. Which end of a mate a joint cuts is read off how the
joint's drawing stands.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from jointgeo.fixtures.model import Fixture
from jointgeo.pieces.closing.answer import Closing
from jointgeo.pieces.closing.ties import Tie, tie
from jointgeo.pieces.joining import EndName, PlacedJoint
from jointgeo.pieces.solvedbar import SolvedBar
from jointgeo.solution.end import EndSolution

__all__ = ["closing_of"]


def closing_of(
    joints: Sequence[PlacedJoint],
    bars: Sequence[SolvedBar],
    ends: Mapping[tuple[str, EndName], EndSolution],
    fixture: Fixture,
) -> Closing:
    """joints, bars and ends: of one solved piece."""
    by_name = {b.name: b for b in bars}
    return Closing(tuple(_tie(j, by_name, ends) for j in joints), fixture)


def _tie(
    joint: PlacedJoint,
    bars: Mapping[str, SolvedBar],
    ends: Mapping[tuple[str, EndName], EndSolution],
) -> Tie:
    bar, mate = joint.drawing.bars[:2]
    names = {bar.name: (joint.bar, str(joint.end)), mate.name: (joint.mate, "")}
    cut = {n.bar for n in joint.drawing.notches}
    found = {bar.name: ends[joint.bar, joint.end]}
    if mate.name in cut:
        placed, grain = bars[joint.mate].placed, joint.placement.way(mate.grain)
        end: EndName = "near" if placed.near.grain @ grain > 0 else "far"
        names[mate.name], found[mate.name] = (joint.mate, end), ends[joint.mate, end]
    return tie(joint.name, joint.drawing, joint.placement, names, found)
