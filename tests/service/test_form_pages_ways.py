"""What helps on a piece's page: links that fill the form in, for shipped types and a third party's.

Every link is followed, and what it leads to is held against the library's own answer for the piece
that the link's address spells. The search has all the time it takes here, so that a slow machine
finds the same.
"""

from __future__ import annotations

import html
import math
import re
from functools import partial
from typing import Any
from urllib.parse import parse_qsl, urlencode

import pytest
from flask.testing import FlaskClient

import jointgeo
from jointgeo.pieces import piece_type, solve_piece
from jointgeo.pieces.trials import Trials
from jointgeo.pieces.ways import ways
from jointgeo.schema.units import read_inches
from jointgeo.sheet import piece_screen
from jointgeo_service import piece_pages, piece_work
from jointgeo_service.app import create_app
from jointgeo_service.elsewhere import PieceTypes
from tests.conformance.broken_pieces import Footstool

PORCH = jointgeo.load_fixture("porch")
HELPS = "One change that is enough"
LEADS_TO = {
    "feasible": "Feasible on porch",
    "feasible, with cautions": "Feasible, with cautions, on porch",
    "this passes then, and all is feasible": "Feasible on porch",
    "this passes then, and all is feasible, with cautions": "Feasible, with cautions, on porch",
    "this passes then, and something else still fails": "Not feasible on porch",
}
#: Address, what stands before it, the number, in words, and what it leads to.
LINK = re.compile(
    r'<li>([^<]*)<a href="\?([^"]+)#answer">([^<]+)</a>'
    r"<span> in place of ([^<]+?): ([^<]+)</span>"
)
CASES = [
    ("splayed_bench", {"stretcher_thickness_mm": "16"}),
    ("splayed_bench", {}),
    ("three_legged_stool", {"tenon_length_mm": "9"}),
    ("side_chair", {"tenon_width_mm": "41", "rail_width_mm": "43"}),
    ("footstool", {"leg_mm": "20"}),
]


