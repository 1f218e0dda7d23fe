"""Parts of a fixture as the command line gives them, over HTTP: the page to print, and DXF files.

What stands on them is tested on the library; here, that it is the same, and what a service adds.
"""

from __future__ import annotations

import builtins
import itertools
import math
import threading
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor, as_completed
from pathlib import Path
from typing import Any

import attrs
import ezdxf
import pytest
from flask.testing import FlaskClient

import jointgeo
from jointgeo.command import main
from jointgeo.fixture_parts import PARTS, Wanted, fixture_parts
from jointgeo.fixture_parts.dxf import part_dxf
from jointgeo.fixture_parts.page import parts_page
from jointgeo.fixture_parts.wanted import Drilled
from jointgeo.fixtures.text import fixture_tables
from jointgeo_service import part_pages
from jointgeo_service.app import create_app
from jointgeo_service.drawn import Drawn
from jointgeo_service.limits import DRAWN_HOLES, KEPT_CHARACTERS, SHEETS, SHEETS_WAITING

PORCH = jointgeo.load_fixture("porch")
URL = "/v1/fixture-parts"
HOLE = {"across_mm": 150.0, "up_mm": 100.0, "diameter_mm": 10.0}


@pytest.fixture(scope="module")
def client() -> FlaskClient:
    return create_app().test_client()


@pytest.fixture
def _same_time() -> Iterator[None]:
    """DXF files without the time of writing, so that two can be compared."""
    ezdxf.options.write_fixed_meta_data_for_testing = True
    yield
    ezdxf.options.write_fixed_meta_data_for_testing = False


def _fields(answer: Any) -> dict[str, str]:
    assert answer.status_code == 422, answer.text
    assert answer.mimetype == "application/problem+json"
    return {e["field"]: e["message"] for e in answer.json["errors"]}


def test_the_page_is_the_librarys_own(client: FlaskClient, edition: str) -> None:
    answer = client.get(f"{URL}?fixture=porch&shape=html")
    assert answer.status_code == 200
    assert answer.mimetype == "text/html"
    assert "default-src 'none'" in answer.headers["Content-Security-Policy"]
    title = f"porch, edition {edition}: {PORCH.title}"
    assert answer.text == parts_page(fixture_parts(PORCH), title)
    assert "power isolated" in answer.text
    assert answer.text.count("this bar is 100 mm") == 20  # 6 + 2 + 3 + 3 + 6 sheets
    asked = fixture_parts(PORCH, Wanted(screw_mm=6.35), ["swivel_slots"])
    query = "fixture=porch&shape=html&part=swivel_slots&screw_in=1/4&paper=letter"
    assert client.get(f"{URL}?{query}").text == parts_page(asked, title, "letter")


def test_the_page_differs_from_the_commands_by_the_edition_alone(
    client: FlaskClient, edition: str, tmp_path: Path
) -> None:
    main(["parts", "porch", "--paper", "a4", "--output", str(tmp_path)])
    told = (tmp_path / "porch-parts.html").read_text("utf-8")
    answer = client.get(f"{URL}?fixture=porch&shape=html&paper=a4").text
    assert answer.count(f", edition {edition}") == 2  # in the title and in the head line
    assert answer.replace(f", edition {edition}", "") == told


@pytest.mark.usefixtures("_same_time")
@pytest.mark.parametrize("part", fixture_parts(PORCH).parts, ids=lambda p: p.kind)
def test_dxf_is_the_commands_byte_for_byte(client: FlaskClient, part: Any, tmp_path: Path) -> None:
    main(["parts", "porch", part.kind, "--dxf", "--output", str(tmp_path)])
    name = f"porch-{part.kind.replace('_', '-')}.dxf"
    answer = client.get(f"{URL}?fixture=porch&shape=dxf&part={part.kind}")
    assert answer.status_code == 200, answer.text
    assert answer.data == (tmp_path / name).read_bytes() == part_dxf(part)
    assert answer.mimetype == "image/vnd.dxf"
    assert answer.headers["Content-Disposition"] == f"attachment; filename={name}"
    assert answer.headers["X-Content-Type-Options"] == "nosniff"


def test_dxf_reads_back_with_what_was_asked(client: FlaskClient, tmp_path: Path) -> None:
    """A slot for a screw of 10 mm has ends of half the screw and its play of 0.5 mm."""
    query = "fixture=porch&shape=dxf&part=tilt_quadrant&screw_mm=10"
    path = tmp_path / "quadrant.dxf"
    path.write_bytes(client.get(f"{URL}?{query}").data)
    space = ezdxf.readfile(path).modelspace()  # type: ignore[attr-defined]  # lazily there
    slot = [a.dxf.radius for a in space.query("ARC") if a.dxf.layer == "slot"]
    assert sorted(slot)[:2] == pytest.approx([5.25, 5.25], abs=1e-9)


