"""How a piece is put together, in sentences for the bench.

Knows the answer only. Ways are told as one stands before the piece: right, left, towards you, away
from you, up, down.
"""

from __future__ import annotations

from collections.abc import Iterator

from jointgeo.geometry.vectors import Vec
from jointgeo.pieces.assembly.answer import Assembly, Move, Step
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
    yield f"At most {most} {joints} must be closed at one stroke."
    if steps is not plain:
        count = "cannot be put together" if plain is None else "more joints at one stroke"
        play = max(s.play_mm for s in steps)
        yield f"That rests on the play of the joints, up to {fixed(play, 3)} mm; without: {count}."
    for number, step in enumerate(steps, 1):
        yield f"{number}. {_step(step)}"


def _step(step: Step) -> str:
    head = f"{step.joints[0]}: "
    if len(step.joints) > 1:
        head = f"{len(step.joints)} joints at one stroke ({'; '.join(step.joints)}): "
    together = len(step.moves) > 1
    moves = "; ".join(_move(m, amount=together) for m in step.moves)
    held = _listed(step.still)
    clamps = ""
    if together or len(step.joints) > 1:
        clamps = ". Clamps push each of them the way it goes, against what is held"
    return f"{head}hold {held}; {moves}{clamps}."


def _move(move: Move, *, amount: bool) -> str:
    goes = "goes" if len(move.bars) == 1 else "go together"
    said = way_words(move.way, move.length_mm if amount else 0.0)
    return f"{_listed(move.bars)} {goes} {said}"


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
    return _listed(told)


def _listed(names: tuple[str, ...] | list[str]) -> str:
    if len(names) < 2:
        return "".join(names)
    # Names have commas of their own.
    between = "; " if any("," in n for n in names) else ", "
    return f"{between.join(names[:-1])} and {names[-1]}"
