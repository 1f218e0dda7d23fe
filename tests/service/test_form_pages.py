"""The pages that a person fills in, for every type that is installed and for a third party's.

What they must show is the library's own answer, asked here without the service, and for one joint
the numbers that the README prints. Pages are read with the standard library's HTML parser.
"""

from __future__ import annotations

import hashlib
import html
import re
from html.parser import HTMLParser
from importlib.resources import files
from pathlib import Path
from typing import Any

import attrs
import pytest
from flask.testing import FlaskClient

import jointgeo
from jointgeo.fixtures.file import named_digest
from jointgeo.pieces import solve_piece
from jointgeo.pieces.registry import piece_type, piece_types
from jointgeo.schema.fields import describe
from jointgeo.sheet.piece_screen import piece_printed
from jointgeo_service import fixtures
from jointgeo_service.app import create_app
from jointgeo_service.fixtures import Chosen, Fixtures
from jointgeo_service.limits import EDITION_SIGNS

PORCH = jointgeo.load_fixture("porch")
JOINTS = sorted(jointgeo.joint_types())
PIECES = sorted(piece_types())
PAGES = [
    "/", "/fixture", "/fixture/porch", "/fixture/porch/parts",
    *(f"/joint/{n}" for n in JOINTS), *(f"/piece/{n}" for n in PIECES),
]  # fmt: skip
VERDICTS = {
    "pass": "Feasible on porch",
    "caution": "Feasible, with cautions, on porch",
    "fail": "Not feasible on porch",
}
LEG = "/joint/splayed_bridle"


def texts(example: Any) -> dict[str, str]:
    """An example as a person would type it, with a decimal comma where there is a point."""
    out = {}
    for name, value in example.to_dict().items():
        if isinstance(value, bool):
            out[name] = "true" if value else "false"
        elif isinstance(value, float):
            plain = f"{value:.10g}"
            comma = len(plain.partition(".")[2]) != 3
            out[name] = plain.replace(".", ",") if comma else plain
        elif value is not None:
            out[name] = str(value)
    return out


class Read(HTMLParser):
    """Elements of a page: tag, attributes and the text inside."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str | None]]] = []
        self.feed(text)

    def all(self, *tags: str) -> list[dict[str, str | None]]:
        return [a for t, a in self.found if t in tags]

    def ids(self) -> list[str]:
        return [i for _, a in self.found if (i := a.get("id")) is not None]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, dict(attrs)))


def links(text: str) -> list[str]:
    return [html.unescape(u) for u in re.findall(r'href="([^"]+)"', text)]


@pytest.mark.parametrize("name", JOINTS)
@pytest.mark.parametrize("hand", ["as_drawn", "mirrored"])
def test_the_example_gives_the_librarys_verdict_and_numbers(
    client: FlaskClient, name: str, hand: Any
) -> None:
    for example in jointgeo.joint_type(name).examples():
        query = {"fixture": "porch", "hand": hand, **texts(example)}
        answer = client.get(f"/joint/{name}", query_string=query)
        assert answer.status_code == 200
        known = jointgeo.solve(example, PORCH, hand)
        assert VERDICTS[known.status] in answer.text
        for setup in known.setups:
            for axis in setup.axes:
                shown = f"{axis.figure_deg:.3f}°".replace("-0.000", "0.000")
                assert (f">{shown}<" in answer.text) == (known.status != "fail")


def test_numbers_that_are_printed_elsewhere_too(client: FlaskClient) -> None:
    """The README's leg: swivel 7.8274, tilt 12, back on the plate, 31.71 mm to the beam."""
    leg = texts(jointgeo.joint_type("splayed_bridle").examples()[0])
    text = client.get(LEG, query_string={"fixture": "porch", **leg}).text
    assert '<span class="way">swivel clockwise</span>' in text
    assert '<strong class="figure">7.827°</strong>' in text
    assert '<strong class="figure">12.000°</strong>' in text
    assert "Back on the plate, face edge on the fence" in text
    assert "31.71 mm to the front beam" in text
    assert text.count("<svg") >= 2
    assert not re.search(r"\b1:\d", text)


