"""How far a long task is: one line on standard error, for a person who waits at a terminal.

Knows streams and the clock. Nothing is said in the first second, nor where nobody looks on.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterable, Iterator
from typing import TypeVar

__all__ = ["AFTER_S", "progress"]

T = TypeVar("T")
AFTER_S = 1.0  # our choice: what is done by then needs no word


def progress(items: Iterable[T], total: int, doing: str) -> Iterator[T]:
    """The same items; says which of ``total`` is being done while the caller does it.

    doing: what is done to each, "cut" or "solved".
    """
    if not sys.stderr.isatty():
        yield from items
        return
    began, widest = time.monotonic(), 0
    for number, item in enumerate(items):
        if time.monotonic() - began > AFTER_S:
            line = f"{number} of {total} {doing}"
            widest = max(widest, len(line))
            print(f"\r{line}", end="", file=sys.stderr, flush=True)
        yield item
    if widest:
        print("\r" + " " * widest + "\r", end="", file=sys.stderr, flush=True)
