"""Many joints in one request: each answered by itself, in order.

Knows the questions and the batch's answers; knows no joint type by name.

The answer is streamed. What is wrong with the batch as a whole is told by the status, before the
first byte; what is wrong with an item, by the item's own status. Should the loop itself end early,
the end of the list is not sent and the server hangs up: nobody can take the rest for the whole.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import flask

from jointgeo_service.answers import ref
from jointgeo_service.api import Routes
from jointgeo_service.batches import answers
from jointgeo_service.questions import Questions
from jointgeo_service.turns import Turns

__all__ = ["batch_routes"]

# flask-smorest has no types, so neither has a view under its decorators.
# mypy: disable-error-code="untyped-decorator"


def batch_routes(questions: Questions, turns: Turns) -> Routes:
    """POST /v1/batch."""
    routes = Routes("batch", __name__, description="Many joints in one request")
    content = {"application/json": {"schema": ref("batch_answer")}}

    @routes.arguments(questions.batch)
    @routes.doc(
        summary="Many joints, each answered by itself, in order",
        operationId="post_batch",
        responses={200: {"description": "One answer for each item", "content": content}},
    )
    def batch(loaded: dict[str, Any]) -> flask.Response:
        give_back = turns.take()
        written = _until_done(_written(questions, loaded["items"]), give_back)
        answer = flask.Response(written, mimetype="application/json")
        answer.call_on_close(give_back)
        return answer

    routes.add_url_rule("/v1/batch", "post_batch", batch, methods=["POST"])
    return routes


def _until_done(pieces: Iterator[bytes], give_back: Callable[[], None]) -> Iterator[bytes]:
    try:
        yield from pieces
    finally:
        give_back()


def _written(questions: Questions, items: list[object]) -> Iterator[bytes]:
    """The JSON of all answers, an item at a time."""
    lead = b'{"items":['
    for answer in answers(questions, items):
        yield lead + answer
        lead = b","
    yield b"]}" if items else b'{"items":[]}'
