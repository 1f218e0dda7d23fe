"""The same work on several fixtures: what is feasible on which, with how much room.

Knows work and answers; changes nothing and searches nothing.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, Literal

import attrs

from jointgeo.checks.context import Context
from jointgeo.checks.envelope import greatest_tilt_deg
from jointgeo.errors import InputError
from jointgeo.fixture_changes.demands import Demand, demands, spots
from jointgeo.fixture_changes.work import Work
from jointgeo.fixtures.model import Fixture
from jointgeo.joints.check import Verdict, unanswered, worst

__all__ = [
    "Cell",
    "Change",
    "EnvelopePoint",
    "Envelopes",
    "compared",
    "envelope_of",
    "envelopes",
    "gains",
]

Change = Literal["gained", "lost", "same"]


@attrs.frozen
class Cell:
    """One work on one fixture. least: of each check the least margin of all setups, in the unit
    that ``units`` has for it; fails: the checks that do; setups: how many; not_stated: how many
    questions the fixture's file does not answer."""

    work: str
    fixture: str
    verdict: Verdict
    fails: tuple[str, ...]
    least: dict[str, float]
    units: dict[str, str]
    setups: int
    not_stated: int = 0

    @property
    def feasible(self) -> bool:
        return self.verdict != "fail"

    def to_dict(self) -> dict[str, Any]:
        return attrs.asdict(self) | {"fails": list(self.fails)}


def compared(works: Sequence[Work], fixtures: Sequence[Fixture]) -> tuple[Cell, ...]:
    """Every work on every fixture, work by work."""
    return tuple(_cell(work, fixture) for work in works for fixture in fixtures)


def _cell(work: Work, fixture: Fixture) -> Cell:
    answer = work.on(fixture)
    checks = getattr(answer, "every_check", None) or answer.checks
    least: dict[str, float] = {}
    units: dict[str, str] = {}
    for check in checks:
        if check.setup is not None and check.status != "not_stated":
            least[check.name] = min(least.get(check.name, check.margin), check.margin)
            units[check.name] = check.unit
    fails = tuple(dict.fromkeys(c.name for c in checks if c.status == "fail"))
    setups = len(spots(demands([answer]), fixture))
    verdict, asked = worst(checks), unanswered(checks)
    return Cell(work.name, fixture.name, verdict, fails, least, units, setups, asked)


@attrs.frozen
class Gain:
    """What a change of the fixture does to one work."""

    work: str
    change: Change
    before: Cell
    after: Cell

    def to_dict(self) -> dict[str, Any]:
        return {
            "work": self.work,
            "change": self.change,
            "before": self.before.to_dict(),
            "after": self.after.to_dict(),
        }


def gains(works: Sequence[Work], before: Fixture, after: Fixture) -> tuple[Gain, ...]:
    """Which of the works a change makes possible, and which it spoils."""
    out = []
    for work in works:
        old, new = _cell(work, before), _cell(work, after)
        change: Change = "same"
        if old.feasible != new.feasible:
            change = "gained" if new.feasible else "lost"
        out.append(Gain(work.name, change, old, new))
    return tuple(out)


@attrs.frozen
class EnvelopePoint:
    """Greatest tilt, in degrees, by fixture, for stock of one thickness; None where the whole range
    is free of the beam. stated: of each, whether its file says what beams it has; where it does
    not, None says nothing."""

    thickness_mm: float
    tilt_deg: tuple[float | None, ...]
    stated: tuple[bool, ...]


def envelope_of(
    answer: object, fixtures: Sequence[Fixture], thicknesses_mm: Sequence[float]
) -> tuple[EnvelopePoint, ...]:
    """How far the plate may tilt before stock of each thickness meets the beam, on each fixture,
    hung as the setup of ``answer`` that comes nearest to the beam on the first of them."""
    benches = _benches(answer, fixtures)
    return tuple(_point(benches, thick) for thick in thicknesses_mm)