@pytest.mark.usefixtures("_same_time")
def test_a_whole_fixture_with_holes_is_drawn_too(client: FlaskClient) -> None:
    own = attrs.evolve(PORCH, name="own", title="My own")
    wanted = {"hole": [HOLE, {**HOLE, "up_mm": 200.0, "keep": "screw"}]}
    holes = (Drilled(**HOLE), Drilled(**{**HOLE, "up_mm": 200.0, "keep": "screw"}))
    body = {"fixture": fixture_tables(own), "wanted": wanted, "parts": ["swivel_slots"]}
    found = fixture_parts(own, Wanted(hole=holes), ["swivel_slots"])
    page = client.post(URL, json=body | {"shape": "html", "paper": "a4"})
    assert page.text == parts_page(found, "own: My own", "a4")
    answer = client.post(URL, json=body | {"shape": "dxf"})
    assert answer.data == part_dxf(found.parts[0])
    assert answer.headers["Content-Disposition"].endswith("filename=own-swivel-slots.dxf")


def test_two_fixtures_of_one_name_are_not_mixed_up(client: FlaskClient) -> None:
    """Both come with their questions, so neither has a file that would tell them apart."""
    pages = set()
    for most in (24.0, 10.0):
        fixture = attrs.evolve(PORCH, tilt=attrs.evolve(PORCH.tilt, max_deg=most))
        body = {"fixture": fixture_tables(fixture), "parts": ["tilt_quadrant"], "shape": "html"}
        page = client.post(URL, json=body).text
        asked = fixture_parts(fixture, None, ["tilt_quadrant"])
        assert page == parts_page(asked, f"porch: {PORCH.title}")
        pages.add(page)
    assert len(pages) == 2


@pytest.mark.parametrize(
    ("query", "field", "says"),
    [
        ("shape=dxf", "part", "must name one part for shape=dxf"),
        ("shape=svg", "shape", "is not a choice"),
        ("shape=html&paper=a0", "paper", "is not a choice"),
        ("paper=a4", "paper", "is for shape=html only"),
        ("shape=dxf&part=swept&paper=a4", "paper", "is for shape=html only"),
        ("shape=html&part=lid", "part", "is not a choice"),
        ("shape=html&part=wedges", "tilt_deg", "needs no wedge"),
        ("shape=dxf&part=traverse_spacer", "lean_mm", "is missing"),
        ("shape=html&pick=parts", "pick", "is for shape=value only"),
        ("shape=html&screw_mm=-1", "screw_mm", "is too small"),
    ],
)
def test_what_is_wrong_is_named(client: FlaskClient, query: str, field: str, says: str) -> None:
    found = _fields(client.get(f"{URL}?fixture=porch&{query}"))
    assert found[field].startswith(says)
    cell = client.get(f"{URL}?fixture=porch&{query}&cells=1")
    assert (cell.status_code, cell.text.startswith(f"# {field} {says}")) == (200, True)


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"shape": "dxf"}, "parts"),
        ({"shape": "dxf", "parts": ["swept", "hinge_gap"]}, "parts"),
        ({"shape": "csv"}, "shape"),
        ({"shape": "html", "paper": "a0"}, "paper"),
        ({"paper": "a4"}, "paper"),
        ({"shape": "dxf", "parts": ["wedges"]}, "wanted.tilt_deg"),
        ({"shape": "html", "wanted": {"hole": [HOLE] * (DRAWN_HOLES + 1)}}, "wanted.hole"),
        (
            {"shape": "dxf", "parts": ["swept"], "wanted": {"hole": [HOLE] * (DRAWN_HOLES + 1)}},
            "wanted.hole",
        ),
    ],
)
def test_what_is_wrong_in_a_body_is_named(
    client: FlaskClient, change: dict[str, Any], field: str
) -> None:
    assert set(_fields(client.post(URL, json={"fixture": "porch"} | change))) == {field}


def test_a_page_has_a_greatest_size(client: FlaskClient) -> None:
    """As many holes as are drawn, scattered over a slot of as many sheets as there may be."""
    turns = [2 * math.pi * i / DRAWN_HOLES for i in range(DRAWN_HOLES)]
    holes = [
        {"across_mm": 350 * math.cos(t), "up_mm": 350 + 350 * math.sin(t), "diameter_mm": 5.0}
        for t in turns
    ]
    body = {"fixture": "porch", "wanted": {"hole": holes, "radius_mm": 700.0}, "shape": "html"}
    answer = client.post(URL, json=body)
    assert answer.status_code == 200
    assert KEPT_CHARACTERS < len(answer.text) < 3_000_000
    assert answer.text.count("this bar is 100 mm") <= 24 * len(PARTS)


