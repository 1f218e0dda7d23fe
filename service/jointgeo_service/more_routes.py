"""Pieces, and fixtures to be changed: their schemas and routes added to an application.

Knows the questions and views of both; computes nothing.
"""

from __future__ import annotations

import flask

from jointgeo_service.api import ServiceApi
from jointgeo_service.change_questions import CHANGE_SCHEMAS
from jointgeo_service.change_views import change_routes
from jointgeo_service.elsewhere import Elsewhere, PieceTypes
from jointgeo_service.fixtures import Fixtures
from jointgeo_service.limits import LONG, LONG_WAIT_SECONDS, LONG_WAITING
from jointgeo_service.part_pages import PartPages
from jointgeo_service.piece_answers import PIECE_SCHEMAS
from jointgeo_service.piece_questions import FILE, FILE_SCHEMA, PieceQuestions
from jointgeo_service.piece_views import piece_routes, unknown_piece_routes
from jointgeo_service.turns import Turns

__all__ = ["add_piece_routes"]


def add_piece_routes(
    app: flask.Flask,
    api: ServiceApi,
    types: PieceTypes,
    fixtures: Fixtures,
    elsewhere: Elsewhere,
    pages: PartPages,
) -> None:
    """Everything about pieces and about changing fixtures. pages: those of fixtures' parts."""
    turns = Turns(LONG, LONG_WAITING, LONG_WAIT_SECONDS, "long questions are being answered")
    questions = PieceQuestions(types, elsewhere, fixtures)
    schemas = api.spec.components
    for name, said in {**PIECE_SCHEMAS, FILE_SCHEMA: FILE}.items():
        schemas.schema(name, said)
    for name, made in {**questions.documented(), **CHANGE_SCHEMAS}.items():
        schemas.schema(name, schema=made)
    api.register_blueprint(piece_routes(questions, turns))
    api.register_blueprint(change_routes(elsewhere, fixtures, turns, pages))
    unknown_piece_routes(app, questions)
