"""How a piece is put together, in sentences for the bench.

Knows the answer only. Ways are told as one stands before the piece: right, left, towards you, away
from you, up, down; how much of each for every millimetre that the least of them goes.
"""

from __future__ import annotations

from collections.abc import Iterator

from jointgeo.geometry.vectors import Vec
from jointgeo.pieces.assembly.answer import Assembly, Step
from jointgeo.schema.units import fixed

__all__ = ["assembly_lines", "way_words"]

WAYS = (
    ("to the right", "to the left"),
    ("away from you", "towards you"),
    ("up", "down"),
)
LEAST = 0.005  # of the whole way; less is not said
STRAIGHT = 0.9999  # cosine: within 0.8° of one direction it is that direction


def assembly_lines(assembly: Assembly) -> Iterator[str]:
    """The steps in the order of putting together; why not, where there is no way."""
    steps = assembly.steps
    if steps is None:
        yield (
            "It cannot be put together by sliding its bars straight home, whatever the order: cut "
            "a joint that can be closed last, or leave one open until then."
        )
        return
    if not steps:
        yield "Nothing is to be put together."
        return
    most = assembly.most_at_once
    joints = "joint" if most == 1 else "joints"
    plain = assembly.strict
    yield f"At most {most} {joints} must be closed together."
    if steps is not plain:
        count = "cannot be put together" if plain is None else "more joints together"
        play = max(s.play_mm for s in steps)
        yield f"That rests on the play of the joints, up to {fixed(play, 3)} mm; without: {count}."
    for number, step in enumerate(steps, 1):
        yield from _step(number, step)


def _step(number: int, step: Step) -> Iterator[str]:
    if len(step.joints) == 1:
        yield f"{number}. {step.joints[0]}"
    else:
        yield f"{number}. {len(step.joints)} joints together: {'; '.join(step.joints)}"
    yield f"     hold: {'; '.join(step.still)}"
    several = len(step.moves) > 1
    moved: dict[str, list[str]] = {}
    for move in step.moves:
        said = way_words(move.way, move.length_mm if several else 0.0)
        moved.setdefault(said, []).extend(move.bars)
    for said, bars in moved.items():
        yield f"     move {said}: {'; '.join(bars)}"
    if len(step.joints) > 1:
        yield "     clamps: push what moves that way, all at the same rate, against what is held"


def way_words(way: Vec, length: float = 0.0) -> str:
    """A unit vector of the room; length: how far, to name its parts by, or 0 for parts of 1."""
    scale = length or 1.0
    parts = sorted(
        ((abs(v), names[0] if v > 0 else names[1]) for v, names in zip(way, WAYS, strict=True)),
        key=lambda part: -part[0],
    )
    if parts[0][0] >= STRAIGHT:
        return f"{fixed(length, 2)} {parts[0][1]}" if length else f"straight {parts[0][1]}"
    told = [f"{fixed(v * scale, 2)} {name}" for v, name in parts if v >= LEAST]
    return " and ".join([", ".join(told[:-1]), told[-1]]) if len(told) > 1 else told[0]
