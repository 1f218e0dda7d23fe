"""The Python client against the real service in another process, and against broken ones.

The expected answers are the library's own, since the client only carries them; the one
value with a source of its own is hand-computed: tan swivel = cos 12° · tan 8°.
"""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import threading
import time
from pathlib import Path
from typing import Any

import pytest

import jointgeo
from jointgeo.schema.fields import describe
from jointgeo_client import (
    BatchItem,
    Client,
    ProblemError,
    ServiceTimeoutError,
    ServiceUnreachableError,
    UnexpectedAnswerError,
)

from .loopback import behaving, hang_up, reply, silence, stop_half_way, unused_port
from .support import PATIENCE_S, Service, answers, start_service

CLIENT = Path(__file__).parents[2] / "clients" / "python" / "jointgeo_client"
LEG: dict[str, Any] = {
    "leg_width_mm": 66.0,
    "leg_thickness_mm": 44.0,
    "leg_length_mm": 430.0,
    "rail_thickness_mm": 30.0,
    "tongue_thickness_mm": 22.0,
    "rail_depth_mm": 60.0,
    "rail_length_mm": 900.0,
    "splay_along_deg": 12.0,
    "splay_across_deg": 8.0,
    "fit_mm": 0.1,
}
TYPES = tuple(jointgeo.joint_types())
EMPTY = '{"joint_types": [], "refused": []}'


@pytest.fixture
def client(service: Service) -> Client:
    return Client(service.url)


def test_health_names_the_version(client: Client) -> None:
    assert client.health()["status"] == "ok"
    assert re.match(r"[0-9]+\.[0-9]+", client.health()["version"])


def test_the_types_and_their_parameters_are_the_librarys(client: Client) -> None:
    told = client.joint_types()
    assert [t["name"] for t in told["joint_types"]] == list(TYPES)
    assert told["refused"] == []
    for info in told["joint_types"]:
        fields = describe(jointgeo.joint_type(info["name"]))
        assert [p["name"] for p in info["parameters"]] == [f.name for f in fields]
        assert [p["description"] for p in info["parameters"]] == [f.help for f in fields]


@pytest.mark.parametrize("hand", ["as_drawn", "mirrored"])
@pytest.mark.parametrize("name", TYPES)
def test_every_types_example_comes_back_as_the_library_solves_it(
    client: Client, name: str, hand: Any
) -> None:
    example = client.joint_type(name)["examples"][0]
    expected = answers(name, example, hand)
    assert client.settings(name, example, "porch", hand) == expected["settings"]
    assert client.feasibility(name, example, "porch", hand) == expected["feasibility"]


def test_a_fixture_can_be_fetched_changed_and_sent_back(client: Client) -> None:
    assert [f["name"] for f in client.fixtures()] == ["porch"]
    fixture = client.fixture("porch")
    same = client.settings("splayed_bridle", LEG, fixture)
    assert same == answers("splayed_bridle", LEG)["settings"] | {"edition": None}
    # The leg tilts by 12°: a plate that stops at 10° cannot do it, by 2°.
    fixture["tilt"]["max_deg"] = 10.0
    fitted = client.feasibility("splayed_bridle", LEG, fixture)
    check = next(c for c in fitted["checks"] if c["name"] == "tilt_range")
    assert fitted["feasible"] is False
    assert check["margin"] == pytest.approx(-2.0, abs=1e-9)  # degrees; rounding only


def test_several_values_and_what_can_be_asked(client: Client) -> None:
    paths = ["status", "leg.1.tilt_deg", "edition", "leg.1.packing"]
    told = client.values("splayed_bridle", paths, LEG, "porch")
    assert told[1] == pytest.approx(12.0, abs=1e-9)
    assert (told[0], told[3]) == ("caution", None)
    # Six signs of a digest, which may look like a number and is none.
    assert isinstance(told[2], str)
    assert len(told[2]) == 6
    listed = {one["path"]: one for one in client.paths("splayed_bridle", LEG, "porch")}
    assert [listed[path]["value"] for path in paths] == told
    assert all(one["meaning"] for one in listed.values())


