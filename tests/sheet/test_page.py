"""The page: what comes first, what must not be missing, and that it needs nothing else."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from html.parser import HTMLParser
from typing import Any

import attrs
import pytest

import jointgeo
from jointgeo.errors import MissingExtraError
from jointgeo.jobs.report import CAUTIONS
from jointgeo.plugin import Length, mm
from jointgeo.sheet import Book, joint_page, page, sheet_of_joint
from jointgeo.sheet.style import css

from .samples import JOBS, LappedStake, book_of, joint_sheet, sheet_of


def text_of(page_text: str) -> str:
    """Words of the page, tags taken out."""
    body = page_text.partition("<body>")[2]
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", body)).split())


class Tags(HTMLParser):
    """Open tags that were never closed, ids, and everything that could fetch."""

    VOID = ("meta", "br", "hr", "col", "link")

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.ids: list[str] = []
        self.fetches: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag not in self.VOID:
            self.open.append(tag)
        for name, value in attrs:
            if name == "id":
                self.ids.append(value or "")
            if name in ("src", "href", "xlink:href", "srcset", "data", "action", "style"):
                self.fetches.append(f"{tag} {name}={value}")
        if tag in ("script", "link", "iframe", "img", "object"):
            self.fetches.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


@pytest.mark.parametrize("job", JOBS)
def test_the_page_is_well_made_and_fetches_nothing(job: str) -> None:
    text = book_of(job)[0]
    tags = Tags()
    tags.feed(text)
    assert tags.open == []
    assert len(set(tags.ids)) == len(tags.ids)
    # The empty icon keeps a browser from asking for one.
    assert tags.fetches == ["link href=data:,", "link"]
    assert "url(" not in text
    assert "@import" not in text
    assert set(re.findall(r"https?://[^\s\"<]+", text)) == {"http://www.w3.org/2000/svg"}


@pytest.mark.parametrize("job", JOBS)
def test_cautions_come_before_any_number(job: str) -> None:
    words = text_of(book_of(job)[0])
    last = max(words.index(" ".join(c.split())) for c in CAUTIONS)
    first = min(words.index(w) for w in ("Blanks", "Order of work", "Setting 1"))
    assert last < first


def test_the_bench_says_what_a_person_sets() -> None:
    """-7.8274° of swivel is 7°49.6′; from the other zero of a scale 82.1726° or 82°10.4′."""
    words = text_of(book_of("bench")[0])
    for said in (
        "-7.827° (-7°49.6′), anticlockwise; complement 82.173° (82°10.4′)",
        "12.000° (12°00.0′), cut end towards you; complement 78.000° (78°00.0′)",
        "back on the plate, back edge on the fence, face side to you",
        "2 × leg, front right and rear left, near end, mirrored",
        "Set the tilt to 12.000° (12°00.0′), set the swivel to -7.827° (-7°49.6′).",
        "Leave the tilt, set the swivel to 7.827° (7°49.6′).",
        "a test piece first, then 2 × leg",
        "7 turns 18 div",
        "Cut 1: 22.90 to 45.00 mm, depth 60.00 mm, cutter height 259.97 mm",
        "leg and rail: leg goes onto rail at 7.83° to its own length",
        "front beam (room 31.71 mm)",
    ):
        assert said in words, said
    assert "WARNING" not in words


def test_blanks_are_listed_once_for_each_member() -> None:
    text = book_of("bench")[0]
    table = text.partition("Blanks</h2>")[2].partition("</table>")[0]
    rows = re.findall(r"<tr>(.*?)</tr>", table)[1:]
    cells = [[html.unescape(c) for c in re.findall(r">([^<]*)</td>", r)] for r in rows]
    assert sorted(cells) == [
        ["2 × leg, front left and rear right", "66.00", "44.00", "450.58"],
        ["2 × leg, front right and rear left", "66.00", "44.00", "450.58"],
    ]


def test_what_does_not_fit_is_said_in_words_with_remedies() -> None:
    words = text_of(book_of("planter-six")[0])
    assert "DOES NOT FIT: tilt range. 33.951°, limit 24.000°, short by 9.951°" in words
    assert "DOES NOT FIT: front beam." in words
    assert words.index("DO NOT CUT YET") < words.index("Saw the blanks")
    assert "The low beam moved out by 49.7 mm." in words
    assert "CAUTION: short grain." in words
    assert "WARNING: side board: its two ends slide along lines 22.34° apart" in words
    # A closed box has no order of one after the other: two corners close at one stroke at last.
    assert "several joints may have to close at one stroke" in words
    assert "put one on after the other" not in words


def test_packing_and_second_setups_are_there() -> None:
    words = text_of(book_of("chair")[0])
    # 22 mm · tan 0.262° = 0.10 mm: no wedge of 3.00 to 3.10 mm.
    slip = "0.262° (0°15.7′): one slip of paper 0.1 mm thick along the back; left out, the cut is"
    assert slip in words
    assert "already trimmed in setup 1: do not trim again" in words
    assert "Setting 1, setup 2, face edge on the plate" in words
    assert words.count("WARNING") == 2


def test_every_table_of_cuts_has_a_box_for_each_pass() -> None:
    text = book_of("planter")[0]
    passes = sum(
        len(c.passes) for e in sheet_of("planter").ends for s in e.setups for c in s.setup.cuts
    )
    assert text.count('<td class="tick">') == passes


def test_setting_aids_are_shown_the_best_of_each_axis_first() -> None:
    text = book_of("bench")[0]
    section = text.partition("Setting aids</h3>")[2].partition("</table>")[0]
    shown = [html.unescape(c) for c in re.findall(r"<td>([^<]*)</td>", section)]
    aids = sheet_of("bench").ends[0].setups[0].setup.aids
    for axis in ("swivel", "tilt"):
        best = next(a.says for a in aids if a.axis == axis)
        assert shown.index(axis) < shown.index(best)
    assert len(re.findall("<tr>", section)) - 1 == 6  # three of either axis, and the heading


def test_needed_given_and_good_enough_are_one_figure_with_the_answer() -> None:
    """The demo leg's pair, 0.15 mm / (1.1593·0.0532 + 0.7851·0.0704) = 1.282 of each axis's
    uncertainty, 0.0532° and 0.0704° with 0.005 of the angle for the gain of a scale."""
    words = text_of(book_of("bench")[0])
    assert "Needed ± Gives ± Good enough" in words
    setup = sheet_of("bench").ends[0].setups[0].setup
    for axis, needed in (("swivel", "0.068"), ("tilt", "0.090")):
        best = next(a for a in setup.aids if a.axis == axis)
        assert best.enough
        assert f"{best.says} {needed}° {best.reach_deg:.3f}° yes" in words
    closing = "the gap at 95 % is 0.18 mm of 0.15 mm; the chance that it closes is 86.7 %"
    assert f"Set by the scales, {closing}." in words


def test_without_the_kernel_the_page_says_what_to_install_and_the_rest_stands(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def missing(_: object) -> Any:
        raise MissingExtraError("install it with `pip install 'jointgeo[proof]'`")

    monkeypatch.setattr(joint_page, "dry_fit", missing)
    book = Book()
    words = text_of(page(joint_sheet("splayed_bridle"), book))
    assert "Not put together in the computer: install it with `pip install" in words
    assert {"setting-1-facing", "envelope", "joint-1-together", "joint-1-apart"} <= set(
        book.pictures
    )


def test_with_the_kernel_the_dry_fit_is_told() -> None:
    words = text_of(book_of("bench")[0])
    assert "from these settings alone: fits; widest gap beyond the stated fit 0.000 mm" in words


def test_a_strangers_joint_has_a_page_with_every_picture() -> None:
    book = Book()
    text = page(sheet_of_joint(LappedStake(), jointgeo.load_fixture("porch")), book)
    assert {"setting-1-facing", "setting-1-side", "setting-1-end", "joint-1-together"} <= set(
        book.pictures
    )
    assert any("layout" in name for name in book.pictures)
    assert text_of(text).startswith("Lapped stake")


@attrs.frozen
class Mistold(LappedStake):
    """Declares a dimension from a bar that it does not draw."""

    name = "mistold_stake"
    reach_mm: float = mm("Reach", 1, 9, Length("beam.face_edge", "beam.back_edge"), default=5.0)


def test_a_dimension_that_cannot_be_drawn_is_told_and_the_page_stands() -> None:
    book = Book()
    words = text_of(page(sheet_of_joint(Mistold(), jointgeo.load_fixture("porch")), book))
    assert "No picture of what the numbers mean: Length(a='beam.face_edge'" in words
    assert {"setting-1-facing", "joint-1-together"} <= set(book.pictures)


def test_what_the_numbers_mean_is_on_the_joints_page() -> None:
    book = Book()
    words = text_of(page(sheet_of_joint(LappedStake(), jointgeo.load_fixture("porch")), book))
    assert "What the numbers mean" in words
    assert "joint-1-parameters-1" in book.pictures
    assert words.count("twist 4.00°") == 1


def test_a_mirrored_joint_is_the_mirror_image() -> None:
    joint = LappedStake()
    fixture = jointgeo.load_fixture("porch")
    drawn, mirrored = (sheet_of_joint(joint, fixture, hand) for hand in ("as_drawn", "mirrored"))
    a, b = (s.ends[0].setups[0].setup for s in (drawn, mirrored))
    assert a.swivel_deg == pytest.approx(-b.swivel_deg)
    assert "mirrored" in mirrored.title


def _strange() -> Iterator[str]:
    yield "<script>alert(1)</script>"
    yield 'a "quoted" & odd name'


@pytest.mark.parametrize("name", list(_strange()))
def test_names_are_escaped(name: str) -> None:
    sheet = sheet_of_joint(LappedStake(), jointgeo.load_fixture("porch"), title=name)
    text = page(sheet, Book())
    assert "<script" not in text
    assert html.escape(name[1:]) in text


def test_papers() -> None:
    assert " size:" not in css(None).partition("}")[0]
    assert "size: A4" in css("a4")
    assert "size: letter" in css("letter")


def test_progress_is_told() -> None:
    heard: list[str] = []
    page(joint_sheet("angled_tenon"), Book(), tell=heard.append)
    assert heard == ["setting 1 of 1", "joint 1 of 1", "envelope and layout"]
