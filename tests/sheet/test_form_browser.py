"""The pages to fill in, opened in a real browser: with a keyboard only, on a narrow screen, with
scripts switched off, and looked through for what keeps people out.

The accessibility check is axe-core's, run in the page with every rule that it has but those named
experimental; its script comes from the test dependency ``axe-playwright-python``, of which nothing
else is used. It is put into the page by the browser itself, past the page's own policy.
"""

from __future__ import annotations

import importlib.util
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import pytest

import jointgeo
from jointgeo.pieces.registry import piece_type, piece_types

from .browser import Browser

NARROW, WIDE = 320, 1200
TEXT = "document.documentElement.innerText"


def plain(example: Any) -> dict[str, str]:
    flags = {True: "true", False: "false"}
    given = {k: v for k, v in example.to_dict().items() if v is not None}
    return {k: flags[v] if isinstance(v, bool) else str(v) for k, v in given.items()}


def filled(kind: str, name: str, **changed: str) -> str:
    cls: Any = jointgeo.joint_type(name) if kind == "joint" else piece_type(name)
    return f"/{kind}/{name}?{urlencode(plain(cls.examples()[0]) | changed)}"


LEG = "/joint/splayed_bridle"
FAILS = filled("joint", "splayed_bridle", splay_along_deg="20")
WRONG = filled("joint", "splayed_bridle", splay_along_deg="x", rail_length_mm="", fit_mm="9")
PAGES = [
    "/", "/fixture", "/fixture/porch", "/joint/knot", LEG, FAILS, WRONG,
    *(filled("joint", name) for name in sorted(jointgeo.joint_types())),
    "/piece/splayed_bench", filled("piece", "splayed_bench", stretcher_thickness_mm="16"),
    *(filled("piece", name) for name in sorted(piece_types())[:2]),
]  # fmt: skip


