"""Pages of paper: widths of words against the face's own tables, heights by hand, what goes on."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from jointgeo.sheet import lettering
from jointgeo.sheet.flow import Block, heading, paged, paragraph, rows
from jointgeo.sheet.lettering import text_mm, wrapped
from jointgeo.sheet.markup import Markup, element, joined
from jointgeo.sheet.style import LETTER_MM, LINE_MM, sizes

FACES = Path("/usr/share/fonts/truetype/dejavu")


@pytest.mark.parametrize(
    ("bold", "file"), [(False, "DejaVuSans.ttf"), (True, "DejaVuSans-Bold.ttf")]
)
def test_letters_are_as_wide_as_the_face_says(bold: bool, file: str) -> None:
    """The advances of the font file, read by fontTools, which comes with ezdxf."""
    if not (FACES / file).exists():
        says = f"SKIPPED LOUDLY: {file} is not installed, so no width was compared"
        if os.environ.get("CI") == "true":
            pytest.fail(says)
        pytest.skip(says)
    from fontTools.ttLib import TTFont

    font = TTFont(FACES / file)
    names, advances = font.getBestCmap(), font["hmtx"]
    known = lettering._BOLD if bold else lettering._REGULAR
    assert len(known) > 120
    assert font["head"].unitsPerEm == 2048
    for letter, units in known.items():
        assert units == advances[names[ord(letter)]][0], letter
    wide = sum(advances[names[ord(c)]][0] for c in "-7.827° back / face edge")
    size = 3.175
    found = text_mm("-7.827° back / face edge", size, bold=bold)
    assert found == pytest.approx(wide * size / 2048, abs=1e-9)  # rounding


def test_lines_break_between_words_and_within_a_word_that_is_longer() -> None:
    """At a size of 2048/1303 mm a figure is 1 mm wide and a space 0.4996 mm: two figures and a
    space take 2.4996 mm."""
    size = 2048 / 1303
    assert wrapped([("1 2 3 4", False)], 2.5, size) == 2
    assert wrapped([("1 2 3 4", False)], 2.49, size) == 4
    assert wrapped([("1234", False)], 2.0, size) == 2
    assert wrapped([("1 ", False), ("2", True), (" 3", False)], 2.5, size) == 3  # bold is wider
    assert wrapped([("1", False), ("2", False)], 1.5, size) == 2  # one word of two stretches
    assert wrapped([("", False)], 1.0, size) == 1


def test_a_paragraph_is_as_high_as_its_lines() -> None:
    one = paragraph("one")
    assert one.high_mm == pytest.approx(LINE_MM + 1.0)
    wide = text_mm("a " * 40, LETTER_MM)
    assert paragraph("a " * 40, wide / 2 + 2).high_mm == pytest.approx(2 * LINE_MM + 1.0)
    bold = joined([element("strong", "a " * 40)])
    assert paragraph(bold, wide + 1).high_mm == pytest.approx(2 * LINE_MM + 1.0)


def block(high: float, name: str = "x") -> Block:
    return Block(element("p", name), high)


def top(again: bool) -> Block:
    return block(10.0, "head, continued" if again else "head")


def test_what_does_not_go_on_a_page_goes_on_in_the_next_which_says_so() -> None:
    """A head of 10 mm and blocks of 40 mm: two go on a page of 95 mm."""
    pages = list(paged([block(40.0, f"block {i}") for i in range(5)], top, 95.0))
    assert [p.count("block") for p in pages] == [2, 2, 1]
    assert ["continued" in p for p in pages] == [False, True, True]


def test_a_heading_goes_on_the_page_of_what_follows_it() -> None:
    """Head 10 mm, headings 6.4 mm: of 85 mm a block of 76 leaves 9, room for a heading alone."""
    two = heading("one"), heading("two")
    pages = list(paged([block(76.0, "before"), *two[:1], block(40.0, "block")], top, 95.0))
    assert [("before" in p, "one" in p, "block" in p) for p in pages] == [
        (True, False, False),
        (False, True, True),
    ]
    # Two headings and 40 mm go into 85 - 30; a table goes on with its first row at least.
    pages = list(paged([block(30.0, "before"), *two, block(40.0, "block")], top, 95.0))
    assert len(pages) == 1
    long = rows("", ("a",), [(f"row {i}",) for i in range(30)], (50.0,))
    pages = list(paged([block(70.0, "before"), *two[:1], long], top, 95.0))
    assert ["one" in p for p in pages] == [False, True, False]
    assert pages[1].count("row ") > 0
    pages = list(paged([block(60.0, "before"), *two[:1], long], top, 95.0))
    assert ["one" in p for p in pages] == [True, False, False]
    # What is higher than a page runs on under its heading.
    pages = list(paged([block(60.0, "before"), *two[:1], block(90.0, "block")], top, 95.0))
    assert [("one" in p, "block" in p) for p in pages] == [(False, False), (True, True)]


def test_nothing_to_say_is_still_a_page() -> None:
    (only,) = paged([], top, 95.0)
    assert "head" in only


def test_a_long_table_goes_on_with_its_head_and_a_short_one_stays_whole() -> None:
    """Rows of one line are 3.7 + 0.5 + 0.2 = 4.4 mm high; the table's name takes 6.4."""
    long = rows("Cuts", ("a", "b"), [(f"row {i}", "x") for i in range(30)], (50.0, 50.0))
    assert long.body[0].high_mm == pytest.approx(4.4)
    assert long.high_mm == pytest.approx(6.4 + 31 * 4.4 + 1.0 + 0.2)
    pages = list(paged([block(30.0), long], top, 95.0))
    # 95 - 10 - 30 = 55 mm: (55 - 7.6 - 4.4) / 4.4 = 9 rows, then (85 - 12) / 4.4 = 16.
    assert [p.count("row ") for p in pages] == [9, 16, 5]
    assert [p.count("Cuts, continued") for p in pages] == [0, 1, 1]
    assert [p.count("<thead>") for p in pages] == [1, 1, 1]
    short = rows("Marks", ("a",), [("row",)] * 8, (50.0,))
    pages = list(paged([block(50.0), short], top, 95.0))
    assert [p.count("<td") + p.count("rowgroup") for p in pages] == [0, 8]


def test_a_page_holds_what_both_papers_do() -> None:
    """ISO 216 (from memory) and 8.5 × 11 in, less 10 mm at each side and 1 mm to spare."""
    assert sizes(None).high_mm == pytest.approx(279.4 - 21.0)
    assert sizes("a4").high_mm == pytest.approx(297.0 - 21.0)
    assert sizes(None).lying_high_mm == pytest.approx(210.0 - 21.0)
    assert sizes("letter").lying_high_mm == pytest.approx(215.9 - 21.0)


def test_text_is_measured_as_it_is_read() -> None:
    """An escaped sign is one letter, not five."""
    assert paragraph(Markup("&amp;" * 30), text_mm("&" * 31, LETTER_MM)).high_mm == pytest.approx(
        LINE_MM + 1.0
    )
