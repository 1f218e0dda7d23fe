"""The items of a batch, answered one after the other; each is written before the next is read.

Knows the questions and JSON; knows no joint type by name, no HTTP. An item at fault has its own
problem and spoils no other.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import suppress
from typing import Any

from jointgeo.errors import InputError, PluginError
from jointgeo_service.problems import input_problem, plugin_problem, unexpected_problem
from jointgeo_service.questions import ID, Questions, solved
from jointgeo_service.strict_json import encode

__all__ = ["answers"]


def answers(questions: Questions, items: Iterable[object]) -> Iterator[bytes]:
    """One answer or problem for each item as JSON, in order. No exception of an item gets out."""
    return (_answer(questions, item) for item in items)


def _answer(questions: Questions, item: object) -> bytes:
    own: dict[str, Any] = {}
    if isinstance(item, dict) and "id" in item:
        with suppress(InputError):  # told below, with all else that is wrong
            own["id"] = ID.accept(item["id"])
    try:
        return _solved(questions, item, own)
    # The status line is sent; an item is the last place where a fault can be told.
    except Exception as error:
        problem = _problem(error)
    return encode({**own, "status": problem["status"], "problem": problem})


def _solved(questions: Questions, item: object, own: dict[str, Any]) -> bytes:
    known, question = questions.item(item)
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