@pytest.mark.parametrize("name", PIECES)
def test_a_piece_gives_its_measured_figures_cut_list_and_settings(
    client: FlaskClient, name: str
) -> None:
    example = piece_type(name).examples()[0]
    answer = client.get(f"/piece/{name}", query_string={"fixture": "porch", **texts(example)})
    assert answer.status_code == 200
    known = solve_piece(example.piece(), PORCH)
    assert VERDICTS[known.status] in answer.text
    for what, value in example.measured().items():
        row = f'<th scope="row">{html.escape(what)}</th><td>{value:.2f}</td>'
        assert row in answer.text
    for member in known.members:
        assert f"{member.count} × {html.escape(member.name)}" in answer.text
        assert f">{member.blank_mm:.2f}<" in answer.text
    for setup in (s for end in known.settings for s in end.setups):
        for axis in setup.axes:
            shown = f"{axis.figure_deg:.3f}°".replace("-0.000", "0.000")
            assert f"<strong>{shown}</strong>" in answer.text


def test_a_piece_is_printed_as_the_library_prints_it(client: FlaskClient) -> None:
    bench = piece_type("splayed_bench").examples()[0]
    text = client.get("/piece/splayed_bench", query_string=texts(bench)).text
    (printed,) = [u for u in links(text) if u.startswith("/piece/splayed_bench/sheet")]
    answer = client.get(printed)
    assert answer.status_code == 200
    assert answer.text == piece_printed(bench, PORCH, ("", named_digest("porch")[:EDITION_SIGNS]))
    assert "form-action 'none'" in answer.headers["Content-Security-Policy"]
    wrong = client.get("/piece/splayed_bench/sheet", query_string={"rail_length_mm": "x"})
    assert wrong.status_code == 422
    assert "Rail length is not a number" in wrong.text


def test_a_piece_that_fails_shows_no_setting_to_set(
    client: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On a fixture whose tilt ends at 3°, where the bench's legs need 14.014° (its sheet's own)."""
    low = attrs.evolve(PORCH, tilt=attrs.evolve(PORCH.tilt, max_deg=3.0))
    monkeypatch.setattr(Fixtures, "get", lambda *_: Chosen("porch", low, "another digest"))
    bench = texts(piece_type("splayed_bench").examples()[0])
    text = client.get("/piece/splayed_bench", query_string={"fixture": "porch", **bench}).text
    assert "14.014° cut end towards you" in text
    assert "Not feasible on porch" in text
    assert "Not to be cut" in text
    assert "What helps:" in text
    assert "True tilt" in text
    assert "Overhang" not in text


@pytest.mark.parametrize("page", PAGES)
def test_no_page_runs_a_script_or_fetches_anything(client: FlaskClient, page: str) -> None:
    answer = client.get(page)
    assert answer.status_code == 200
    read = Read(answer.text)
    tags = {tag for tag, _ in read.found}
    assert not tags & {"script", "img", "iframe", "object", "embed"}
    assert not [a for _, pairs in read.found for a in pairs if a.startswith("on")]
    assert len(read.ids()) == len(set(read.ids()))
    policy = answer.headers["Content-Security-Policy"]
    assert policy.startswith("default-src 'none'; ")
    assert "script-src" not in policy
    forms = "'self'" if "form" in tags else "'none'"
    assert f"form-action {forms};" in policy
    assert "frame-ancestors 'none'" in policy
    assert answer.headers["Cross-Origin-Resource-Policy"] == "same-origin"
    assert answer.headers["Referrer-Policy"] == "no-referrer"
    assert answer.headers["X-Content-Type-Options"] == "nosniff"


@pytest.mark.parametrize("page", [p for p in PAGES if p.count("/") == 2 and "fixture" not in p])
def test_every_entry_has_its_label_help_and_fault(client: FlaskClient, page: str) -> None:
    kind, name = page.strip("/").split("/")
    cls = jointgeo.joint_type(name) if kind == "joint" else piece_type(name)
    infos = describe(cls)  # type: ignore[arg-type]  # either is an attrs class
    wrong = {i.name: "x" * 300 for i in infos}  # too long for a text, and no number
    answer = client.get(page, query_string={"fixture": "nowhere", **wrong})
    assert answer.status_code == 422
    read = Read(answer.text)
    labels = {a["for"] for a in read.all("label")}
    entries = {str(a["name"]): a for a in read.all("input", "select") if a.get("type") != "hidden"}
    assert {i.name for i in infos} <= set(entries)
    top = answer.text.partition('id="faults"')[2].partition("</div>")[0]
    for info in infos:
        entry = entries[info.name]
        assert entry["id"] in labels
        help_id, fault_id = str(entry["aria-describedby"]).split()
        assert {help_id, fault_id} <= set(read.ids())
        assert entry["aria-invalid"] == "true"
        assert f'href="#{entry["id"]}"' in top
        assert html.escape(info.help.rstrip(".")) in answer.text
    assert 'href="#field-fixture"' in top
    assert entries["fixture"]["aria-invalid"] == "true"
    assert "<svg" not in answer.text.partition('id="form"')[0]  # no answer, however little is wrong


def test_a_page_that_nothing_was_filled_in_on_yet_shows_an_example(client: FlaskClient) -> None:
    text = client.get(LEG).text
    assert 'name="leg_width_mm"' in text
    assert 'value="66"' in text
    assert "What the numbers mean" in text
    assert "tongue" in text
    assert "Feasible" not in text
    assert '<form action="#answer" method="get" id="form"' in text


def test_the_answer_stands_before_the_entries(client: FlaskClient) -> None:
    leg = texts(jointgeo.joint_type("splayed_bridle").examples()[0])
    text = client.get(LEG, query_string=leg).text
    assert text.index('id="answer"') < text.index('class="verdict') < text.index('id="form"')


def test_optional_fields_are_folded_unless_they_say_something(client: FlaskClient) -> None:
    leg = texts(jointgeo.joint_type("splayed_bridle").examples()[0])
    folded = client.get(LEG, query_string={**leg, "fit_mm": ""}).text
    assert "<details><summary>May be left" in folded
    for fit in ("0,1", "?"):
        opened = client.get(LEG, query_string={**leg, "fit_mm": fit}).text
        assert '<details open=""><summary>May be left' in opened


def test_what_does_not_fit_is_not_to_be_cut_and_a_link_mends_it(client: FlaskClient) -> None:
    """At 20° the leg fouls the straight beam; the README's fixture has its stop at 24°."""
    leg = texts(jointgeo.joint_type("splayed_bridle").examples()[0]) | {"splay_along_deg": "20"}
    text = client.get(LEG, query_string={"fixture": "porch", **leg}).text
    assert "Not feasible on porch" in text
    assert "Front beam: short by 3.18 mm" in text
    assert text.count("Not to be cut") == 2  # one for each axis
    assert 'class="figure"' not in text
    assert "The straight beam moved out by 3.2 mm" in text
    mends = [u for u in links(text) if u.startswith("?") and "leg_thickness_mm=41" in u]
    assert len(mends) == 1
    mended = client.get(LEG + mends[0].partition("#")[0])
    assert "Feasible" in mended.text
    assert 'value="41"' in mended.text
    assert mends[0].endswith("#answer")


