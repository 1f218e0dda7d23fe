"""Fixtures as things to be changed and built, over HTTP: changes, comparisons, gains, parts.

Knows the questions and where they are worked out; knows no type by name. A search waits for a turn,
and ends by itself: after its plans, or its time.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import attrs
import flask

from jointgeo.errors import InputError, Problem
from jointgeo.fixture_parts.catalogue import fixture_parts
from jointgeo.fixture_parts.wanted import Wanted
from jointgeo.fixtures.model import Fixture
from jointgeo.schema.fields import describe
from jointgeo.schema.tables import read
from jointgeo_service.api import Routes
from jointgeo_service.change_questions import PART, bodies, types_of
from jointgeo_service.elsewhere import Elsewhere
from jointgeo_service.fixtures import Chosen, Fixtures
from jointgeo_service.piece_queries import CELLS, HEADING, NOCACHE, PICK, FlatQuery, shape_of
from jointgeo_service.piece_questions import fixture_of
from jointgeo_service.piece_views import answer_content, in_turn, shaped
from jointgeo_service.problems import takes_query
from jointgeo_service.strict_json import encode
from jointgeo_service.turns import Turns

__all__ = ["change_routes"]

SUMMARIES = {
    "fixture-changes": "What of a fixture to change so that this can be cut, the cheapest first",
    "fixture-comparisons": "The same works on several fixtures",
    "fixture-gains": "What a changed fixture makes possible, and what it spoils",
    "fixture-parts": "Parts of a fixture to build or change it",
}
SCHEMAS = {
    "fixture-changes": "fixture_changes",
    "fixture-comparisons": "fixture_comparison",
    "fixture-gains": "fixture_gains",
    "fixture-parts": "fixture_parts",
}


def change_routes(elsewhere: Elsewhere, fixtures: Fixtures, turns: Turns) -> Routes:
    """POST of all four, and GET of parts."""
    routes = Routes("fixture changes", __name__, description="Fixtures to be changed and built")

    def worked_out(works: list[Any], what: str, *given: object) -> dict[str, Any]:
        named = types_of(works)
        with in_turn(turns, wanted=not elsewhere.third_party(named)):
            found: dict[str, Any] = elsewhere.run(named, what, works, *given)
        return found

    def changes(asked: dict[str, Any]) -> dict[str, Any]:
        given = asked.get("allow"), asked["room_mm"], asked["pairs"], asked["plans"]
        chosen = fixture_of(asked)
        return worked_out(asked["works"], "changes", _named(chosen), *given) | chosen.names

    def comparison(asked: dict[str, Any]) -> dict[str, Any]:
        thick = asked.get("thicknesses_mm", [])
        fixtures = [_named(f) for f in asked["fixtures"]]
        editions = {"editions": [f.edition for f in asked["fixtures"]]}
        return worked_out(asked["works"], "comparison", fixtures, thick) | editions

    def gains(asked: dict[str, Any]) -> dict[str, Any]:
        both = fixture_of(asked, "before"), fixture_of(asked, "after")
        editions = {"editions": [f.edition for f in both]}
        return worked_out(asked["works"], "gained", *map(_named, both)) | editions

    def parts(asked: dict[str, Any]) -> dict[str, Any]:
        try:
            wanted = read(Wanted, asked.get("wanted", {}))
        except InputError as error:
            raise error.under("wanted") from None
        chosen = fixture_of(asked)
        try:
            found = fixture_parts(chosen.fixture, wanted, asked.get("parts", []))
        except InputError as error:
            raise InputError(*map(_as_asked, error.problems)) from None
        return found.to_dict() | chosen.names

    answered: dict[str, Callable[[dict[str, Any]], dict[str, Any]]] = {
        "fixture-changes": changes,
        "fixture-comparisons": comparison,
        "fixture-gains": gains,
        "fixture-parts": parts,
    }
    for name, body in bodies(fixtures).items():
        _post(routes, name, body, answered[name])
    _get_parts(routes, fixtures)
    return routes


def _named(chosen: Chosen) -> Fixture:
    """The fixture under the name that it was asked by, so that two editions can be told apart."""
    return attrs.evolve(chosen.fixture, name=chosen.name)


def _as_asked(problem: Problem) -> Problem:
    """A part's problem, at the field of the body."""
    own = {info.name for info in describe(Wanted)}
    field = f"wanted.{problem.field}" if problem.field in own else problem.field
    return attrs.evolve(problem, field="parts" if field == "part" else field)


def _post(
    routes: Routes, name: str, body: Any, answered: Callable[[dict[str, Any]], dict[str, Any]]
) -> None:
    def post(loaded: dict[str, Any]) -> flask.Response:
        return flask.Response(encode(answered(loaded)), mimetype="application/json")

    at = f"post_{name.replace('-', '_')}"
    described = routes.doc(
        summary=SUMMARIES[name],
        operationId=at,
        responses=answer_content(SCHEMAS[name]),
    )(post)
    routes.add_url_rule(f"/v1/{name}", at, routes.arguments(body)(described), methods=["POST"])


def _get_parts(routes: Routes, fixtures: Fixtures) -> None:
    name = "fixture-parts"
    own = (PART, shape_of("csv", "tsv"), CELLS, PICK, HEADING, NOCACHE)
    query = FlatQuery("fixture_parts", Wanted, own, "wanted", fixtures)

    def get() -> flask.Response:
        table, loaded, problems = query.read(flask.request.args.items(multi=True))
        wanted = None
        try:
            wanted = read(Wanted, table)
        except InputError as error:
            problems += error.problems
        if problems:
            raise InputError(*problems)
        kinds = [loaded["part"]] if "part" in loaded else []
        chosen = fixture_of(loaded)
        found = fixture_parts(chosen.fixture, wanted, kinds).to_dict() | chosen.names
        return shaped(name, found, loaded)

    view = routes.doc(
        summary=SUMMARIES[name],
        operationId="get_fixture_parts",
        parameters=[{"in": "query", "schema": query.schema}],
        responses=answer_content(
            SCHEMAS[name], forms=("text/csv", "text/tab-separated-values", "text/plain")
        ),
    )(get)
    routes.add_url_rule(f"/v1/{name}", "get_fixture_parts", takes_query(view))