def test_a_page_that_is_too_large_is_not_kept() -> None:
    drawn, made = Drawn(), []

    def ask(size: int) -> int:
        def draw() -> str:
            made.append(size)
            return "a" * size

        return len(drawn.page(size, draw))

    for size in (KEPT_CHARACTERS, KEPT_CHARACTERS + 1) * 2:
        assert ask(size) == size
    assert made == [KEPT_CHARACTERS, KEPT_CHARACTERS + 1, KEPT_CHARACTERS + 1]


def test_without_the_extra_dxf_says_what_to_install(
    client: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = builtins.__import__

    def missing(name: str, *given: Any, **more: Any) -> Any:
        if name.startswith("ezdxf"):
            raise ImportError(name)
        return real(name, *given, **more)

    monkeypatch.setattr(builtins, "__import__", missing)
    url = f"{URL}?fixture=porch&shape=dxf&part=hinge_gap&room_mm=2.5"  # not asked before
    answer = client.get(url)
    assert answer.status_code == 501
    assert answer.mimetype == "application/problem+json"
    assert answer.json["title"] == "Not Implemented"
    assert "DXF needs the library ezdxf" in answer.json["detail"]
    assert "pip install '.[draw]'" in answer.json["detail"]
    assert client.get(f"{url}&cells=1").text.startswith("# DXF needs the library ezdxf")
    assert client.get(f"{URL}?fixture=porch&shape=html").status_code == 200


@pytest.mark.parametrize("shape", ["html", "dxf&part=swept"])
def test_another_sites_page_cannot_have_it_drawn(client: FlaskClient, shape: str) -> None:
    headers = {"Sec-Fetch-Site": "cross-site"}
    assert client.get(f"{URL}?fixture=porch&shape={shape}", headers=headers).status_code == 403


def test_parts_are_drawn_one_at_a_time_and_figures_do_not_wait(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Pages are held by events; whoever is too many is told, and a cell is answered meanwhile."""
    go, drawing = threading.Event(), threading.Event()
    at_once: list[int] = []
    most: list[int] = []

    def held(*_: Any) -> str:
        at_once.append(1)
        most.append(len(at_once))
        drawing.set()
        assert go.wait(60)
        at_once.pop()
        return "<p>drawn</p>"

    monkeypatch.setattr(part_pages, "parts_page", held)
    app = create_app()
    urls = [f"{URL}?fixture=porch&shape=html&screw_mm={i}" for i in range(5, 10)]
    with ThreadPoolExecutor(len(urls)) as pool:
        asked = [pool.submit(lambda u: app.test_client().get(u), url) for url in urls]
        assert drawing.wait(60)
        # All but those that may draw and wait come back while not one page is finished.
        many = len(urls) - SHEETS - SHEETS_WAITING
        away = list(itertools.islice(as_completed(asked, timeout=60), many))
        assert [a.result().status_code for a in away] == [503] * many
        assert {a.result().headers["Retry-After"] for a in away} == {"10"}
        cell = f"{URL}?fixture=porch&shape=value&pick=fixture"
        assert app.test_client().get(cell).text == "porch"
        go.set()
        answers = [a.result() for a in asked]
    assert max(most) == SHEETS
    assert {a.text for a in answers if a.status_code == 200} == {"<p>drawn</p>"}


def test_the_document_tells_both_forms(client: FlaskClient) -> None:
    path = client.get("/openapi.json").json["paths"][URL]
    for method in ("get", "post"):
        responses = path[method]["responses"]
        assert {"text/html", "image/vnd.dxf"} <= set(responses["200"]["content"])
        assert set(responses["501"]["content"]) == {"application/problem+json"}
    shape = next(p for p in path["get"]["parameters"] if p["name"] == "shape")
    assert shape["schema"]["enum"] == ["json", "csv", "tsv", "value", "html", "dxf"]
    assert path["get"]["operationId"] == "get_fixture_parts"


def test_a_fixtures_page_leads_to_its_parts_to_print(client: FlaskClient, edition: str) -> None:
    assert 'href="/fixture/porch/parts"' in client.get("/fixture/porch").text
    answer = client.get("/fixture/porch/parts")
    assert answer.status_code == 200
    title = f"porch, edition {edition}: {PORCH.title}"
    assert answer.text == parts_page(fixture_parts(PORCH), title)
    assert client.get("/fixture/knot/parts").status_code == 404
