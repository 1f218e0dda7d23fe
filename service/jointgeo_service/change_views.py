"""Fixtures as things to be changed and built, over HTTP: changes, comparisons, gains, parts.

Knows the questions and where they are worked out; knows no type by name. A search waits for a turn,
and ends by itself: after its plans, or its time.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import attrs
import flask

from jointgeo.fixtures.model import Fixture
from jointgeo_service.api import Routes
from jointgeo_service.change_questions import bodies, types_of
from jointgeo_service.elsewhere import Elsewhere
from jointgeo_service.fixtures import Chosen, Fixtures
from jointgeo_service.part_pages import PartPages
from jointgeo_service.part_views import add_part_routes
from jointgeo_service.piece_questions import fixture_of
from jointgeo_service.piece_views import answer_content, in_turn
from jointgeo_service.strict_json import encode
from jointgeo_service.turns import Turns

__all__ = ["change_routes"]

SUMMARIES = {
    "fixture-changes": "What of a fixture to change so that this can be cut, the cheapest first",
    "fixture-comparisons": "The same works on several fixtures",
    "fixture-gains": "What a changed fixture makes possible, and what it spoils",
}
SCHEMAS = {
    "fixture-changes": "fixture_changes",
    "fixture-comparisons": "fixture_comparison",
    "fixture-gains": "fixture_gains",
}


def change_routes(
    elsewhere: Elsewhere, fixtures: Fixtures, turns: Turns, pages: PartPages
) -> Routes:
    """POST of all four, and GET of parts. pages: their pages and files."""
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

    answered: dict[str, Callable[[dict[str, Any]], dict[str, Any]]] = {
        "fixture-changes": changes,
        "fixture-comparisons": comparison,
        "fixture-gains": gains,
    }
    asked = bodies(fixtures)
    for name, answer in answered.items():
        _post(routes, name, asked[name], answer)
    add_part_routes(routes, asked["fixture-parts"], fixtures, pages)
    return routes


def _named(chosen: Chosen) -> Fixture:
    """The fixture under the name that it was asked by, so that two editions can be told apart."""
    return attrs.evolve(chosen.fixture, name=chosen.name)


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
