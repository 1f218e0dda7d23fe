"""Many joints in one request: each answered by itself, in order, written as it is solved.

Knows the questions; knows no joint type by name.

The answer is streamed, so a thousand joints take the memory of one. That the status line
is gone before the first item is solved costs nothing: each item has its own status.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from typing import Any

import flask

from jointgeo.errors import InputError
from jointgeo_service.answers import ref
from jointgeo_service.api import Routes
from jointgeo_service.plugins import PluginAtFaultError
from jointgeo_service.problems import input_problem, plugin_problem, unexpected_problem
from jointgeo_service.questions import ID, Questions, solved
from jointgeo_service.strict_json import encode

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
    for index, item in enumerate(items):
        lot += b"," if index else b""
        lot += answered(questions, item)
        # The first item goes out at once, so that the other end sees the work begin.
        if index == 0 or len(lot) >= LOT_BYTES:
            yield bytes(lot)
            lot.clear()
    yield bytes(lot + b"]}")


def answered(questions: Questions, item: object) -> bytes:
    """One item's answer or problem as JSON; raises nothing, whatever the item holds."""
    own = {}
    try:
        if isinstance(item, dict) and "id" in item:
            with suppress(InputError):  # told below, with all else that is wrong
                own["id"] = ID.accept(item["id"])
        known, loaded = questions.item(item)
        wants = [loaded["want"]] if loaded["want"] != "both" else ["settings", "feasibility"]
        with known.answers():
            answers = {want: solved(known, loaded, want) for want in wants}
            return encode({**own, "status": 200, **answers})
    except InputError as error:
        problem = input_problem(error)
    except PluginAtFaultError as error:
        problem = plugin_problem(error)
    # The status line is sent; an item is the last place where a fault can be told.
    except Exception as error:
        problem = unexpected_problem(error)
    return encode({**own, "status": problem["status"], "problem": problem})
