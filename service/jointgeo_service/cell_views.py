"""What cells ask of one joint: single values by their paths, and which paths there are.

Knows the questions and the shapes; knows no joint type by name.

A workbook asks for one number from each of hundreds of cells. So a query string is read once for
all of its paths, a joint is planned once for all of its values, and of an answer no more is worked
out than the paths ask for. Programs of cells send OPTIONS and HEAD before each GET: in cell mode
neither works anything out, since an error has status 200 there too.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from http import HTTPStatus
from typing import Any
from urllib.parse import unquote_plus

import flask

from jointgeo.errors import InputError, Problem
from jointgeo.solution.meanings import MEANINGS
from jointgeo.solution.paths import Scalar
from jointgeo_service.answers import ref
from jointgeo_service.api import Routes
from jointgeo_service.fixtures import Chosen, Fixtures
from jointgeo_service.limits import KEPT_QUESTIONS, PATH_CHARACTERS, PATHS
from jointgeo_service.plugins import Known
from jointgeo_service.problems import cell_reason, in_a_cell, takes_query
from jointgeo_service.queries import LISTED, PICKED, Asked, Query
from jointgeo_service.questions import Questions, picked
from jointgeo_service.shapes import cell_text, tabbed
from jointgeo_service.strict_json import encode

__all__ = ["cell_routes", "query_pairs"]

# flask-smorest has no types, so neither have views under its decorators.
# mypy: disable-error-code="untyped-decorator"


class _Reader:
    """Reads query strings, and keeps what those were read as that hold the same joint."""

    def __init__(self, known: Known, fixtures: Fixtures) -> None:
        self.query = Query(known, fixtures, PICKED)
        self._fixtures = fixtures
        self._kept = lru_cache(maxsize=KEPT_QUESTIONS)(self._read)

    def read(self, raw: bytes) -> tuple[Asked, Chosen, tuple[str, ...]]:
        """The question, its fixture as it is now, and its paths. Raises InputError with everything
        wrong with it."""
        rest: list[bytes] = []
        picks: list[bytes] = []
        for piece in raw.split(b"&"):
            (picks if piece.startswith(b"pick=") else rest).append(piece)
        named = tuple(unquote_plus(piece[5:].decode("ascii", "replace")) for piece in picks)
        if 0 < len(named) <= PATHS and all(map(_is_path, named)):
            asked = self._kept(b"&".join((*rest, b"pick=" + ANY)))
            if len(asked.picks) == 1:
                # The joint was read before; the fixture may be another by now.
                return asked, self._fixtures.get(asked.fixture.name), named
        asked = self._read(raw)  # something is wrong with it, or written in an unusual way
        return asked, asked.fixture, asked.picks

    def _read(self, raw: bytes) -> Asked:
        return self.query.read(query_pairs(raw.decode("ascii", "replace")))


def query_pairs(text: str) -> Iterator[tuple[str, str]]:
    """What ``parse_qsl`` makes of a query string, blank values kept; most of one is not coded."""
    for piece in text.split("&"):
        if piece:
            name, _, value = piece.partition("=")
            if "%" in piece or "+" in piece:
                name, value = unquote_plus(name), unquote_plus(value)
            yield name, value


#: Stands for the paths where a query string is read for its joint alone.
ANY = b"status"


def _is_path(text: str) -> bool:
    return 0 < len(text) <= PATH_CHARACTERS and text.isprintable()


def cell_routes(questions: Questions) -> Routes:
    """GET of values and of paths for every joint type."""
    routes = Routes("cells", __name__, description="Single values of one joint, for cells")
    for known in questions.catalogue.known.values():
        url = f"/v1/joint-types/{known.name}"
        values = _values(routes, known, _Reader(known, questions.fixtures))
        paths = _paths(routes, known, Query(known, questions.fixtures, LISTED))
        routes.add_url_rule(f"{url}/values", f"get_{known.name}_values", values)
        routes.add_url_rule(f"{url}/paths", f"get_{known.name}_paths", paths)
    return routes


def _values(routes: Routes, known: Known, reader: _Reader) -> Any:
    def get() -> flask.Response:
        if flask.request.method == "HEAD" and in_a_cell():
            return _unmeasured()
        asked, chosen, picks = reader.read(flask.request.query_string)
        found = picked(known, asked.joint, chosen, asked.hand, picks)
        wrong = [f for f in found if isinstance(f, Problem)]
        if wrong and not in_a_cell():
            raise InputError(*wrong)
        texts = [cell_reason(f) if isinstance(f, Problem) else cell_text(f) for f in found]
        return flask.Response("\t".join(texts), mimetype="text/plain")

    view = routes.doc(
        summary="Values by their paths, in the order asked for, parted by tabs",
        operationId=f"get_{known.name}_values",
        parameters=[{"in": "query", "schema": reader.query.schema}],
        responses={
            200: {
                "description": "A number as in JSON, true, false, or text; a text that begins with "
                "a digit, - or ' has a ' before it. In cell mode a path that leads nowhere has its "
                "own reason in its place",
                "content": {"text/plain": {"schema": {"type": "string"}}},
            }
        },
    )(get)
    return takes_query(view)


def _unmeasured() -> flask.Response:
    """The head of an answer whose length is known only once it is worked out (RFC 9110, 9.3.2)."""
    response = flask.Response(status=HTTPStatus.OK, mimetype="text/plain")
    response.automatically_set_content_length = False
    response.headers.pop("Content-Length", None)
    return response


def _paths(routes: Routes, known: Known, query: Query) -> Any:
    def get() -> flask.Response:
        asked = query.read(flask.request.args.items(multi=True))
        found = known.paths(asked.joint, asked.fixture.fixture, asked.hand)
        named = [(name, value, MEANINGS[name]) for name, value in asked.fixture.names.items()]
        rows: list[tuple[str, Scalar, str]] = [*named, *found]
        if asked.own["shape"] == "tsv":
            text = tabbed([("path", "value", "meaning"), *rows])
            kind = "text/tab-separated-values; charset=utf-8; header=present"
            return flask.Response(text, content_type=kind)
        listed = [dict(zip(("path", "value", "meaning"), row, strict=True)) for row in rows]
        return flask.Response(
            encode({**asked.fixture.names, "paths": listed}), mimetype="application/json"
        )

    content: dict[str, Any] = {
        "application/json": {"schema": ref("paths")},
        "text/tab-separated-values": {"schema": {"type": "string"}},
        "text/plain": {"schema": {"type": "string"}},  # an error in cell mode
    }
    view = routes.doc(
        summary="Every path that can be asked, with its value and what that means",
        operationId=f"get_{known.name}_paths",
        parameters=[{"in": "query", "schema": query.schema}],
        responses={200: {"description": "The paths of this joint", "content": content}},
    )(get)
    return takes_query(view)
