"""The items of a batch, answered one after the other; each is written before the next is read.

Knows the questions and JSON; knows no joint type by name, no HTTP. An item at fault has its own
problem and spoils no other.
"""

from __future__ import annotations

import time
from collections.abc import Iterable, Iterator
from contextlib import suppress
from http import HTTPStatus
from typing import Any

from jointgeo.errors import InputError, PluginError, Problem
from jointgeo_service.budgets import Budget, of_fixture
from jointgeo_service.limits import BATCH_SECONDS, BATCH_TYPE_SECONDS
from jointgeo_service.problems import (
    RefusedError,
    input_problem,
    plugin_problem,
    unexpected_problem,
)
from jointgeo_service.questions import ID, Questions, solved
from jointgeo_service.strict_json import encode

__all__ = ["answers"]


class _Spent:
    """What the items so far have taken of the batch's time and budget."""

    def __init__(self) -> None:
        self.began = time.monotonic()
        self.by_type: dict[str, float] = {}
        self.budget = Budget()

    def late(self) -> None:
        """RefusedError, a 503, once the batch has had its time."""
        if time.monotonic() - self.began > BATCH_SECONDS:
            message = "comes too late: the batch has had its time"
            allowed = f"at most {BATCH_SECONDS} s for a batch; ask for the rest in another"
            problem = Problem("", message, None, allowed)
            raise RefusedError(HTTPStatus.SERVICE_UNAVAILABLE, problem)


def answers(questions: Questions, items: Iterable[object]) -> Iterator[bytes]:
    """One answer or problem for each item as JSON, in order. No exception of an item gets out."""
    spent = _Spent()
    return (_answer(questions, item, spent) for item in items)


def _answer(questions: Questions, item: object, spent: _Spent) -> bytes:
    own: dict[str, Any] = {}
    if isinstance(item, dict) and item.get("id") is not None:
        with suppress(InputError):  # told below, with all else that is wrong
            own["id"] = ID.accept(item["id"])
    try:
        spent.late()
        return _solved(questions, item, own, spent)
    # The status line is sent; an item is the last place where a fault can be told.
    except Exception as error:
        problem = _problem(error)
    return encode({**own, "status": problem["status"], "problem": problem})


def _solved(questions: Questions, item: object, own: dict[str, Any], spent: _Spent) -> bytes:
    fixture = item.get("fixture") if isinstance(item, dict) else None
    if isinstance(fixture, dict):
        amounts: dict[str, int] = {}
        with suppress(InputError):  # told with all else that is wrong, when it is read
            amounts = of_fixture(fixture)
        spent.budget.spend(amounts)
    name = str(item.get("joint_type")) if isinstance(item, dict) else ""
    known = questions.catalogue.known.get(name)
    if known is None or known.keeps:
        return _written(questions, item, own, spent)
    # A type that does not ship may take its whole deadline for every item.
    if spent.by_type.get(name, 0.0) > BATCH_TYPE_SECONDS:
        reason = f"it has taken more than {BATCH_TYPE_SECONDS} s of this batch"
        raise PluginError(reason, name, known.distribution)
    began = time.monotonic()
    try:
        return _written(questions, item, own, spent)
    finally:
        spent.by_type[name] = spent.by_type.get(name, 0.0) + time.monotonic() - began


def _written(questions: Questions, item: object, own: dict[str, Any], spent: _Spent) -> bytes:
    known, question = questions.item(item)
    spent.budget.spend({"passes": known.passes(question["joint"], question["fixture"].fixture)})
    want = question["want"]
    wants = ("settings", "feasibility") if want == "both" else (want,)
    with known.answers():
        return encode({**own, "status": 200, **solved(known, question, *wants)})


def _problem(error: Exception) -> dict[str, Any]:
    if isinstance(error, InputError):
        return input_problem(error)
    if isinstance(error, PluginError):
        return plugin_problem(error)
    return unexpected_problem(error)