@pytest.fixture(autouse=True)
def _no_haste(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(piece_screen, "ways", partial(ways, seconds=math.inf))


@pytest.fixture
def own(monkeypatch: pytest.MonkeyPatch) -> FlaskClient:
    """A service with a piece type that does not ship; in this process, since it is not installed
    for another to find."""
    types = {**PieceTypes.installed().known, "footstool": Footstool}
    for module in (piece_pages, piece_work):
        monkeypatch.setattr(module, "piece_type", types.__getitem__)
    return create_app(pieces=PieceTypes(types)).test_client()


def cls_of(name: str) -> Any:
    return Footstool if name == "footstool" else piece_type(name)


def filled(name: str, **changed: str) -> dict[str, str]:
    given = cls_of(name).examples()[0].to_dict()
    flags = {True: "true", False: "false"}
    plain = {k: flags[v] if isinstance(v, bool) else str(v) for k, v in given.items()}
    return {"fixture": "porch", **plain, **changed}


def spelt(name: str, address: str) -> Any:
    """The piece that an address spells, read by hand."""
    given = dict(parse_qsl(html.unescape(address)))
    inches = given.pop("unit") == "in"
    del given["fixture"], given["was"]
    flags = {"true": True, "false": False}
    table: dict[str, Any] = {}
    for field, text in given.items():
        if inches and field.endswith("_mm"):
            table[field] = read_inches(text)
        elif field.endswith(("_mm", "_deg")):
            table[field] = float(text)
        else:
            table[field] = flags.get(text, text)
    return cls_of(name).from_dict(table)


@pytest.mark.parametrize(("name", "changed"), CASES)
def test_every_link_leads_to_what_it_says(
    own: FlaskClient, name: str, changed: dict[str, str]
) -> None:
    text = own.get(f"/piece/{name}", query_string=filled(name, **changed)).text
    found = LINK.findall(text)
    assert found
    for before, address, _, _, says in found:
        answer = solve_piece(spelt(name, address).piece(), PORCH)
        followed = own.get(f"/piece/{name}?{html.unescape(address)}")
        assert followed.status_code == 200
        assert LEADS_TO[says] in followed.text
        assert answer.feasible == ("Not feasible" not in LEADS_TO[says])
        # What was short is no longer told: the remedy's own sentence is gone.
        assert not before or before.rstrip(": ") not in followed.text


@pytest.mark.parametrize(
    ("name", "field", "mm"),
    [
        ("splayed_bench", "stretcher_thickness_mm", 16.0),
        ("three_legged_stool", "tenon_length_mm", 9.0),
    ],
)
def test_in_inches_a_link_holds_what_was_solved(
    client: FlaskClient, name: str, field: str, mm: float
) -> None:
    """To the last bit, of which a limit may hang."""
    given = filled(name, **{field: str(mm)})
    inches = {k: f"{float(v) / 25.4:.9f}" for k, v in given.items() if k.endswith("_mm")}
    query = {**given, **inches, "unit": "in", "was": "in"}
    found = LINK.findall(client.get(f"/piece/{name}", query_string=query).text)
    assert found
    assert all(" in)" in number for _, _, number, _, _ in found)
    drawn = spelt(name, urlencode(query))
    known = ways(drawn, solve_piece(drawn.piece(), PORCH), inches=True, seconds=math.inf)
    wanted = {(c.name, c.value) for c in (*known.enough, *(m.change for m in known.remedies))}
    pieces = [spelt(name, address) for _, address, _, _, _ in found]
    assert {(n, getattr(p, n)) for n, _ in wanted for p in pieces} >= wanted


def test_a_number_that_is_known_by_hand(client: FlaskClient) -> None:
    """A tenon 15 mm long with 2 of glue room, 3 mm behind it: 20 mm of stretcher, or 11 of tenon in
    the 16 there are. The remedy says the same in its own words."""
    query = filled("splayed_bench", stretcher_thickness_mm="16")
    text = client.get("/piece/splayed_bench", query_string=query).text
    assert text.index('class="verdict') < text.index(HELPS) < text.index("What was found")
    assert "Found by trying" in text
    rows = {number: (before, now) for before, _, number, now, _ in LINK.findall(text)}
    assert rows["stretcher thickness 20.00 mm"] == ("", "16.00 mm")
    before, now = rows["tenon length 11.00 mm"]
    assert now == "15.00 mm"
    assert before == (
        "A tenon 4.00 mm shorter, or one as long as the bar is there, 16.00 mm, which goes right "
        "through: "
    )


def test_where_no_number_does_it_the_sentence_stays(own: FlaskClient) -> None:
    """The footstool's tenons are as long as their type says, and nobody can shorten them."""
    text = own.get("/piece/footstool", query_string=filled("footstool", leg_mm="20")).text
    assert re.search(r"<li>Mortises \d\.\d{4} mm shallower[^<]*\.</li>", text)
    assert [number for _, _, number, _, _ in LINK.findall(text)] == ["leg 27.20 mm"]


def test_a_feasible_piece_has_no_change_that_is_enough(client: FlaskClient) -> None:
    text = client.get("/piece/splayed_table", query_string=filled("splayed_table")).text
    assert "easible" in text
    assert HELPS not in text


def test_programs_and_cells_do_not_wait_for_a_search(
    client: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    tried = []
    monkeypatch.setattr(Trials, "checks", lambda *given: tried.append(given))
    monkeypatch.setattr(Trials, "piece", lambda *given: tried.append(given))
    query = filled("three_legged_stool", tenon_length_mm="9.5")
    for part in ("settings", "feasibility", "cut-list"):
        found = client.get(f"/v1/piece-types/three_legged_stool/{part}", query_string=query)
        assert found.status_code == 200
    assert client.get("/piece/three_legged_stool/sheet", query_string=query).status_code == 200
    assert not tried
    client.get("/piece/three_legged_stool", query_string=query)
    assert tried
