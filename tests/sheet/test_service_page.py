"""GET /sheet: the same page from the service, and its refusals as pages."""

from __future__ import annotations

import html
import re

import attrs
import pytest
from flask.testing import FlaskClient

import jointgeo
from jointgeo.fixtures.file import named_digest
from jointgeo.joints.joint_type import JointType
from jointgeo.plugin import Drawing
from jointgeo.sheet import Book, page, sheet_of_joint
from jointgeo_service.apart import installed
from jointgeo_service.app import create_app
from jointgeo_service.limits import EDITION_SIGNS
from jointgeo_service.plugins import Catalogue

from .samples import LappedStake


def serving(*types: type[JointType]) -> FlaskClient:
    """A client of the service; with ``types`` it offers those only."""
    catalogue = Catalogue.of({t.name: t for t in types}) if types else installed()
    app = create_app(catalogue=catalogue)
    return app.test_client()


@pytest.fixture(scope="module")
def client() -> FlaskClient:
    return serving()


def example(name: str) -> dict[str, str]:
    flags = {True: "true", False: "false"}
    values = jointgeo.joint_type(name).examples()[0].to_dict()
    given = {k: v for k, v in values.items() if v is not None}
    return {k: flags[v] if isinstance(v, bool) else str(v) for k, v in given.items()}


@pytest.mark.parametrize("name", sorted(jointgeo.joint_types()))
@pytest.mark.parametrize("hand", ["as_drawn", "mirrored"])
def test_the_page_is_the_librarys_own(client: FlaskClient, name: str, hand: str) -> None:
    query = {"joint_type": name, "fixture": "porch", "hand": hand} | example(name)
    answer = client.get("/sheet", query_string=query)
    assert answer.status_code == 200
    assert answer.mimetype == "text/html"
    assert "default-src 'none'" in answer.headers["Content-Security-Policy"]
    joint = jointgeo.joint_type(name).examples()[0]
    sheet = sheet_of_joint(joint, jointgeo.load_fixture("porch"), hand)  # type: ignore[arg-type]  # one of the two
    edition = named_digest("porch")[:EDITION_SIGNS]
    assert answer.text == page(attrs.evolve(sheet, fixture_edition=edition), Book())


def test_inches_and_paper_may_be_asked_for(client: FlaskClient) -> None:
    query = example("splayed_bridle")
    del query["leg_width_mm"]
    query |= {"joint_type": "splayed_bridle", "fixture": "porch", "leg_width_in": "2 1/2"}
    answer = client.get("/sheet", query_string=query | {"paper": "letter"})
    assert answer.status_code == 200
    assert "63.50" in answer.text  # 2 1/2 in at 25.4 mm
    assert "size: letter" in answer.text


@pytest.mark.parametrize(
    ("query", "status", "said"),
    [
        ({"fixture": "porch"}, 422, "joint_type"),
        ({"joint_type": "<b>", "fixture": "porch"}, 422, "is not a known joint type"),
        ({"joint_type": "angled_tenon", "fixture": "nowhere"}, 422, "fixture"),
        (
            {"joint_type": "angled_tenon", "fixture": "porch", "shape": "csv"},
            422,
            "is not a known name",
        ),
        ({"joint_type": "angled_tenon", "fixture": "porch", "paper": "a0"}, 422, "a4, letter"),
        (
            {"joint_type": "angled_tenon", "fixture": "porch", "rail_width_mm": "-3"},
            422,
            "a number at least 0.1 mm",
        ),
    ],
)
def test_refusals_are_pages_that_name_the_field(
    client: FlaskClient, query: dict[str, str], status: int, said: str
) -> None:
    answer = client.get("/sheet", query_string=query)
    assert answer.status_code == status
    assert answer.mimetype == "text/html"
    assert said in html.unescape(answer.text)
    assert "<b>" not in answer.text
    assert "Traceback" not in answer.text


def test_the_front_page_leads_to_every_joint_type(client: FlaskClient) -> None:
    first = client.get("/sheet")
    assert first.status_code == 200
    links = [html.unescape(u) for u in re.findall(r'href="(/[^"]+)"', first.text)]
    assert len(links) == len(jointgeo.joint_types())
    for link in links:
        assert client.get(link).status_code == 200


def test_a_third_partys_joint_is_served_with_no_code_of_its_own() -> None:
    answer = serving(LappedStake).get("/sheet?joint_type=lapped_stake&fixture=porch&lean_deg=9")
    assert answer.status_code == 200
    assert "Lapped stake" in answer.text
    assert answer.text.count("<svg") >= 6


class Failing(LappedStake):
    """A third-party joint that breaks down."""

    name = "failing_stake"

    def draw(self) -> Drawing:
        raise ZeroDivisionError("oh")


def test_a_joint_type_that_fails_is_named_on_the_page() -> None:
    answer = serving(Failing).get("/sheet?joint_type=failing_stake&fixture=porch")
    assert answer.status_code == 500
    assert "The plug-in is at fault: failing_stake" in answer.text
