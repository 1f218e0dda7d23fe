"""One answer of a feasibility check: a number, its limit, the room left, and what to do.

Knows no other value of the library, so that joint types and solvers share it.
"""

from __future__ import annotations

import math
from typing import Any, Literal

import attrs

from jointgeo.errors import PluginError
from jointgeo.schema.fields import members

__all__ = ["Check", "Remedy", "Status", "at_least", "at_most", "worst"]

Status = Literal["pass", "caution", "fail"]
_RANK: dict[Status, int] = {"pass": 0, "caution": 1, "fail": 2}


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
    """margin is positive where there is room, in ``unit``, whichever way the limit points."""

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

    def as_dict(self) -> dict[str, Any]:
        out = members(self)
        out["remedies"] = [r.as_dict() for r in self.remedies]
        return {k: v for k, v in out.items() if not (k == "setup" and v is None)}


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


def worst(checks: tuple[Check, ...]) -> Status:
    """The worst status of all."""
    return max((c.status for c in checks), key=_RANK.__getitem__, default="pass")
