"""One answer of a feasibility check: a number, its limit, the room left, and what to do.

Knows no other value of the library, so that joint types and solvers share it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any, Literal

import attrs

from jointgeo.errors import PluginError
from jointgeo.schema.fields import members

__all__ = [
    "VERDICT_WORDS",
    "Check",
    "Remedy",
    "Status",
    "Verdict",
    "at_least",
    "at_most",
    "list_not_stated",
    "not_stated",
    "questions",
    "unanswered",
    "worst",
    "worst_failing",
]

Verdict = Literal["pass", "caution", "fail"]
#: not_stated: the fixture file does not say what is needed to tell; it is never a pass.
Status = Literal["pass", "caution", "fail", "not_stated"]
#: The same as a person reads it; whether parts go together is another question.
VERDICT_WORDS: dict[Verdict, str] = {
    "pass": "feasible",
    "caution": "feasible with cautions",
    "fail": "NOT FEASIBLE",
}
_RANK: dict[Verdict, int] = {"pass": 0, "caution": 1, "fail": 2}


@attrs.frozen
class Remedy:
    """Something to change.

    do: a short name for programs, e.g. ``move_beam_out``.
    says: one sentence for a person, with its numbers.
    amounts: the numbers again, under names that end in their unit.
    """

    do: str
    says: str
    amounts: dict[str, Any] = attrs.field(factory=dict)

    def as_dict(self) -> dict[str, Any]:
        return {"do": self.do, "says": self.says, **self.amounts}


@attrs.frozen
class Check:
    """margin is positive where there is room, in ``unit``, whichever way the limit points.

    Where the status is not_stated no limit is known: limit is the value again and margin 0.
    """

    name: str
    value: float
    limit: float
    margin: float
    unit: str
    status: Status
    because: str
    remedies: tuple[Remedy, ...] = ()
    part: str = ""
    setup: int | None = None

    def __attrs_post_init__(self) -> None:
        for number in (self.value, self.limit, self.margin):
            if not math.isfinite(number):
                raise PluginError(f"check {self.name}: value, limit and margin must be finite")

    def of(self, part: str, setup: int | None = None) -> Check:
        """The same of that part and setup; what ``attrs.evolve`` gives in a fifth of its time."""
        number = self.value, self.limit, self.margin, self.unit
        return Check(self.name, *number, self.status, self.because, self.remedies, part, setup)

    @property
    def finding(self) -> tuple[Status, str, str]:
        """Equal for checks of several parts that are told as one."""
        return self.status, self.name, self.because

    def as_dict(self) -> dict[str, Any]:
        out = members(self)
        out["remedies"] = [r.as_dict() for r in self.remedies]
        if self.setup is None:
            del out["setup"]
        return out


def _check(
    name: str, value: float, limit: float, margin: float, unit: str, because: str, short: Status
) -> Check:
    # A margin of rounding size is no finding: 1e-9 mm or degree is far below any setting.
    ok = margin >= -1e-9
    return Check(name, value, limit, margin + 0.0, unit, "pass" if ok else short, because)


def at_most(
    name: str, value: float, limit: float, unit: str, because: str, *, short: Status = "fail"
) -> Check:
    """``value`` must not pass ``limit``; ``short`` is the status where it does."""
    return _check(name, float(value), float(limit), float(limit - value), unit, because, short)


def at_least(
    name: str, value: float, limit: float, unit: str, because: str, *, short: Status = "fail"
) -> Check:
    """``value`` must reach ``limit``; ``short`` is the status where it does not."""
    return _check(name, float(value), float(limit), float(value - limit), unit, because, short)


def not_stated(name: str, value: float, unit: str, keys: Sequence[str], because: str) -> Check:
    """What the fixture file does not say enough about.

    keys: those that it lacks, dotted. because: what they would decide.
    """
    says = f"state {' and '.join(keys)} in the fixture file"
    remedy = Remedy("state_keys", says, {"keys": list(keys)})
    text = f"the fixture file does not state {' and '.join(keys)}: {because}"
    return Check(name, float(value), float(value), 0.0, unit, "not_stated", text, (remedy,))


def list_not_stated(
    name: str, value: float, unit: str, lists: Sequence[str], because: str
) -> Check:
    """``not_stated`` of lists of tables that the fixture file leaves open, with what to write."""
    write = " and ".join(
        f"[[{key}]] tables, or {key} = [] above the first table if there is none" for key in lists
    )
    return not_stated(name, value, unit, lists, f"{because}; write {write}")


def worst(checks: Iterable[Check]) -> Verdict:
    """The worst of all that could be told; what is not stated is counted by ``unanswered``."""
    told = (c.status for c in checks if c.status != "not_stated")
    return max(told, key=_RANK.__getitem__, default="pass")


def worst_failing(checks: Iterable[Check]) -> Check | None:
    """Of those that fail, the one that is short by the greatest share of what it measures, whatever
    its unit; None where none fails."""
    fails = [c for c in checks if c.status == "fail"]
    return min(fails, key=lambda c: c.margin / max(abs(c.value), abs(c.limit), 1e-9), default=None)


def unanswered(checks: Iterable[Check]) -> int:
    """How many questions the fixture file leaves open: each counts once, in however many setups."""
    return len({c.name for c in checks if c.status == "not_stated"})


def questions(count: int) -> str:
    """What stands behind a verdict: ``; 3 questions the fixture file does not answer``, or ""."""
    if not count:
        return ""
    return f"; {count} question{'s' if count > 1 else ''} the fixture file does not answer"
