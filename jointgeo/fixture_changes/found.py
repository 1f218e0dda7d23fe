"""What a search for a change found: options with prices and margins, and what stands in the way.

Knows changes, needs and checks as values; searches nothing.
"""

from __future__ import annotations

from typing import Any

import attrs

from jointgeo.fixture_changes.changes import Undoes
from jointgeo.fixture_changes.needs import Need
from jointgeo.fixtures.model import Fixture
from jointgeo.joints.check import Check

__all__ = ["Curve", "Found", "Margin", "Option", "Point"]


@attrs.frozen
class Margin:
    """The room one check leaves in one setup, in the check's own ``unit``, before and after; None
    where it was, or is, not asked. Positive is room. before and after may belong to different
    clampings."""

    setup: str
    check: str
    unit: str
    before: float | None
    after: float | None

    @property
    def worse(self) -> bool:
        return (
            self.before is not None and self.after is not None and self.after < self.before - 1e-6
        )

    def to_dict(self) -> dict[str, Any]:
        return attrs.asdict(self) | {"worse": self.worse}


@attrs.frozen(eq=False)
class Option:
    """Changes that together are enough. fixture: with them made. margins: of every setup."""

    needs: tuple[Need, ...]
    fixture: Fixture
    margins: tuple[Margin, ...]

    @property
    def price(self) -> float:
        return sum(n.change.costs(n.amount) for n in self.needs)

    @property
    def undoes(self) -> Undoes:
        """What has to be done again afterwards, the worst of all its changes."""
        order: tuple[Undoes, ...] = ("nothing", "the zero of that axis", "the calibration")
        return max((n.change.of.undoes for n in self.needs), key=order.index, default="nothing")

    @property
    def worse(self) -> tuple[Margin, ...]:
        """Where less room is left than before."""
        return tuple(m for m in self.margins if m.worse)

    @property
    def says(self) -> str:
        return " and ".join(n.change.words(n.amount) for n in self.needs) or "nothing"

    def to_dict(self) -> dict[str, Any]:
        return {
            "says": self.says,
            "price": self.price,
            "changes": [need_dict(n) for n in self.needs],
            "to_do_again": self.undoes,
            "margins": [m.to_dict() for m in self.margins],
        }


def need_dict(need: Need) -> dict[str, Any]:
    """Plain data of one change."""
    unit = need.change.of.unit
    name = f"amount_{unit}" if unit else "made"
    value: Any = need.amount if unit else True
    return {
        "change": need.change.kind,
        "target": need.change.target,
        name: value,
        "found": need.method,
        "says": need.change.words(need.amount),
    }


@attrs.frozen
class Point:
    """So much of the first change asks for so much of the second."""

    first: float
    second: float
    price: float


@attrs.frozen(eq=False)
class Curve:
    """What two changes trade for each other. points: by rising amount of the first; only those
    that are enough. says: how it was found."""

    first: str
    second: str
    unit_first: str
    unit_second: str
    points: tuple[Point, ...]
    says: str

    def to_dict(self) -> dict[str, Any]:
        return {
            "first": self.first,
            "second": self.second,
            "found": self.says,
            "points": [
                {f"first_{self.unit_first}": p.first, f"second_{self.unit_second}": p.second}
                | {"price": p.price}
                for p in self.points
            ],
        }


@attrs.frozen(eq=False)
class Found:
    """The answer. options: the cheapest first; empty where nothing that is allowed helps.

    no_fixture_cures: checks that fail whatever the fixture. short: checks that fall short now;
    untouched: those of them that no allowed change acts on. wedges: pairs that stand in for what
    an axis lacks, without rebuilding, as its check says; the rest must hold besides.
    cautions: checks that are one now; no change is looked for on their account. unstated: checks
    that the fixture's file does not say enough for, so that nobody can tell. lifted: what
    would be enough if the bound of a change were lifted. tried: plans looked at; whole: the search
    was not cut short.
    """

    fixture: Fixture
    room_mm: float
    options: tuple[Option, ...]
    no_fixture_cures: tuple[Check, ...]
    short: tuple[str, ...] = ()
    untouched: tuple[str, ...] = ()
    wedges: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    unstated: tuple[str, ...] = ()
    lifted: tuple[Option, ...] = ()
    curves: tuple[Curve, ...] = ()
    tried: int = 0
    whole: bool = True

    @property
    def feasible_now(self) -> bool:
        """Nothing is known to fall short of the room wanted on the fixture as it is."""
        return not self.short

    @property
    def feasible_after(self) -> bool:
        """Everything is feasible with the cheapest option made, or without any; False where a check
        fails whatever the fixture."""
        return (self.feasible_now or bool(self.options)) and not self.no_fixture_cures

    @property
    def best(self) -> Option | None:
        return self.options[0] if self.options else None

    def to_dict(self) -> dict[str, Any]:
        return {
            "fixture": self.fixture.name,
            "room_mm": self.room_mm,
            "feasible_now": self.feasible_now,
            "feasible_after": self.feasible_after,
            "falls_short": list(self.short),
            "options": [o.to_dict() for o in self.options],
            "wedge_pairs": list(self.wedges),
            "cautions_now": list(self.cautions),
            "not_stated_now": list(self.unstated),
            "no_change_acts_on": list(self.untouched),
            "no_fixture_cures": [c.as_dict() for c in self.no_fixture_cures],
            "if_a_bound_were_lifted": [o.to_dict() for o in self.lifted],
            "trade_offs": [c.to_dict() for c in self.curves],
            "plans_tried": self.tried,
            "whole": self.whole,
        }
