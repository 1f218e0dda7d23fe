"""One joint type on the bench: its examples, random joints near them, and fixtures.

Knows fields, fixtures and the solver; checks nothing. Made once for a type and shared by
all checks, so nothing here may change it.

Random joints. Each parameter is drawn from its own field's range, narrowed around a
worked example: by a fifth of the example's value, and at least by a twentieth of the
range, though never by more than 1 mm or 3° on that account. A whole range is thousands of
millimetres wide, and a joint drawn from all of it is hardly ever one that anybody could
make. A parameter that stands at its default is left there half the time, because options
often exclude each other. What the type refuses with InputError, or calls infeasible, is
drawn again; ``TRIES`` bounds how often. Draws are seeded by the type's name.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterable, Iterator
from functools import cached_property
from typing import Any, ClassVar

import attrs
import numpy as np

from jointgeo.conformance.bench import demo_fixture, wide_fixture
from jointgeo.errors import InputError
from jointgeo.fixtures.model import Fixture
from jointgeo.joints.joint_type import JointType
from jointgeo.schema.fields import FieldInfo, describe, plain
from jointgeo.solution.setup import HANDS
from jointgeo.solution.solution import solve

__all__ = ["NEAR", "TRIES", "WHOLE", "Attempt", "Draws", "Subject", "answers"]

NEAR = 20  # joints near the examples
WHOLE = 30  # joints from the whole of every range
TRIES = 40  # so many draws for each of them
_UNBOUNDED = 10_000.0  # where a field has no range; `fields` reports that


@attrs.frozen
class Draws:
    """parameters: what was wanted; tries: how many were drawn for them; last: why one was not."""

    parameters: tuple[dict[str, Any], ...]
    tries: int
    last: str


@attrs.frozen(eq=False)
class Attempt:
    """What comes of parameters: whether the type takes them, and answers or an error."""

    parameters: dict[str, Any]
    error: Exception | None
    taken: bool
    answers: tuple[dict[str, Any], ...]


def answers(joint: JointType, fixture: Fixture) -> Iterator[dict[str, Any]]:
    """Settings and feasibility of both hands as plain data."""
    for hand in HANDS:
        yield solve(joint, fixture, hand).to_dict()


@attrs.frozen(eq=False)
class Subject:
    """cls as it came from its author: nothing about it is taken for granted.

    wanted: how many joints near the examples; anywhere: how many from the whole of every
    range. told: what has ended a check, and the first that it ended.

    Parameters are kept and joints are built anew whenever they are asked for: one that
    changes while it is solved must not reach the next check already changed.
    """

    noun: ClassVar[str] = "joints"

    cls: type[JointType]
    wanted: int = NEAR
    anywhere: int = WHOLE
    told: dict[str, str] = attrs.field(factory=dict, init=False, repr=False)

    @property
    def name(self) -> str:
        return str(getattr(self.cls, "name", self.cls.__name__))

    @cached_property
    def fields(self) -> tuple[FieldInfo, ...]:
        return describe(self.cls)

    @cached_property
    def fixtures(self) -> tuple[Fixture, Fixture]:
        """The demo fixture and the wide one."""
        return demo_fixture(), wide_fixture()

    @property
    def wide(self) -> Fixture:
        return self.fixtures[1]

    @cached_property
    def parameters(self) -> tuple[dict[str, Any], ...]:
        """Those of the worked examples; ValueError if there are none."""
        found = tuple(plain(e) for e in self.cls.examples() if type(e) is self.cls)
        if not found:
            raise ValueError("there is no worked example to try this on")
        return found

    @property
    def examples(self) -> tuple[JointType, ...]:
        """The worked examples that are joints of this type; ValueError if there are none."""
        return self._built(self.parameters)

    @property
    def near(self) -> tuple[JointType, ...]:
        """``wanted`` feasible joints near the examples, or fewer if the tries ran out."""
        return self._built(self.draws.parameters)

    @property
    def cases(self) -> tuple[JointType, ...]:
        """Examples and the joints near them."""
        return (*self.examples, *self.near)

    def _built(self, parameters: Iterable[dict[str, Any]]) -> tuple[JointType, ...]:
        return tuple(self.cls(**values) for values in parameters)

    @cached_property
    def draws(self) -> Draws:
        """The draws that ``near`` is made of."""
        rng = self._random(1)
        kept: list[dict[str, Any]] = []
        last, tries = "", 0
        while len(kept) < self.wanted and tries < TRIES * self.wanted:
            base = self.parameters[tries % len(self.parameters)]
            tries += 1
            values = {i.name: _near(i, base[i.name], rng) for i in self.fields}
            try:
                answer = solve(self.cls(**values), self.wide)
            except InputError as error:
                last = str(error)
                continue
            if answer.feasible:
                kept.append(values)
            else:
                bad = next(c for c in answer.checks if c.status == "fail")
                last = f"{bad.name}: {bad.because}"
        return Draws(tuple(kept), tries, last)

    @property
    def benches(self) -> Iterator[tuple[JointType, Fixture]]:
        """Every example on both fixtures, every joint near them on the wide one."""
        for example in self.examples:
            yield from ((example, fixture) for fixture in self.fixtures)
        yield from ((joint, self.wide) for joint in self.near)

    @cached_property
    def wild(self) -> tuple[Attempt, ...]:
        """What comes of parameters from anywhere in the ranges.

        ``anywhere`` of them are taken by the type, or fewer if the tries ran out.
        """
        rng = self._random(2)
        made: list[Attempt] = []
        taken = 0
        while taken < self.anywhere and len(made) < TRIES * self.anywhere:
            made.append(self._attempt({i.name: _anywhere(i, rng) for i in self.fields}))
            taken += made[-1].taken
        return tuple(made)

    @property
    def taken(self) -> tuple[JointType, ...]:
        """The joints from anywhere in the ranges that the type takes."""
        return self._built(a.parameters for a in self.wild if a.taken)

    @property
    def possible(self) -> tuple[JointType, ...]:
        """Those of them that are feasible on either hand, given room."""
        good = [a for a in self.wild if a.answers and all(x["feasible"] for x in a.answers)]
        return self._built(a.parameters for a in good)

    @cached_property
    def far(self) -> tuple[dict[str, Any], ...]:
        """Parameters of feasible joints that lie far from any example, half as many as ``wanted``
        or fewer if the tries ran out: one or two are drawn from all of their ranges.

        All at once hardly ever make a joint, see above; one alone often does.
        """
        rng, kept = self._random(4), list[dict[str, Any]]()
        for number in range(TRIES * self.wanted):
            if 2 * len(kept) >= self.wanted:
                break
            values = dict(self.parameters[number % len(self.parameters)])
            for info in rng.choice(np.array(self.fields, dtype=object), 1 + number % 2, False):
                values[info.name] = _anywhere(info, rng)
            attempt = self._attempt(values)
            if attempt.answers and all(x["feasible"] for x in attempt.answers):
                kept.append(values)
        return tuple(kept)

    def _attempt(self, values: dict[str, Any]) -> Attempt:
        try:
            joint = self.cls.from_dict(values)
        except Exception as error:  # a third party's class may raise anything at all
            return Attempt(values, error, False, ())
        try:
            return Attempt(values, None, True, tuple(answers(joint, self.wide)))
        except Exception as error:
            return Attempt(values, error, True, ())

    @cached_property
    def one_by_one(self) -> tuple[dict[str, Any], ...]:
        """The first example, and after it the same with one parameter changed, for each that can
        be changed without being refused."""
        rng, first = self._random(3), self.parameters[0]
        found = [first]
        for info in self.fields:
            for _ in range(TRIES):
                values = first | {info.name: _near(info, first[info.name], rng)}
                if values != first and self._attempt(values).error is None:
                    found.append(values)
                    break
        return tuple(found)

    def _random(self, salt: int) -> np.random.Generator:
        return np.random.default_rng([salt, zlib.crc32(self.name.encode())])


def _bounds(info: FieldInfo) -> tuple[float, float]:
    low = -_UNBOUNDED if info.low is None else info.low
    high = _UNBOUNDED if info.high is None else info.high
    # What lies nearer to an open end than a millionth of the range is below any rule.
    return (low + 1e-6 * (high - low) if info.above else low), high


def _near(info: FieldInfo, value: Any, rng: np.random.Generator) -> Any:
    if value is None or (not info.required and value == info.default and rng.random() < 0.5):
        return value
    if info.kind == "text":
        return value
    if info.kind not in ("number", "integer"):
        return _anywhere(info, rng)
    low, high = _bounds(info)
    if info.kind == "integer":
        return int(rng.integers(max(low, value - 1), min(high, value + 1) + 1))
    most = {"mm": 1.0, "deg": 3.0}.get(info.unit, np.inf)
    half = max(0.2 * abs(value), min(0.05 * (high - low), most))
    return float(rng.uniform(max(low, value - half), min(high, value + half)))


def _anywhere(info: FieldInfo, rng: np.random.Generator) -> Any:
    if not info.required and rng.random() < 0.5:
        return info.default
    if info.kind == "flag":
        return bool(rng.integers(2))
    if info.kind == "choice":
        return info.choices[int(rng.integers(len(info.choices)))]
    if info.kind == "text":
        return "x"
    low, high = _bounds(info)
    if info.kind == "integer":
        return int(rng.integers(int(low), int(high) + 1))
    # Near zero and at the ends is where things break; the middle is where they seldom do.
    place = float(rng.choice([0.0, 1.0, *rng.uniform(size=6)]))
    return float(low + place * (high - low))
