"""The shipped workbook in the real LibreOffice, asking the real service.

Expected answers are the library's own, to the last bit: the way from the library through
service, Basic and cell must lose nothing. Values with a source of their own: tan swivel =
cos 12° · tan 8° (bench leg, 7.8274°), and for N sloping sides tan swivel =
tan(180°/N) · sin(slope) (planter, 14.5108° and 11.1702°), worked out by hand.
"""

from __future__ import annotations

import json
import subprocess
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

import jointgeo
from jointgeo.pieces import piece_types

from .office import WORKBOOK, Office, build
from .support import Service, need, start_service
from .workbook import PATHS, Rows, blocks, holds, inputs, opened, results, tables, three, used

SHEETS = ("Bench", "Planter", "Chair")
HALF_A_PLACE = 5e-5  # degrees: the values by hand are given to four places


@pytest.fixture(scope="module")
def porch(english: Office, service: Service) -> dict[str, Rows]:
    """The workbook as it is shipped, worked out once."""
    sheets = ["Start", "What can be asked"]
    sheets += [f"{sheet}{of}" for sheet in SHEETS for of in ("", " cuts", " checks")]
    told = english.do(*opened(english, service.url), *(used(sheet) for sheet in sheets))
    return dict(zip(sheets, told[-len(sheets) :], strict=True))


def joints(told: dict[str, Rows], sheet: str) -> list[tuple[Any, Any, Any]]:
    """Block, cuts and checks of each joint of a piece."""
    cuts, checks = tables(told[f"{sheet} cuts"]), tables(told[f"{sheet} checks"])
    return list(zip(blocks(told[sheet]), cuts, checks, strict=True))


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
    found = [joint for sheet in SHEETS for joint in joints(porch, sheet)]
    assert [inputs(block)[0] for block, _, _ in found] == [
        "splayed_bridle",
        "angled_box_joint",
        "angled_box_joint",
        "angled_tenon",
    ]
    for joint in found:
        holds(*joint)
    bench, four, six, chair = (results(block) for block, _, _ in found)
    assert bench["leg, clamping 1: swivel, true angle"] == pytest.approx(7.8274, abs=HALF_A_PLACE)
    assert four["a.1.swivel_deg"] == pytest.approx(14.5108, abs=HALF_A_PLACE)
    assert six["a.1.swivel_deg"] == pytest.approx(11.1702, abs=HALF_A_PLACE)
    # A shoulder 5° off square in width alone asks for that angle and no other.
    assert chair["rail.1.swivel_deg"] == pytest.approx(5.0, abs=HALF_A_PLACE)
    assert chair["rail.2.tilt_deg"] == pytest.approx(5.0, abs=HALF_A_PLACE)


def test_what_does_not_fit_is_said_in_words_with_its_reason(porch: dict[str, Rows]) -> None:
    _, (block, cuts, checks) = joints(porch, "Planter")
    told = holds(block, cuts, checks)
    first = next(c for c in told["feasibility"]["checks"] if c["status"] == "fail")
    shown = results(block)
    assert shown["is it feasible?"].startswith("not feasible: not to be cut like this")
    assert shown["what to look at first"] == first["because"]
    assert shown["what would help"] == first["remedies"][0]["says"]
    assert shown["is it feasible?"] in {row[1] for row in porch["Start"]}
    # 33.9514° of tilt where the fixture has 24°: 9.951° too little, by hand.
    room = {row["check"]: row["room left"] for row in checks if row["part"] == "a"}
    assert room["tilt_range"] == pytest.approx(-9.9514, abs=HALF_A_PLACE)


def test_a_joint_that_fits_says_so(porch: dict[str, Rows]) -> None:
    (joint,) = joints(porch, "Chair")
    assert holds(*joint)["feasibility"]["status"] == "pass"
    shown = results(joint[0])
    assert shown["is it feasible?"] == "feasible: every check that could be made passes"
    assert (shown["what to look at first"], shown["fixture"]) == ("", "porch")


def test_what_can_be_asked_is_listed_with_value_and_meaning(porch: dict[str, Rows]) -> None:
    rows = porch["What can be asked"]
    top = next(i for i, row in enumerate(rows) if row[0] == "path")
    listed = {row[0]: row for row in rows[top + 1 :] if row[0]}
    assert not any(path.startswith("#") for path in listed)
    assert listed["leg.1.swivel_deg"][1] == pytest.approx(7.8274, abs=HALF_A_PLACE)
    assert "clockwise" in listed["leg.1.swivel_deg"][2]
    assert all(row[2] for row in listed.values())
    assert {row[PATHS] for row in porch["Bench"] if row[PATHS]} <= set(listed)


def test_people_read_words_and_names_for_programs_are_hidden() -> None:
    """Read in the file itself, whose format says so (ISO/IEC 26300-3, 19.749)."""
    content = WORKBOOK.read_bytes().decode("utf-8", "replace")
    assert content.count('table:visibility="collapse"') == 2 * len(SHEETS) + len(piece_types())
    for name in ("splayed_bridle", "angled_box_joint", "angled_tenon"):
        assert jointgeo.joint_type(name).summary in content


