"""GET /joint/<type>: a form for one joint, and the answer to it, as a page for a person.

Knows forms, queries, the catalogue and finished pages; knows no joint type by name. A form is made
from the type's own fields, so that a plug-in has its page for nothing. It is a plain GET: the
address holds all that was typed, and may be kept. What is typed is read more kindly than what
programs send; whatever is wrong with it stands at its field.
"""

from __future__ import annotations

from collections.abc import Mapping

import flask

from jointgeo.errors import InputError
from jointgeo.schema.fields import describe
from jointgeo.sheet.markup import Markup, element, joined
from jointgeo_service import frame
from jointgeo_service.drawn import Drawn
from jointgeo_service.fixtures import Fixtures
from jointgeo_service.form_parts import asked, example_links, is_first, link, page, starting
from jointgeo_service.forms import label
from jointgeo_service.plugins import Catalogue, Known
from jointgeo_service.problems import RefusedError, as_not_found, takes_query
from jointgeo_service.queries import PAGE, Query
from jointgeo_service.typed import read_typed

__all__ = ["form_routes"]


def form_routes(catalogue: Catalogue, fixtures: Fixtures, drawn: Drawn) -> flask.Blueprint:
    """The form of every joint type of ``catalogue``."""
    routes = flask.Blueprint("forms", __name__)
    queries = {name: Query(known, fixtures, PAGE) for name, known in catalogue.known.items()}

    def joint(name: str) -> flask.Response:
        def work() -> flask.Response:
            with as_not_found():
                known = catalogue.get(name)
            return _page(known, queries[name], fixtures, drawn)

        return frame.at_page(work)

    routes.add_url_rule("/joint/<name>", "joint", takes_query(joint))
    return routes


def _page(known: Known, query: Query, fixtures: Fixtures, drawn: Drawn) -> flask.Response:
    infos = describe(known.cls)
    pairs = list(flask.request.args.items(multi=True))
    examples = known.examples()
    first = is_first(pairs)
    own = asked(pairs, fixtures, hands=True)
    filled = pairs
    if first:
        filled = pairs + (starting(infos, examples[0]) if examples else [])
    typed = read_typed(infos, filled)
    answer: Markup | None = None
    if not first:
        joint = None
        try:
            joint = known.joint(dict(typed.table))
        except RefusedError:  # nobody's field is at fault
            raise
        except InputError as error:
            # What could not be read is not missing.
            typed = typed.with_faults(error)
        if not (typed.problems or typed.unknown or own.problems) and joint is not None:
            assert own.fixture is not None  # noqa: S101  # or there is a problem
            texts = {"fixture": own.name, "hand": own.hand, **typed.texts}
            key = "form", known.name, tuple(texts.items()), own.fixture
            fixture, inches = own.fixture, typed.unit == "in"

            def draw() -> str:
                return known.screen(joint, fixture.fixture, own.hand, texts, inches)  # type: ignore[arg-type]  # one of the hands

            made = Markup(drawn.page(key, draw, own_process=not known.keeps))
            wire = {"fixture": own.name, "hand": own.hand, **query.flat(typed.table)}
            answer = joined([made, own.edition, _more(known, wire)])
    meaning = drawn.page(("meaning", known.name), known.meaning, own_process=not known.keeps)
    return page(
        label(known.name),
        f"{known.cls.summary.rstrip('.')}.",
        typed,
        own,
        hands=True,
        answer=answer,
        start=example_links(infos, examples, own.name),
        meaning=Markup(meaning),
    )


def _more(known: Known, wire: Mapping[str, str]) -> Markup:
    """Where the same answer stands in other forms."""
    base = f"/v1/joint-types/{known.name}"
    rows = [
        link("Page to print for the machine", "/sheet", {"joint_type": known.name, **wire}),
        link("All settings as a table", f"{base}/settings", {**wire, "shape": "csv"}),
        link("Every check as a table", f"{base}/feasibility", {**wire, "shape": "csv"}),
        link("Settings for programs (JSON)", f"{base}/settings", wire),
    ]
    return joined([element("h3", "Further"), element("ul", *(element("li", r) for r in rows))])
