"""POST /v1/list: a list of joints from a sheet's rows, answered as rows of values.

Knows the lists and Flask; knows no joint type by name. Programs of cells send OPTIONS, HEAD and GET
before they post: those are answered at once and work nothing out.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import flask

from jointgeo_service.api import Routes
from jointgeo_service.limits import LIST_ITEMS, PATH_CHARACTERS, PATHS
from jointgeo_service.lists import lines, read_list
from jointgeo_service.problems import takes_query
from jointgeo_service.questions import Batch, Questions
from jointgeo_service.schemas import Documented, schema_class

__all__ = ["list_routes"]

# flask-smorest has no types, so neither have views under its decorators.
# mypy: disable-error-code="untyped-decorator"

VALUE = {"type": ["number", "string", "boolean", "null"]}
BODY: dict[str, dict[str, Any]] = {
    "names": {
        "type": "array",
        "items": {"type": "string"},
        "description": "What each column holds: a parameter of the joint, joint_type, fixture or "
        "hand; an empty name for a column of the person's own",
    },
    "rows": {
        "type": "array",
        "maxItems": LIST_ITEMS,
        "items": {"type": "array", "items": VALUE},
        "description": "A joint each; an empty value is left out, an empty row has an empty line",
    },
    "wanted": {
        "type": "array",
        "minItems": 1,
        "maxItems": PATHS,
        "items": {"type": "string", "minLength": 1, "maxLength": PATH_CHARACTERS},
        "description": "Paths of the values, e.g. leg.1.swivel_deg",
    },
    "common": {
        "type": "object",
        "additionalProperties": VALUE,
        "default": {},
        "description": "What is the same in all rows; a row's own value goes before it",
    },
}


def list_routes(questions: Questions, take_turn: Callable[[], Callable[[], None]]) -> Routes:
    """POST /v1/list. take_turn: waits for one, and gives what gives it back."""
    routes = Routes("list", __name__, description="A list of joints in one request")
    fields = {
        name: Documented(doc, required=name != "common", **_default(doc))
        for name, doc in BODY.items()
    }
    body = schema_class("list", fields, base=Batch)()
    cells = {"type": "string", "enum": ["0", "1"], "default": "0"}
    says = "1: an error of the whole list comes with status 200 as a text that begins with #"

    @routes.arguments(body)
    @routes.doc(
        summary="Values of many joints, a line each, parted by tabs",
        operationId="post_list",
        parameters=[{"in": "query", "name": "cells", "description": says, "schema": cells}],
        responses={
            200: {
                "description": "A line for each row, in the same order, without a heading: numbers "
                "as in JSON; a text that begins with a digit, - or ' has a ' before it; the reason "
                "after # where there is no value",
                "content": {"text/plain": {"schema": {"type": "string"}}},
            }
        },
    )
    def post(loaded: dict[str, Any]) -> flask.Response:
        asked = read_list(loaded)
        give_back = take_turn()
        try:
            text = "\n".join(lines(questions.catalogue, questions.fixtures, asked))
        finally:
            give_back()
        return flask.Response(text, mimetype="text/plain")

    routes.add_url_rule("/v1/list", "post_list", takes_query(post), methods=["POST"])
    return routes


def _default(doc: dict[str, Any]) -> dict[str, Any]:
    return {"load_default": doc["default"]} if "default" in doc else {}
