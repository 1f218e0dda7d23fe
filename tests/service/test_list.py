"""Lists of joints in one request: each row by itself, as text that a macro splits at tabs.

Values are held against the same service's GET of one value, and by hand where a row has a formula:
tan swivel = cos(along) · tan(across) for the splayed leg.
"""

from __future__ import annotations

from collections.abc import Callable
from math import atan, cos, degrees, radians, tan
from typing import Any

import pytest
from flask.testing import FlaskClient

import jointgeo

URL = "/v1/list"
Ask = Callable[..., Any]


@pytest.fixture
def leg(examples: dict[str, dict[str, Any]]) -> dict[str, Any]:
    common = {"joint_type": "splayed_bridle", "fixture": "porch"}
    return {**examples["splayed_bridle"], **common}


@pytest.fixture
def ask(client: FlaskClient, leg: dict[str, Any]) -> Ask:
    """Posts a list of legs; the lines of the answer, each split at its tabs."""

    def asked(names: list[Any], rows: Any, wanted: list[Any], **more: Any) -> list[list[str]]:
        common = {k: v for k, v in leg.items() if k not in names}
        body = {"names": names, "rows": rows, "wanted": wanted, "common": common, **more}
        answer = client.post(f"{URL}?cells=1", json=body)
        assert answer.status_code == 200
        assert answer.mimetype == "text/plain"
        return [line.split("\t") for line in answer.text.split("\n")]

    return asked


def test_each_row_has_the_numbers_of_its_own_joint(ask: Ask) -> None:
    rows = [[a, b] for a in (0, 7.5, 12) for b in (-9, 0.25, 8)]
    lines = ask(["splay_along_deg", "splay_across_deg"], rows,
                ["leg.1.swivel_deg", "leg.1.tilt_deg", "status"])  # fmt: skip
    assert len(lines) == len(rows)
    for (along, across), (swivel, tilt, status) in zip(rows, lines, strict=True):
        by_hand = degrees(atan(cos(radians(along)) * tan(radians(across))))
        # 1e-9° is rounding; which of two opposite clampings is taken is not this test's business.
        assert abs(float(swivel)) == pytest.approx(abs(by_hand), abs=1e-9)
        assert abs(float(tilt)) == pytest.approx(along, abs=1e-9)
        assert status in ("pass", "caution", "fail")


@pytest.mark.parametrize("name", sorted(jointgeo.joint_types()))
def test_a_list_says_what_single_values_say_for_every_path(
    client: FlaskClient, examples: dict[str, dict[str, Any]], name: str
) -> None:
    url, flat = f"/v1/joint-types/{name}", {**examples[name], "fixture": "porch"}
    listed = client.get(f"{url}/paths", query_string=flat).json
    assert listed is not None
    paths = [one["path"] for one in listed["paths"]]
    for at in range(0, len(paths), 50):
        some = paths[at : at + 50]
        single = client.get(f"{url}/values", query_string={**flat, "pick": some}).text
        body = {"names": list(flat), "rows": [list(flat.values())], "wanted": some,
                "common": {"joint_type": name}}  # fmt: skip
        assert client.post(URL, json=body).text == single


def test_a_row_at_fault_spoils_no_other(ask: Ask) -> None:
    lines = ask(
        ["splay_along_deg", "fit_in", "joint_type", "fixture"],
        [
            [12, None, "splayed_bridle", "porch"],
            [75, None, "splayed_bridle", "porch"],
            ["steep", None, "splayed_bridle", "porch"],
            [12, "1/64", "splayed_bridle", "porch"],
            [12, None, "mortise_and_wish", "porch"],
            [12, None, "splayed_bridle", "barn"],
            [12, None, "splayed_bridle", "porch"],
        ],
        ["leg.1.tilt_deg", "fixture"],
        common={
            k: v
            for k, v in jointgeo.joint_type("splayed_bridle").examples()[0].to_dict().items()
            if k not in ("splay_along_deg", "fit_mm")
        },
    )
    assert lines[0] == lines[6]
    assert lines[0][1] == lines[3][1] == "porch"
    assert float(lines[3][0]) == float(lines[0][0])
    for row, word in ((1, "75"), (2, "steep"), (4, "mortise_and_wish"), (5, "barn")):
        assert len(lines[row]) == 2
        assert lines[row][0] == lines[row][1]
        assert lines[row][0].startswith("# ")
        assert word in lines[row][0]


