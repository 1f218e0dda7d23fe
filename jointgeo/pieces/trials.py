"""A piece solved again with one of its numbers changed, so often and so long as may be.

Knows piece types by their contract and answers; knows no piece type by name.

Theory of operation. A whole answer is dear, and most of its time goes into what is like what. So a
change is first looked at with the marks that the answer has, its bars not held against each other,
and only the ends that fail are planned; whatever is offered to anybody is solved whole. What is
tried is nobody's question: a type that breaks at such a number is told so when somebody asks for
it. A change with which the piece has other bars or other joints makes another piece, and is none.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterable
from typing import Any, TypeVar

import attrs

from jointgeo.errors import InputError, PluginError
from jointgeo.joints.check import Check
from jointgeo.pieces.joining import ENDS, EndName
from jointgeo.pieces.model import Joined, Piece, Plain, RoomBar
from jointgeo.pieces.piece_type import PieceType
from jointgeo.pieces.solve import PieceAnswer, solve_piece, solved_alone
from jointgeo.schema.fields import FieldInfo, describe
from jointgeo.schema.units import MM_PER_INCH, read_inches
from jointgeo.solution.end import solve_end

__all__ = ["Key", "Trials", "end_key", "own_key"]

#: A check by its name and what it is of: a joint, a bar, or an end of a bar.
Key = tuple[str, str]
GRAIN = 0.1  # mm and degree; what a person sets out to
PARTS_OF_INCH = 64
BROKEN = (
    InputError,
    PluginError,
    ArithmeticError,
    LookupError,
    RuntimeError,
    TypeError,
    ValueError,
)
_T = TypeVar("_T")


def own_key(check: Check) -> Key:
    """Of a check of a joint or of the piece."""
    return check.name, check.part


def end_key(check: Check, bar: str, end: EndName) -> Key:
    """Of a check of one end."""
    return check.name, f"{bar}, {end} end"


class Trials:
    """drawn: the piece; answer: for it. inches: whether lengths are set out in inches. Every trial
    is kept; None stands for a piece that cannot be, and for all that comes after the time."""

    def __init__(self, drawn: PieceType, answer: PieceAnswer, *, inches: bool = False) -> None:
        self.drawn, self.answer, self._inches = drawn, answer, inches
        #: When ``time.thread_time`` says that no more is tried.
        self.until = math.inf
        self._kept: dict[tuple[object, ...], Any] = {}
        self.piece_now = drawn.piece()
        #: Every number that may be moved: lengths and angles that are given and not 0, which often
        #: says that there is no such thing.
        self.fields: dict[str, tuple[FieldInfo, float]] = {}
        for info in describe(type(drawn)):
            given = getattr(drawn, info.name)
            if info.unit in ("mm", "deg") and isinstance(given, float) and given:
                self.fields[info.name] = info, given

    def grain(self, name: str) -> float:
        """The step in which that number is set out, in its own unit."""
        inches = self._inches and self.fields[name][0].inches_name
        return MM_PER_INCH / PARTS_OF_INCH if inches else GRAIN

    def set_out(self, name: str, value: float, way: float) -> float:
        """The value rounded to its step, on the side that ``way`` points to; in inches exactly what
        is read from its decimals."""
        grain = self.grain(name)
        steps = value / grain
        # What lies on a step but for rounding is that step.
        whole = math.ceil(steps - 1e-6) if way > 0 else math.floor(steps + 1e-6)
        if grain == GRAIN:
            return round(whole * GRAIN, 1)
        return read_inches(str(whole / PARTS_OF_INCH))

    def piece(self, name: str, value: float) -> Piece | None:
        """The piece as drawn with that value."""
        return self._once(("piece", name, value), lambda: self._piece(name, value))

    def alone(self, name: str, value: float) -> PieceAnswer | None:
        """Its joints, bars and checks, marked as the answer is."""

        def work() -> PieceAnswer | None:
            piece = self.piece(name, value)
            if piece is None:
                return None
            marked = self.answer.piece
            bars = tuple(_marked(piece.bar(b.name), b) for b in marked.bars)
            return solved_alone(attrs.evolve(piece, bars=bars), self.answer.fixture)

        return self._once(("alone", name, value), work)

    def checks(self, name: str, value: float) -> tuple[Check, ...] | None:
        """Every check of the whole answer then."""

        def work() -> tuple[Check, ...] | None:
            piece = self.piece(name, value)
            return None if piece is None else solve_piece(piece, self.answer.fixture).every_check

        return self._once(("checks", name, value), work)

    def margins(self, name: str, value: float, keys: Iterable[Key]) -> dict[Key, float] | None:
        """The margins of those checks then; infinite where a check finds nothing any more."""
        keys = tuple(keys)
        ends = {(b, e) for b, e in self.answer.solved_ends if any(_ends(k, b, e) for k in keys)}

        def work() -> dict[Key, float] | None:
            found = self.alone(name, value)
            if found is None:
                return None
            least = dict.fromkeys(keys, math.inf)
            _take(least, ((own_key(c), c.margin) for c in found.checks))
            for bar in found.bars:
                for i, end in enumerate(ENDS):
                    if (bar.name, end) in ends:
                        other = bar.allowances_mm[1 - i]
                        one = solve_end(bar.parts[i], self.answer.fixture, (), other)
                        _take(least, ((end_key(c, bar.name, end), c.margin) for c in one.checks))
            return least

        return self._once(("margins", name, value, keys), work)

    def now(self, keys: Iterable[Key]) -> dict[Key, float]:
        """The margins of those checks as the piece is."""
        least = dict.fromkeys(keys, math.inf)
        _take(least, ((own_key(c), c.margin) for c in self.answer.checks))
        for (bar, end), solved in self.answer.solved_ends.items():
            _take(least, ((end_key(c, bar, end), c.margin) for c in solved.checks))
        return least

    def _once(self, key: tuple[object, ...], work: Callable[[], _T | None]) -> _T | None:
        if key not in self._kept:
            if time.thread_time() > self.until:
                return None
            try:
                self._kept[key] = work()
            except BROKEN:
                self._kept[key] = None
        found: _T | None = self._kept[key]
        return found

    def _piece(self, name: str, value: float) -> Piece | None:
        changed = type(self.drawn).from_dict(self.drawn.to_dict() | {name: value}).piece()
        return changed if _built(changed) == _built(self.piece_now) else None


def _built(piece: Piece) -> object:
    """Which bars there are, and what each end comes to."""

    def met(bar: RoomBar) -> list[object]:
        ends = (bar.near, bar.far)
        return [
            None if isinstance(e, Plain) else (e.mate, e.joint if isinstance(e, Joined) else "")
            for e in ends
        ]

    return [(j.name, j.type) for j in piece.joints], [(b.name, met(b)) for b in piece.bars]


def _marked(bar: RoomBar, marked: RoomBar) -> RoomBar:
    """The bar with the marks of the same one in the answer."""
    turned = bar if bar.grain @ marked.grain > 0 else bar.turned_round
    near, far = (
        new if isinstance(new, Plain) else old
        for new, old in ((turned.near, marked.near), (turned.far, marked.far))
    )
    return attrs.evolve(
        turned,
        near=near,
        far=far,
        faces=marked.faces,
        forced=marked.forced,
        x_from=marked.x_from,
    )


def _ends(key: Key, bar: str, end: EndName) -> bool:
    return key[1] == f"{bar}, {end} end"


def _take(least: dict[Key, float], found: Iterable[tuple[Key, float]]) -> None:
    """The least margin of each into ``least``."""
    for key, margin in found:
        if key in least:
            least[key] = min(least[key], margin)
