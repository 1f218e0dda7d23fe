"""A joint type that fails is named with its distribution; the rest goes on."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from textwrap import dedent
from typing import Any

import attrs
import numpy as np
import pytest
from flask.testing import FlaskClient

from jointgeo.errors import InputError, PluginError, Problem
from jointgeo.joints.registry import Failure
from jointgeo.plugin import Check, Drawing, JointType, Remedy, choice, mm
from jointgeo_service.app import create_app
from jointgeo_service.plugins import Catalogue

Made = Callable[..., type[JointType]]
Serve = Callable[..., FlaskClient]
SETTINGS = "/v1/joint-types/slotted/settings"
FEASIBILITY = "/v1/joint-types/slotted/feasibility"
VALUES = "/v1/joint-types/slotted/values"
QUESTION = {"joint": {}, "fixture": "porch"}


def _raises(error: BaseException) -> Any:
    def method(*_: Any) -> Any:
        raise error

    return method


@pytest.mark.parametrize(
    "error",
    [
        ValueError("x" * 10_000),
        KeyError("k"),
        RecursionError(),
        MemoryError(),
        PluginError("no" * 5_000),
        AssertionError(),
    ],
)
@pytest.mark.parametrize("method", ["draw", "notes", "checks", "__attrs_post_init__"])
def test_whatever_a_type_raises_is_its_own_fault(
    slotted: Made, serving: Serve, method: str, error: Exception
) -> None:
    if method == "__attrs_post_init__":
        cls = attrs.frozen(slotted(**{method: _raises(error)}))
    else:
        cls = slotted(**{method: _raises(error)})
    url = FEASIBILITY if method == "checks" else SETTINGS
    answer = serving(cls).post(url, json=QUESTION)
    assert answer.status_code == 500
    assert answer.mimetype == "application/problem+json"
    assert answer.json is not None
    assert "plug-in is at fault" in answer.json["detail"]
    assert "slotted from an unknown distribution" in answer.json["detail"]
    assert len(answer.text) < 1000


def test_an_input_error_of_a_type_is_the_callers(slotted: Made, serving: Serve) -> None:
    error = InputError(Problem("fixture", "has no cutter for this joint", None, "a shank cutter"))
    answer = serving(slotted(draw=_raises(error))).post(SETTINGS, json=QUESTION)
    assert answer.status_code == 422
    assert answer.json is not None
    assert answer.json["errors"][0]["field"] == "fixture"


@pytest.mark.parametrize(
    "value", [float("nan"), float("inf"), np.float32("nan"), np.float64("inf"), object(), {1}, 1j]
)
@pytest.mark.parametrize("shape", ["json", "csv", "tsv"])
def test_no_answer_holds_what_json_does_not(
    slotted: Made, serving: Serve, value: object, shape: str
) -> None:
    """The usual writer gives a bare NaN, which no other program reads."""
    client = serving(slotted(marks={"depth_mm": value}))
    arguments = {"fixture": "porch", "shape": shape}
    for answer in (
        client.get(SETTINGS, query_string=arguments),
        client.post(SETTINGS, json=QUESTION),
    ):
        assert answer.status_code == 500
        assert b"NaN" not in answer.data
        assert answer.json is not None
        assert "plug-in is at fault" in answer.json["detail"]
    cell = client.get(SETTINGS, query_string={**arguments, "cells": "1"})
    assert cell.status_code == 200
    assert cell.text.startswith("# ")


def test_scalars_of_numpy_are_numbers(slotted: Made, serving: Serve) -> None:
    """The usual writer refuses numpy's integers and truth values."""
    marks = {
        "a_mm": np.float64(1.5), "b_mm": np.float32(2.5), "c": np.int64(3), "d": np.bool_(True),
        "e_mm": np.array([1.0, 2.0]), "f": np.uint8(7),
    }  # fmt: skip
    client = serving(slotted(marks=marks))
    answer = client.post(SETTINGS, json=QUESTION).json
    assert answer is not None
    expected = {"a_mm": 1.5, "b_mm": 2.5, "c": 3, "d": True, "e_mm": [1.0, 2.0], "f": 7}
    assert answer["parts"][0]["layout"][0]["marks"] == expected
    for name, text in (("b_mm", "2.5"), ("c", "3"), ("d", "true")):
        arguments = {"fixture": "porch", "pick": f"board.layout.1.marks.{name}"}
        assert client.get(VALUES, query_string=arguments).text == text


