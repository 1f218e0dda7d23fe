"""Does the piece close: the last gap round every closed frame, and what each joint must give.

Knows ties, frames, what is added up of them, and uncertainties; writes no text (``words`` does).

Expanded uncertainties are at k = 2, about 95 %. Of a gap in two or three directions the worst one
is taken last. Turns are counted; where a mis-set angle also shifts a shoulder, because its trim is
measured from the lowest corner, is not. The first setup of an end is counted: it makes the
shoulder; what a second one is off opens the narrow shoulders and is judged at the joint.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property
from math import degrees, sqrt
from typing import Any

import attrs
import numpy as np

from jointgeo.errors import InputError, shown
from jointgeo.fixtures.model import Fixture
from jointgeo.geometry.arrays import Array
from jointgeo.geometry.vectors import Vec
from jointgeo.pieces.closing.frames import Step, closed_frames
from jointgeo.pieces.closing.hint import best_turned_over
from jointgeo.pieces.closing.spread import Spread, spread
from jointgeo.pieces.closing.sums import DrawnUp, crossed, last_gap, last_turn, turns_of
from jointgeo.pieces.closing.ties import KINDS, Tie
from jointgeo.schema.fields import members
from jointgeo.uncertainty.combine import COVERAGE

__all__ = ["Closing", "Gap", "Giving", "Hint", "LastGap", "Long", "MisSet", "TurnedOver"]

WORTH = 0.5  # of what a joint must give; a hint that saves less is not given


@attrs.frozen
class Gap:
    """opening_mm: across the faces that should meet; offset_mm: along them; turn_deg: of the one
    bar against the other."""

    opening_mm: float
    offset_mm: float
    turn_deg: float


@attrs.frozen
class LastGap:
    """A closed frame glued one joint after the other, every one closed tight but the last.

    bars: round it. joint: the last one, where the gap may be widest. common: expanded uncertainty
    of what all settings share; random: of what is new at each; total: both.
    """

    bars: tuple[str, ...]
    joint: str
    common: Gap
    random: Gap
    total: Gap


@attrs.frozen
class Giving:
    """What one joint must give if the whole piece is drawn up at once, expanded; opening_mm: what
    that opens over its shoulder; limit_mm: the glue line."""

    joint: str
    name: str
    common_deg: float
    random_deg: float
    total_deg: float
    opening_mm: float
    limit_mm: float

    @property
    def closes(self) -> bool:
        return self.opening_mm <= self.limit_mm


@attrs.frozen
class Long:
    """Lengths round a frame: how far apart its last joint is for each millimetre that every bar is
    too long between its two cut ends, and that any single one is."""

    bars: tuple[str, ...]
    all_mm: float
    single_mm: float


@attrs.frozen
class TurnedOver:
    """An end, and the side that it is to lie on the plate with."""

    bar: str
    end: str
    against_plate: str


@attrs.frozen
class Hint:
    """Ends to clamp the other way; the most that a joint must give by what all settings share, and
    what it is then."""

    ends: tuple[TurnedOver, ...]
    before_deg: float
    after_deg: float


@attrs.frozen
class MisSet:
    """The same for errors of a given size, alike at every cut end: magnitudes, not uncertainties.

    gaps: of every frame at each of its joints, {name of the last one: Gap}; gives_deg: what each
    joint must give, in the order of the joints.
    """

    gaps: tuple[Mapping[str, Gap], ...]
    gives_deg: tuple[float, ...]


@attrs.frozen(eq=False, slots=False)
class Closing:
    """ties: every joint of a piece, on one fixture."""

    ties: tuple[Tie, ...]
    fixture: Fixture

    @cached_property
    def frames(self) -> tuple[tuple[Step, ...], ...]:
        """Every closed frame, as numbers of joints."""
        return closed_frames([(t.bar, t.mate) for t in self.ties])

    @cached_property
    def drawn(self) -> DrawnUp:
        return DrawnUp(self.ties)

    @cached_property
    def spread(self) -> Spread:
        return spread(self.ties, self.fixture)

    @cached_property
    def last(self) -> tuple[LastGap, ...]:
        """Of every closed frame."""
        turns = turns_of(self.ties)
        return tuple(self._last(frame, turns) for frame in self.frames)

    @cached_property
    def drawn_up(self) -> tuple[Giving, ...]:
        """Of every joint."""
        gives = self.drawn.of_turns @ turns_of(self.ties)
        return tuple(self._giving(i, gives, self.spread) for i in range(len(self.ties)))

    @property
    def closes(self) -> bool:
        """Whether every joint does if all are drawn up at once."""
        return all(g.closes for g in self.drawn_up)

    @cached_property
    def lengths(self) -> tuple[Long, ...]:
        """Of every closed frame."""
        return tuple(self._long(frame) for frame in self.frames)

    @cached_property
    def hint(self) -> Hint | None:
        """Where clamping some ends the other way at least halves what joints must give."""
        common = np.diag(self.spread.common).reshape(-1, len(KINDS))
        roots = np.sqrt(common.max(axis=0, initial=0.0))
        over = best_turned_over(self.ties, self.drawn.of_turns, roots)
        if not over:
            return None
        before = max(g.common_deg for g in self.drawn_up)
        gives = self.drawn.of_turns @ turns_of(self.ties, over)
        known = spread(self.ties, self.fixture, over)
        after = max(self._giving(i, gives, known).common_deg for i in range(len(self.ties)))
        if after > WORTH * before:
            return None
        ends = (e for t in self.ties for e in t.ends if e.name in over)
        return Hint(tuple(TurnedOver(e.bar, e.end, e.ways[1].plate) for e in ends), before, after)

    def mis_set(self, errors: Mapping[str, float]) -> MisSet:
        """errors: {"swivel_deg" or another of ``KINDS``: how much every setting is off}."""
        turned = self._turned(errors)
        gaps = []
        for frame in self.frames:
            found = {}
            for number, _ in frame:
                tie = self.ties[number]
                at = [last_gap(self.ties, frame, p) @ turned for p in tie.points]
                turn = last_turn(len(self.ties), frame) @ turned
                found[tie.name] = _gap(tie, at, turn)
            gaps.append(found)
        gives = (self.drawn.of_turns @ turned).reshape(-1, 3)
        return MisSet(tuple(gaps), tuple(degrees(float(np.linalg.norm(g))) for g in gives))

    def around(
        self,
        frame: Sequence[Step],
        errors: Mapping[str, float],
        points: Iterable[tuple[float, float, float]],
    ) -> tuple[float, float]:
        """The greatest gap (mm) of any frame at points of the room, and its turn (deg), for errors
        alike at every cut end, to first order."""
        turned = self._turned(errors)
        gaps = [last_gap(self.ties, frame, Vec(*p)) @ turned for p in points]
        turn = last_turn(len(self.ties), frame) @ turned
        most = max((float(np.linalg.norm(g)) for g in gaps), default=0.0)
        return most, degrees(float(np.linalg.norm(turn)))

    def to_dict(self) -> dict[str, Any]:
        """Plain data, mm and degrees; expanded uncertainties at the coverage factor stated."""
        return {
            "coverage_factor": COVERAGE,
            "closes": self.closes,
            "frames": [
                {
                    "bars": list(last.bars),
                    "last_joint": last.joint,
                    **{k: members(getattr(last, k)) for k in ("common", "random", "total")},
                    "all_longer_by_1_mm": long.all_mm,
                    "one_longer_by_1_mm": long.single_mm,
                }
                for last, long in zip(self.last, self.lengths, strict=True)
            ],
            "drawn_up": [{**members(g), "closes": g.closes} for g in self.drawn_up],
            "turn_over": None if self.hint is None else _hint(self.hint),
        }

    # Worked out -----------------------------------------------------------------------

    def _turned(self, errors: Mapping[str, float]) -> Array:
        """ω of all joints, (3 T,), radians."""
        for name in errors:
            if name not in KINDS:
                raise InputError.of(f"errors.{name}", "is no error of a setting", shown(name))
        off = np.array([errors.get(k, 0.0) for k in KINDS])
        turns = turns_of(self.ties)
        return np.asarray(turns @ np.tile(off, turns.shape[1] // len(KINDS)))

    def _last(self, frame: tuple[Step, ...], turns: Array) -> LastGap:
        found: list[LastGap] = []
        for number, _ in frame:
            tie = self.ties[number]
            at = [last_gap(self.ties, frame, p) @ turns for p in tie.points]
            turn = last_turn(len(self.ties), frame) @ turns
            known = self.spread.common, self.spread.random
            gaps = (_expanded(tie, at, turn, c) for c in (*known, known[0] + known[1]))
            found.append(LastGap(self._round(frame), tie.name, *gaps))
        worst = max(g.total.opening_mm for g in found)
        # The first of those that are as wide, whatever the rounding.
        return next(g for g in found if g.total.opening_mm >= worst * (1.0 - 1e-9))

    def _round(self, frame: Iterable[Step]) -> tuple[str, ...]:
        bars = []
        for number, sense in frame:
            tie = self.ties[number]
            bars.append(tie.bar if sense > 0 else tie.mate)
        return tuple(bars)

    def _giving(self, number: int, gives: Array, known: Spread) -> Giving:
        tie, rows = self.ties[number], gives[3 * number : 3 * number + 3]
        common, random = (_widest(rows, c) for c in (known.common, known.random))
        both = known.common + known.random
        opens = [_across(tie) @ -crossed(p - tie.middle) @ rows for p in tie.points]
        return Giving(
            tie.joint,
            tie.name,
            degrees(common),
            degrees(random),
            degrees(_widest(rows, both)),
            max(_widest(o, both) for o in opens),
            self.fixture.practice.glue_line_mm,
        )

    def _long(self, frame: Sequence[Step]) -> Long:
        """A bar with one joint of the frame at its ends counts half, too long at that end."""
        every: list[Vec] = []
        by_bar: dict[str, Vec] = {}
        for number, sense in frame:
            for end in self.ties[number].ends:
                half = end.grain * (sense * end.sense / 2)
                every.append(half)
                by_bar[end.bar] = by_bar.get(end.bar, Vec(0.0, 0.0, 0.0)) + half
        whole = sum(every, Vec(0.0, 0.0, 0.0))
        return Long(
            self._round(frame), whole.length, max([0.0, *(v.length for v in by_bar.values())])
        )


def _across(tie: Tie) -> Array:
    """Orthonormal directions in which the joint gapes, as rows."""
    q, _ = np.linalg.qr(np.array(tie.opens).T)
    return np.asarray(q.T)


def _gap(tie: Tie, at: Sequence[Array], turn: Array) -> Gap:
    rows = _across(tie)
    out = [rows @ g for g in at]
    along = [g - rows.T @ o for g, o in zip(at, out, strict=True)]
    opening, offset = (max(float(np.linalg.norm(v)) for v in found) for found in (out, along))
    return Gap(opening, offset, degrees(float(np.linalg.norm(turn))))


def _expanded(tie: Tie, at: Sequence[Array], turn: Array, covariance: Array) -> Gap:
    rows = _across(tie)
    out = [rows @ g for g in at]
    along = [g - rows.T @ o for g, o in zip(at, out, strict=True)]
    opening, offset = (max(_widest(v, covariance) for v in found) for found in (out, along))
    return Gap(opening, offset, degrees(_widest(turn, covariance)))


def _widest(linear: Array, covariance: Array) -> float:
    """Expanded uncertainty in the worst direction of what is ``linear`` in the errors."""
    spread_ = linear @ covariance @ linear.T
    most = float(np.linalg.eigvalsh(spread_).max(initial=0.0)) if spread_.size else 0.0
    return COVERAGE * sqrt(max(most, 0.0))


def _hint(hint: Hint) -> dict[str, Any]:
    return {**members(hint), "ends": [members(e) for e in hint.ends]}
