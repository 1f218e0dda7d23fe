"""One piece type on the bench: its examples, random pieces near them, and what comes of them.

Knows fields, the solver of pieces and the dry fit; checks nothing. Made once for a type and shared
by all checks. Parameters are kept and pieces are built anew whenever they are asked for, so that
one that changes while it is solved does not reach the next check already changed.

Random pieces: every size by up to a twentieth of the example's and every angle by up to 1°, choices
and flags anyhow, what stands at its default left there half the time. A stool's numbers hang
together more closely than a joint's, so they are drawn nearer to the example.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterable
from functools import cached_property
from typing import Any, ClassVar

import attrs
import numpy as np

from jointgeo.conformance.bench import wide_fixture
from jointgeo.errors import InputError
from jointgeo.fixtures.model import Fixture
from jointgeo.pieces.piece_type import PieceType
from jointgeo.pieces.solve import PieceAnswer, solve_piece
from jointgeo.proof import PieceFit, fit_piece
from jointgeo.schema.fields import FieldInfo, describe, plain

__all__ = ["NEAR", "TRIES", "Made", "PieceSubject"]

NEAR = 4  # pieces near the examples
TRIES = 15  # so many draws for each of them
PART = 0.05
LEAN_DEG = 1.0


@attrs.frozen(eq=False)
class Made:
    """A piece of the type, solved where there is room, cut, and put up."""

    number: str
    piece_type: PieceType
    answer: PieceAnswer
    fit: PieceFit


@attrs.frozen(eq=False, slots=False)
class PieceSubject:
    """cls as it came from its author: nothing about it is taken for granted. wanted: how many
    pieces near the examples."""

    noun: ClassVar[str] = "pieces"

    cls: type[PieceType]
    wanted: int = NEAR

    @property
    def name(self) -> str:
        return str(getattr(self.cls, "name", self.cls.__name__))

    @cached_property
    def fields(self) -> tuple[FieldInfo, ...]:
        return describe(self.cls)

    @cached_property
    def fixture(self) -> Fixture:
        """One with room for everything."""
        return wide_fixture()

    @cached_property
    def parameters(self) -> tuple[dict[str, Any], ...]:
        """Those of the worked examples; ValueError where there are none."""
        found = tuple(plain(e) for e in self.cls.examples() if type(e) is self.cls)
        if not found:
            raise ValueError("there is no worked example to try this on")
        return found

    @property
    def examples(self) -> tuple[PieceType, ...]:
        return self._built(self.parameters)

    @property
    def cases(self) -> tuple[PieceType, ...]:
        """Examples and pieces near them."""
        return (*self.examples, *self._built(self.drawn))

    def _built(self, parameters: Iterable[dict[str, Any]]) -> tuple[PieceType, ...]:
        return tuple(self.cls(**values) for values in parameters)

    @cached_property
    def drawn(self) -> tuple[dict[str, Any], ...]:
        """Parameters of pieces near the examples that can be made, ``wanted`` of them or fewer."""
        rng = np.random.default_rng(zlib.crc32(self.name.encode()))
        kept: list[dict[str, Any]] = []
        for number in range(TRIES * self.wanted):
            if len(kept) == self.wanted:
                break
            base = self.parameters[number % len(self.parameters)]
            values = {i.name: _near(i, base[i.name], rng) for i in self.fields}
            try:
                answer = solve_piece(self.cls(**values).piece(), self.fixture)
            except InputError:
                continue
            if answer.feasible:
                kept.append(values)
        return tuple(kept)

    @cached_property
    def made(self) -> tuple[Made, ...]:
        """Every case, solved and cut."""
        out = []
        for number, case in enumerate(self.cases, 1):
            answer = solve_piece(case.piece(), self.fixture)
            fit = fit_piece(answer.bars_dict())
            examples = len(self.parameters)
            near = number > examples
            which = f"random piece {number - examples}" if near else f"example {number}"
            out.append(Made(which, case, answer, fit))
        return tuple(out)


def _near(info: FieldInfo, value: Any, rng: np.random.Generator) -> Any:
    if value is None or (not info.required and value == info.default and rng.random() < 0.5):
        return value
    if info.kind == "flag":
        return bool(rng.integers(2))
    if info.kind == "choice":
        return info.choices[int(rng.integers(len(info.choices)))]
    if info.kind != "number":
        return value
    half = LEAN_DEG if info.unit == "deg" else PART * abs(value)
    low = value - half if info.low is None else max(info.low, value - half)
    high = value + half if info.high is None else min(info.high, value + half)
    return float(rng.uniform(low, high))
