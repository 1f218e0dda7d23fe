"""The page in a browser, at a desk's width and a telephone's, and on both papers.

Chromium measures: where each word stands, what it fetched, what it complained of. poppler
reads the printed PDF back: words, places, and the check bar in dots.
"""

from __future__ import annotations

import html
import itertools
import os
import re
import subprocess
import sys
from collections import Counter
from pathlib import Path
from urllib.parse import urlencode

import numpy as np
import pytest

import jointgeo
from jointgeo.sheet import Book, page

from .browser import Browser, Page
from .pieces import piece_book, piece_sheet
from .samples import JOBS, book_of, joint_sheet

#: Gives every run of text and its boxes, and what spills out of what holds it.
MEASURE = r"""
(() => {
  const texts = [], spilt = [], narrow = [];
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  const put = (words, r) => texts.push([words, r.left, r.top, r.right, r.bottom]);
  for (let node; (node = walk.nextNode()); ) {
    const words = node.textContent.trim(), holder = node.parentElement;
    if (!words || ["title", "desc", "style"].includes(holder.tagName.toLowerCase())) continue;
    if (holder.tagName === "text") {
      const r = holder.getBoundingClientRect();
      put(words, r);
      const s = holder.ownerSVGElement.getBoundingClientRect();
      if (r.left < s.left - 1 || r.right > s.right + 1 || r.top < s.top - 1 ||
          r.bottom > s.bottom + 1) spilt.push(words);
      const ground = holder.previousElementSibling;
      const room = holder.getAttribute("transform") ? ground.height : ground.width;
      if (holder.getComputedTextLength() > room.baseVal.value + 0.05) narrow.push(words);
    } else {
      const range = document.createRange();
      range.selectNodeContents(node);
      for (const r of range.getClientRects()) if (r.width > 0.5) put(words, r);
    }
  }
  for (const e of document.querySelectorAll("td, th, p, li, h1, h2, h3, figcaption"))
    if (e.scrollWidth > e.clientWidth + 1 && e.clientWidth > 0) spilt.push(e.textContent);
  return JSON.stringify({width: innerWidth, scroll: document.documentElement.scrollWidth,
    texts: texts, spilt: spilt, narrow: narrow,
    height: document.documentElement.scrollHeight});
})()
"""
A4, LETTER = (210.0, 297.0), (215.9, 279.4)  # ISO 216 (from memory); 8.5 × 11 in


def assert_sound(page: Page, url: str) -> None:
    """Nothing fetched but the page, no complaint, nothing on anything, nothing cut off."""
    assert [u for u in page.requests if u not in (url, "data:,")] == []
    assert page.complaints == []
    assert page.scroll_width <= page.width
    assert page.spilt == []
    assert page.narrow == []
    boxes = np.array([t[1:] for t in page.texts])
    assert len(boxes) > 100
    assert boxes[:, 0].min() >= 0
    assert boxes[:, 2].max() <= page.width
    order = np.argsort(boxes[:, 1])
    for i, j in _near(boxes[order]):
        a, b = boxes[order[i]], boxes[order[j]]
        across, down = min(a[2], b[2]) - max(a[0], b[0]), min(a[3], b[3]) - max(a[1], b[1])
        # A box holds the face's whole height; a pixel and a half of air may be shared.
        assert across <= 0.5 or down <= 1.5, (page.texts[order[i]], page.texts[order[j]])


def _near(boxes: np.ndarray) -> list[tuple[int, int]]:
    """Pairs that may meet: boxes by rising top, until the next begins below this one's foot."""
    out = []
    for i in range(len(boxes)):
        for j in range(i + 1, len(boxes)):
            if boxes[j][1] > boxes[i][3]:
                break
            out.append((i, j))
    return out


@pytest.mark.parametrize("width", [1200, 390])
@pytest.mark.parametrize("job", JOBS)
def test_a_jobs_page_at_two_widths(browser: Browser, jobs: str, job: str, width: int) -> None:
    url = f"{jobs}/{job}"
    assert_sound(browser.open(url, width, MEASURE), url)


