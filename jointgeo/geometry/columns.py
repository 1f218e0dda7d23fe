"""Many joints worked out at once: a column has one quantity of every joint in a batch.

Knows numpy only; nothing of geometry, of joints or of JSON.

Theory. The solver is written for one joint, in single numbers (see ``arith``). Given columns
for the numbers it does every step for all joints of the batch at once, as long as they go the
same way. Where it asks a question, ``if``, ``sorted``, ``min`` of a few, a column answers for
all of its rows: yes, no, or, where they do not agree, by raising ``Parted`` with the rows
that say yes. The batch is then split there, and either part begins anew; that costs a little
time and makes no answer wrong. So counts, choices and sides are the same all through a batch,
and nobody has to say beforehand which they are.

What a column cannot be, fails: it is no float, has no hash and no order of its own. Code that
insists on a single number raises TypeError, and the batch is worked out joint by joint.

Trap. The rows of a column are numbers of other joints. numpy's greatest or sum of a column goes
over them, and an array made of columns has no place for its own axis. So a joint type says by
``takes_columns`` that it works with none of these, and the kit looks whether it is so.

Text. A column in a text (``f"{angle:.2f}"``) is a mark in it, by which ``Texts`` finds what
each row says there. Marks stand between two characters that no text field accepts.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

__all__ = ["Column", "Each", "Parted", "Ranked", "Texts", "each", "fixed", "texts"]

T = TypeVar("T")
_OPEN, _CLOSE = "\ue000", "\ue001"
_MARK = re.compile(f"{_OPEN}([0-9]+){_CLOSE}")


class Parted(Exception):  # noqa: N818  # no error: it says where a batch goes two ways
    """mask: shape (n,), the rows that went the one way."""

    def __init__(self, mask: NDArray[np.bool_]) -> None:
        super().__init__(f"{int(mask.sum())} of {mask.size} rows go another way than the others")
        self.mask = mask


class Texts:
    """What each row says at every mark of the texts made in one batch."""

    def __init__(self) -> None:
        self.said: list[list[str]] = []

    def mark(self, said: list[str]) -> str:
        self.said.append(said)
        return f"{_OPEN}{len(self.said) - 1}{_CLOSE}"

    def pieces(self, text: str) -> list[str | list[str]]:
        """A text in pieces: what is the same in all rows, and lists of what each row says."""
        found = _MARK.split(text)  # every second one is the number of a mark
        return [self.said[int(p)] if i % 2 else p for i, p in enumerate(found) if p]


_TEXTS: ContextVar[Texts] = ContextVar("texts")


@contextmanager
def texts() -> Iterator[Texts]:
    """Within it, columns may stand in texts."""
    made = Texts()
    token = _TEXTS.set(made)
    try:
        yield made
    finally:
        _TEXTS.reset(token)


def _mark(said: list[str]) -> str:
    try:
        return _TEXTS.get().mark(said)
    except LookupError:
        raise TypeError("a column is in a text, and nobody keeps what its rows say") from None


class Column(np.ndarray[Any, Any]):
    """One quantity of every joint, shape (n,), n at least 2."""

    __hash__ = None  # as for every array; equal ones are not one

    @classmethod
    def of(cls, values: Sequence[Any]) -> Column:
        """One value of every joint."""
        return np.array(values).view(cls)

    def __bool__(self) -> bool:
        yes = np.asarray(self, dtype=bool)
        said = yes.tobytes()  # looked through quicker than by all and any
        if b"\x00" not in said:
            return True
        if b"\x01" in said:
            raise Parted(yes)
        return False

    def __format__(self, spec: str) -> str:
        return _mark([format(v, spec) for v in self.tolist()])

    __str__ = __repr__ = lambda self: format(self, "")

    def __round__(self, digits: int | None = None) -> Column:
        # Not numpy's: that one multiplies first, and halves may then go the other way.
        return Column.of([round(v, digits) for v in self.tolist()])

    def __float__(self) -> float:
        if self.ndim == 0:  # what numpy makes of the greatest of a column
            return float(self.item())
        raise TypeError("a column is no single number")

    def __int__(self) -> int:
        return int(float(self))

    def __index__(self) -> int:
        raise TypeError("a column is no single number")


class Each(list[Any]):
    """Something of every joint that is no number: a list, a text."""

    __hash__ = None  # a list's

    def __format__(self, spec: str) -> str:
        return _mark([format(v, spec) for v in self])

    __str__ = lambda self: format(self, "")  # noqa: E731


class Ranked(list[Any]):
    """Tables in an order that is each row's own: by ``keys``, least first, one key for each."""

    def __init__(self, tables: Sequence[Any], keys: Sequence[tuple[Any, ...]]) -> None:
        super().__init__(tables)
        self.keys = keys


def each(function: Callable[..., T], *values: Any) -> T | Any:
    """``function`` of single values, row by row where one of them is a column.

    The answer is a column of numbers or an ``Each``. Where some rows give None the batch parts.
    """
    length = next((len(v) for v in values if isinstance(v, (Column, Each))), None)
    if length is None:
        return function(*values)
    rows = [
        v.tolist() if isinstance(v, Column) else v if isinstance(v, Each) else [v] * length
        for v in values
    ]
    found = [function(*row) for row in zip(*rows, strict=True)]
    nothing = np.array([v is None for v in found])
    if nothing.all():
        return None
    if nothing.any():
        raise Parted(nothing)
    if all(isinstance(v, (int, float)) for v in found):
        return Column.of(found)
    return Each(found)


def fixed(value: Any) -> Any:
    """The one value that a count, a choice or a side has in all rows; Parted where it differs."""
    if not isinstance(value, Column):
        return value
    first = value.flat[0]
    same = np.asarray(value == first)
    if not same.all():
        raise Parted(same)
    return first.item()
