"""What there is: joint types with their parameters, fixtures, and whether the service answers.

Knows the catalogue and the fixtures that there are; knows no joint type by name and opens no path:
a fixture's name is looked up among those and nowhere else.
"""

from __future__ import annotations

import threading
from http import HTTPStatus
from typing import Any

import attrs
import flask

from jointgeo.errors import Problem
from jointgeo.fixtures.text import fixture_tables
from jointgeo_service.answers import ref
from jointgeo_service.api import Routes
from jointgeo_service.fixtures import Entry, Fixtures
from jointgeo_service.plugins import Catalogue
from jointgeo_service.problems import RefusedError, as_not_found
from jointgeo_service.questions import FIXTURE_SCHEMA
from jointgeo_service.strict_json import encode

__all__ = ["catalogue_routes"]


def _json(value: Any) -> flask.Response:
    return flask.Response(encode(value), mimetype="application/json")


def _said(summary: str, schema: str) -> dict[str, Any]:
    """What the document says of a GET whose answer has that schema."""
    content = {"application/json": {"schema": ref(schema)}}
    responses = {200: {"description": "The answer", "content": content}}
    return {"summary": summary, "operationId": f"get_{schema}", "responses": responses}


# flask-smorest has no types, so neither have views under its decorators.
# mypy: disable-error-code="untyped-decorator"


def catalogue_routes(
    catalogue: Catalogue, fixtures: Fixtures, version: str, stopping: threading.Event
) -> Routes:
    """GET of health, joint types and fixtures. stopping: set once no more questions are wanted."""
    routes = Routes("catalogue", __name__, description="What there is")
    listed = [known.summary() for known in catalogue.known.values()]
    types = {"joint_types": listed, "refused": [attrs.asdict(f) for f in catalogue.refused]}

    @routes.route("/healthz")
    @routes.doc(**_said("Whether the service answers", "health"), security=[])
    def health() -> flask.Response:
        return _json({"status": "ok", "version": version})

    says = "Whether the service wants questions: 503 once it is stopping"

    @routes.route("/readyz")
    @routes.doc(**_said(says, "readiness"), security=[])
    def ready() -> flask.Response:
        # Whoever gets here finds every joint type loaded: no socket is answered before.
        if stopping.is_set():
            problem = Problem("", "the service is stopping", None, "another one")
            headers = {"Retry-After": "5"}
            raise RefusedError(HTTPStatus.SERVICE_UNAVAILABLE, problem, headers=headers)
        return _json({"status": "ready", "version": version})

    @routes.route("/v1/joint-types")
    @routes.doc(**_said("Every joint type", "joint_types"))
    def joint_types() -> flask.Response:
        return _json(types)

    type_name = _name("Name of a joint type", *catalogue.known)

    @routes.route("/v1/joint-types/<name>", parameters=[type_name])
    @routes.doc(**_said("One joint type with examples", "joint_type"))
    def joint_type(name: str) -> flask.Response:
        with as_not_found():
            known = catalogue.get(name)
        examples = known.examples()
        with known.answers():
            return _json({**known.summary(), "examples": examples})

    @routes.route("/v1/fixtures")
    @routes.doc(**_said("Every fixture, with its edition or why it cannot be asked", "fixtures"))
    def every_fixture() -> flask.Response:
        return _json({"fixtures": [_line(entry) for entry in fixtures.listed()]})

    @routes.route("/v1/fixtures/<name>", parameters=[_name("Name of a fixture, as it is listed")])
    @routes.doc(**_said("One fixture, as a question takes it", FIXTURE_SCHEMA))
    def fixture(name: str) -> flask.Response:
        with as_not_found():
            chosen = fixtures.get(name)
        # What the file does not state is left out, as a question leaves it out.
        response = _json(fixture_tables(chosen.fixture))
        response.set_etag(chosen.digest)
        return response

    return routes


def _line(entry: Entry) -> dict[str, Any]:
    """What is told of a fixture in the list: itself, or why it cannot be asked."""
    chosen = entry.chosen
    if chosen is None:
        return {"name": entry.name, "reason": entry.reason}
    fixture = chosen.fixture
    told = {"called": fixture.name, "title": fixture.title, "edition": chosen.edition}
    return {"name": entry.name, **told}


def _name(says: str, *names: str) -> dict[str, Any]:
    schema = {"type": "string"} | ({"enum": list(names)} if names else {})
    where = {"in": "path", "name": "name", "required": True}
    return {**where, "description": says, "schema": schema}
