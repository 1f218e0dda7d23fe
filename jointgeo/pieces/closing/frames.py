"""The closed frames of a piece: round which bars one comes back to where one started.

Knows pairs of names only. For every joint the shortest way round that goes through it, each way
once: a longer one says nothing that its parts do not.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence

__all__ = ["Step", "closed_frames"]

#: A joint by its number, and 1 where the way leads from the mate into the bar, -1 the other way.
Step = tuple[int, float]


def closed_frames(pairs: Sequence[tuple[str, str]]) -> tuple[tuple[Step, ...], ...]:
    """pairs: (bar, mate) of every joint. Each frame as its steps in order, in the order of the
    joints that it was found from."""
    out: dict[frozenset[int], tuple[Step, ...]] = {}
    for number, (bar, mate) in enumerate(pairs):
        back = _shortest(pairs, bar, mate, number)
        if back is not None:
            out.setdefault(frozenset({number, *(i for i, _ in back)}), ((number, 1.0), *back))
    return tuple(out.values())


def _shortest(
    pairs: Sequence[tuple[str, str]], start: str, goal: str, without: int
) -> tuple[Step, ...] | None:
    """From one bar to another, not through joint ``without``."""
    reached: dict[str, tuple[Step, ...]] = {start: ()}
    waiting = deque([start])
    while waiting:
        here = waiting.popleft()
        if here == goal:
            return reached[here]
        for number, (bar, mate) in enumerate(pairs):
            if number == without or here not in (bar, mate):
                continue
            there, sense = (mate, -1.0) if here == bar else (bar, 1.0)
            if there not in reached:
                reached[there] = (*reached[here], (number, sense))
                waiting.append(there)
    return None
