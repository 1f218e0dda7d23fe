"""What every drawing owes to whoever looks at it, or listens to it."""

from __future__ import annotations

import itertools
import re

import pytest

from jointgeo.sheet import Book
from jointgeo.sheet.markup import Markup, element, joined, number
from jointgeo.sheet.svg import LETTER_MM, STYLES, Drawing

from .samples import JOBS, SVG, book_of, tree

PICTURES = [(job, name) for job in JOBS for name in book_of(job)[1].pictures]


def test_text_is_escaped_wherever_it_goes() -> None:
    made = element("p", 'a < b & "c"', title='"><script>', data_x=1.5)
    assert made == (
        '<p title="&quot;&gt;&lt;script&gt;" data-x="1.5">a &lt; b &amp; &quot;c&quot;</p>'
    )
    assert joined([Markup("<b>"), "<i>"]) == "<b>&lt;i&gt;"


@pytest.mark.parametrize(
    ("value", "text"), [(1.0, "1"), (-0.0001, "0"), (2.34567, "2.346"), (-12.5, "-12.5")]
)
def test_a_number_is_short_and_never_minus_zero(value: float, text: str) -> None:
    assert number(value) == text


@pytest.mark.parametrize(("job", "name"), PICTURES)
def test_every_picture_says_what_it_shows(job: str, name: str) -> None:
    root = tree(book_of(job)[1].pictures[name])
    assert root.get("role") == "img"
    title, desc = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
    assert title is not None
    assert desc is not None
    assert root.get("aria-labelledby") == f"{title.get('id')} {desc.get('id')}"
    assert len(title.text or "") > 10
    assert len(desc.text or "") > 40


@pytest.mark.parametrize(("job", "name"), PICTURES)
def test_a_millimetre_is_a_millimetre_and_the_picture_goes_on_both_papers(
    job: str, name: str
) -> None:
    """A4 is 210 × 297 mm (ISO 216, from memory), Letter 8.5 × 11 in; 15 mm and 14 mm of each
    are margin."""
    root = tree(book_of(job)[1].pictures[name])
    _, _, wide, high = (float(v) for v in root.get("viewBox", "").split())
    assert root.get("width") == f"{number(wide)}mm"
    assert root.get("height") == f"{number(high)}mm"
    assert wide <= min(210.0, 8.5 * 25.4) - 2 * 15.0
    assert high <= min(297.0, 11 * 25.4) - 2 * 14.0


@pytest.mark.parametrize(("job", "name"), PICTURES)
def test_nothing_is_told_by_colour(job: str, name: str) -> None:
    for part in tree(book_of(job)[1].pictures[name]).iter():
        assert part.get("fill") in (None, "none", "white", "black")
        assert part.get("stroke") in (None, "black")


@pytest.mark.parametrize(("job", "name"), PICTURES)
def test_no_text_stands_on_another_or_outside(job: str, name: str) -> None:
    drawing = book_of(job)[1].pictures[name]
    left, top, right, bottom = drawing.box
    for words, box in drawing.texts:
        assert left <= box[0] <= box[2] <= right, words
        assert top <= box[1] <= box[3] <= bottom, words
    for (a, p), (b, q) in itertools.combinations(drawing.texts, 2):
        across = min(p[2], q[2]) - max(p[0], q[0])
        down = min(p[3], q[3]) - max(p[1], q[1])
        # A line's box is taller than its letters; half a millimetre of it may meet.
        assert across <= 0 or down <= 0.5, f"{a!r} stands on {b!r}"


def test_capitals_are_3_5_mm_high() -> None:
    """ISO 3098 names 3.5 mm (from memory). Capitals are 0.716 of the size in Arial and
    Helvetica and 0.729 in DejaVu Sans, by the faces' own tables (from memory)."""
    assert LETTER_MM * 0.716 >= 3.5


def test_line_types_differ_without_colour() -> None:
    seen = [style for name, style in STYLES.items() if name != "none"]
    assert len(set(seen)) == len(seen)
    dashed = [s for s in STYLES.values() if s[1]]
    assert len({d for _, d in dashed}) == len(dashed)


def test_a_name_with_signs_in_it_stays_text() -> None:
    d = Drawing("<b>", "x & y")
    d.text((0, 0), "</svg><script>")
    made = Book().figure("n", d)
    assert "<script>" not in made
    assert re.search(r"<title id=\"n-title\">&lt;b&gt;</title>", made)
