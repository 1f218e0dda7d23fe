"""From an HTTP request to a question: the body by its schema, the query by its joint type.

Knows Flask, webargs and the questions; solves nothing.
"""

from __future__ import annotations

from http import HTTPStatus
from typing import Any

import flask
import marshmallow as ma
from webargs.flaskparser import FlaskParser
from werkzeug.exceptions import RequestEntityTooLarge

from jointgeo.errors import Problem, shown
from jointgeo_service.limits import BODY_BYTES
from jointgeo_service.problems import RefusedError
from jointgeo_service.questions import Batch
from jointgeo_service.strict_json import misfits, read_json

__all__ = ["StrictParser"]


class StrictParser(FlaskParser):
    """Reads a JSON body as ``strict_json`` does, and leaves unknown names to the schema."""

    DEFAULT_UNKNOWN_BY_LOCATION: dict[str, str | None] = {}  # noqa: RUF012  # webargs' own form

    def load_json(self, req: flask.Request, schema: ma.Schema) -> Any:
        if req.mimetype != "application/json":
            given = shown(req.headers.get("Content-Type", "nothing"))
            raise RefusedError(
                HTTPStatus.UNSUPPORTED_MEDIA_TYPE,
                Problem("Content-Type", "is not that of JSON", given, "application/json"),
            )
        most = getattr(schema, "most_bytes", BODY_BYTES)
        data = read_json(_body(req, most))
        # What is wrong within an item of a batch is that item's problem alone.
        closed = "items" if isinstance(schema, Batch) else ""
        problems = list(misfits(data, closed=closed))
        if problems:
            raise RefusedError(HTTPStatus.UNPROCESSABLE_ENTITY, *problems)
        return data


def _body(request: flask.Request, most: int) -> bytes:
    request.max_content_length = most
    try:
        return request.get_data(cache=False)
    except RequestEntityTooLarge:
        raise too_large(most) from None


def too_large(most: int) -> RefusedError:
    """The refusal of a body of more than ``most`` bytes."""
    problem = Problem("body", "is too large", None, f"at most {most} bytes", "byte")
    return RefusedError(HTTPStatus.REQUEST_ENTITY_TOO_LARGE, problem)
