"""Settings and feasibility over HTTP: the library's own numbers, whichever way they are asked."""

from __future__ import annotations

import json
import math
from typing import Any

import pytest
from flask.testing import FlaskClient

import jointgeo
from jointgeo.schema.fields import describe
from jointgeo_service.questions import kept, kept_solution

TYPES = sorted(jointgeo.joint_types())


def _library(name: str, joint: dict[str, Any], want: str, hand: Any) -> Any:
    made = jointgeo.joint_type(name).from_dict(joint)
    solution = jointgeo.solve(made, jointgeo.load_fixture("porch"), hand)
    return solution.settings_dict() if want == "settings" else solution.feasibility_dict()


@pytest.mark.parametrize("hand", ["as_drawn", "mirrored"])
@pytest.mark.parametrize("want", ["settings", "feasibility"])
@pytest.mark.parametrize("name", TYPES)
def test_post_and_get_give_the_numbers_of_the_library(
    client: FlaskClient,
    examples: dict[str, dict[str, Any]],
    edition: str,
    name: str,
    want: str,
    hand: str,
) -> None:
    """The library against what came through JSON, which keeps every bit of a float."""
    url, joint = f"/v1/joint-types/{name}/{want}", examples[name]
    posted = client.post(url, json={"joint": joint, "fixture": "porch", "hand": hand})
    flat = {**joint, "fixture": "porch", "hand": hand}
    got = client.get(url, query_string=flat)
    expected = json.loads(json.dumps(_library(name, joint, want, hand))) | {"edition": edition}
    assert posted.status_code == got.status_code == 200
    assert posted.json == expected
    assert got.json == expected


def test_the_leg_splayed_by_12_and_8_degrees(client: FlaskClient) -> None:
    """By hand: tilt is the lean along, and tan swivel = cos 12° · tan 8°, so 7.8274°."""
    joint = {
        "leg_width_mm": 66, "leg_thickness_mm": 44, "leg_length_mm": 420, "rail_thickness_mm": 22,
        "tongue_thickness_mm": 22, "rail_depth_mm": 60, "rail_length_mm": 900,
        "splay_along_deg": 12, "splay_across_deg": 8,
    }  # fmt: skip
    url = "/v1/joint-types/splayed_bridle/settings"
    answer = client.post(url, json={"joint": joint, "fixture": "porch"}).json
    assert answer is not None
    setup = answer["parts"][0]["setups"][0]
    # Four decimals are what the hand computation was rounded to.
    assert abs(setup["swivel_deg"]) == pytest.approx(7.8274, abs=5e-5)
    assert abs(setup["tilt_deg"]) == pytest.approx(12.0, abs=1e-9)


def test_a_hexagonal_box_as_a_saw_manual_prints_it(client: FlaskClient) -> None:
    """Operator's manual of a 12-inch compound mitre saw, no. 315.212050, page 29.

    Six sides at 50° from the horizontal: face angle 20.36°, blade tilt 22.52°. The face angle
    is the swivel, and the tilt of the board is 90° - 2 · 22.52°, both printed to 0.01°.
    """
    joint = {
        "board_width_mm": "150", "thickness_a_mm": 18, "thickness_b_mm": 18, "length_a_mm": 320,
        "length_b_mm": 320, "plan_corner_deg": 120, "slope_deg": 40, "finger_count": 7,
        "fixture": "porch",
    }  # fmt: skip
    url = "/v1/joint-types/angled_box_joint/values"
    read = [
        client.get(url, query_string={**joint, "pick": f"a.1.{name}_deg"}).text
        for name in ("swivel", "tilt")
    ]
    assert abs(float(read[0])) == pytest.approx(20.36, abs=0.006)
    assert abs(float(read[1])) == pytest.approx(90 - 2 * 22.52, abs=0.012)


def test_inches_mean_the_same_length(
    client: FlaskClient, examples: dict[str, dict[str, Any]]
) -> None:
    """2 1/2 in is 63.5 mm exactly (international yard of 1959)."""
    for name in TYPES:
        info = next(i for i in describe(jointgeo.joint_type(name)) if i.inches_name)
        joint = {**examples[name], info.name: 63.5}
        inches = {k: v for k, v in joint.items() if k != info.name} | {info.inches_name: "2 1/2"}
        url = f"/v1/joint-types/{name}/settings"
        answers = [client.post(url, json={"joint": j, "fixture": "porch"}) for j in (joint, inches)]
        answers.append(client.get(url, query_string={**inches, "fixture": "porch"}))
        assert answers[0].status_code == 200, answers[0].text
        assert answers[0].data == answers[1].data == answers[2].data
        both = client.post(url, json={"joint": joint | inches, "fixture": "porch"})
        assert both.status_code == 422
        assert [e["field"] for e in both.json["errors"]] == [f"joint.{info.name}"]  # type: ignore[index]  # JSON


