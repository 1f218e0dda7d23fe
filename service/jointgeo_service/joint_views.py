"""Settings and feasibility of one joint: POST with JSON, GET with a flat query string.

Knows the questions and the shapes; knows no joint type by name: the routes are made for
whatever types are in the catalogue, so that each has its own place in the document.
"""

from __future__ import annotations

from typing import Any

import flask
import marshmallow as ma
from werkzeug.exceptions import NotFound

from jointgeo.errors import PluginError
from jointgeo.fixtures.file import fixture_names
from jointgeo_service.answers import ref
from jointgeo_service.api import Routes
from jointgeo_service.plugins import Catalogue, Known
from jointgeo_service.problems import as_not_found, takes_query
from jointgeo_service.queries import ANSWER, Query
from jointgeo_service.questions import Questions, kept_or_solved
from jointgeo_service.shapes import table
from jointgeo_service.strict_json import encode, read_json

__all__ = ["joint_routes", "unknown_routes"]

SUMMARIES = {
    "settings": "What to set and cut",
    "feasibility": "Whether it is feasible, by how much, and what to change",
}
FORMS = {"json": "application/json", "csv": "text/csv", "tsv": "text/tab-separated-values"}
#: What stands below a joint type's own URL; ``cell_views`` has the others.
BELOW = ("settings", "feasibility", "values", "paths")


def joint_routes(questions: Questions) -> Routes:
    """GET and POST of both answers for every joint type."""
    routes = Routes("joints", __name__, description="Settings and feasibility of one joint")
    for known in questions.catalogue.known.values():
        query = Query(known, questions.fixtures, ANSWER)
        for want in SUMMARIES:
            url = f"/v1/joint-types/{known.name}/{want}"
            body = questions.bodies[known.name]
            get, post = _getter(routes, known, query, want), _poster(routes, known, body, want)
            routes.add_url_rule(url, f"get_{known.name}_{want}", get)
            routes.add_url_rule(url, f"post_{known.name}_{want}", post, methods=["POST"])
    return routes


def _getter(routes: Routes, known: Known, query: Query, want: str) -> Any:
    def get() -> flask.Response:
        asked = query.read(flask.request.args.items(multi=True))
        question = {"joint": asked.joint, "fixture": asked.fixture, "hand": asked.hand}
        answer = kept_or_solved(known, question, want)
        shape = asked.own["shape"]
        with known.answers():
            written = encode(answer)
            if shape == "json":
                return flask.Response(written, mimetype=FORMS[shape])
            # Read back, so that a cell holds what JSON holds and numpy's types are gone.
            plain: Any = read_json(written)
            text = table(want, plain, shape, asked.own)
            kind = f"{FORMS[shape]}; charset=utf-8; header=present"
            return flask.Response(text, content_type=kind)

    schemas: dict[str, Any] = {form: {"schema": {"type": "string"}} for form in FORMS.values()}
    schemas["application/json"] = {"schema": ref(want)}
    schemas["text/plain"] = {"schema": {"type": "string"}}  # an error in cell mode
    view = routes.doc(
        summary=SUMMARIES[want],
        operationId=f"get_{known.name}_{want}",
        parameters=[{"in": "query", "schema": query.schema}],
        responses={200: {"description": "The answer in the shape asked for", "content": schemas}},
    )(get)
    return takes_query(view)


def _poster(routes: Routes, known: Known, body: ma.Schema, want: str) -> Any:
    def post(loaded: dict[str, Any]) -> flask.Response:
        answer = kept_or_solved(known, loaded, want)
        with known.answers():
            return flask.Response(encode(answer), mimetype="application/json")

    content = {"application/json": {"schema": ref(want)}}
    described = routes.doc(
        summary=SUMMARIES[want],
        operationId=f"post_{known.name}_{want}",
        responses={200: {"description": "The answer", "content": content}},
    )(post)
    return routes.arguments(body, example=_example(known))(described)


def _example(known: Known) -> dict[str, Any] | None:
    """A worked example on the first fixture; None where the type's own example fails, or where
    asking for it would keep the service from starting until a process has."""
    if not known.keeps:
        return None
    try:
        example = {"joint": known.examples()[0], "fixture": fixture_names()[0]}
        encode(example)
    # A type that answers but shows no example is still worth offering.
    except (PluginError, IndexError, TypeError, ValueError):
        return None
    return example


def unknown_routes(app: flask.Flask, catalogue: Catalogue) -> None:
    """The same URLs for a name that is not in the catalogue: an error, in cell mode too."""

    @takes_query
    def unknown(name: str) -> flask.Response:
        with as_not_found():
            catalogue.get(name)
        raise NotFound

    for below in BELOW:
        url = f"/v1/joint-types/<name>/{below}"
        methods = ["GET", "POST"] if below in SUMMARIES else ["GET"]
        app.add_url_rule(url, f"unknown_{below}", unknown, methods=methods)