def test_a_list_of_joints(client: Client) -> None:
    rows = [[12, 8, "porch"], [75, 8, "porch"], [None, None, None], [7.5, -3.25, "porch"]]
    common = {k: v for k, v in LEG.items() if not k.startswith("splay")}
    names = ["splay_along_deg", "splay_across_deg", "fixture"]
    wanted = ["leg.1.tilt_deg", "status"]
    told = client.list(names, rows, wanted, {**common, "joint_type": "splayed_bridle"})
    assert told[0][0] == pytest.approx(12.0, abs=1e-9)
    assert told[3][0] == pytest.approx(7.5, abs=1e-9)
    assert told[2] == [None, None]
    assert all(isinstance(v, str) and v.startswith("# splay_along_deg") for v in told[1])
    assert client.list(names, [], wanted) == []
    with pytest.raises(ProblemError) as refused:
        client.list(names, rows, [])
    assert refused.value.errors[0].field == "wanted"


def test_one_value(client: Client) -> None:
    def value(path: str) -> Any:
        return client.value("splayed_bridle", path, LEG, "porch")

    # atan(cos 12° · tan 8°), worked out by hand to four places; half the last place allowed.
    assert value("leg.1.swivel_deg") == pytest.approx(7.8274, abs=5e-5)
    assert value("leg.1.against_plate") == "back"
    assert value("leg.1.cuts.1.passes.1.turns") == 7
    assert value("leg.1.packing") is None
    assert value("feasible") is True


def test_tables_carry_every_pass_and_every_check(client: Client) -> None:
    expected = answers("splayed_bridle", LEG)
    cuts = client.table("splayed_bridle", "settings", LEG, "porch")
    passes = [
        p["travel_mm"]
        for part in expected["settings"]["parts"]
        for setup in part["setups"]
        for cut in setup["cuts"]
        for p in cut["passes"]
    ]
    assert [row["travel_mm"] for row in cuts] == passes
    checks = client.table("splayed_bridle", "feasibility", LEG, "porch")
    told = [(c["name"], c["margin"], c["status"]) for c in expected["feasibility"]["checks"]]
    assert [(r["check"], r["margin"], r["status"]) for r in checks] == told


def test_a_batch_keeps_its_order_and_one_bad_item_spoils_no_other(client: Client) -> None:
    bad = {**LEG, "splay_along_deg": 75.0}
    items: list[BatchItem] = [
        {"joint_type": "splayed_bridle", "want": "both", "joint": LEG, "fixture": "porch"},
        {
            "joint_type": "splayed_bridle",
            "want": "settings",
            "joint": bad,
            "fixture": "porch",
            "id": "too steep",
        },
        {
            "joint_type": "splayed_bridle",
            "want": "feasibility",
            "joint": LEG,
            "fixture": "porch",
            "hand": "mirrored",
            "id": "other corner",
        },
    ]
    first, second, third = client.batch(items)
    expected = answers("splayed_bridle", LEG)
    assert (first.status, first.id, first.problem) == (200, None, None)
    assert (first.settings, first.feasibility) == (expected["settings"], expected["feasibility"])
    assert second.problem is not None
    assert (second.id, second.settings) == ("too steep", None)
    assert 400 <= second.problem.status < 500
    assert "splay_along_deg" in second.problem.errors[0].field
    mirrored = answers("splayed_bridle", LEG, "mirrored")
    assert (third.id, third.settings) == ("other corner", None)
    assert third.feasibility == mirrored["feasibility"]


def test_an_infeasible_joint_is_an_answer(client: Client) -> None:
    example = client.joint_type("angled_box_joint")["examples"][0]
    steep = {**example, "plan_corner_deg": 120.0, "slope_deg": 20.0}
    told = client.feasibility("angled_box_joint", steep, "porch")
    assert (told["feasible"], told["status"]) == (False, "fail")


def test_a_refusal_names_every_field_at_fault(client: Client) -> None:
    with pytest.raises(ProblemError) as caught:
        client.settings(
            "splayed_bridle", {**LEG, "splay_along_deg": 75.0, "leg_width_mm": -1}, "porch"
        )
    problem = caught.value
    assert 400 <= problem.status < 500
    assert problem.title
    fields = {e.field.split(".")[-1]: e for e in problem.errors}
    assert set(fields) == {"splay_along_deg", "leg_width_mm"}
    assert "60" in fields["splay_along_deg"].allowed
    assert fields["splay_along_deg"].unit == "deg"
    assert "75" in str(fields["splay_along_deg"].given)
    assert "splay_along_deg" in str(problem)
    assert "leg_width_mm" in str(problem)


