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
from jointgeo.proof import dry_fit
from jointgeo.sheet import Book, model, page, sheet_of_joint, words
from jointgeo.sheet.develop import develop
from jointgeo.sheet.layout_drawing import layout_whole
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
            if name in ("src", "href", "xlink:href", "srcset", "data", "action"):
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
    first = min(words.index(w) for w in ("Cut list", "Operations in order of work"))
    assert last < first


def sections(page_text: str) -> list[str]:
    """Words of each page of paper."""
    parts = page_text.split("<section")[1:]
    return [text_of(f"<body>{part.partition('>')[2]}") for part in parts]


@pytest.mark.parametrize("job", JOBS)
def test_nothing_of_a_finding_is_lost(job: str) -> None:
    """Each check that did not pass, with its reason and everything that helps, is on the pages
    before the first operation."""
    pages = sections(book_of(job)[0])
    first = next(i for i, p in enumerate(pages) if p.startswith("Operation 1"))
    told = " ".join(pages[:first])
    found = [c for c in sheet_of(job).checks if c.status != "pass"]
    assert found or job == "stool"
    for check in found:
        name = check.name.replace("_", " ")
        assert f"{name} (" in told
        assert check.because.removeprefix(check.because[0]) in told
        for remedy in check.remedies:
            assert remedy.says.removeprefix(remedy.says[0]) in told


@pytest.mark.parametrize("job", JOBS)
def test_every_number_of_a_setting_is_on_its_page(job: str) -> None:
    """With figures as the library's own text writes them: 0.01 mm, 0.001°, minutes beside."""
    pages = sections(book_of(job)[0])
    for end in sheet_of(job).ends:
        for setup in end.setups:
            name = f"Operation {end.number}"
            name += f", clamping {setup.number}:" if len(end.setups) > 1 else ":"
            said = " ".join(p for p in pages if p.startswith(name))
            s = setup.setup
            mm = [s.overhang_mm if setup.number == 1 else s.overhang_trimmed_mm, s.kerf_mm]
            mm += [end.solution.blank_mm, end.solution.part.width_mm]
            mm += [s.trim_mm, s.heights.trim_mm] if setup.number == 1 else []
            mm += [v for pair in s.heights.cuts for v in pair]
            mm += [p.travel_mm for c in s.cuts for p in c.passes]
            mm += [v for c in s.cuts for v in (c.left_mm, c.right_mm, c.depth_mm)]
            if setup.number == 1:
                mm += [v for m in end.solution.marks for v in m.at_mm.values()]
            mm += [
                v.expected_mm
                for v in end.solution.verify
                if v.what.startswith(f"clamping {setup.number}:")
            ]
            for value in mm:
                assert f"{value:.2f}".replace("-0.00", "0.00") in said, (name, value)
            for axis in s.axes:
                assert f"{axis.angle_deg:.3f}°".replace("-0.000", "0.000") in said
                assert axis.way in said
            for step in (p for c in s.cuts for p in c.passes):
                assert f"{step.turns} t {step.divisions} d" in said
            for caution in s.cautions:
                assert caution.removeprefix(caution[0]) in said


@pytest.mark.parametrize("count", [24, 48])
def test_what_goes_on_over_a_page_says_so_and_nothing_is_lost(count: int) -> None:
    """Twelve or 24 cuts of some three passes each take more than a page; every pass has its box."""
    sheet = joint_sheet(
        "angled_box_joint", finger_count=count, fit_mm=0.0, board_width_mm=18.0 * count
    )
    text = page(sheet, Book())
    pages = sections(text)
    for end in sheet.ends:
        own = [p for p in pages if p.startswith(f"Operation {end.number}:")]
        assert len(own) > 1
        assert all(", continued" in p[:40] for p in own[1:])
        passes = [p for s in end.setups for c in s.setup.cuts for p in c.passes]
        for step in passes:
            assert any(f"{step.travel_mm:.2f}" in p for p in own)
    boxes = text.count('class="tick"')
    done = sum(len(c.passes) for e in sheet.ends for s in e.setups for c in s.setup.cuts)
    assert boxes == (done + len(sheet.ends) if sheet.status != "fail" else 0)


def test_the_bench_says_what_a_person_sets() -> None:
    """-7.8274° of swivel is 7°49.6′; from the other zero of a scale 82.1726°."""
    words = text_of(book_of("bench")[0])
    for said in (
        "SWIVEL anticlockwise, must be within ± 0.068° -7.827° -7°49.6′; complement 82.173°",
        "TILT cut end towards you, must be within ± 0.090° 12.000° 12°00.0′; complement 78.000°",
        "back on the plate, back edge on the fence, face side to you",
        "2 × leg, front right and rear left, near end, mirrored",
        "7 t 18 d",
        "1: 22.90 to 45.00, 60.00 deep, cutter at 259.97",
        "leg and rail: leg goes onto rail at 7.83° to its own length",
    ):
        assert said in words, said
    assert "WARNING" not in words


