"""GET /sheet: the operation sheet of one joint as a page that a browser opens and prints.

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
from jointgeo_service import frame
from jointgeo_service.drawn import Drawn
from jointgeo_service.fixtures import Fixtures
from jointgeo_service.plugins import Catalogue, Known
from jointgeo_service.problems import takes_query
from jointgeo_service.queries import PAGE, Query

__all__ = ["sheet_routes"]


def sheet_routes(catalogue: Catalogue, fixtures: Fixtures, drawn: Drawn) -> flask.Blueprint:
    """The page for every joint type of ``catalogue``. drawn: what all pages share."""
    routes = flask.Blueprint("sheet", __name__)
    queries = {name: Query(known, fixtures, PAGE) for name, known in catalogue.known.items()}

    def work() -> flask.Response:
        pairs = list(flask.request.args.items(multi=True))
        if not pairs:
            return frame.html(document("Operation sheets", _index(catalogue)), forms=False)
        known, rest, paper = _read(catalogue, pairs)
        asked = queries[known.name].read(rest)
        chosen = asked.fixture
        names = chosen.name if chosen.file else "", chosen.edition or ""

        def draw() -> str:
            return known.page(asked.joint, chosen.fixture, asked.hand, paper, names)

        key = "sheet", known.name, tuple(sorted(rest)), paper, chosen
        made = drawn.page(key, draw, own_process=not known.keeps)
        return frame.html(made, forms=False)

    routes.add_url_rule("/sheet", "sheet", takes_query(lambda: frame.at_page(work)))
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
    return joined([element("h1", "Operation sheets"), items(rows)])


def _texts(example: dict[str, Any]) -> dict[str, str]:
    """Parameters as a query holds them; what is left open is left out."""
    flags = {True: "true", False: "false"}
    given = {k: v for k, v in example.items() if v is not None}
    return {k: flags[v] if isinstance(v, bool) else str(v) for k, v in given.items()}
