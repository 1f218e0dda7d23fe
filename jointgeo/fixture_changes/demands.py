"""What has to be cut, and how each of its clampings stands on some fixture.

Knows answers (of a joint, a job, a piece), plans and the library's checks; changes nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cached_property
from typing import Protocol

import attrs

from jointgeo.checks.context import Context
from jointgeo.checks.wood import wood_checks
from jointgeo.errors import InputError
from jointgeo.fixtures.model import Fixture
from jointgeo.joints.check import Check
from jointgeo.joints.sides import clamped_sides
from jointgeo.joints.stock import Part
from jointgeo.planning.end_plan import every_clamping
from jointgeo.solution.end import EndSolution, can_fail

__all__ = [
    "ROOM",
    "Answer",
    "Clamped",
    "Demand",
    "Spot",
    "cautions",
    "demands",
    "own_faults",
    "spots",
]

#: Checks whose margin is room between two bodies, for which a person may want more than none.
ROOM = frozenset({"front_beam", "bodies"})


class Answer(Protocol):
    """Of a joint, a job or a piece: whatever has checks, the ends' among them."""

    @property
    def checks(self) -> tuple[Check, ...]: ...


@attrs.frozen(eq=False)
class Demand:
    """One end to be cut. other_allowance_mm: what the bar's other end needs beyond its datum."""

    name: str
    part: Part
    other_allowance_mm: float


def demands(answers: Iterable[object]) -> tuple[Demand, ...]:
    """Every end that these answers cut; InputError where there is none."""
    found = []
    for answer in answers:
        for end in _ends(answer):
            if end.setups:
                other = end.blank_mm - end.plan.allowance_mm - end.part.length_mm
                uses = ", ".join(dict.fromkeys(f"{u.member}, {u.end} end" for u in end.uses))
                found.append(Demand(uses, end.part, other))
    if not found:
        raise InputError.of("answers", "cut nothing on a fixture", None, "a joint, job or piece")
    return tuple(found)


def _ends(answer: object) -> Sequence[EndSolution]:
    ends: Sequence[EndSolution] | None = getattr(answer, "settings", None)
    return ends if isinstance(ends, tuple) else answer.ends  # type: ignore[attr-defined]


def own_faults(answers: Iterable[object]) -> tuple[Check, ...]:
    """Checks that fail whatever the fixture: of joint types, of the piece, of the wood."""
    found: list[Check] = []
    for answer in answers:
        checks: tuple[Check, ...] = getattr(answer, "every_check", None) or answer.checks  # type: ignore[attr-defined]
        found += [c for c in checks if c.setup is None and c.status == "fail"]
        for end in _ends(answer):
            wood = wood_checks(end.plan) if end.setups else ()
            found += [c.of(end.part.name) for c in wood if c.status == "fail"]
    return tuple({(c.name, c.part): c for c in found}.values())


def cautions(answers: Iterable[object]) -> tuple[str, ...]:
    """Names of the checks that are a caution as it is; they keep nothing from being feasible."""
    found: list[Check] = []
    for answer in answers:
        found += getattr(answer, "every_check", None) or answer.checks  # type: ignore[attr-defined]
    return tuple(sorted({c.name for c in found if c.status == "caution"}))


@attrs.frozen(eq=False, slots=False)
class Clamped:
    """One clamping of one setup on one fixture."""

    context: Context

    @cached_property
    def checks(self) -> tuple[Check, ...]:
        """Those that depend on the clamping and can fail."""
        return can_fail(self.context.fixture, self.context.plan, self.context.setup)

    @property
    def _told(self) -> tuple[Check, ...]:
        return tuple(c for c in self.checks if c.status != "not_stated")

    @property
    def unstated(self) -> tuple[str, ...]:
        """Names of the checks that the fixture's file does not say enough for."""
        return tuple(dict.fromkeys(c.name for c in self.checks if c.status == "not_stated"))

    @property
    def against_plate(self) -> str:
        """The marked side on the plate."""
        chosen = self.context.setup.chosen
        return clamped_sides(chosen.side, self.context.plan.part.x_from)["plate"]

    def short(self, room_mm: float) -> dict[str, float]:
        """Checks that do not hold, or leave less than the room wanted, and by how much, in the
        check's unit; the worst of each name. What is not stated is not known to fall short."""
        out: dict[str, float] = {}
        for check in self._told:
            wanted = room_mm if check.name in ROOM else 0.0
            if check.status == "fail" or (check.name in ROOM and check.margin < wanted - 1e-9):
                by = max(wanted - check.margin, 0.0)
                out[check.name] = max(out.get(check.name, 0.0), by)
        return out

    @property
    def margins(self) -> dict[str, float]:
        """The least margin of each check, in its unit; of what is not stated there is none."""
        out: dict[str, float] = {}
        for check in self._told:
            out[check.name] = min(out.get(check.name, check.margin), check.margin)
        return out

    @property
    def units(self) -> dict[str, str]:
        """The unit of each check's margin."""
        return {check.name: check.unit for check in self._told}


@attrs.frozen(eq=False, slots=False)
class Spot:
    """One setup of one end on one fixture, every way to clamp it, the preferred first."""

    demand: Demand
    number: int
    clampings: tuple[Clamped, ...]

    @property
    def name(self) -> str:
        return f"{self.demand.name}, clamping {self.number}"

    def taken(self, room_mm: float) -> Clamped:
        """The first that falls short of nothing, else the preferred one."""
        good = (c for c in self.clampings if not c.short(room_mm))
        return next(good, self.clampings[0])


def spots(wanted: Iterable[Demand], fixture: Fixture) -> tuple[Spot, ...]:
    """Every setup of every end on that fixture."""
    out = []
    for demand in wanted:
        setups = every_clamping(demand.part, fixture, demand.other_allowance_mm)
        for number, plans in enumerate(setups, 1):
            clampings = tuple(Clamped(Context(fixture, p, p.setups[-1])) for p in plans)
            out.append(Spot(demand, number, clampings))
    return tuple(out)