def test_the_bottom_of_the_cuts_is_not_called_a_floor() -> None:
    """The leg's slot ends there; the floor is what a bench stands on."""
    book = book_of("bench")[0]
    table = text_of("<body>" + book.partition("Mark from square end")[2].partition("</table>")[0])
    assert "Corner edge trim bottom" in table
    assert re.search(r"\bfloor\b", text_of(book)) is None
    layout = layout_whole(develop(sheet_of("bench").ends[0].solution.plan), "leg")
    assert {"bottom", "floor"} & {text for text, _ in layout.texts} == {"bottom"}


def rows_of(job: str, heading: str) -> list[list[str]]:
    """Cells of the table under a heading, row by row, without its head."""
    table = book_of(job)[0].partition(f"{heading}")[2].partition("</table>")[0]
    cells = [re.findall(r"<td[^>]*>(.*?)</td>", r) for r in re.findall(r"<tr>(.*?)</tr>", table)]
    found = [[html.unescape(re.sub(r"<[^>]+>", "", c)) for c in row] for row in cells]
    return [row for row in found if row]


def test_the_cut_list_has_every_piece_once_and_what_is_cut_in_it() -> None:
    """The bench's rail is 60 × 30 × 900 mm and let in on both sides; the chair's legs are drawn
    only as far as shows the joint, so no length is made up for them."""
    assert rows_of("bench", "Cut list") == [
        ["2 × leg, front right and rear left", "66.00", "44.00", "450.58", SETTINGS_1_4],
        ["2 × leg, front left and rear right", "66.00", "44.00", "450.58", SETTINGS_2_3],
        ["rail", "60.00", "30.00", "900.00", HOUSINGS],
    ]
    chair = rows_of("chair", "Cut list")
    assert [row[0] for row in chair][2:] == [
        "mortised piece (rail into front leg)",
        "mortised piece (rail into rear leg)",
    ]
    assert {row[3] for row in chair[2:]} == {"as needed"}
    assert "mortise on the face side: length 40.00 mm, width 8.00 mm" in chair[2][4]


SETTINGS_1_4 = "near end: operation 1; far end: operation 4"
SETTINGS_2_3 = "far end: operation 2; near end: operation 3"
HOUSINGS = (
    "housing on the face side and the back: from square 12.000°, width 44.00 mm, width along the "
    "edge 44.98 mm, depth 4.00 mm, middle at top edge 450.00 mm"
)


def test_settings_and_order_of_work_are_one_table() -> None:
    """A leg's ends share a tilt of 12° and a swivel of 7.8274°, mirrored legs its opposite: two
    axes are moved once, and one of them once more."""
    found = rows_of("bench", "Operations in order of work")
    assert [row[1] for row in found] == ["1", "2", "3", "4"]
    assert [row[4] for row in found] == ["-7.827°", "leave", "7.827°", "leave"]
    assert [row[5] for row in found] == ["12.000°", "leave", "leave", "leave"]
    assert [row[6] for row in found] == ["14"] * 4
    assert [row[7] for row in found] == ["4", "none", "4", "none"]
    assert rows_of("chair", "Operations in order of work")[4][1] == "4, 2"


def test_what_does_not_fit_is_said_in_words_with_remedies() -> None:
    words = text_of(book_of("planter-six")[0])
    said = "tilt range (operations 1 and 2). 33.951°, limit 24.000°, short by 9.951°"
    assert f"NOT FEASIBLE: {said}" in words
    assert "NOT FEASIBLE: front beam (operation 1)." in words
    assert words.index("DO NOT CUT YET") < words.index("Cut list")
    assert "The straight beam moved out by 49.7 mm." in words
    assert "CAUTION: short grain (operations 1 and 2)." in words
    assert "WARNING: side board: its two ends slide along lines 22.34° apart" in words
    # A closed box has no order of one after the other: two corners close together at last.
    assert "several joints may have to be closed together" in words
    assert "put one on after the other" not in words


def test_what_is_not_to_be_cut_does_not_invite_to_set_it() -> None:
    """No large figure, no box to tick, no aid; the angle stands in a sentence that says so."""
    text = book_of("planter-six")[0]
    assert 'class="large"' not in text
    assert 'class="tick"' not in text
    assert 'class="large"' in book_of("planter")[0]
    assert 'class="tick"' in book_of("planter")[0]
    words = text_of(text)
    assert "TILT: do not set , this operation is not to be cut. The drawing asks for a" in words
    assert (
        words.count("DO NOT CUT: this is not feasible as it is; front beam is short by 49.66") == 2
    )
    assert {row[4] for row in rows_of("planter-six", "Operations in order of work")} == {
        "do not set"
    }


