"""How much work a question may ask for, found out before any of it is done.

Knows the limits, a fixture's plain data, and how passes are counted; knows no joint type by name,
no HTTP. What grows by itself in proportion to its own text is bounded by the text's length; here
stands what grows faster: a beam is held against every body, every measured setting against all
others, and a joint's passes come of two numbers, however short they are.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from jointgeo.errors import InputError, Problem
from jointgeo.fixtures.model import Fixture
from jointgeo.joints.joint_type import JointType
from jointgeo.joints.stock import parts
from jointgeo.planning.amount import most_passes
from jointgeo_service.limits import BATCH_TIMES, PAIRS, PASSES, SETTINGS

__all__ = ["Budget", "of_fixture", "of_joint"]

_LISTS = ("test_cut", "test_groove", "test_spacing")


def of_fixture(data: Mapping[Any, Any]) -> dict[str, int]:
    """Pairs and measured settings of a fixture's plain data, as yet unread, by name.

    InputError, at the field, where one of them is beyond its limit.
    """
    beams, bodies = (_length(data, name) for name in ("front_beam", "body"))
    # Without a body a beam is still held against stock and plate.
    pairs = max(beams, 1) * max(bodies, 1)
    if pairs > PAIRS:
        given = f"{beams} times {bodies}, {pairs}"
        allowed = f"at most {PAIRS} front beams times bodies"
        raise InputError(Problem("body", "makes too many pairs with front_beam", given, allowed))
    lengths = {name: _length(data, name) for name in _LISTS}
    settings = sum(lengths.values())
    if settings > SETTINGS:
        longest = max(lengths, key=lambda name: lengths[name])
        allowed = f"at most {SETTINGS} measured settings of all kinds together"
        raise InputError(Problem(longest, "makes too many settings", str(settings), allowed))
    return {"pairs": pairs, "settings": settings}


def _length(data: Mapping[Any, Any], name: str) -> int:
    value = data.get(name)
    return len(value) if isinstance(value, list | tuple) else 0


def of_joint(joint: JointType, fixture: Fixture) -> int:
    """The passes of a joint at most; InputError where they are more than one question may ask."""
    count = most_passes(parts(joint.drawing), fixture)
    if count > PASSES:
        allowed = f"at most {PASSES:,} passes, reckoned with the narrowest cutter"
        problem = Problem("fixture.cutter", "makes too many passes", f"{count:,}", allowed)
        raise InputError(problem)
    return count


class Budget:
    """What is left for one batch: ``BATCH_TIMES`` what a single question may ask for."""

    _limits = {"pairs": PAIRS, "settings": SETTINGS, "passes": PASSES}  # noqa: RUF012  # constant
    _called = {  # noqa: RUF012  # constant
        "pairs": "front beams times bodies",
        "settings": "measured settings",
        "passes": "passes",
    }

    def __init__(self) -> None:
        self._left = {name: BATCH_TIMES * most for name, most in self._limits.items()}

    def spend(self, amounts: Mapping[str, int]) -> None:
        """Take an item's amounts off; InputError, a limit's name in it, where there is no more."""
        for name, amount in amounts.items():
            if amount > self._left[name]:
                what, most = self._called[name], BATCH_TIMES * self._limits[name]
                message = f"asks for more {what} than this batch has left"
                allowed = f"at most {most:,} {what} in a batch; ask for the rest in another"
                raise InputError(Problem("", message, f"{amount:,}", allowed))
        for name, amount in amounts.items():
            self._left[name] -= amount