@pytest.mark.parametrize("name", sorted(jointgeo.joint_types()))
def test_the_live_services_page(browser: Browser, service: str, name: str) -> None:
    flags = {True: "true", False: "false"}
    values = jointgeo.joint_type(name).examples()[-1].to_dict()
    query = {k: flags[v] if isinstance(v, bool) else str(v) for k, v in values.items()}
    url = f"{service}/sheet?" + urlencode({"joint_type": name, "fixture": "porch"} | query)
    for width in (1200, 390):
        assert_sound(browser.open(url, width, MEASURE), url)


def test_a_refusal_is_a_page_too(browser: Browser, service: str) -> None:
    found = browser.open(f"{service}/sheet?joint_type=nothing", 390, MEASURE)
    assert found.scroll_width <= found.width
    assert any("is not a known joint type" in t[0] for t in found.texts)


def printed(browser: Browser, url: str, paper: tuple[float, float], to: Path) -> Page:
    page = browser.open(url, 1200, MEASURE)
    to.write_bytes(browser.pdf(*paper, css_size=False))
    return page


def words_in(pdf: Path) -> list[tuple[int, str, float, float, float, float]]:
    """(page, word, left, top, right, bottom), points, by pdftotext."""
    done = subprocess.run(
        ["pdftotext", "-bbox", str(pdf), "-"], capture_output=True, text=True, check=True
    )
    out, number = [], 0
    for line in done.stdout.splitlines():
        number += "<page " in line
        if "<word " in line:
            places = [float(v) for v in re.findall(r'M(?:in|ax)="([-\d.]+)"', line)]
            out.append((number, re.sub(r"<[^>]+>", "", line).strip(), *places))
    return out


#: The most that the demo's jobs may take of either paper, kept as they are.
MOST = {"bench": 8, "chair": 11, "planter": 6}
#: Capitals are 0.729 of the size in DejaVu Sans and a word's box is the face's ascent and descent,
#: 1.164 of it, by its own tables.
LEAST_BOX_MM = 2.2 / 0.729 * 1.164


@pytest.mark.usefixtures("poppler")
@pytest.mark.parametrize("paper", [A4, LETTER], ids=["A4", "Letter"])
@pytest.mark.parametrize("job", JOBS)
def test_a_page_of_paper_holds_what_it_was_made_for(
    browser: Browser, jobs: str, job: str, paper: tuple[float, float], tmp_path: Path
) -> None:
    """As many pages as were made, each letter of them in the PDF and inside their margins, no
    letter smaller than 2.2 mm capitals, which a page shrunk by the browser would have."""
    shown_page = printed(browser, f"{jobs}/{job}", paper, tmp_path / "x.pdf")
    found = words_in(tmp_path / "x.pdf")
    count = max(number for number, *_ in found)
    assert count == book_of(job)[0].count("<section")
    assert count <= MOST.get(job, count)
    assert_inside(found, paper)
    assert_large(found)
    shown = Counter(c for t in {(t[0], i) for i, t in enumerate(_whole(shown_page))} for c in t[0])
    read = Counter(html.unescape("".join(w[1] for w in found)))
    del shown[" "], shown["\n"]
    missing = {c: n - read[c] for c, n in shown.items() if n > read[c]}
    assert missing == {}


@pytest.mark.usefixtures("poppler")
@pytest.mark.parametrize(("name", "members"), [("bench", 3), ("chair", 4)])
def test_a_whole_pieces_pages_hold_what_they_were_made_for(
    browser: Browser, name: str, members: int, tmp_path: Path
) -> None:
    """Two pages before the members, of which two go on a page (the bench's rail has one of its own:
    it is struck on both its sides, on four corner edges), and one for each clamping."""
    text = piece_book(name)[0]
    (tmp_path / "x.html").write_text(text, "utf-8")
    browser.open((tmp_path / "x.html").as_uri(), 1200, MEASURE)
    title = piece_sheet(name).title
    heads = re.findall(r"<h1[^>]*>(.*?)</h1>", text)
    assert [h.startswith(f"{title}: members") for h in heads].index(True) == 2
    assert sum(h.startswith(f"{title}: members") for h in heads) == members
    clampings = sum(len(e.setups) for e in piece_sheet(name).ends)
    assert sum(h.startswith("Operation ") for h in heads) == clampings
    for paper in (A4, LETTER):
        (tmp_path / "x.pdf").write_bytes(browser.pdf(*paper, css_size=False))
        found = words_in(tmp_path / "x.pdf")
        assert max(number for number, *_ in found) == text.count("<section")
        assert_inside(found, paper)
        assert_large(found)