def test_inches_are_read_and_told_beside_millimetres(client: FlaskClient) -> None:
    leg = texts(jointgeo.joint_type("splayed_bridle").examples()[0])
    inches = {n: f"{float(t.replace(',', '.')) / 25.4:.9f}" for n, t in leg.items() if "_mm" in n}
    query = {"fixture": "porch", "unit": "in", "was": "in", **leg, **inches}
    text = client.get(LEG, query_string=query | {"leg_width_mm": "2 1/2"}).text
    assert "Blank 63.50 mm (2 1/2 in)" in text
    assert '<strong class="figure">7.827°</strong>' in text
    assert 'value="2 1/2"' in text
    other = client.get(LEG, query_string=query | {"unit": "mm"}).text
    assert 'value="66"' in other
    assert "Blank 66.00 mm × " in other


@pytest.mark.parametrize("name", JOINTS)
def test_every_link_of_an_answer_leads_somewhere(client: FlaskClient, name: str) -> None:
    leg = texts(jointgeo.joint_type(name).examples()[0])
    text = client.get(f"/joint/{name}", query_string={"fixture": "porch", **leg}).text
    ids = Read(text).ids()
    for link in links(text):
        path, _, place = link.partition("#")
        if not path:
            assert place in ids
        elif path != "data:,":
            found = client.get(path if path.startswith("/") else f"/joint/{name}{path}")
            assert found.status_code == 200, link
    (numbers,) = [u for u in links(text) if "/settings?" in u and "shape" not in u]
    told = client.get(numbers).json
    assert told is not None
    found_there = [s["swivel_deg"] for p in told["parts"] for s in p["setups"]]
    known = jointgeo.solve(jointgeo.joint_type(name).examples()[0], PORCH)
    assert found_there == [s.swivel_deg for s in known.setups]