class Tab:
    """The browser's tab as a person uses it."""

    def __init__(self, browser: Browser, base: str) -> None:
        self.browser, self.base = browser, base

    def open(self, path: str, width: int = WIDE) -> None:
        self.browser._events.clear()  # as its own `open` does
        size = {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": False}
        self.browser.ask("Emulation.setDeviceMetricsOverride", **size)
        self.browser.ask("Page.navigate", url=self.base + path)
        self.browser.until("Page.loadEventFired")

    def tell(self, expression: str, *, wait: bool = False) -> Any:
        answer = self.browser.ask(
            "Runtime.evaluate", expression=expression, returnByValue=True, awaitPromise=wait
        )
        assert "exceptionDetails" not in answer, answer
        return answer["result"].get("value")

    def key(self, name: str, text: str = "", *, shift: bool = False) -> None:
        codes = {"Tab": 9, "Enter": 13, "Backspace": 8, "a": 65}
        pressed: dict[str, Any] = {"key": name, "windowsVirtualKeyCode": codes[name]}
        pressed |= {"text": text} if text else {}
        pressed |= {"modifiers": 8} if shift else {}
        kind = "keyDown" if text else "rawKeyDown"
        self.browser.ask("Input.dispatchKeyEvent", type=kind, **pressed)
        self.browser.ask("Input.dispatchKeyEvent", type="keyUp", key=name)

    def focused(self) -> str:
        """Id of what has the focus, or the words of a link."""
        return str(self.tell("document.activeElement.id || document.activeElement.innerText"))

    def scrolls(self) -> tuple[int, int]:
        wide, room = json.loads(
            self.tell(
                "JSON.stringify([document.documentElement.scrollWidth,"
                "document.documentElement.clientWidth])"
            )
        )
        return wide, room


@pytest.fixture
def tab(browser: Browser, service: str) -> Iterator[Tab]:
    yield Tab(browser, service)
    browser.ask("Emulation.setScriptExecutionDisabled", value=False)


@pytest.fixture(scope="module")
def axe() -> str:
    """The checker's own script."""
    found = importlib.util.find_spec("axe_playwright_python")
    assert found is not None
    assert found.submodule_search_locations is not None
    return (Path(found.submodule_search_locations[0]) / "axe.min.js").read_text("utf-8")


@pytest.mark.parametrize("page", PAGES, ids=lambda p: p.partition("?")[0])
@pytest.mark.parametrize("width", [NARROW, WIDE])
def test_nothing_keeps_people_out(tab: Tab, axe: str, page: str, width: int) -> None:
    tab.open(page, width)
    tab.tell("document.querySelectorAll('details').forEach(d => { d.open = true; })")
    tab.tell(axe + "; typeof axe")
    found = json.loads(
        tab.tell(
            "axe.run({resultTypes: ['violations']}).then(r => JSON.stringify("
            "[r.violations.map(v => [v.id, v.help, v.nodes.map(n => n.html)]), r.passes.length]))",
            wait=True,
        )
    )
    assert found[0] == []
    assert found[1] >= 10  # it did look at the page


def test_the_checker_sees_what_is_wrong(tab: Tab, axe: str) -> None:
    """A label taken away and words in grey on white are found: a check that could not fail is
    none."""
    tab.open(LEG)
    tab.tell("document.querySelector('label[for=field-rail_depth_mm]').remove()")
    tab.tell("document.querySelector('h1').style.color = '#bbb'")
    tab.tell(axe + "; typeof axe")
    found = tab.tell(
        "axe.run().then(r => r.violations.map(v => v.id).sort().join())",
        wait=True,
    )
    assert {"color-contrast", "label"} <= set(found.split(","))


@pytest.mark.parametrize("page", PAGES, ids=lambda p: p.partition("?")[0])
def test_a_narrow_screen_does_not_scroll_sideways(tab: Tab, page: str) -> None:
    tab.open(page, NARROW)
    tab.tell("document.querySelectorAll('details').forEach(d => { d.open = true; })")
    wide, room = tab.scrolls()
    assert wide <= room <= NARROW
    out = tab.tell(
        "[...document.querySelectorAll('body *')].filter(e => !e.closest('svg, .skip, thead')"
        " && e.getBoundingClientRect().right > document.documentElement.clientWidth + 1)"
        ".map(e => e.outerHTML.slice(0, 80)).join('|')"
    )
    assert out == ""


def test_a_narrow_screen_shows_the_answer_first(tab: Tab) -> None:
    tab.open(f"{filled('joint', 'splayed_bridle')}#answer", NARROW)
    top = "document.querySelector('{}').getBoundingClientRect().top"
    verdict, form = (tab.tell(top.format(what)) for what in (".verdict", "#form"))
    assert 0 <= verdict < 200
    assert form > verdict
    assert tab.tell("document.querySelector('.verdict h2').innerText").startswith("Feasible")


def test_a_wide_screen_has_the_entries_beside_the_answer(tab: Tab) -> None:
    tab.open(filled("joint", "splayed_bridle"))
    place = "(r => [r.left, r.top])(document.querySelector('{}').getBoundingClientRect()).join()"
    left, top = (float(v) for v in tab.tell(place.format(".entries")).split(","))
    beside, level = (float(v) for v in tab.tell(place.format(".answer")).split(","))
    assert left < beside
    assert abs(top - level) < 1


def test_with_a_keyboard_only(tab: Tab) -> None:
    """From the top of the page to a field, another number, and back an answer to it."""
    tab.open(LEG)
    seen = []
    for _ in range(40):
        tab.key("Tab")
        seen.append(tab.focused())
        if seen[-1] == "field-splay_along_deg":
            break
    assert seen[-1] == "field-splay_along_deg"
    assert seen.index("field-fixture") < seen.index("field-leg_width_mm")
    # What has the focus is seen to have it.
    assert tab.tell("getComputedStyle(document.activeElement).outlineStyle") == "solid"
    tab.tell("document.activeElement.select()")
    for letter in "20":
        tab.browser.ask("Input.insertText", text=letter)
    tab.browser._events.clear()  # or the page before would count
    tab.key("Enter", "\r")
    tab.browser.until("Page.loadEventFired")
    assert "splay_along_deg=20" in tab.tell("location.search")
    assert tab.tell("location.hash") == "#answer"
    assert "Not feasible on porch" in tab.tell(TEXT)
    assert "NOT TO BE CUT" in tab.tell(TEXT)
    # A link that helps is reached and followed in the same way.
    for _ in range(20):
        tab.key("Tab")
        if tab.focused().startswith("leg thickness"):
            break
    assert tab.focused() == "leg thickness 41.00 mm"
    tab.browser._events.clear()  # the same
    tab.key("Enter", "\r")
    tab.browser.until("Page.loadEventFired")
    assert "Feasible, with cautions, on porch" in tab.tell(TEXT)
    assert tab.tell("document.getElementById('field-leg_thickness_mm').value") == "41"


def test_a_wrong_field_is_reached_from_the_top(tab: Tab) -> None:
    tab.open(f"{WRONG}#answer", NARROW)
    tab.tell("document.querySelector('#answer a[href=\"#field-fit_mm\"]').click()")
    box = "document.getElementById('field-fit_mm').getBoundingClientRect()"
    assert 0 <= tab.tell(f"{box}.bottom") < 900
    for what in ("label[for=field-fit_mm]", "#field-fit_mm-fault"):  # both stand above it
        top = tab.tell(f"document.querySelector('{what}').getBoundingClientRect().top")
        assert 0 <= top < 900
    described = tab.tell(
        "document.getElementById('field-fit_mm').getAttribute('aria-describedby').split(' ')"
        ".map(i => document.getElementById(i).innerText).join(' ')"
    )
    assert "is too large" in described
    assert "negative: interference" in described


def test_without_scripts(tab: Tab) -> None:
    """The form is sent and answered with scripts switched off in the browser."""
    tab.browser.ask("Emulation.setScriptExecutionDisabled", value=True)
    tab.open(LEG)
    root = tab.browser.ask("DOM.getDocument", depth=0)["root"]["nodeId"]
    button = tab.browser.ask("DOM.querySelector", nodeId=root, selector="#form button")
    tab.browser.ask("DOM.focus", nodeId=button["nodeId"])
    tab.browser._events.clear()  # or the page before would count
    tab.key("Enter", "\r")
    tab.browser.until("Page.loadEventFired")
    assert tab.tell("document.querySelector('.verdict h2').innerText").startswith("Feasible")
    assert tab.tell("document.querySelectorAll('.answer figure svg').length") >= 2


def test_nothing_is_asked_for_but_the_page_and_nothing_is_complained_of(tab: Tab) -> None:
    for page in (FAILS, WRONG, "/"):
        tab.open(page)
        told = tab.browser._of  # as its own `open` reads them
        asked = [e["params"]["request"]["url"] for e in told("Network.requestWillBeSent")]
        assert [u for u in asked if not u.startswith("data:")] == [tab.base + page]
        kinds = ("Runtime.exceptionThrown", "Runtime.consoleAPICalled")
        assert not [e for kind in kinds for e in told(kind)]
        logged = [e["params"]["entry"]["text"] for e in told("Log.entryAdded")]
        assert all("422" in text for text in logged)  # that the page was answered so
