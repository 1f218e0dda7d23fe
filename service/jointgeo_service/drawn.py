"""Pages that take drawing: one is drawn at a time, and the last ones are kept.

Knows threads and limits; knows no page, no joint and no HTTP. However many ask for pages, whoever
asks for a number finds a thread and no more than one page being drawn beside it.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable

from jointgeo_service.limits import (
    KEPT_CHARACTERS,
    KEPT_PAGES,
    SHEET_WAIT_SECONDS,
    SHEETS,
    SHEETS_WAITING,
)
from jointgeo_service.turns import Turns

__all__ = ["Drawn"]


class Drawn:
    """The turns of all pages together, and the finished ones by what was asked."""

    def __init__(self, most: int = KEPT_PAGES) -> None:
        self._turns = Turns(SHEETS, SHEETS_WAITING, SHEET_WAIT_SECONDS, "pages are being drawn")
        self._most = most
        self._lock = threading.Lock()
        self._kept: OrderedDict[Hashable, str] = OrderedDict()

    def page(self, key: Hashable, draw: Callable[[], str], *, own_process: bool = False) -> str:
        """The kept page of that key, or what ``draw`` gives, which is kept if it gives anything
        and that is not too long.

        key: all that the page depends on, the fixture itself among it. own_process: whether it is
        drawn by a process of its own, which takes nobody's turn. RefusedError, a 503, where too
        many are waiting.
        """
        found = self._found(key)
        if found is not None:
            return found
        give_back = _nothing if own_process else self._turns.take()
        try:
            found = self._found(key)  # drawn for somebody else while this one waited
            if found is None:
                found = draw()
                self._keep(key, found)
            return found
        finally:
            give_back()

    def _found(self, key: Hashable) -> str | None:
        with self._lock:
            found = self._kept.get(key)
            if found is not None:
                self._kept.move_to_end(key)
            return found

    def _keep(self, key: Hashable, text: str) -> None:
        if len(text) > KEPT_CHARACTERS:
            return
        with self._lock:
            self._kept[key] = text
            while len(self._kept) > self._most:
                self._kept.popitem(last=False)


def _nothing() -> None:
    """Nobody's turn is given back."""