@pytest.mark.parametrize(
    ("url", "members"),
    [
        (SETTINGS, {"draw": lambda _: None}),
        (SETTINGS, {"draw": lambda _: {"bars": []}}),
        (SETTINGS, {"draw": lambda _: Drawing(())}),
        (SETTINGS, {"draw": None}),
        (SETTINGS, {"marks": None}),
        (SETTINGS, {"marks": [1.0]}),
        (SETTINGS, {"notes": lambda _: None}),
        (SETTINGS, {"notes": lambda _: "one sentence, whose letters would each be a note"}),
        (SETTINGS, {"notes": lambda _: (1.0,)}),
        (FEASIBILITY, {"checks": lambda _: None}),
        (FEASIBILITY, {"checks": lambda _: ("a word",)}),
        (FEASIBILITY, {"checks": lambda _: (_check(status="perhaps"),)}),
        (FEASIBILITY, {"checks": lambda _: (_check(status=[]),)}),
        (FEASIBILITY, {"checks": lambda _: (_check(value=float("nan")),)}),
        (FEASIBILITY, {"checks": lambda _: (_check(margin="1"),)}),
        (FEASIBILITY, {"checks": lambda _: (_check(because=object()),)}),
        (FEASIBILITY, {"checks": lambda _: (_check(remedies=({},)),)}),
        (FEASIBILITY, {"checks": lambda _: (_check(remedies=(_remedy(np.float32("inf")),)),)}),
    ],
)
def test_an_answer_in_another_form_is_the_types_fault(
    slotted: Made, serving: Serve, url: str, members: dict[str, Any]
) -> None:
    """In JSON as in a table, which can only be made of the agreed form."""
    client = serving(slotted(**members))
    for answer in (
        client.post(url, json=QUESTION),
        client.get(f"{url}?fixture=porch"),
        client.get(f"{url}?fixture=porch&shape=csv"),
    ):
        assert answer.status_code == 500
        assert answer.json is not None
        assert "slotted from an unknown distribution" in answer.json["detail"]


def _check(**members: Any) -> Check:
    whole = {"name": "own", "value": 1.0, "limit": 2.0, "margin": 1.0, "unit": "mm"}
    return Check(**{**whole, "status": "pass", "because": "because", **members})


def _remedy(amount: object) -> Remedy:
    return Remedy("plane", "Plane it.", {"by_mm": amount})


def test_an_answer_needs_no_measuring(slotted: Made, serving: Serve) -> None:
    """It reads a joint back from bars that stand in a room, which nobody asked for."""
    client = serving(slotted(measure=classmethod(_raises(ValueError("none")))))
    for url in (SETTINGS, FEASIBILITY):
        assert client.post(url, json=QUESTION).status_code == 200


def test_a_check_of_a_type_may_use_numpy(slotted: Made, serving: Serve) -> None:
    value: Any = np.float64(1)
    limit: Any = np.int64(2)
    margin: Any = np.float32(0.5)
    check = Check("own", value, limit, margin, "mm", "pass", "because")
    client = serving(slotted(checks=lambda _: (check,)))
    answer = client.get(f"{FEASIBILITY}?fixture=porch").json
    assert answer is not None
    last = answer["checks"][-1]
    assert (last["value"], last["limit"], last["margin"]) == (1.0, 2, 0.5)


def test_a_refused_plug_in_is_listed_with_its_reason_and_stops_nobody(slotted: Made) -> None:
    refused = Failure("warped", "shop-joints", "0.3", "ImportError: no module named planer")
    catalogue = Catalogue.of({"slotted": slotted()}, (refused,))
    client = create_app(catalogue=catalogue).test_client()
    listed = client.get("/v1/joint-types").json
    assert listed is not None
    assert listed["refused"] == [attrs.asdict(refused)]
    assert client.post(SETTINGS, json=QUESTION).status_code == 200
    item = {"joint_type": "warped", "want": "both", "joint": {}, "fixture": "porch"}
    answers = client.post("/v1/batch", json={"items": [item, {**item, "joint_type": "slotted"}]})
    assert answers.json is not None
    assert [a["status"] for a in answers.json["items"]] == [500, 200]
    for url in ("", "/settings?x=1", "/feasibility"):
        answer = client.get(f"/v1/joint-types/warped{url}")
        assert answer.status_code == 500
        assert answer.json is not None
        begins = "The plug-in is at fault: warped from shop-joints 0.3"
        assert answer.json["detail"].startswith(begins)
        assert "planer" in answer.json["detail"]


def test_a_type_that_cannot_be_described_is_refused_at_the_start(slotted: Made) -> None:
    good, bad = slotted(), slotted(name="bad", summary=object())
    client = create_app(catalogue=Catalogue.of({"bad": bad, "slotted": good})).test_client()
    listed = client.get("/v1/joint-types").json
    assert listed is not None
    assert [t["name"] for t in listed["joint_types"]] == ["slotted"]
    assert [f["name"] for f in listed["refused"]] == ["bad"]
    assert client.post(SETTINGS, json=QUESTION).status_code == 200


def test_examples_that_fail_take_nothing_else_with_them(slotted: Made, serving: Serve) -> None:
    client = serving(slotted(examples=classmethod(_raises(ValueError("none")))))
    assert client.get("/v1/joint-types/slotted").status_code == 500
    assert client.post(SETTINGS, json=QUESTION).status_code == 200
    assert client.get("/openapi.json").status_code == 200


