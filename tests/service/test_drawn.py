"""Pages take turns, and nobody who asks for a number waits for them.

Nothing here is measured in seconds: pages are held by events, and what happens is counted.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor, as_completed
from typing import Any

import attrs
import pytest

from jointgeo.fixtures.file import named_fixture
from jointgeo_service.app import create_app
from jointgeo_service.drawn import Drawn
from jointgeo_service.fixtures import Chosen, Fixtures
from jointgeo_service.limits import KEPT_PAGES, SHEETS, SHEETS_WAITING
from jointgeo_service.plugins import Catalogue, Known

ASKED = 8


def test_a_cell_is_answered_while_eight_pages_are_asked_for(slotted: Callable[..., Any]) -> None:
    go, drawing = threading.Event(), threading.Event()
    at_once: list[int] = []
    most: list[int] = []

    @attrs.frozen
    class Held(Known):
        def held(self, *_: Any) -> str:
            at_once.append(1)
            most.append(len(at_once))
            drawing.set()
            assert go.wait(60)
            at_once.pop()
            return "<p>drawn</p>"

        page = held
        screen = held

        def meaning(self) -> str:
            return "<p>what they mean</p>"

    app = create_app(catalogue=Catalogue({"slotted": Held(slotted(), "own 1")}, ()))
    cell = "/v1/joint-types/slotted/settings?fixture=porch&width_mm=60"
    pages = [
        f"/sheet?joint_type=slotted&fixture=porch&width_mm={i}"
        if i % 2
        else f"/joint/slotted?fixture=porch&width_mm={i}"
        for i in range(10, 10 + ASKED)
    ]
    app.test_client().get("/joint/slotted")  # its picture is drawn once and kept
    with ThreadPoolExecutor(ASKED) as pool:
        asked = [pool.submit(lambda u: app.test_client().get(u), url) for url in pages]
        assert drawing.wait(60)
        # All but those that may draw and wait come back while not one page is finished.
        away = []
        for done in as_completed(asked, timeout=60):
            away.append(done.result())
            if len(away) == ASKED - SHEETS - SHEETS_WAITING:
                break
        assert {a.status_code for a in away} == {503}
        for answer in away:
            assert answer.headers["Retry-After"] == "10"
            assert "Not now" in answer.text
            assert "open this page" in answer.text
        assert app.test_client().get(cell).status_code == 200
        assert app.test_client().get("/healthz").status_code == 200
        assert len(at_once) == SHEETS
        go.set()
        statuses = [done.result().status_code for done in asked]
    assert statuses.count(200) == SHEETS + SHEETS_WAITING
    assert statuses.count(503) == ASKED - SHEETS - SHEETS_WAITING
    assert max(most) == SHEETS


def test_the_last_pages_are_kept_and_the_oldest_goes() -> None:
    drawn, made = Drawn(), []

    def ask(key: int) -> str:
        return drawn.page(key, lambda: made.append(key) or f"page {key}")  # type: ignore[func-returns-value]  # on purpose

    for key in range(KEPT_PAGES):
        assert ask(key) == f"page {key}"
    ask(0)  # asked for again, so not the oldest
    ask(KEPT_PAGES)
    assert made == list(range(KEPT_PAGES + 1))
    ask(0)
    ask(1)
    assert made == [*range(KEPT_PAGES + 1), 1]


def test_what_fails_is_not_kept_and_gives_its_turn_back() -> None:
    drawn = Drawn()

    def fail() -> str:
        raise ValueError("no pen")

    for _ in range(2 * (SHEETS + SHEETS_WAITING)):
        with pytest.raises(ValueError, match="no pen"):
            drawn.page("a", fail)
    assert drawn.page("a", lambda: "drawn") == "drawn"


def test_equal_questions_are_drawn_once_and_those_of_another_fixture_again(
    slotted: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    made: list[Any] = []

    @attrs.frozen
    class Counted(Known):
        def screen(self, joint: Any, fixture: Any, *_: Any) -> str:
            made.append(fixture.tilt.max_deg)
            return "<p>drawn</p>"

        def meaning(self) -> str:
            return ""

    client = create_app(
        catalogue=Catalogue({"slotted": Counted(slotted(), "own 1")}, ())
    ).test_client()
    url = "/joint/slotted?fixture=porch&width_mm=60"
    assert client.get(url).text == client.get(url).text
    assert made == [24.0]
    porch = named_fixture("porch")
    other = attrs.evolve(porch, tilt=attrs.evolve(porch.tilt, max_deg=10.0))
    monkeypatch.setattr(Fixtures, "get", lambda *_: Chosen("porch", other, "another digest"))
    client.get(url)
    assert made == [24.0, 10.0]


def test_one_in_a_process_of_its_own_takes_nobodys_turn() -> None:
    drawn, go = Drawn(), threading.Event()
    with ThreadPoolExecutor(SHEETS + SHEETS_WAITING) as pool:
        begun = threading.Semaphore(0)

        def hold() -> str:
            begun.release()
            assert go.wait(60)
            return "held"

        held = [pool.submit(drawn.page, i, hold) for i in range(SHEETS)]
        for _ in held:
            assert begun.acquire(timeout=60)
        assert drawn.page("own", lambda: "own", own_process=True) == "own"
        go.set()
        assert [h.result() for h in held] == ["held"] * SHEETS
