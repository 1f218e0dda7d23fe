"""Settings of many joints at once: one joint whose numbers are columns.

Knows settings and the joint's contract; knows no joint type by name and no JSON.

Theory (see ``columns``). Joints of one type that differ in their numbers only are made one
joint, whose every such number is a column, and that is solved like any other. Where it raises
``Parted``, its joints are parted and either half is solved anew. The answer is the settings as
``Settings.to_dict`` gives them, with columns for numbers, marks in texts, and ``Each`` and
``Ranked`` where the rows have lists or orders of their own: a *sheaf*, to be written row by
row.

Only a type that says it ``takes_columns`` is solved so. Where its code insists on single numbers
after all, or a joint is at fault, there is no sheaf: the joints are left to be solved one by
one, which also says what is wrong and with which. And no sheaf is handed out that one of its
joints, solved alone, does not bear out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache
from typing import Any, TypeVar, cast

import attrs
import numpy as np

from jointgeo.fixtures.model import Fixture
from jointgeo.geometry.columns import Column, Each, Parted, Ranked, Texts, texts
from jointgeo.joints.joint_type import JointType
from jointgeo.schema.fields import describe
from jointgeo.solution.settings import Hand, solve_settings

__all__ = ["FEW", "Sheaf", "alike", "difference", "settings_together"]

J = TypeVar("J", bound=JointType)

#: mm or degrees. Functions of arrays round the last digit of a sine differently, and lengths of
#: metres carry it on.
SAME = 1e-7

#: Fewer joints than these are quicker one by one: what a column costs beside its rows is about
#: thirty joints' time.
FEW = 32


@attrs.frozen(eq=False)
class Sheaf:
    """The answers of several joints. places: which of those given; answer: ``to_dict`` with
    columns, in the order of ``places``; texts: what its marks stand for."""

    places: tuple[int, ...]
    answer: dict[str, Any]
    texts: Texts

    def row(self, number: int) -> dict[str, Any]:
        """The answer of ``places[number]`` alone, as ``Settings.to_dict`` gives it."""
        found: dict[str, Any] = self._of_row(self.answer, number)
        return found

    def _of_row(self, value: Any, number: int) -> Any:
        if isinstance(value, Column):
            return value[number].item()
        if isinstance(value, Each):
            return value[number]
        if isinstance(value, Ranked):
            ranks = [[self._of_row(part, number) for part in key] for key in value.keys]
            order = sorted(range(len(value)), key=ranks.__getitem__)
            return [self._of_row(value[i], number) for i in order]
        if isinstance(value, dict):
            return {name: self._of_row(member, number) for name, member in value.items()}
        if isinstance(value, (list, tuple)):
            return [self._of_row(item, number) for item in value]
        if isinstance(value, str):
            pieces = self.texts.pieces(value)
            return "".join(p if isinstance(p, str) else p[number] for p in pieces)
        return value


def alike(joint: JointType) -> tuple[Any, ...]:
    """What joints of one sheaf must share: the type, and all but numbers."""
    return type(joint), *[getattr(joint, name) for name in _shared(type(joint))]


@lru_cache(maxsize=256)
def _shared(cls: type[JointType]) -> tuple[str, ...]:
    return tuple(i.name for i in describe(cls) if i.kind != "number")


def settings_together(
    joints: Sequence[JointType],
    fixture: Fixture,
    hand: Hand = "as_drawn",
    *,
    few: int = FEW,
    trusted: bool = False,
) -> Iterator[Sheaf]:
    """Sheaves of all joints that could be solved together; the rest is for ``solve_settings``.

    joints: all of them ``alike``. few: fewer than these are left, at least 2. trusted: no sheaf
    is held against one of its joints alone.
    """
    waiting = [tuple(range(len(joints)))] if joints and type(joints[0]).takes_columns else []
    while waiting:
        places = waiting.pop()
        if len(places) < max(few, 2):
            continue
        try:
            with texts() as said, np.errstate(divide="raise", over="raise", invalid="raise"):
                whole = _joined([joints[p] for p in places])
                answer = solve_settings(whole, fixture, hand).to_dict()
        except Parted as parted:
            mask, rows = parted.mask, np.array(places)
            # What is no number is not even equal to itself, and parts a batch from nothing.
            if mask.shape == rows.shape and mask.any() and not mask.all():
                waiting += [tuple(rows[~mask].tolist()), tuple(rows[mask].tolist())]
        # Whatever a type does that no column can, it can do to single numbers; what is wrong
        # with one of the joints is told when that one is solved.
        except Exception:  # noqa: S112  # no fault yet
            continue
        else:
            sheaf = Sheaf(places, answer, said)
            if trusted or _holds(sheaf, joints, fixture, hand):
                yield sheaf


def _holds(sheaf: Sheaf, joints: Sequence[JointType], fixture: Fixture, hand: Hand) -> bool:
    """Whether the middle row is what that joint gives alone. A type may do with a column what it
    never meant, as where numpy takes one for an array that is as long by chance. The middle one,
    since a sweep's first and last row are the least and the greatest too."""
    row = len(sheaf.places) // 2
    try:
        alone = solve_settings(joints[sheaf.places[row]], fixture, hand).to_dict()
        return not difference(sheaf.row(row), alone)
    except Exception:  # it is told when that joint is solved alone
        return False


def difference(one: Any, other: Any, where: str = "settings") -> str:
    """Where two answers differ by more than rounding, and how; "" for nowhere."""
    if isinstance(one, dict) and isinstance(other, dict) and list(one) == list(other):
        pairs = ((one[k], other[k], f"{where}.{k}") for k in one)
    elif isinstance(one, (list, tuple)) and isinstance(other, (list, tuple)):
        if len(one) != len(other):
            return f"{where} has {len(one)} items together, {len(other)} alone"
        both = enumerate(zip(one, other, strict=True))
        pairs = ((a, b, f"{where}[{i}]") for i, (a, b) in both)
    else:
        same = one == other
        if isinstance(one, float) and isinstance(other, (float, int)):
            same = abs(one - other) <= SAME
        return "" if same else f"{where} is {one!r} together, {other!r} alone"
    return next((found for found in (difference(*pair) for pair in pairs) if found), "")


def _joined(joints: Sequence[J]) -> J:
    """One joint with columns for all numbers in which these differ. Its class's own checks are
    passed over: every one of the joints has passed them."""
    cls: Any = type(joints[0])
    whole = object.__new__(cls)
    for field in attrs.fields(cls):
        values = [getattr(j, field.name) for j in joints]
        same = all(v == values[0] for v in values)
        object.__setattr__(whole, field.name, values[0] if same else Column.of(values))
    return cast(J, whole)
