"""The pieces of a batch, answered one after the other; each is written before the next is read.

Knows the piece questions and JSON; knows no type by name, no HTTP. An item at fault has its own
problem and spoils no other.
"""

from __future__ import annotations

import time
from collections.abc import Iterable, Iterator
from contextlib import suppress
from http import HTTPStatus
from typing import Any

from jointgeo.errors import InputError, PluginError, Problem
from jointgeo_service.elsewhere import types_in
from jointgeo_service.limits import BATCH_SECONDS, BATCH_TYPE_SECONDS
from jointgeo_service.piece_questions import PieceQuestions
from jointgeo_service.problems import (
    RefusedError,
    input_problem,
    plugin_problem,
    unexpected_problem,
)
from jointgeo_service.questions import ID
from jointgeo_service.strict_json import encode

__all__ = ["piece_answers"]


def piece_answers(questions: PieceQuestions, items: Iterable[object]) -> Iterator[bytes]:
    """One answer or problem for each item as JSON, in order. No exception of an item gets out."""
    began = time.monotonic()
    spent: dict[str, float] = {}
    return (_answer(questions, item, began, spent) for item in items)


def _answer(
    questions: PieceQuestions, item: object, began: float, spent: dict[str, float]
) -> bytes:
    own: dict[str, Any] = {}
    if isinstance(item, dict) and item.get("id") is not None:
        with suppress(InputError):  # told below, with all else that is wrong
            own["id"] = ID.accept(item["id"])
    try:
        _late(began)
        return encode({**own, "status": 200, "answer": _found(questions, item, spent)})
    # The status line is sent; an item is the last place where a fault can be told.
    except Exception as error:
        details = _problem(error)
    return encode({**own, "status": details["status"], "problem": details})


def _late(began: float) -> None:
    """RefusedError, a 503, once the batch has had its time."""
    if time.monotonic() - began > BATCH_SECONDS:
        message = "comes too late: the batch has had its time"
        allowed = f"at most {BATCH_SECONDS} s for a batch; ask for the rest in another"
        problem = Problem("", message, None, allowed)
        raise RefusedError(HTTPStatus.SERVICE_UNAVAILABLE, problem)


def _found(questions: PieceQuestions, item: object, spent: dict[str, float]) -> dict[str, Any]:
    third_party = questions.elsewhere.third_party(_named(item))
    # A type that does not ship may take its whole deadline for every item.
    if spent.get(third_party, 0.0) > BATCH_TYPE_SECONDS:
        reason = f"it has taken more than {BATCH_TYPE_SECONDS} s of this batch"
        raise questions.elsewhere.fault(third_party, reason)
    begun = time.monotonic()
    try:
        asked, want = questions.item(item)
        return asked.answered(questions.elsewhere, want)[want]
    finally:
        if third_party:
            spent[third_party] = spent.get(third_party, 0.0) + time.monotonic() - begun


def _named(item: object) -> set[str]:
    """Every type that an item names, as yet unread."""
    if not isinstance(item, dict):
        return set()
    name = item.get("piece_type")
    return types_in(item.get("piece")) | ({name} if isinstance(name, str) else set())


def _problem(error: Exception) -> dict[str, Any]:
    if isinstance(error, InputError):
        return input_problem(error)
    if isinstance(error, PluginError):
        return plugin_problem(error)
    return unexpected_problem(error)
