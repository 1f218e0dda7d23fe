"""The application: every part of the service put together.

Knows all of it and computes nothing.
"""

from __future__ import annotations

import importlib.metadata
import threading
from collections.abc import Callable, Collection
from typing import Any

import flask

from jointgeo_service import access, apart, log, problems
from jointgeo_service.api import make_api
from jointgeo_service.batch_views import batch_routes
from jointgeo_service.catalogue_views import catalogue_routes
from jointgeo_service.cell_views import cell_routes
from jointgeo_service.drawn import Drawn
from jointgeo_service.elsewhere import Elsewhere, PieceTypes
from jointgeo_service.fixtures import Fixtures
from jointgeo_service.form_views import form_routes
from jointgeo_service.joint_views import joint_routes, unknown_routes
from jointgeo_service.limits import BATCH_WAIT_SECONDS, BATCHES, BATCHES_WAITING
from jointgeo_service.list_views import list_routes
from jointgeo_service.more_routes import add_piece_routes
from jointgeo_service.pages import page_routes
from jointgeo_service.part_pages import PartPages
from jointgeo_service.piece_forms import piece_form_routes
from jointgeo_service.plugins import Catalogue
from jointgeo_service.questions import Questions
from jointgeo_service.sheet_view import sheet_routes
from jointgeo_service.start_view import start_routes
from jointgeo_service.turns import Turns

__all__ = ["create_app"]


def create_app(
    *,
    token: str | None = None,
    hosts: Collection[str] | None = access.LOOPBACK_NAMES,
    catalogue: Catalogue | None = None,
    pieces: PieceTypes | None = None,
    stopping: threading.Event | None = None,
    fixtures: Fixtures | None = None,
) -> flask.Flask:
    """The service as a WSGI application.

    token: what every request but that for health must bear; None for no token.
    hosts: the names in Host that are answered; None for all.
    catalogue: the joint types offered; by default those that are installed.
    pieces: the piece types offered; by default those that are installed.
    stopping: set by the server once it is to stop; /readyz then says so.
    fixtures: those offered; by default those that ship.
    """
    app = _App("jointgeo_service", static_folder=None)
    # A doubled slash or one too many is an unknown URL; a redirect would lose a POST's body.
    app.url_map.merge_slashes = False
    app.url_map.strict_slashes = True
    version = importlib.metadata.version("jointgeo")
    log.requests(app)
    problems.register(app)
    access.guard(app, token, hosts)
    app.after_request(_no_guessing)
    api = make_api(app, version, token=token is not None)
    questions = Questions(catalogue or apart.installed(), fixtures or Fixtures())
    says = "batches and lists are being answered"
    turns = Turns(BATCHES, BATCHES_WAITING, BATCH_WAIT_SECONDS, says)
    for name, schema in questions.documented().items():
        api.spec.components.schema(name, schema=schema)
    stop = stopping or threading.Event()
    api.register_blueprint(catalogue_routes(questions.catalogue, questions.fixtures, version, stop))
    api.register_blueprint(joint_routes(questions))
    api.register_blueprint(cell_routes(questions))
    api.register_blueprint(list_routes(questions, turns.take))
    api.register_blueprint(batch_routes(questions, turns))
    unknown_routes(app, questions.catalogue)
    types, elsewhere = pieces or PieceTypes.installed(), Elsewhere()
    drawn = Drawn()
    parts = PartPages(drawn)
    add_piece_routes(app, api, types, questions.fixtures, elsewhere, parts)
    app.register_blueprint(sheet_routes(questions.catalogue, questions.fixtures, drawn))
    app.register_blueprint(form_routes(questions.catalogue, questions.fixtures, drawn))
    app.register_blueprint(piece_form_routes(types, elsewhere, questions.fixtures, drawn))
    app.register_blueprint(start_routes(questions.catalogue, types, questions.fixtures, parts))
    page_routes(app, api)
    return app


class _App(flask.Flask):
    """Flask for views that are plain functions, as all of this service's are."""

    def ensure_sync(self, func: Callable[..., Any]) -> Callable[..., Any]:
        """Flask looks at every hook and view of every request whether it is a coroutine."""
        return func


def _no_guessing(response: flask.Response) -> flask.Response:
    response.headers["X-Content-Type-Options"] = "nosniff"
    return response
