"""What every drawing owes to whoever looks at it, or listens to it."""

from __future__ import annotations

import itertools
import re

import numpy as np
import pytest

from jointgeo.sheet import Book
from jointgeo.sheet.canvas import Room, fitted, scale_words
from jointgeo.sheet.dimension import Callouts, arrow
from jointgeo.sheet.lettering import FINE, READ, Measure
from jointgeo.sheet.markup import Markup, element, joined, number
from jointgeo.sheet.svg import STYLES, Drawing

from .samples import JOBS, SVG, book_of, points, tree

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
    """A4 is 210 × 297 mm (ISO 216, from memory), Letter 8.5 × 11 in; 10 mm of each are margin.
    A layout lies on its side."""
    root = tree(book_of(job)[1].pictures[name])
    _, _, wide, high = (float(v) for v in root.get("viewBox", "").split())
    assert root.get("width") == f"{number(wide)}mm"
    assert root.get("height") == f"{number(high)}mm"
    short, long = min(210.0, 8.5 * 25.4) - 2 * 10.0, min(297.0, 11 * 25.4) - 2 * 10.0
    most = (long, short) if name.startswith("layout") else (short, long)
    assert wide <= most[0]
    assert high <= most[1]


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


def test_capitals_are_high_enough() -> None:
    """ISO 3098 names 3.5 mm (from memory), for a picture that stands alone; 2.2 mm is the least
    on a sheet (our choice). Capitals are 0.716 of the size in Arial and Helvetica and 0.729 in
    DejaVu Sans, by the faces' own tables (from memory)."""
    assert READ.letter_mm * 0.716 >= 3.5
    assert FINE.letter_mm * 0.716 >= 2.2


def test_all_that_a_scale_leaves_alone_grows_with_the_letters() -> None:
    """Letters of half the size: lines of words, strokes and arrow heads are half as large too."""
    large, small = Drawing("a", "b", Measure(8.0)), Drawing("a", "b", Measure(4.0))
    assert large.measure.line_mm == pytest.approx(2 * small.measure.line_mm)
    assert large.stroke_mm("outline") == pytest.approx(2 * small.stroke_mm("outline"))
    for d in (large, small):
        arrow(d, (0.0, 0.0), (1.0, 0.0))
    (a,), (b,) = (tree(d).iter(f"{SVG}polygon") for d in (large, small))
    np.testing.assert_allclose(points(a), 2 * points(b), atol=0.0015)  # written to a thousandth


def test_lesser_labels_are_left_out_first_and_told() -> None:
    """Five labels of one line where three have room: those of the highest rank go, and a label
    that must stand is written even where there is no room at all."""
    d, labels = Drawing("a", "b", FINE), Callouts(FINE)
    for i, rank in enumerate((0, 3, 1, 2, 0)):
        labels.add("right", (0.0, float(i)), f"label {i}", rank=rank)
    room = labels.height("right") * 3 / 5 - FINE.line_mm - FINE.of(1.5)
    labels.draw(d, 0.0, 10.0, 0.0, room + 0.01)
    assert d.left_out == ["label 1", "label 3"]
    assert [w for w, _ in d.texts] == ["label 0", "label 2", "label 4"]
    assert "Not named for want of room: label 1, label 3." in d.svg("x")
    must, two = Drawing("a", "b", FINE), Callouts(FINE)
    for i in (0, 1):
        two.add("left", (0.0, 0.0), f"must {i}")
    two.draw(must, 0.0, 10.0, 0.0, 0.0)
    (_, a), (_, b) = must.texts
    assert min(a[3], b[3]) <= max(a[1], b[1])  # one below the other all the same
    assert must.left_out == []


def test_words_that_are_higher_than_the_room_are_not_answered_by_the_smallest_scale() -> None:
    """Words 100 mm high in a room of 90 mm: a thing of 60 mm still takes up to a third of it."""

    def build(scale: float) -> Drawing:
        d = Drawing(f"thing, {scale_words(scale)}", "a thing", FINE)
        d.line((0.0, 0.0), (30.0 * scale, 60.0 * scale))
        d.line((0.0, 0.0), (0.0, 98.0 + 60.0 * scale))
        return d

    found = fitted(build, Room(90.0, 90.0, FINE), (30.0, 60.0))
    assert found.crowded
    assert found.title == "thing, 1:2"  # 60 / 2 = 30 = 90 / 3
    assert not fitted(build, Room(90.0, 131.0, FINE), (30.0, 60.0)).crowded
    assert fitted(build, Room(90.0, 131.0, FINE), (30.0, 60.0)).title == "thing, 1:2"


def test_line_types_differ_without_colour() -> None:
    seen = [style for name, style in STYLES.items() if name != "none"]
    assert len(set(seen)) == len(seen)
    dashed = [s for s in STYLES.values() if s[1]]
    assert len({d for _, d in dashed}) == len(dashed)


def test_a_name_with_signs_in_it_stays_text() -> None:
    d = Drawing("<b>", "x & y")
    d.text((0, 0), "</svg><script>")
    made = Book().figure("n", d).made
    assert "<script>" not in made
    assert re.search(r"<title id=\"n-title\">&lt;b&gt;</title>", made)
