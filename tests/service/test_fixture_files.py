"""What files of a folder state and what they are: lists left out, and files that are no fixture."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

import jointgeo
from jointgeo.fixtures.file import read_fixture
from jointgeo.fixtures.text import fixture_tables, fixture_toml
from jointgeo_service import fixtures as module
from jointgeo_service.app import create_app
from jointgeo_service.fixtures import Fixtures

PORCH = (Path(jointgeo.__path__[0]) / "data" / "fixtures" / "porch.toml").read_bytes()
NAME = "splayed_bridle"


@pytest.fixture
def client(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> FlaskClient:
    """A service with a folder of fixtures, which it takes and looks for at once."""
    monkeypatch.setattr(module, "QUIET_SECONDS", 0.0)
    monkeypatch.setattr(module, "SCAN_SECONDS", 0.0)
    return create_app(fixtures=Fixtures(tmp_path)).test_client()


def test_a_list_that_is_left_out_is_not_stated(
    client: FlaskClient, tmp_path: Path, examples: dict[str, Any]
) -> None:
    """Of a file and of a posted fixture alike; an empty list says that there is none."""
    tables = fixture_tables(jointgeo.load_fixture("porch"))
    half = {k: v for k, v in tables.items() if k not in ("front_beam", "body")}
    text = fixture_toml(read_fixture(half))
    (tmp_path / "half.toml").write_text(text, "utf-8")
    shown = client.get("/v1/fixtures/half.toml").json
    assert set(tables) - set(shown) == {"front_beam", "body"}
    assert "not stated: body = [] in its file" in client.get("/fixture/half.toml").text

    def questions(fixture: Any) -> int:
        asked = {"joint": examples[NAME], "fixture": fixture}
        url = f"/v1/joint-types/{NAME}/feasibility"
        count: int = client.post(url, json=asked).json["not_stated"]
        return count

    assert questions("half.toml") == questions(shown) == questions(half) == 3
    assert questions({**half, "front_beam": [], "body": []}) == 0
    assert questions({**half, "front_beam": []}) == 2


def test_files_of_another_kind_are_not_offered_and_say_what_they_are(
    client: FlaskClient, tmp_path: Path, examples: dict[str, Any]
) -> None:
    """A broken fixture stays in the list with its reason."""
    data = Path(jointgeo.__path__[0]) / "data"
    for name, path in (
        ("piece.toml", next((data / "pieces").rglob("*.toml"))),
        ("job.toml", next((data / "jobs").rglob("*.toml"))),
        ("cuts.toml", data / "readings" / "porch-test-cuts.toml"),
    ):
        (tmp_path / name).write_bytes(path.read_bytes())
    (tmp_path / "broken.toml").write_bytes(PORCH.replace(b"[tilt]", b"[tlit]"))
    listed = {f["name"]: f for f in client.get("/v1/fixtures").json["fixtures"]}  # type: ignore[index]  # it is JSON
    assert list(listed) == ["porch", "broken.toml"]
    assert "tlit" in listed["broken.toml"]["reason"]
    form = client.get(f"/joint/{NAME}").text
    assert "broken.toml" in form
    assert "piece.toml" not in form

    def ask(name: str, pick: str = "status") -> str:
        flat = {**examples[NAME], "fixture": name, "pick": pick, "cells": "1"}
        return client.get(f"/v1/joint-types/{NAME}/values", query_string=flat).text

    assert ask("piece.toml").startswith("# fixture cannot be used: this is a piece file; ")
    # The same file made a fixture is one, and is offered.
    (tmp_path / "piece.toml").write_bytes(PORCH)
    assert ask("piece.toml", "fixture") == "piece.toml"
    assert "piece.toml" in client.get(f"/joint/{NAME}").text