@pytest.mark.parametrize("name", PIECES)
def test_every_link_of_a_piece_leads_somewhere(client: FlaskClient, name: str) -> None:
    example = piece_type(name).examples()[0]
    text = client.get(f"/piece/{name}", query_string={"fixture": "porch", **texts(example)}).text
    wire = [u for u in links(text) if u.startswith("/v1/")]
    assert len(wire) == 3
    for link in wire:
        assert client.get(link).status_code == 200, link
    (numbers,) = [u for u in wire if "/settings?" in u]
    told = client.get(numbers).json
    assert told is not None
    found = [s["swivel_deg"] for e in told["settings"] for s in e["setups"]]
    known = solve_piece(example.piece(), PORCH)
    assert found == [s.swivel_deg for e in known.settings for s in e.setups]


EVIL = "\"><script>alert('x')</script>"


@pytest.mark.parametrize("field", ["fixture", "leg_width_mm", "hand", "unit", "knot", EVIL])
def test_what_is_typed_comes_back_as_text(client: FlaskClient, field: str) -> None:
    leg = texts(jointgeo.joint_type("splayed_bridle").examples()[0])
    answer = client.get(LEG, query_string={**leg, field: EVIL})
    assert answer.status_code == 422
    assert "<script" not in answer.text
    assert "alert" in answer.text


@pytest.mark.parametrize("page", ["/", LEG, "/piece/splayed_bench", "/fixture/porch", "/sheet"])
def test_another_sites_page_cannot_have_it_drawn(client: FlaskClient, page: str) -> None:
    answer = client.get(page, headers={"Sec-Fetch-Site": "cross-site"})
    assert answer.status_code == 403
    assert "another site" in answer.text
    assert f'href="{page}"' in answer.text
    for here in ("same-origin", "none"):
        assert client.get(page, headers={"Sec-Fetch-Site": here}).status_code == 200


@pytest.mark.parametrize("page", ["/joint/knot", "/piece/knot", "/fixture/knot", "/fixture/..%2fx"])
def test_what_there_is_not_is_told_as_a_page(client: FlaskClient, page: str) -> None:
    answer = client.get(page)
    assert answer.status_code == 404
    if "%" not in page:
        assert "There is no such page" in answer.text
        assert "porch" in answer.text or "splayed" in answer.text


def test_a_fixtures_page_tells_its_limits(client: FlaskClient) -> None:
    """As its file states them."""
    text = client.get("/fixture/porch").text
    for says in ("-25° to 25°", "0° to 24°", "140 mm before the plate", "not fitted"):
        assert says in text


def test_fixtures_of_ones_own_are_offered_with_edition_or_reason(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(fixtures, "QUIET_SECONDS", 0.0)
    shipped = files("jointgeo") / "data" / "fixtures" / "porch.toml"
    text = shipped.read_text("utf-8")
    (tmp_path / "low.toml").write_text(text.replace("max_deg = 24", "max_deg = 10"), "utf-8")
    (tmp_path / "torn.toml").write_text("name = ", "utf-8")
    client = create_app(fixtures=Fixtures(tmp_path)).test_client()
    leg = texts(jointgeo.joint_type("splayed_bridle").examples()[0])
    low = client.get(LEG, query_string={"fixture": "low.toml", **leg})
    assert "Not feasible on low.toml" in low.text  # 12° of tilt, and it ends at 10°
    assert "Tilt range: short by 2.000°" in low.text
    digest = hashlib.sha256((tmp_path / "low.toml").read_bytes()).hexdigest()
    assert f"low.toml, edition {digest[:EDITION_SIGNS]}" in low.text
    torn = client.get(LEG, query_string={"fixture": "torn.toml", **leg})
    assert torn.status_code == 422
    assert 'href="#field-fixture"' in torn.text
    assert "cannot be used: " in torn.text
    for page in ("/", "/fixture"):
        listed = client.get(page).text
        assert f"edition {digest[:EDITION_SIGNS]}" in listed
        assert "annot be used: " in listed
    assert "0° to 10°" in client.get("/fixture/low.toml").text
    assert client.get("/fixture/torn.toml").status_code == 422
