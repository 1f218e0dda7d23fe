"""What there is: joint types with their parameters, fixtures, and whether the service answers.

Knows the catalogue and jointgeo's fixtures; knows no joint type by name and opens no path:
a fixture's name is looked up among the registered ones and nowhere else.
"""

from __future__ import annotations

import threading
from http import HTTPStatus
from typing import Any

import attrs
import flask

from jointgeo.errors import Problem
from jointgeo.fixtures.file import fixture_names, named_fixture
from jointgeo_service.answers import ref
from jointgeo_service.api import Routes
from jointgeo_service.plugins import Catalogue
from jointgeo_service.problems import RefusedError, as_not_found
from jointgeo_service.questions import FIXTURE_SCHEMA
from jointgeo_service.strict_json import encode

__all__ = ["catalogue_routes"]


def _json(value: Any) -> flask.Response:
    return flask.Response(encode(value), mimetype="application/json")


def _content(schema: str) -> dict[int, Any]:
    content = {"application/json": {"schema": ref(schema)}}
    return {200: {"description": "The answer", "content": content}}


# flask-smorest has no types, so neither have views under its decorators.
# mypy: disable-error-code="untyped-decorator"


def catalogue_routes(catalogue: Catalogue, version: str, stopping: threading.Event) -> Routes:
    """GET of health, joint types and fixtures. stopping: set once no more questions are wanted."""
    routes = Routes("catalogue", __name__, description="What there is")
    listed = [known.summary() for known in catalogue.known.values()]
    types = {"joint_types": listed, "refused": [attrs.asdict(f) for f in catalogue.refused]}

    @routes.route("/healthz")
    @routes.doc(summary="Whether the service answers", responses=_content("health"), security=[])
    def health() -> flask.Response:
        return _json({"status": "ok", "version": version})

    @routes.route("/readyz")
    @routes.doc(
        summary="Whether the service wants questions: 503 once it is stopping",
        responses=_content("readiness"),
        security=[],
    )
    def ready() -> flask.Response:
        # Whoever gets here finds every joint type loaded: no socket is answered before.
        if stopping.is_set():
            problem = Problem("", "the service is stopping", None, "another one")
            headers = {"Retry-After": "5"}
            raise RefusedError(HTTPStatus.SERVICE_UNAVAILABLE, problem, headers=headers)
        return _json({"status": "ready", "version": version})

    @routes.route("/v1/joint-types")
    @routes.doc(summary="Every joint type", responses=_content("joint_types"))
    def joint_types() -> flask.Response:
        return _json(types)

    @routes.route("/v1/joint-types/<name>", parameters=[_name(list(catalogue.known))])
    @routes.doc(summary="One joint type with examples", responses=_content("joint_type"))
    def joint_type(name: str) -> flask.Response:
        with as_not_found():
            known = catalogue.get(name)
        examples = known.examples()
        with known.answers():
            return _json({**known.summary(), "examples": examples})

    @routes.route("/v1/fixtures")
    @routes.doc(summary="Every registered fixture", responses=_content("fixtures"))
    def fixtures() -> flask.Response:
        named = [named_fixture(name) for name in fixture_names()]
        return _json({"fixtures": [{"name": f.name, "title": f.title} for f in named]})

    @routes.route("/v1/fixtures/<name>", parameters=[_name(list(fixture_names()))])
    @routes.doc(summary="One fixture, as a question takes it", responses=_content(FIXTURE_SCHEMA))
    def fixture(name: str) -> flask.Response:
        with as_not_found():
            found = named_fixture(name)
        # What the file does not state is left out, as a question leaves it out.
        return _json(attrs.asdict(found, filter=lambda _, value: value is not None))

    return routes


def _name(names: list[str]) -> dict[str, Any]:
    return {"in": "path", "name": "name", "required": True, "schema": {"enum": names}}