Word = tuple[int, str, float, float, float, float]


def assert_inside(found: list[Word], paper: tuple[float, float]) -> None:
    """A layout's page lies on its side."""
    upright = tuple(v / 25.4 * 72 for v in paper)
    margin = 9.5 / 25.4 * 72  # the page asks for 10 mm; a face's box is taller than its letters
    lying = {number for number, word, *_ in found if word == "bar:"}
    for number, word, left, top, right, bottom in found:
        wide, high = upright[::-1] if number in lying else upright
        assert margin <= left <= right <= wide - margin, (number, word)
        assert margin <= top <= bottom <= high - margin, (number, word)


def assert_large(found: list[Word]) -> None:
    for number, word, left, top, right, bottom in found:
        # Of a short word the height is the longer side, whichever way it reads.
        sides = right - left, bottom - top
        high = min(sides) if len(word) > 3 else max(sides)
        assert high / 72 * 25.4 >= LEAST_BOX_MM - 0.02, (number, word)


@pytest.mark.usefixtures("poppler")
@pytest.mark.parametrize("name", sorted(jointgeo.joint_types()))
def test_a_joints_page_holds_what_it_was_made_for(
    browser: Browser, name: str, tmp_path: Path
) -> None:
    """On the paper that was asked for; a box of many fingers goes on over several pages."""
    changed = {"finger_count": 31, "fit_mm": 0.0} if name == "angled_box_joint" else {}
    sheet = joint_sheet(name, **changed)
    for paper, size in (("a4", A4), ("letter", LETTER)):
        text = page(sheet, Book(), paper=paper)
        path = tmp_path / f"{paper}.html"
        path.write_text(text, "utf-8")
        browser.open(path.as_uri(), 1200, MEASURE)
        (tmp_path / "x.pdf").write_bytes(browser.pdf(*size, css_size=True))
        found = words_in(tmp_path / "x.pdf")
        assert max(number for number, *_ in found) == text.count("<section")
        assert_inside(found, size)
        assert_large(found)


def _whole(page: Page) -> list[tuple[str]]:
    """Each text once, although it may run over several lines."""
    return [(words,) for words, _ in itertools.groupby(page.texts, key=lambda t: t[0])]


def dots(pdf: Path, page: int) -> np.ndarray:
    """One page at 254 dots to the inch, 10 to the millimetre; True is ink."""
    done = subprocess.run(
        ["pdftoppm", "-r", "254", "-gray", "-f", str(page), "-l", str(page), str(pdf)],
        capture_output=True,
        check=True,
    )
    found = re.match(rb"P5\s+(\d+)\s+(\d+)\s+255\s", done.stdout)
    assert found is not None
    wide, high = int(found[1]), int(found[2])
    pixels = np.frombuffer(done.stdout[found.end() :], dtype=np.uint8)
    return np.asarray(pixels[: wide * high].reshape(high, wide) < 128)


def longest_run(row: np.ndarray) -> int:
    edges = np.flatnonzero(np.diff(np.concatenate([[0], row.astype(int), [0]])))
    return int((edges[1::2] - edges[::2]).max(initial=0))