def test_an_unknown_joint_type_and_an_unknown_fixture_are_told_apart(client: Client) -> None:
    with pytest.raises(ProblemError) as unknown:
        client.joint_type("no/such type")
    assert unknown.value.status == 404
    with pytest.raises(ProblemError, match="fixture"):
        client.settings("splayed_bridle", LEG, "no such fixture")


def test_a_number_that_is_not_finite_never_leaves(client: Client) -> None:
    with pytest.raises(ValueError, match="JSON"):
        client.settings("splayed_bridle", {**LEG, "fit_mm": float("nan")}, "porch")


def test_a_service_with_a_token_wants_it() -> None:
    guarded = start_service("porch-swing")
    try:
        assert Client(guarded.url, token="porch-swing").joint_types()["joint_types"]  # noqa: S106 # a test's own
        for wrong in (None, "garden-gate"):
            with pytest.raises(ProblemError) as caught:
                Client(guarded.url, token=wrong).joint_types()
            assert caught.value.status == 401
            assert "porch-swing" not in str(caught.value)
    finally:
        guarded.kill()


def test_a_service_that_is_down_is_said_to_be() -> None:
    url = f"http://127.0.0.1:{unused_port()}"
    with pytest.raises(ServiceUnreachableError) as caught:
        Client(url, retries=2, backoff_s=0.01).joint_types()
    assert caught.value.attempts == 3
    assert "refused" in str(caught.value)
    assert url in str(caught.value)
    assert "jointgeo serve" in str(caught.value)


def _connected(port: int) -> bool:
    """Whether a connection to that local port stands, by the system's own table."""
    rows = Path("/proc/net/tcp").read_text("ascii").splitlines()[1:]
    return any(int(r.split()[2].split(":")[1], 16) == port and r.split()[3] == "01" for r in rows)


@pytest.mark.skipif(not Path("/proc/net/tcp").exists(), reason="NOT TESTED: needs Linux's /proc")
def test_a_service_killed_while_it_works_is_said_to_be_gone(mortal: Service) -> None:
    # A thousand joints take the service many seconds, far longer than noticing the connection.
    item: BatchItem = {
        "joint_type": "splayed_bridle",
        "want": "both",
        "joint": LEG,
        "fixture": "porch",
    }
    caught: list[BaseException] = []

    def ask() -> None:
        try:
            Client(mortal.url, retries=1, backoff_s=0.01).batch([item] * 1000)
        except BaseException as error:  # handed to the test's own thread
            caught.append(error)

    asking = threading.Thread(target=ask)
    asking.start()
    deadline = time.monotonic() + PATIENCE_S
    while not _connected(int(mortal.url.rsplit(":", 1)[1])) and time.monotonic() < deadline:
        time.sleep(0.01)
    assert not caught
    mortal.kill()
    asking.join(PATIENCE_S)
    assert [type(error) for error in caught] == [ServiceUnreachableError]
    # The first attempt broke off; the second found nobody.
    assert isinstance(caught[0], ServiceUnreachableError)
    assert caught[0].attempts == 2


@pytest.mark.parametrize("broken", [hang_up, stop_half_way])
def test_a_lost_connection_is_tried_again_and_not_for_ever(broken: Any) -> None:
    with behaving(broken, reply(EMPTY)) as (url, met):
        assert Client(url, retries=1, backoff_s=0.01).joint_types() == json.loads(EMPTY)
        assert len(met) == 2
    with behaving(broken) as (url, met):
        with pytest.raises(ServiceUnreachableError) as caught:
            Client(url, retries=2, backoff_s=0.01).joint_types()
        assert (caught.value.attempts, len(met)) == (3, 3)
        assert "closed before the answer was whole" in str(caught.value)