def test_a_parameter_named_like_an_argument_can_still_be_given(
    slotted: Made, serving: Serve
) -> None:
    @attrs.frozen
    class Shaped(slotted()):  # type: ignore[misc]  # the base is made by a fixture
        name = "slotted"
        shape: str = choice("Shape of the slot", ("round", "square"), default="square")
        setup_mm: float = mm("Depth of the setup", 0.1, 9, default=1.0)

        def notes(self) -> tuple[str, ...]:
            return (f"the slot is {self.shape}",)

    client = serving(Shaped)
    url = f"{VALUES}?fixture=porch&pick=notes.1"
    assert client.get(f"{url}&joint.shape=round&setup_mm=2").text == "the slot is round"
    assert client.get(url).text == "the slot is square"
    document = client.get("/openapi.json").json
    assert document is not None
    listed = document["paths"][SETTINGS]["get"]["parameters"]
    names = [p["name"] for p in listed]
    assert len(names) == len(set(names))
    assert {"shape", "joint.shape", "setup", "setup_mm"} <= set(names)


def test_a_fault_of_the_service_itself_tells_nothing_of_the_inside(
    slotted: Made, serving: Serve, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    secret = RuntimeError("something of the caller's")
    monkeypatch.setattr("jointgeo_service.queries.Query.read", _raises(secret))
    monkeypatch.setattr("jointgeo_service.questions.Questions.item", _raises(secret))
    client = serving(slotted())
    plain = client.get(SETTINGS)
    batch = client.post("/v1/batch", json={"items": [{"id": "a"}, {}]})
    assert batch.json is not None
    assert [i["status"] for i in batch.json["items"]] == [500, 500]
    assert plain.status_code == 500
    assert plain.mimetype == "application/problem+json"
    assert plain.json == batch.json["items"][0]["problem"]
    assert client.get(f"{SETTINGS}?cells=1").text.startswith("# The service failed.")
    assert secret.args[0] not in plain.text + batch.text + caplog.text
    fields = [r.fields for r in caplog.records if r.getMessage() == "fault"]  # type: ignore[attr-defined]  # put there by the service
    assert {f["error"] for f in fields} == {"RuntimeError"}
    assert all(f["where"] for f in fields)


PLUGIN = """
    import attrs
    from jointgeo.plugin import Bar, Drawing, JointType, Vec, X, Y, Z, mm

    @attrs.frozen
    class Leaning(JointType):
        name = "leaning"
        summary = "A post that leans"
        width_mm: float = mm("Width of the post", 0.1, 500)

        def draw(self):
            size = self.width_mm, 20.0, 1 / (self.width_mm - 50)
            post = Bar.leaning("post", size, Z, -Y, Vec(0.0, 0.0, 0.0))
            return Drawing((post, Bar.leaning("sill", size, X, Z, Vec(0.0, 0.0, 0.0))))

        @classmethod
        def measure(cls, bar, mate):
            return {"width_mm": bar.width}

        @classmethod
        def examples(cls):
            return (cls(width_mm=60.0),)
"""


def test_a_plug_in_of_another_distribution_is_served_and_named(
    start: Callable[..., Any], tmp_path: Path
) -> None:
    """One file and one entry point, beside the installed ones, and nothing else."""
    import os

    info = tmp_path / "shop_joints-2.1.dist-info"
    info.mkdir()
    (info / "METADATA").write_text("Metadata-Version: 2.1\nName: shop-joints\nVersion: 2.1\n")
    (info / "entry_points.txt").write_text(
        "[jointgeo.joint_types]\nleaning = shop_joints:Leaning\nmissing = shop_joints:Missing\n"
    )
    (tmp_path / "shop_joints.py").write_text(dedent(PLUGIN))
    path = os.pathsep.join([str(tmp_path), *filter(None, [os.environ.get("PYTHONPATH")])])
    service = start(PYTHONPATH=path)
    get, post = service.session.get, service.session.post
    listed = get(f"{service.url}/v1/joint-types").json()
    assert "leaning" in [t["name"] for t in listed["joint_types"]]
    assert [(f["name"], f["distribution"], f["version"]) for f in listed["refused"]] == [
        ("missing", "shop-joints", "2.1")
    ]
    url = f"{service.url}/v1/joint-types/leaning/settings"
    assert post(url, json={"joint": {"width_mm": 60}, "fixture": "porch"}).status_code == 200
    failed = post(url, json={"joint": {"width_mm": 50}, "fixture": "porch"})
    assert failed.status_code == 500
    begins = "The plug-in is at fault: leaning from shop-joints 2.1"
    assert failed.json()["detail"].startswith(begins)
    assert "ZeroDivisionError" in failed.json()["detail"]
    assert (failed.json()["joint_type"], failed.json()["distribution"]) == (
        "leaning",
        "shop-joints 2.1",
    )
    assert failed.json()["where"].startswith("shop_joints.py:")
    document = get(f"{service.url}/openapi.json").json()
    assert "/v1/joint-types/leaning/feasibility" in document["paths"]
    service.stop()
    fault = next(line for line in service.log if line["event"] == "fault")
    assert fault["error"] == "ZeroDivisionError"
    assert fault["where"][-1].startswith("shop_joints.py:")