def test_packing_and_second_setups_are_there() -> None:
    words = text_of(book_of("chair")[0])
    # 22 mm · tan 0.262° = 0.10 mm: no wedge of 3.00 to 3.10 mm.
    slip = "0.262° (0°15.7′): one slip of paper 0.1 mm thick along the back on the face edge; "
    assert f"{slip}left out, the cut is" in words
    assert "Already trimmed in clamping 1: do not trim again" in words
    assert "Operation 1, clamping 2: rail" in words
    assert "WARNING: right side rail and left side rail: of each the two ends slide" in words


def test_every_table_of_cuts_has_a_box_for_each_pass() -> None:
    text = book_of("planter")[0]
    passes = sum(
        len(c.passes) for e in sheet_of("planter").ends for s in e.setups for c in s.setup.cuts
    )
    settings = len(sheet_of("planter").ends)
    assert text.count('class="tick"') == passes + settings


def test_the_least_trouble_that_gets_there_comes_first_and_then_one_finer_aid() -> None:
    """The demo leg's pair, 0.15 mm / (1.1593·0.0532 + 0.7851·0.0704) = 1.282 of each axis's
    uncertainty, 0.0532° and 0.0704° with 0.005 of the angle for the gain of a scale."""
    words = text_of(book_of("bench")[0])
    setup = sheet_of("bench").ends[0].setups[0].setup
    for axis, needed in (("swivel", "0.068"), ("tilt", "0.090")):
        best = next(a for a in setup.aids if a.axis == axis)
        assert best.enough
        assert f"must be within ± {needed}°" in words
        says = f"{best.says[:1].upper()}{best.says[1:]}"
        assert f"{says}: ± {best.reach_deg:.3f}°, good enough." in words
    chair = text_of(book_of("chair")[0])
    assert "Set the swivel's scale to -3.00°: ± 0.078°, good enough. Finer: a round pin" in chair


def test_a_need_and_what_comes_near_it_are_told_apart() -> None:
    """Both 0.040° to a thousandth: one digit more, so that "not close enough" is understood."""
    assert words.apart(0.0404, 0.0396, "deg") == ("0.0404°", "0.0396°")
    assert words.apart(12.0, 0.04, "deg") == ("12.000°", "0.040°")
    assert words.apart(0.15004, 0.15, "mm") == ("0.15004 mm", "0.15000 mm")
    assert words.apart(1.0, 1.0, "mm") == ("1.00 mm", "1.00 mm")


def test_without_the_kernel_the_page_says_what_to_install_and_the_rest_stands(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def missing(_: object) -> Any:
        raise MissingExtraError("a dry fit needs the boolean kernel")

    monkeypatch.setattr(model, "dry_fit", missing)
    book = Book()
    # A fit that no other test has asked for, since one that is known is not worked out again.
    said = text_of(page(joint_sheet("splayed_bridle", rail_length_mm=901.0), book))
    assert "not put together in the computer: a dry fit needs the boolean kernel" in said
    wanted = {"operation-1-facing", "envelope", "joint-1-together", "joint-1-apart"}
    assert wanted <= set(book.pictures)


def test_the_dry_fit_is_worked_out_once(monkeypatch: pytest.MonkeyPatch) -> None:
    done: list[object] = []

    def counted(settings: object) -> Any:
        done.append(settings)
        return dry_fit(settings)

    monkeypatch.setattr(model, "dry_fit", counted)
    for _ in range(2):
        page(joint_sheet("splayed_bridle", rail_length_mm=902.0), Book())
    assert len(done) == 1


def test_with_the_kernel_the_dry_fit_is_told() -> None:
    words = text_of(book_of("bench")[0])
    assert "cut in the computer, it goes together; gap beyond the clearance 0.000 mm" in words


def test_a_third_partys_joint_has_a_page_with_every_picture() -> None:
    book = Book()
    text = page(sheet_of_joint(LappedStake(), jointgeo.load_fixture("porch")), book)
    assert {"operation-1-facing", "operation-1-side", "operation-1-end", "joint-1-together"} <= set(
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
    assert {"operation-1-facing", "joint-1-together"} <= set(book.pictures)


def test_what_the_numbers_mean_is_on_the_joints_page() -> None:
    book = Book()
    words = text_of(page(sheet_of_joint(LappedStake(), jointgeo.load_fixture("porch")), book))
    assert "Lapped stake: what the numbers mean" in words
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
    assert heard == ["overview", "operation 1 of 1", "layout", "what the numbers mean"]
