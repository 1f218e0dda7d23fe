"""The items of a batch: each answered by itself, those that are alike worked out together.

Knows the questions, jointgeo's sheaves and JSON; knows no joint type by name, no HTTP.

Theory. Every item is read first. Settings of joints that differ in their numbers alone, on one
fixture, are solved as one joint with columns (``solution.together``); each row is that item's
answer. What made no sheaf, and every question for feasibility, is answered one by one, as a
single request would be. An item at fault has its own problem and spoils no other.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import suppress
from typing import Any

import attrs

from jointgeo.errors import InputError
from jointgeo.fixtures.model import Fixture
from jointgeo.joints.joint_type import JointType
from jointgeo.solution.together import FEW, alike, settings_together
from jointgeo_service.plugins import Known, PluginAtFaultError
from jointgeo_service.problems import input_problem, plugin_problem, unexpected_problem
from jointgeo_service.questions import ID, Questions, solved
from jointgeo_service.sheaves import written
from jointgeo_service.strict_json import encode

__all__ = ["answers"]


@attrs.define(eq=False)
class _Item:
    """own: what of the item stands in its answer. asked: its type and question; None where it
    could not be read, and ``problem`` says why. rows: if it was solved together with others,
    where its settings come next; each row bears the item it is for."""

    own: dict[str, Any]
    asked: tuple[Known, dict[str, Any]] | None = None
    problem: dict[str, Any] | None = None
    rows: Iterator[tuple[_Item, bytes]] | None = None

    @property
    def wants(self) -> list[str]:
        assert self.asked is not None  # noqa: S101  # told by the caller
        want = self.asked[1]["want"]
        return ["settings", "feasibility"] if want == "both" else [want]


def answers(questions: Questions, data: Sequence[object]) -> Iterator[bytes]:
    """One answer or problem for each item as JSON, in order; raises nothing, whatever they hold."""
    items = [_read(questions, item) for item in data]
    for group in _groups(items):
        _settle(group)
    return map(_answer, items)


def _read(questions: Questions, data: object) -> _Item:
    item = _Item({})
    if isinstance(data, dict) and "id" in data:
        with suppress(InputError):  # told below, with all else that is wrong
            item.own["id"] = ID.accept(data["id"])
    try:
        item.asked = questions.item(data)
    # The status line may be sent; an item is the last place where a fault can be told.
    except Exception as error:
        item.problem = _problem(error)
    return item


def _groups(items: Sequence[_Item]) -> Iterator[list[_Item]]:
    """Items that want settings and may be solved together, if there are enough of them."""
    fixtures: list[Fixture] = []
    found: dict[Any, list[_Item]] = {}
    for item in items:
        if item.asked is None or "settings" not in item.wants:
            continue
        known, question = item.asked
        if known.cls.own_settings is not JointType.own_settings:
            continue
        fixture = question["fixture"]
        if fixture not in fixtures:  # most often the very same, which is seen at a glance
            fixtures.append(fixture)
        place = fixtures.index(fixture)
        with suppress(TypeError):  # a stranger's class may hold what cannot be compared
            key = (place, question["hand"], alike(question["joint"]))
            found.setdefault(key, []).append(item)
    return (group for group in found.values() if len(group) >= FEW)


def _settle(group: list[_Item]) -> None:
    asked = [item.asked[1] for item in group if item.asked is not None]
    fixture, hand = asked[0]["fixture"], asked[0]["hand"]
    for sheaf in settings_together([question["joint"] for question in asked], fixture, hand):
        # What cannot be written together is told by the items that have it, answered alone.
        with suppress(ValueError, TypeError):
            rows = written(sheaf.answer, sheaf.texts, len(sheaf.places))
            members = [group[place] for place in sheaf.places]
            shared = zip(members, rows, strict=True)
            for item in members:
                item.rows = shared


def _answer(item: _Item) -> bytes:
    problem = item.problem
    if item.asked is not None:
        try:
            return _solved(item, *item.asked)
        except Exception as error:
            problem = _problem(error)
    assert problem is not None  # noqa: S101  # what could not be read has one
    return encode({**item.own, "status": problem["status"], "problem": problem})


def _solved(item: _Item, known: Known, question: dict[str, Any]) -> bytes:
    out = [encode({**item.own, "status": 200})[:-1]]
    with known.answers():
        for want in item.wants:
            found = _row(item) if want == "settings" else None
            if found is None:
                found = encode(solved(known, question, want))
            out += [b',"', want.encode(), b'":', found]
    return b"".join([*out, b"}"])


def _row(item: _Item) -> bytes | None:
    """The item's own row; None where it has none, and where a row did not come of itself."""
    if item.rows is None:
        return None
    whose, found = next(item.rows, (None, b""))
    # Items are answered in order, and so are the rows of a sheaf. Were they not, an answer would
    # go to another's question, and that must never be.
    return found if whose is item else None


def _problem(error: Exception) -> dict[str, Any]:
    if isinstance(error, InputError):
        return input_problem(error)
    if isinstance(error, PluginAtFaultError):
        return plugin_problem(error)
    return unexpected_problem(error)