def test_each_joint_asks_three_times(english: Office, tmp_path: Path) -> None:
    """Counted in the service's own log: verdict and numbers, cuts, checks; and the list of paths
    once. Before each GET the office sends OPTIONS and HEAD; it leaves out OPTIONS where it knows
    the address."""
    log = tmp_path / "log"
    counted = start_service(log=log)
    try:
        every = [step for sheet in SHEETS for step in three(sheet)]
        english.do(*opened(english, counted.url), *every, used("What can be asked"))
        asked = [json.loads(line) for line in log.read_text().splitlines()]
        gets = [one["route"].rpartition("/")[2] for one in asked if one["method"] == "GET"]
        assert Counter(gets) == {"values": 4, "settings": 4, "feasibility": 4, "paths": 1}
        assert {one["status"] for one in asked} == {200}
    finally:
        counted.kill()


def test_no_printed_page_is_empty(english: Office, service: Service, tmp_path: Path) -> None:
    """As the office prints it to PDF, read by pdftotext (poppler)."""
    pdftotext = need("pdftotext", "poppler-utils")
    pdf = tmp_path / "workbook.pdf"
    english.do(*opened(english, service.url), {"do": "print_to", "url": pdf.as_uri()})
    command = [pdftotext, "-layout", str(pdf), "-"]
    text = subprocess.run(command, capture_output=True, text=True, check=True, timeout=60).stdout
    pages = text.split("\f")[:-1]
    assert 8 <= len(pages) <= 60
    assert [i for i, page in enumerate(pages, 1) if len(page.split()) < 5] == []
    assert "not feasible: not to be cut" in text
    # The first sheet shows a formula to paste, with names in it.
    assert "leg_width_mm" not in "".join(pages[2:])


def test_changed_inputs_change_the_answers(english: Office, service: Service) -> None:
    changes: dict[str, dict[str, Any]] = {
        "Bench": {"C14": 10.25, "C6": 70, "C17": -0.05},
        "Chair": {"C10": 3.5, "C16": "face_edge", "C9": 4},
    }
    told = english.do(*opened(english, service.url, **changes), *three("Bench"), *three("Chair"))
    ours = dict(zip(("Bench", "Bench cuts", "Bench checks", "Chair", "Chair cuts", "Chair checks"),
                    told[-6:], strict=True))  # fmt: skip
    (bench,), (chair,) = joints(ours, "Bench"), joints(ours, "Chair")
    name, joint = inputs(bench[0])
    assert (name, joint["splay_across_deg"], joint["fit_mm"]) == ("splayed_bridle", 10.25, -0.05)
    holds(*bench)
    name, joint = inputs(chair[0])
    assert (joint["width_angle_deg"], joint["thickness_angle_deg"]) == (4.0, 3.5)
    assert joint["parallel_to"] == "face_edge"
    holds(*chair)


def test_a_bad_input_shows_its_reason_in_the_cells(english: Office, service: Service) -> None:
    told = english.do(
        *opened(english, service.url, Bench={"C13": 75}),
        used("Bench"),
        used("Bench cuts"),
        used("Start"),
        used("Chair"),
        {"do": "write", "sheet": "Bench", "cells": {"C4": "barn"}},
        used("Bench"),
    )
    steep, cuts, start, chair, _, elsewhere = told[-6:]
    (bench,) = blocks(steep)
    verdict = next(row[1] for row in start if str(row[0]).startswith("Bench:"))
    for text in (results(bench)["leg.1.swivel_deg"], results(bench)["status"], cuts[2][0], verdict):
        assert text.startswith("#")
        assert all(word in text for word in ("splay_along_deg", "75", "60"))
    # The other sheets have their own inputs and are not touched by it.
    assert results(blocks(chair)[0])["status"] == "pass"
    (bench,) = blocks(elsewhere)
    shown = results(bench)
    for label in ("is it feasible?", "status", "what to look at first", "leg.1.swivel_deg"):
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
        used("Bench cuts"),
        used("Start"),
        # Something answers there, but it is no service: the real one under another path.
        {"do": "write", "sheet": "Start", "cells": {"B3": f"{service.url}/elsewhere"}},
        {"do": "read", "sheet": "Bench", "range": "H5"},
    )
    alive, _, _, dead, cuts, start, _, elsewhere = told[-8:]
    (bench,) = blocks(alive)
    assert results(bench)["leg.1.swivel_deg"] == pytest.approx(7.8274, abs=HALF_A_PLACE)
    reason = f"# no answer from {mortal.url}: is the service running there? "
    reason += "Start it with: jointgeo serve"
    (bench,) = blocks(dead)
    assert set(results(bench).values()) == {reason}
    assert cuts[2][0] == reason
    assert sum(row[1] == reason for row in start) == 4
    assert elsewhere[0][0].startswith("# what answers there is not a jointgeo service")


def test_german_numbers_go_out_and_come_back_right(german: Office, service: Service) -> None:
    language, rows, cuts, checks, given, shown = german.do(
        *opened(german, service.url, Bench={"C14": 10.25, "C17": 0.15}),
        {"do": "locale"},
        *three("Bench"),
        {"do": "shown", "sheet": "Bench", "cell": "C14"},
        {"do": "shown", "sheet": "Bench", "cell": "H13"},
    )[-6:]
    assert language == ["de", "DE"]
    (bench,) = joints({"Bench": rows, "Bench cuts": cuts, "Bench checks": checks}, "Bench")
    assert inputs(bench[0])[1]["splay_across_deg"] == 10.25
    expected = holds(*bench)["settings"]["parts"][0]["setups"][0]["swivel_deg"]
    assert given == "10,25"
    assert shown == f"{expected:.4f}".replace(".", ",")