def test_what_cannot_be_done_is_an_answer(client: FlaskClient) -> None:
    """A leg that leans by 45° lies outside this kind of fixture, whose tilt ends at 24°."""
    joint = {
        "leg_width_mm": 66, "leg_thickness_mm": 44, "leg_length_mm": 420, "rail_thickness_mm": 22,
        "tongue_thickness_mm": 22, "rail_depth_mm": 60, "rail_length_mm": 900,
        "splay_along_deg": 45, "splay_across_deg": 0,
    }  # fmt: skip
    url = "/v1/joint-types/splayed_bridle/feasibility"
    answer = client.post(url, json={"joint": joint, "fixture": "porch"})
    assert answer.status_code == 200
    assert answer.json is not None
    assert answer.json["feasible"] is False
    tilt = next(c for c in answer.json["checks"] if c["name"] == "tilt_range")
    assert tilt["status"] == "fail"
    # 45° against 24°, by subtraction.
    assert tilt["margin"] == pytest.approx(-21.0, abs=1e-9)
    assert tilt["remedies"]


@pytest.mark.parametrize("name", TYPES)
def test_every_number_that_is_sent_is_finite(
    client: FlaskClient, examples: dict[str, dict[str, Any]], name: str
) -> None:
    def refuse(word: str) -> None:
        raise AssertionError(word)

    numbers: list[float] = []

    def keep(text: str) -> float:
        numbers.append(float(text))
        return numbers[-1]

    for want in ("settings", "feasibility"):
        question = {"joint": examples[name], "fixture": "porch"}
        answer = client.post(f"/v1/joint-types/{name}/{want}", json=question)
        json.loads(answer.data, parse_constant=refuse, parse_float=keep)
    assert len(numbers) > 50
    assert all(math.isfinite(n) for n in numbers)


def test_many_cells_of_one_joint_solve_it_once(
    client: FlaskClient, examples: dict[str, dict[str, Any]], edition: str
) -> None:
    """A workbook asks a number from each cell; equal questions to a named fixture are kept."""
    kept.cache_clear()
    kept_solution.cache_clear()
    name = TYPES[0]
    url, flat = f"/v1/joint-types/{name}/settings", {**examples[name], "fixture": "porch"}
    for pick in ["a.1.swivel_deg", "a.1.tilt_deg", "status"] * 2:
        answer = client.get(url.replace("settings", "values"), query_string=flat | {"pick": pick})
        assert answer.status_code == 200
    assert (kept_solution.cache_info().misses, kept_solution.cache_info().hits) == (1, 5)
    for _ in range(2):
        client.get(url, query_string=flat)
    assert (kept.cache_info().misses, kept.cache_info().hits) == (1, 1)
    mirrored = client.get(url, query_string=flat | {"hand": "mirrored"}).json
    assert mirrored == json.loads(
        json.dumps(_library(name, examples[name], "settings", "mirrored") | {"edition": edition})
    )
    assert kept.cache_info().misses == 2


def test_a_fixture_of_the_callers_own_is_never_mistaken_for_a_kept_one(
    client: FlaskClient, examples: dict[str, dict[str, Any]]
) -> None:
    """It may bear the very name of one that ships, with other measures."""
    name = TYPES[0]
    url, body = f"/v1/joint-types/{name}/settings", {"joint": examples[name], "fixture": "porch"}
    shipped = client.post(url, json=body).json
    own = client.get("/v1/fixtures/porch").json
    assert own is not None
    own["practice"]["trim_extra_mm"] = 2.5
    changed = client.post(url, json=body | {"fixture": own}).json
    assert shipped is not None
    assert changed is not None
    first, second = (a["parts"][0]["setups"][0]["trim_mm"] for a in (shipped, changed))
    assert second == pytest.approx(first + 1.5, abs=1e-9)
    assert client.post(url, json=body).json == shipped
