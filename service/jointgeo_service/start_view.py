"""GET /, what there is to fill in; GET /fixture and /fixture/<name>, what each fixture can do, and
GET /fixture/<name>/parts, its parts to print.

Knows the catalogue, piece types and fixtures; knows none of them by name.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

import attrs
import flask

from jointgeo.fixture_parts.catalogue import PARTS
from jointgeo.fixtures.model import STATED_LISTS, Fixture
from jointgeo.schema.fields import KEY, info_of
from jointgeo.sheet.markup import Markup, element, joined
from jointgeo.sheet.screen_findings import cautions
from jointgeo_service import frame
from jointgeo_service.elsewhere import PieceTypes
from jointgeo_service.fixtures import Chosen, Entry, Fixtures
from jointgeo_service.form_parts import link
from jointgeo_service.forms import label
from jointgeo_service.part_pages import PartPages, PartsAsked
from jointgeo_service.plugins import Catalogue
from jointgeo_service.problems import as_not_found, takes_query

__all__ = ["start_routes"]


def start_routes(
    catalogue: Catalogue, types: PieceTypes, fixtures: Fixtures, parts: PartPages
) -> flask.Blueprint:
    """The first page and those of the fixtures. parts: the pages of their parts."""
    routes = flask.Blueprint("start", __name__)

    def page(work: Callable[[], flask.Response]) -> flask.Response:
        return frame.at_page(work)

    def start() -> flask.Response:
        return page(lambda: _html("Joints and pieces", _start(catalogue, types, fixtures)))

    def every_fixture() -> flask.Response:
        return page(lambda: _html("Fixtures", _fixtures(fixtures)))

    def fixture(name: str) -> flask.Response:
        def work() -> flask.Response:
            with as_not_found():
                found = fixtures.get(name)
            return _html(f"Fixture {name}", _fixture(found))

        return page(work)

    def fixture_parts(name: str) -> flask.Response:
        def work() -> flask.Response:
            with as_not_found():
                found = fixtures.get(name)
            return parts.page(PartsAsked(found))

        return page(work)

    views: tuple[tuple[str, str, Callable[..., flask.Response]], ...] = (
        ("/", "start", start),
        ("/fixture", "every_fixture", every_fixture),
        ("/fixture/<name>", "fixture", fixture),
        ("/fixture/<name>/parts", "fixture_parts", fixture_parts),
    )
    for url, endpoint, view in views:
        routes.add_url_rule(url, endpoint, takes_query(view))
    return routes


def _html(title: str, body: Iterable[Markup]) -> flask.Response:
    return frame.html(frame.document(title, *body), forms=False)


def _start(catalogue: Catalogue, types: PieceTypes, fixtures: Fixtures) -> Iterator[Markup]:
    yield element(
        "p",
        "Choose what you want to cut, fill in its sizes, and read what to set on the fixture and "
        "whether it can be cut there at all.",
    )
    yield cautions()
    yield element("h2", "A joint")
    yield _list(
        (link(label(known.name), f"/joint/{known.name}"), known.cls.summary)
        for known in catalogue.known.values()
    )
    if types.known:
        yield element("h2", "A whole piece")
        yield _list(
            (link(label(name), f"/piece/{name}"), cls.summary) for name, cls in types.known.items()
        )
    refused = (*catalogue.refused, *types.refused)
    if refused:
        yield element("h2", "Installed, but cannot be used")
        rows = (f"{f.name} of {f.distribution} {f.version}: {f.reason}." for f in refused)
        yield element("ul", *(element("li", row) for row in rows))
    yield element("h2", "On which fixture")
    yield _list((_fixture_link(entry), _said(entry)) for entry in fixtures.listed())
    yield element("p", "For programs and spreadsheets: ", link("what can be asked", "/docs"), ".")


def _fixture_link(entry: Entry) -> Markup:
    return link(entry.name, f"/fixture/{entry.name}")


def _said(entry: Entry) -> str:
    """Its title and edition, or why it cannot be asked."""
    if entry.chosen is None:
        return f"cannot be used: {entry.reason}"
    edition = f", edition {entry.chosen.edition}" if entry.chosen.edition else ""
    return f"{entry.chosen.fixture.title.rstrip('.')}{edition}"


def _list(rows: Iterable[tuple[Markup, str]]) -> Markup:
    made = (element("li", anchor, f": {says.rstrip('.')}.") for anchor, says in rows)
    return element("ul", *made)


def _fixtures(fixtures: Fixtures) -> Iterator[Markup]:
    for entry in fixtures.listed():
        yield element("h2", _fixture_link(entry))
        yield element("p", f"{_said(entry)[:1].upper()}{_said(entry)[1:]}.")
        if entry.chosen is not None:
            yield _table(_limits(entry.chosen.fixture))


def _limits(fixture: Fixture) -> Iterator[tuple[str, str]]:
    """What a person asks first."""
    for name, axis in (("Swivel", fixture.swivel), ("Tilt", fixture.tilt)):
        lacks = f"none: this fixture has no {name.lower()}"
        yield name, lacks if axis.lacking else f"{axis.min_deg:g}° to {axis.max_deg:g}°"
    travel = fixture.traverse
    yield "Traverse", f"{travel.min_mm:g} mm to {travel.max_mm:g} mm"
    height = fixture.cutter_height
    yield "Cutter height", f"{height.min_mm:g} mm to {height.max_mm:g} mm above the {height.datum}"
    yield "Plate", f"{fixture.plate.width_mm:g} mm wide, {fixture.plate.height_mm:g} mm high"
    yield "Clamp", f"takes {fixture.clamp.opening_mm:g} mm of backing, packing and stock together"
    for cutter in fixture.cutter:
        says = f"kerf {cutter.kerf_mm:g} mm, reaches {cutter.reach_mm:g} mm deep"
        yield cutter.name[:1].upper() + cutter.name[1:], says
    for beam in fixture.front_beam:
        on = "fitted" if beam.fitted else "not fitted"
        says = f"{on}, its face {beam.face_distance_mm:g} mm before the plate"
        yield beam.name[:1].upper() + beam.name[1:], says
    for name in STATED_LISTS:
        if fixture.leaves_open(name):
            yield label(name), f"not stated: {name} = [] in its file says that there is none"


def _fixture(chosen: Chosen) -> Iterator[Markup]:
    fixture = chosen.fixture
    yield element("p", f"{_said(Entry(chosen.name, chosen))}.")
    if fixture.changed_from:
        why = f": {fixture.changed_why}" if fixture.changed_why else ""
        yield element("p", f"Changed from {fixture.changed_from}{why}.")
    yield element("h2", "Limits")
    yield _table(_limits(fixture))
    yield element("h2", "Parts to build or change it")
    axes = {"swivel": fixture.swivel, "tilt": fixture.tilt}
    made = [m.says for m in PARTS.values() if not (m.axis and axes[m.axis].lacking)]
    yield element("ul", *(element("li", f"{says[:1].upper()}{says[1:]}.") for says in made))
    says = "The page to print, at full size over several sheets"
    yield element("p", link(says, f"/fixture/{chosen.name}/parts"))
    yield element("h2", "All that its file states")
    for field in attrs.fields(Fixture):
        if KEY in field.metadata:
            continue
        found = getattr(fixture, field.name)
        every = found if isinstance(found, tuple) else (found,)
        tables = [_table(_stated(item)) for item in every if attrs.has(type(item))]
        tables = [t for t in tables if t]
        if tables:
            yield element("details", element("summary", label(field.name)), *tables)
    yield element("p", link("The same for programs (JSON)", f"/v1/fixtures/{chosen.name}"))


def _stated(item: attrs.AttrsInstance) -> Iterator[tuple[str, str]]:
    """Every value that is stated, by the help of its field."""
    for field in attrs.fields(type(item)):
        if KEY not in field.metadata:
            continue
        info, value = info_of(field), getattr(item, field.name)
        if value is None:
            continue
        unit = {"deg": "°", "1": ""}.get(info.unit, f" {info.unit}" if info.unit else "")
        said = f"{value:g}{unit}" if isinstance(value, float) else str(value).replace("_", " ")
        yield info.help, said


def _table(rows: Iterable[tuple[str, str]]) -> Markup:
    made = [
        element("tr", element("th", name, scope="row"), element("td", says)) for name, says in rows
    ]
    return element("table", element("tbody", *made)) if made else joined([])