def test_silence_ends_with_the_timeout_and_is_not_tried_again() -> None:
    done = threading.Event()
    with behaving(silence(done)) as (url, met):
        try:
            with pytest.raises(ServiceTimeoutError, match=re.escape("0.2 s")):
                Client(url, timeout_s=0.2).joint_types()
            assert len(met) == 1
        finally:
            done.set()


@pytest.mark.parametrize(
    ("behave", "says"),
    [
        (reply("<html>hello</html>", kind="text/html"), "text/html"),
        (reply("[1, 2]"), "JSON table"),
        (reply("gone wrong", status="500 Oops", kind="text/plain"), "status 500"),
        (reply("", status="302 Found\r\nLocation: /elsewhere"), "status 302"),
        (reply("not json", status="400 Bad", kind="application/problem+json"), "status 400"),
    ],
)
def test_something_else_that_answers_is_not_taken_for_the_service(behave: Any, says: str) -> None:
    with behaving(behave) as (url, met):
        with pytest.raises(UnexpectedAnswerError, match=says):
            Client(url).joint_types()
        assert len(met) == 1


@pytest.mark.parametrize("base", ["127.0.0.1:8765", "file:///etc/hosts", ""])
def test_an_address_that_is_none_is_refused_at_once(base: str) -> None:
    with pytest.raises(ValueError, match="http://"):
        Client(base)


def test_the_surroundings_do_not_divert_the_client(
    client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("HTTP_PROXY", f"http://127.0.0.1:{unused_port()}")
    monkeypatch.setenv("NO_PROXY", "")
    monkeypatch.setenv("no_proxy", "")
    assert client.health()["status"] == "ok"


def test_the_client_stands_alone() -> None:
    code = (
        "import sys, jointgeo_client; "
        "print([m for m in sys.modules if m.split('.')[0] in "
        "('jointgeo', 'jointgeo_service', 'attrs', 'numpy', 'flask')])"
    )
    told = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=True,
        env=dict(os.environ),
    )  # fmt: skip
    assert told.stdout.strip() == "[]"
    assert (CLIENT / "py.typed").exists()


def test_the_client_knows_no_joint_type_by_name() -> None:
    text = "".join(p.read_text("utf-8") for p in CLIENT.glob("*.py"))
    assert len(text) > 1000
    assert [name for name in TYPES if name in text] == []


@pytest.mark.parametrize("status", ["502 Bad Gateway", "503 Unavailable", "504 Timeout"])
def test_who_is_turned_away_comes_again(status: str) -> None:
    """As a proxy answers while one of its services is gone, and the service while it is busy."""
    away = reply("<html>", status=status, kind="text/html")
    with behaving(away, away, reply(EMPTY)) as (url, met):
        assert Client(url, backoff_s=0.01).joint_types() == json.loads(EMPTY)
        assert len(met) == 3
    with behaving(away) as (url, met):
        with pytest.raises(UnexpectedAnswerError, match=f"status {status[:3]}"):
            Client(url, retries=2, backoff_s=0.01).joint_types()
        assert len(met) == 3


def test_it_comes_again_when_it_was_told_to_and_not_at_all_if_that_is_too_late() -> None:
    busy = '{"title": "busy", "status": 503}'
    for seconds, times in (("1", 2), ("60", 1)):
        kind = f"application/problem+json\r\nRetry-After: {seconds}"
        away = reply(busy, status="503 Service Unavailable", kind=kind)
        with behaving(away, reply(EMPTY)) as (url, met):
            client, began = Client(url, timeout_s=5, backoff_s=0.01), time.monotonic()
            if times == 2:
                client.joint_types()
                assert time.monotonic() - began >= 1.0
            else:
                with pytest.raises(ProblemError) as refused:
                    client.joint_types()
                assert refused.value.status == 503
                assert time.monotonic() - began < 5.0
            assert len(met) == times


def test_a_refusal_of_what_was_asked_is_not_asked_again() -> None:
    problem = "application/problem+json"
    refused = reply('{"title": "no", "status": 422}', status="422 No", kind=problem)
    with behaving(refused) as (url, met):
        with pytest.raises(ProblemError):
            Client(url, backoff_s=0.01).joint_types()
        assert len(met) == 1
