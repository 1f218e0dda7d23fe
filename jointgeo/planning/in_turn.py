"""A row of things of which each follows from those before it, made when it is first asked for.

Knows nothing of wood. Whoever asks for the first of an end's setups does not pay for the second.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Generic, TypeVar, overload

__all__ = ["InTurn"]

T = TypeVar("T")


class InTurn(Sequence[T], Generic[T]):
    """``count`` things; make: the next one, from all those before it.

    Each is kept and is the same object for everybody, in all threads too: where two make it at
    once, one of both is kept.
    """

    __slots__ = ("_count", "_made", "_make")

    def __init__(self, count: int, make: Callable[[tuple[T, ...]], T]) -> None:
        self._count, self._make = count, make
        self._made: dict[int, T] = {}

    def __len__(self) -> int:
        return self._count

    @overload
    def __getitem__(self, index: int) -> T: ...
    @overload
    def __getitem__(self, index: slice) -> tuple[T, ...]: ...
    def __getitem__(self, index: int | slice) -> T | tuple[T, ...]:
        places = range(self._count)[index]
        if isinstance(places, range):
            return tuple(self._at(place) for place in places)
        return self._at(places)

    def _at(self, place: int) -> T:
        known = self._made
        for here in range(place + 1):
            if here not in known:
                before = tuple(known[earlier] for earlier in range(here))
                known.setdefault(here, self._make(before))
        return known[place]
