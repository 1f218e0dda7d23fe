"""Many joints in one request: each answered by itself, in order.

Knows the questions and the batch's answers; knows no joint type by name.

The items are read and those alike solved before the first is sent, since they are solved
together; all else is solved as it is written. That the status line is gone before costs
nothing: each item has its own status.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import flask

from jointgeo_service.answers import ref
from jointgeo_service.api import Routes
from jointgeo_service.batches import answers
from jointgeo_service.questions import Questions

__all__ = ["batch_routes"]

#: Items are sent in lots of about this size: one write for each would cost more than solving.
LOT_BYTES = 65536


# flask-smorest has no types, so neither has a view under its decorators.
# mypy: disable-error-code="untyped-decorator"


def batch_routes(questions: Questions) -> Routes:
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
        return flask.Response(_lots(questions, loaded["items"]), mimetype="application/json")

    routes.add_url_rule("/v1/batch", "post_batch", batch, methods=["POST"])
    return routes


def _lots(questions: Questions, items: list[object]) -> Iterator[bytes]:
    lot = bytearray(b'{"items":[')
    for index, answer in enumerate(answers(questions, items)):
        lot += b"," if index else b""
        lot += answer
        # The first item goes out at once, so that the other end sees the work begin.
        if index == 0 or len(lot) >= LOT_BYTES:
            yield bytes(lot)
            lot.clear()
    yield bytes(lot + b"]}")