@pytest.mark.usefixtures("poppler")
@pytest.mark.parametrize("paper", [A4, LETTER], ids=["A4", "Letter"])
def test_the_layout_prints_at_full_size(
    browser: Browser, jobs: str, paper: tuple[float, float], tmp_path: Path
) -> None:
    """The bar before "this bar: 100 mm" is 1000 dots long, the unrolled end of a 66 × 44 mm leg
    2200; a dot is 0.1 mm, and a line's end may fall on either of two. The fold lines at the end's
    corners are 0.2 mm wide and stand half outside."""
    pdf = tmp_path / "x.pdf"
    printed(browser, f"{jobs}/bench", paper, pdf)
    bars = [w for w in words_in(pdf) if w[1] == "bar:"]
    assert len(bars) == 2  # a page for two ends
    for number, _, _, top, _, bottom in bars:
        ink = dots(pdf, number)
        y = int((top + bottom) / 2 / 72 * 254)
        bar = max(longest_run(row) for row in ink[y - 40 : y + 40])
        assert bar == pytest.approx(1000, abs=1)
        end = max(longest_run(row) for row in ink[y - 260 : y - 90])
        assert end == pytest.approx(2202, abs=2)


@pytest.mark.usefixtures("poppler")
def test_a_paper_that_is_asked_for_is_printed(
    browser: Browser, service: str, tmp_path: Path
) -> None:
    values = jointgeo.joint_type("splayed_bridle").examples()[0].to_dict()
    query = {"joint_type": "splayed_bridle", "fixture": "porch", "paper": "a4"} | values
    browser.open(f"{service}/sheet?{urlencode(query)}", 1200, MEASURE)
    pdf = tmp_path / "x.pdf"
    pdf.write_bytes(browser.pdf(*LETTER, css_size=True))
    info = subprocess.run(["pdfinfo", str(pdf)], capture_output=True, text=True, check=True).stdout
    size = re.search(r"Page size:\s+([\d.]+) x ([\d.]+) pts", info)
    assert size is not None
    assert float(size[1]) == pytest.approx(210 / 25.4 * 72, abs=0.5)
    assert float(size[2]) == pytest.approx(297 / 25.4 * 72, abs=0.5)


BROKEN = """<!DOCTYPE html><body><svg width="100" height="50" xmlns="http://www.w3.org/2000/svg">
<rect width="9" height="9"/><text x="5" y="20">one upon</text><rect width="9" height="9"/>
<text x="9" y="22">another</text></svg><p style="width:3000px">wide</p>
<table style="table-layout:fixed;width:20px">
<tr><td style="white-space:nowrap">a cell</td></tr></table>
<img src="http://127.0.0.1:9/x.png"><script>console.error("no")</script>"""


def test_the_measures_find_what_is_wrong(browser: Browser, tmp_path: Path) -> None:
    """A page with every fault in it, so that a sound one means something."""
    path = tmp_path / "broken.html"
    path.write_text(BROKEN, "utf-8")
    page = browser.open(path.as_uri(), 390, MEASURE)
    assert page.scroll_width > page.width
    assert page.narrow == ["one upon", "another"]
    assert page.spilt == ["a cell"]
    assert any("no" in c for c in page.complaints)
    assert "http://127.0.0.1:9/x.png" in page.requests
    (_, *a), (_, *b) = page.texts[:2]
    assert min(a[2], b[2]) - max(a[0], b[0]) > 1
    assert min(a[3], b[3]) - max(a[1], b[1]) > 1.5


@pytest.mark.parametrize(("ci", "code", "said"), [("true", 1, "failed"), ("", 0, "skipped")])
def test_without_a_browser_it_is_loud(ci: str, code: int, said: str, tmp_path: Path) -> None:
    """The browser tests skip aloud where there is none, and fail in CI."""
    root = Path(__file__).parents[2]
    python = Path(sys.executable)
    done = subprocess.run(
        [
            python,
            "-m",
            "pytest",
            "-p",
            "no:cacheprovider",
            f"{Path(__file__)}::test_a_refusal_is_a_page_too",
        ],
        cwd=root,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
        env={k: v for k, v in os.environ.items() if k not in ("CI", "COV_CORE_SOURCE")}
        | {"PATH": str(tmp_path), "CI": ci},
    )
    assert done.returncode == code, done.stdout + done.stderr
    assert "SKIPPED LOUDLY" in done.stdout
    assert said in done.stdout or "error" in done.stdout
