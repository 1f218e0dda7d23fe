"""The same work on several fixtures: what is feasible on which, with how much room.

Knows work and answers; changes nothing and searches nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Literal

import attrs

from jointgeo.checks.envelope import greatest_tilt_deg
from jointgeo.fixture_changes.demands import Demand, demands, spots
from jointgeo.fixture_changes.work import Work
from jointgeo.fixtures.model import Fixture
from jointgeo.joints.check import Verdict, unanswered, worst

__all__ = ["Cell", "Change", "EnvelopePoint", "compared", "envelope_of", "gains"]

Change = Literal["gained", "lost", "same"]


@attrs.frozen
class Cell:
    """One work on one fixture. least: of each check, in its own unit, the least margin of all
    setups; fails: the checks that do; setups: how many; not_stated: how many questions the
    fixture's file does not answer."""

    work: str
    fixture: str
    verdict: Verdict
    fails: tuple[str, ...]
    least: dict[str, float]
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
    for check in checks:
        if check.setup is not None and check.status != "not_stated":
            least[check.name] = min(least.get(check.name, check.margin), check.margin)
    fails = tuple(dict.fromkeys(c.name for c in checks if c.status == "fail"))
    setups = len(spots(demands([answer]), fixture))
    verdict, asked = worst(checks), unanswered(checks)
    return Cell(work.name, fixture.name, verdict, fails, least, setups, asked)


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
    wanted = demands([answer])
    place = _nearest(wanted, fixtures[0])
    return tuple(
        EnvelopePoint(
            thick,
            tuple(_greatest(wanted, fixture, place, thick) for fixture in fixtures),
            tuple(not fixture.leaves_open("front_beam") for fixture in fixtures),
        )
        for thick in thicknesses_mm
    )


def _nearest(wanted: Sequence[Demand], fixture: Fixture) -> int:
    margins = [s.taken(0.0).margins.get("front_beam") for s in spots(wanted, fixture)]
    return min(range(len(margins)), key=lambda i: 1e9 if (m := margins[i]) is None else m)


def _greatest(wanted: Sequence[Demand], fixture: Fixture, place: int, thick: float) -> float | None:
    context = spots(wanted, fixture)[place].taken(0.0).context
    most = max(fixture.tilt.max_deg, -fixture.tilt.min_deg)
    found = [greatest_tilt_deg(context, b, thick, most) for b in fixture.fitted_beams]
    least = min(found, default=most + 1)
    return least if least <= most else None
