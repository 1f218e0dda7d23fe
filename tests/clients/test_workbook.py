"""The shipped workbook in the real LibreOffice, asking the real service.

Expected answers are the library's own, to the last bit: the way from the library through
service, Basic and cell must lose nothing. Values with a source of their own: tan swivel =
cos 12° · tan 8° (bench leg, 7.8274°), and for N sloping sides tan swivel =
tan(180°/N) · sin(slope) (planter, 14.5108° and 11.1702°), worked out by hand.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from .office import WORKBOOK, Office, build
from .support import Service
from .workbook import Rows, blocks, holds, inputs, opened, results, used

SHEETS = ("Bench", "Planter", "Chair")
HALF_A_PLACE = 5e-5  # degrees: the values by hand are given to four places


@pytest.fixture(scope="module")
def porch(english: Office, service: Service) -> dict[str, Rows]:
    """The workbook as it is shipped, worked out once."""
    sheets = ("Start", *SHEETS)
    told = english.do(*opened(english, service.url), *(used(sheet) for sheet in sheets))
    return dict(zip(sheets, told[-len(sheets) :], strict=True))


def test_the_shipped_workbook_is_what_the_script_builds(tmp_path: Path) -> None:
    # Another day's clock, place and hash seed must not show in the file.
    again = tmp_path / "again.ods"
    build("--output", str(again), PYTHONHASHSEED="1", TZ="Pacific/Kiritimati", LC_ALL="C")
    assert again.read_bytes() == WORKBOOK.read_bytes(), (
        "rebuild the workbook with: python clients/libreoffice/build.py"
    )


def test_the_module_alone_is_the_one_in_the_workbook() -> None:
    # What is packed is not compressed, so the text stands in the file as it is, but for
    # the signs that XML writes in another way.
    module = build("--module")
    packed = WORKBOOK.read_bytes().decode("utf-8", "replace")
    lines = [line for line in module.splitlines() if line and not set(line) & set("&<>")]
    assert len(lines) > 100
    assert [line for line in lines if line not in packed] == []


def test_every_joint_of_the_porch_set_says_what_the_library_says(porch: dict[str, Rows]) -> None:
    found = [block for sheet in SHEETS for block in blocks(porch[sheet])]
    assert [inputs(block)[0] for block in found] == [
        "splayed_bridle",
        "angled_box_joint",
        "angled_box_joint",
        "angled_tenon",
    ]
    for block in found:
        holds(block)
    bench, four, six, chair = (results(block) for block in found)
    assert bench["leg, setup 1: swivel"] == pytest.approx(7.8274, abs=HALF_A_PLACE)
    assert four["a, setup 1: swivel"] == pytest.approx(14.5108, abs=HALF_A_PLACE)
    assert six["a, setup 1: swivel"] == pytest.approx(11.1702, abs=HALF_A_PLACE)
    # A shoulder 5° off square in width alone asks for that angle and no other.
    assert chair["rail, setup 1: swivel"] == pytest.approx(5.0, abs=HALF_A_PLACE)
    assert chair["rail, setup 2: tilt"] == pytest.approx(5.0, abs=HALF_A_PLACE)


def test_what_does_not_fit_is_said_in_words_with_its_reason(porch: dict[str, Rows]) -> None:
    _, six = blocks(porch["Planter"])
    told = holds(six)
    first = next(c for c in told["feasibility"]["checks"] if c["status"] == "fail")
    shown = results(six)
    assert shown["does it fit?"] == "does not fit: see the checks marked fail"
    assert shown["what to look at first"] == first["because"]
    assert shown["what would help"] == first["remedies"][0]["says"]
    assert porch["Start"][13][1] == shown["does it fit?"]
    # 33.9514° of tilt where the fixture has 24°: 9.951° too little, by hand.
    words = {row[2]: row[8] for row in six if row[0] == "a" and row[1] == 1.0}
    assert words["tilt_range"] == "does not go: 9.951 deg too little"
    assert words["swivel_range"] == "13.83 deg of room"


def test_a_joint_that_fits_says_so(porch: dict[str, Rows]) -> None:
    (chair,) = blocks(porch["Chair"])
    assert holds(chair)["feasibility"]["status"] == "pass"
    assert results(chair)["does it fit?"] == "fits: every check that could be made passes"
    assert results(chair)["what to look at first"] == "nothing"


def test_changed_inputs_change_the_answers(english: Office, service: Service) -> None:
    changes: dict[str, dict[str, Any]] = {
        "Bench": {"B14": 10.25, "B6": 70, "B17": -0.05},
        "Chair": {"B10": 3.5, "B16": "face_edge", "B9": 4},
    }
    told = english.do(*opened(english, service.url, **changes), used("Bench"), used("Chair"))
    (bench,), (chair,) = blocks(told[-2]), blocks(told[-1])
    name, joint = inputs(bench)
    assert (name, joint["splay_across_deg"], joint["fit_mm"]) == ("splayed_bridle", 10.25, -0.05)
    holds(bench)
    name, joint = inputs(chair)
    assert (joint["width_angle_deg"], joint["thickness_angle_deg"]) == (4.0, 3.5)
    assert joint["parallel_to"] == "face_edge"
    holds(chair)


def test_a_bad_input_shows_its_reason_in_the_cells(english: Office, service: Service) -> None:
    told = english.do(
        *opened(english, service.url, Bench={"B13": 75}),
        used("Bench"),
        used("Start"),
        used("Chair"),
        {"do": "write", "sheet": "Bench", "cells": {"B13": 12, "B4": "barn"}},
        used("Bench"),
    )
    steep, start, chair, _, elsewhere = told[-5:]
    (bench,) = blocks(steep)
    for text in (results(bench)["leg, setup 1: swivel"], bench[19][0], start[11][1]):
        assert text.startswith("#")
        assert all(word in text for word in ("splay_along_deg", "75", "60"))
    # The other sheets have their own inputs and are not touched by it.
    assert results(blocks(chair)[0])["status"] == "pass"
    (bench,) = blocks(elsewhere)
    shown = results(bench)
    for label in ("does it fit?", "status", "what to look at first", "leg, setup 1: swivel"):
        assert shown[label].startswith("#")
        assert "fixture" in shown[label]


def test_a_service_that_dies_shows_its_reason_in_the_cells(
    english: Office, service: Service, mortal: Service
) -> None:
    told = english.do(
        *opened(english, mortal.url),
        used("Bench"),
        {"do": "kill", "pid": mortal.process.pid},
        {"do": "calculate"},
        used("Bench"),
        used("Start"),
        # Something answers there, but it is no service: the real one under another path.
        {"do": "write", "sheet": "Start", "cells": {"B3": f"{service.url}/elsewhere"}},
        {"do": "read", "sheet": "Bench", "range": "F10"},
    )
    alive, _, _, dead, start, _, elsewhere = told[-7:]
    (bench,) = blocks(alive)
    assert results(bench)["leg, setup 1: swivel"] == pytest.approx(7.8274, abs=HALF_A_PLACE)
    reason = f"# no answer from {mortal.url}: is the service running there? "
    reason += "Start it with: jointgeo serve"
    (bench,) = blocks(dead)
    assert set(results(bench).values()) == {reason}
    assert bench[19][0] == reason
    assert {row[1] for row in start[11:15]} == {reason}
    assert elsewhere[0][0].startswith("# what answers there is not a jointgeo service")


def test_german_numbers_go_out_and_come_back_right(german: Office, service: Service) -> None:
    language, rows, given, shown = german.do(
        *opened(german, service.url, Bench={"B14": 10.25, "B17": 0.15}),
        {"do": "locale"},
        used("Bench"),
        {"do": "shown", "sheet": "Bench", "cell": "B14"},
        {"do": "shown", "sheet": "Bench", "cell": "F10"},
    )[-4:]
    assert language == ["de", "DE"]
    (bench,) = blocks(rows)
    assert inputs(bench)[1]["splay_across_deg"] == 10.25
    expected = holds(bench)["settings"]["parts"][0]["setups"][0]["swivel_deg"]
    assert given == "10,25"
    assert shown == f"{expected:.4f}".replace(".", ",")
