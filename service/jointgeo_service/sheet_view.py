"""GET /sheet: the setting sheet of one joint as a page that a browser opens and prints.

Knows the queries, the catalogue and jointgeo's sheets; knows no joint type by name. The
query is that of the joint's settings with ``joint_type`` added and, if wished, ``paper``.
Whatever is wrong comes as a page as well, with the status it has everywhere else.
"""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

import flask

from jointgeo.errors import InputError, PluginError, Problem, shown
from jointgeo.fixtures.file import fixture_names
from jointgeo.sheet import document
from jointgeo.sheet.markup import Markup, element, joined
from jointgeo.sheet.parts import items
from jointgeo.sheet.style import PAPERS
from jointgeo_service.fixtures import Fixtures
from jointgeo_service.limits import SHEET_WAIT_SECONDS, SHEETS, SHEETS_WAITING
from jointgeo_service.plugins import Catalogue, Known
from jointgeo_service.problems import RefusedError, input_problem, plugin_problem, takes_query
from jointgeo_service.queries import PAGE, Query
from jointgeo_service.turns import Turns

__all__ = ["sheet_routes"]

#: Nothing is fetched and nothing is run: the page is complete as it comes.
POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; "
    "form-action 'none'; frame-ancestors 'none'"
)


def sheet_routes(catalogue: Catalogue, fixtures: Fixtures) -> flask.Blueprint:
    """The page for every joint type of ``catalogue``."""
    routes = flask.Blueprint("sheet", __name__)
    turns = Turns(SHEETS, SHEETS_WAITING, SHEET_WAIT_SECONDS, "sheets are being drawn")
    queries = {name: Query(known, fixtures, PAGE) for name, known in catalogue.known.items()}

    def sheet() -> flask.Response:
        pairs = list(flask.request.args.items(multi=True))
        try:
            if not pairs:
                return _html(document("Setting sheets", _index(catalogue)), 200)
            known, rest, paper = _read(catalogue, pairs)
            asked = queries[known.name].read(rest)
            chosen = asked.fixture
            names = chosen.name if chosen.file else "", chosen.edition or ""
            # Who draws in a process of its own takes nobody else's turn.
            give_back = turns.take() if known.keeps else lambda: None
            try:
                return _html(known.page(asked.joint, chosen.fixture, asked.hand, paper, names))
            finally:
                give_back()
        except RefusedError as error:
            answer = _refused(input_problem(error))
            answer.headers.update(error.headers)
            return answer
        except InputError as error:
            return _refused(input_problem(error))
        except PluginError as error:
            return _refused(plugin_problem(error))

    routes.add_url_rule("/sheet", "sheet", takes_query(sheet))
    return routes


def _read(
    catalogue: Catalogue, pairs: list[tuple[str, str]]
) -> tuple[Known, list[tuple[str, str]], str | None]:
    """The joint type, what its own query holds, and the paper."""
    own: dict[str, list[str]] = {"joint_type": [], "paper": []}
    rest, problems = [], []
    for name, text in pairs:
        if name in own:
            own[name].append(text)
        else:
            rest.append((name, text))
    for name, texts in own.items():
        if len(texts) > 1:
            problems.append(Problem(name, "is given more than once", shown(texts[1]), "once"))
    paper = own["paper"][0] if own["paper"] else None
    if paper is not None and paper not in PAPERS:
        allowed = "one of " + ", ".join(PAPERS)
        problems.append(Problem("paper", "is not a choice", shown(paper), allowed))
    if not own["joint_type"]:
        allowed = "one of " + ", ".join(catalogue.known)
        problems.append(Problem("joint_type", "is missing", None, allowed))
    if problems:
        raise InputError(*problems)
    return catalogue.get(own["joint_type"][0]), rest, paper


def _index(catalogue: Catalogue) -> Markup:
    """Every joint type with a link to its first worked example."""
    fixture = next(iter(fixture_names()), "")
    rows: list[Markup] = []
    for known in catalogue.known.values():
        try:
            example = known.examples()[0]
        except (PluginError, IndexError):
            continue
        query = {"joint_type": known.name, "fixture": fixture} | _texts(example)
        link = element("a", "a worked example", href=f"/sheet?{urlencode(query)}")
        rows.append(joined([element("strong", known.name), f": {known.cls.summary}; ", link, "."]))
    return joined([element("h1", "Setting sheets"), items(rows)])


def _texts(example: dict[str, Any]) -> dict[str, str]:
    """Parameters as a query holds them."""
    flags = {True: "true", False: "false"}
    return {k: flags[v] if isinstance(v, bool) else str(v) for k, v in example.items()}


def _refused(details: dict[str, Any]) -> flask.Response:
    """Problem details as a page."""
    rows = []
    for error in details.get("errors", ()):
        rest = "".join(f"; {k}: {error[k]}" for k in ("given", "allowed") if k in error)
        rows.append(joined([element("strong", str(error["field"])), f" {error['message']}{rest}"]))
    body = [element("h1", str(details["title"])), element("p", f"{details['detail']}.")]
    text = document(str(details["title"]), joined([*body, items(rows)]))
    return _html(text, int(details["status"]))


def _html(text: str, status: int = 200) -> flask.Response:
    headers = {"Content-Security-Policy": POLICY}
    return flask.Response(text, status, headers, mimetype="text/html")