def test_two_joint_types_in_one_list(
    client: FlaskClient, examples: dict[str, dict[str, Any]]
) -> None:
    names = ["joint_type", *dict.fromkeys([*examples["splayed_bridle"], *examples["angled_tenon"]])]
    rows = [
        [kind, *(examples[kind].get(n) for n in names[1:])]
        for kind in ("splayed_bridle", "angled_tenon")
    ]
    wanted = ["leg.1.swivel_deg", "rail.1.swivel_deg", "joint_type"]
    body = {"names": names, "rows": rows, "wanted": wanted, "common": {"fixture": "porch"}}
    first, second = (line.split("\t") for line in client.post(URL, json=body).text.split("\n"))
    assert float(first[0])
    # A leg's bridle has no setup of its rail: that cell says so, and no other.
    assert first[1].startswith("# pick leads nowhere")
    assert first[2] == "splayed_bridle"
    assert second[0].startswith("# pick leads nowhere")
    assert (float(second[1]), second[2]) == (float(second[1]), "angled_tenon")


def test_empty_rows_and_columns_without_a_name_are_the_persons_own(ask: Ask) -> None:
    lines = ask(
        ["", "splay_along_deg", None, "hand"],
        [["my note", 12, {}.get("x"), ""], ["only a note", None, None, ""], [], [None, 12]],
        ["leg.1.tilt_deg", "hand"],
    )
    assert lines[1] == lines[2] == ["", ""]
    assert lines[0] == lines[3]
    assert lines[0][1] == "as_drawn"


def test_texts_are_read_as_a_query_reads_them(ask: Ask) -> None:
    lines = ask(["splay_along_deg", "fit_mm"], [[" 12 ", "0.1"], [12, 0.1], ["1_2", 0.1]],
                ["leg.1.tilt_deg"])  # fmt: skip
    assert lines[0] == lines[1]
    assert lines[2][0].startswith("# splay_along_deg is not a number")


def test_signs_that_could_break_a_line_do_not(ask: Ask) -> None:
    bad = 'a\nb\tc"d\\e'
    lines = ask(["fixture"], [[bad], ["porch"]], ["fixture", "status"])
    assert len(lines) == 2
    assert [len(line) for line in lines] == [2, 2]
    assert lines[0][0].startswith("# fixture is not the name of a known fixture; given 'a")


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"rows": [[12]] * 1001}, "rows"), ({"rows": "x"}, "rows"), ({"rows": [12]}, "rows.1"),
        ({"rows": [[12, 13]]}, "rows.1"), ({"names": ["a", "a"]}, "names"), ({"names": 3}, "names"),
        ({"wanted": []}, "wanted"), ({"wanted": ["status"] * 101}, "wanted"),
        ({"wanted": [1]}, "wanted"), ({"common": []}, "common"), ({"colour": "red"}, "colour"),
    ],
)  # fmt: skip
def test_what_is_wrong_with_the_list_as_a_whole(
    client: FlaskClient, change: dict[str, Any], field: str
) -> None:
    body = {"names": ["splay_along_deg"], "rows": [[12]], "wanted": ["status"], "common": {}}
    answer = client.post(URL, json=body | change)
    assert answer.status_code == 422
    assert answer.json is not None
    assert field in [e["field"] for e in answer.json["errors"]]
    cell = client.post(f"{URL}?cells=1", json=body | change)
    assert cell.status_code == 200
    assert cell.text.startswith(f"# {field} ")


def test_a_thousand_rows_are_answered_and_an_empty_list_is_empty(ask: Ask) -> None:
    rows = [[12, 8]] * 1000
    lines = ask(["splay_along_deg", "splay_across_deg"], rows, ["leg.1.tilt_deg"])
    assert len(lines) == 1000
    assert {line[0] for line in lines} == {lines[0][0]}
    assert ask(["splay_along_deg"], [], ["status"]) == [[""]]


def test_what_is_no_list_is_answered_at_once(client: FlaskClient) -> None:
    for method in ("GET", "HEAD"):
        answer = client.open(URL, method=method)
        assert answer.status_code == 405
        assert set(answer.headers["Allow"].split(", ")) == {"POST", "OPTIONS"}
    assert client.options(URL).status_code == 200
    broken = client.post(f"{URL}?cells=1", data=b"{", content_type="application/json")
    assert (broken.status_code, broken.text[:21]) == (200, "# body is not JSON: E")