@attrs.frozen
class Envelopes:
    """The same for every thickness, to be drawn: a curve for each of ``fixtures``.

    setup: the setup that they hold for, in words; thickness_mm, tilt_deg: its own on the first
    fixture, without the tilt's sign. points: by rising thickness, those asked for among them, and
    both sides of where a beam begins to limit a tilt. most_deg: where each fixture's tilt ends.
    """

    fixtures: tuple[Fixture, ...]
    setup: str
    thickness_mm: float
    tilt_deg: float
    asked: tuple[EnvelopePoint, ...]
    points: tuple[EnvelopePoint, ...]

    @property
    def most_deg(self) -> tuple[float, ...]:
        return tuple(_most_deg(f) for f in self.fixtures)

    def curve(self, number: int) -> list[tuple[float, float]]:
        """(thickness, greatest tilt) of that fixture; its whole range where no beam limits it."""
        most = self.most_deg[number]
        found = ((p.thickness_mm, p.tilt_deg[number]) for p in self.points)
        return [(thick, most if tilt is None else tilt) for thick, tilt in found]


#: Points of a curve besides those that are looked for, and how near to each other the two sides of
#: a bend are, mm: less than any drawing shows.
_POINTS, _NEAR_MM = 13, 1e-3
MOST_MM = 500.0


def envelopes(
    answer: object, fixtures: Sequence[Fixture], thicknesses_mm: Sequence[float] = ()
) -> Envelopes:
    """``envelope_of`` for every thickness from 1 mm to somewhat more than the work's own, what the
    clamp takes and what is asked for. InputError for a thickness beyond what can be drawn."""
    wrong = [t for t in thicknesses_mm if not 0 < t <= MOST_MM]
    if wrong:
        raise InputError.of("thickness_mm", "cannot be drawn", wrong[0], f"0 to {MOST_MM:g}", "mm")
    benches = _benches(answer, fixtures)
    first = benches[0]
    own = first.context.deep_mm
    opening = max(f.clamp.opening_mm - f.backing.thickness_mm for f in fixtures)
    most = max(own * 1.1, min(opening, own * 2.5), *thicknesses_mm, 2.0)
    most = 10.0 * math.ceil(most / 10.0)
    thick = {1.0 + (most - 1.0) * i / (_POINTS - 1) for i in range(_POINTS)} | set(thicknesses_mm)
    for bench in benches:
        thick |= set(bench.bend(sorted(thick)))
    return Envelopes(
        tuple(fixtures),
        first.setup,
        own,
        abs(first.context.setup.chosen.tilt_deg),
        tuple(_point(benches, t) for t in thicknesses_mm),
        tuple(_point(benches, t) for t in sorted(thick)),
    )


@attrs.frozen(eq=False)
class _Bench:
    """The setup that comes nearest to the beam, on one fixture. setup: its name."""

    setup: str
    context: Context

    def greatest(self, thick: float) -> float | None:
        """Greatest tilt of stock of that thickness; None where the whole range is free."""
        fixture = self.context.fixture
        most = _most_deg(fixture)
        found = [greatest_tilt_deg(self.context, b, thick, most) for b in fixture.fitted_beams]
        least = min(found, default=most + 1)
        return least if least <= most else None

    def bend(self, thick: Sequence[float]) -> tuple[float, ...]:
        """Both sides of the thickness from which on a beam limits the tilt, if there is one among
        these: thicker stock comes nearer to it."""
        limited = next((i for i, t in enumerate(thick) if self.greatest(t) is not None), 0)
        if limited == 0:
            return ()
        low, high = thick[limited - 1], thick[limited]
        while high - low > _NEAR_MM:
            middle = (low + high) / 2
            low, high = (middle, high) if self.greatest(middle) is None else (low, middle)
        return low, high


def _benches(answer: object, fixtures: Sequence[Fixture]) -> list[_Bench]:
    wanted = demands([answer])
    place = _nearest(wanted, fixtures[0])
    there = (spots(wanted, fixture)[place] for fixture in fixtures)
    return [_Bench(spot.name, spot.taken(0.0).context) for spot in there]


def _point(benches: Sequence[_Bench], thick: float) -> EnvelopePoint:
    stated = tuple(not bench.context.fixture.leaves_open("front_beam") for bench in benches)
    return EnvelopePoint(thick, tuple(bench.greatest(thick) for bench in benches), stated)


def _most_deg(fixture: Fixture) -> float:
    return max(fixture.tilt.max_deg, -fixture.tilt.min_deg)


def _nearest(wanted: Sequence[Demand], fixture: Fixture) -> int:
    margins = [s.taken(0.0).margins.get("front_beam") for s in spots(wanted, fixture)]
    return min(range(len(margins)), key=lambda i: 1e9 if (m := margins[i]) is None else m)
