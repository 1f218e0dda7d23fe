"""Parts of a fixture over HTTP: figures as JSON and tables, a page to print, a DXF file.

Knows the question and the parts' pages; knows no part by name.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import attrs
import flask
import marshmallow as ma

from jointgeo.errors import InputError, Problem
from jointgeo.fixture_parts.wanted import Wanted
from jointgeo.schema.fields import describe
from jointgeo.schema.tables import read
from jointgeo_service.answers import ref
from jointgeo_service.api import Routes
from jointgeo_service.change_questions import PAPER, PART, PART_DRAWN, PART_SHAPE
from jointgeo_service.fixtures import Fixtures
from jointgeo_service.part_pages import DXF, PartPages, PartsAsked
from jointgeo_service.piece_queries import CELLS, HEADING, NOCACHE, PICK, FlatQuery, shape_of
from jointgeo_service.piece_questions import fixture_of
from jointgeo_service.piece_views import answer_content, shaped
from jointgeo_service.problems import MEDIA_TYPE, RefusedError, takes_query

__all__ = ["add_part_routes"]

NAME = "fixture-parts"
SUMMARY = "Parts of a fixture to build or change it: figures, a page to print, DXF"
DRAWN = ("text/html", DXF)
TABLES = ("text/csv", "text/tab-separated-values", "text/plain")


def add_part_routes(routes: Routes, body: ma.Schema, fixtures: Fixtures, pages: PartPages) -> None:
    """POST, of any fixture and with holes that are in the board, and GET."""
    _post(routes, body, pages)
    _get(routes, fixtures, pages)


def _post(routes: Routes, body: ma.Schema, pages: PartPages) -> None:
    def post(loaded: dict[str, Any]) -> flask.Response:
        try:
            wanted = read(Wanted, loaded.get("wanted", {}))
        except InputError as error:
            raise error.under("wanted") from None
        asked = PartsAsked(fixture_of(loaded), wanted, tuple(loaded.get("parts", ())))
        _hold(loaded, asked.kinds, "parts")
        try:
            return _answer(asked, loaded, pages)
        except RefusedError:  # not a field's fault
            raise
        except InputError as error:
            raise InputError(*map(_as_asked, error.problems)) from None

    described = routes.doc(
        summary=SUMMARY, operationId="post_fixture_parts", responses=_content(*DRAWN)
    )(post)
    at = "post_fixture_parts"
    routes.add_url_rule(f"/v1/{NAME}", at, routes.arguments(body)(described), methods=["POST"])


def _get(routes: Routes, fixtures: Fixtures, pages: PartPages) -> None:
    tables = shape_of("csv", "tsv")
    drawn = [c for c in PART_SHAPE.choices if c not in tables.choices]
    choices = (*tables.choices, *drawn)
    shape = attrs.evolve(tables, help=f"{tables.help}; {PART_DRAWN}", choices=choices)
    own = (PART, shape, PAPER, CELLS, PICK, HEADING, NOCACHE)
    query = FlatQuery("fixture_parts", Wanted, own, "wanted", fixtures)

    def get() -> flask.Response:
        table, loaded, problems = query.read(flask.request.args.items(multi=True))
        wanted = Wanted()
        try:
            wanted = read(Wanted, table)
        except InputError as error:
            problems += error.problems
        if problems:
            raise InputError(*problems)
        kinds = (loaded["part"],) if "part" in loaded else ()
        _hold(loaded, kinds, "part")
        return _answer(PartsAsked(fixture_of(loaded), wanted, kinds), loaded, pages)

    view = routes.doc(
        summary=SUMMARY,
        operationId="get_fixture_parts",
        parameters=[{"in": "query", "schema": query.schema}],
        responses=_content(*TABLES, *DRAWN),
    )(get)
    routes.add_url_rule(f"/v1/{NAME}", "get_fixture_parts", takes_query(view))


def _content(*forms: str) -> dict[int, Any]:
    missing = "The service has not what this form takes, the extra draw of jointgeo"
    content = {MEDIA_TYPE: {"schema": ref("problem")}}
    found = answer_content("fixture_parts", forms=forms)
    return found | {501: {"description": missing, "content": content}}


def _hold(own: Mapping[str, Any], kinds: Sequence[str], field: str) -> None:
    """InputError where what was asked does not go with the shape. field: that names the parts."""
    if own["shape"] == "dxf" and len(kinds) != 1:
        message = "must name one part for shape=dxf"
        raise InputError(
            Problem(field, message, f"{len(kinds)} parts", f"one of {', '.join(PART.choices)}")
        )
    if own["shape"] != "html" and "paper" in own:
        raise InputError(Problem("paper", "is for shape=html only", None, "shape=html"))


def _answer(asked: PartsAsked, own: Mapping[str, Any], pages: PartPages) -> flask.Response:
    if own["shape"] == "html":
        return pages.page(asked, own.get("paper"))
    if own["shape"] == "dxf":
        return pages.dxf(asked)
    return shaped(NAME, asked.found.to_dict() | asked.chosen.names, own)


def _as_asked(problem: Problem) -> Problem:
    """A part's problem, at the field of the body."""
    own = {*(info.name for info in describe(Wanted)), "hole"}
    field = f"wanted.{problem.field}" if problem.field in own else problem.field
    return attrs.evolve(problem, field="parts" if field == "part" else field)
