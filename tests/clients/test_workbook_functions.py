"""The functions of the workbook, and the formulas that need none, as a person would type them.

Run in the real LibreOffice against the real service; expected answers are the library's own.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

import jointgeo

from .loopback import unused_port
from .office import Office, build
from .support import Service, answers, start_service
from .workbook import blocks, inputs, used


@pytest.fixture(scope="module")
def blank() -> list[dict[str, Any]]:
    """Steps that open an empty document with the workbook's module in it."""
    module = {"do": "module", "name": "JointGeo", "text": build("--module")}
    return [{"do": "open", "url": "private:factory/scalc"}, module]


@pytest.mark.parametrize("language", ["english", "german"])
def test_the_formulas_without_macros_that_the_first_sheet_shows(
    language: str, service: Service, request: pytest.FixtureRequest
) -> None:
    office: Office = request.getfixturevalue(language)
    _, start, bench_rows = office.do(
        {"do": "open", "url": office.workbook.as_uri()}, used("Start"), used("Bench")
    )
    lines = [row[0] for row in start]
    at = next(i for i, line in enumerate(lines) if line.startswith("=WEBSERVICE("))
    first, second = lines[at], lines[at + 1]
    assert "http://127.0.0.1:8765/" in first
    first = first.replace("http://127.0.0.1:8765", service.url)
    empty = {"do": "open", "url": "private:factory/scalc"}

    def pasted(along: float, across: float, formula: str = first) -> Any:
        # The formula second: a cell function that asks is not asked again for the same address.
        cells = {"B1": along, "B2": across, "A1": formula, "A2": second}
        write = {"do": "write", "sheet": 0, "cells": cells}
        return office.do(empty, write, {"do": "read", "sheet": 0, "range": "A2"})[-1][0][0]

    (bench,) = blocks(bench_rows)
    joint = inputs(bench)[1] | {"splay_along_deg": 12.5, "splay_across_deg": 8.25}
    setup = answers("splayed_bridle", joint)["settings"]["parts"][0]["setups"][0]
    assert pasted(12.5, 8.25) == setup["swivel_deg"]
    reason = pasted(75, 8.25)
    assert reason.startswith("#")
    assert "splay_along_deg" in reason


def test_the_functions_take_pairs_in_any_arrangement(
    english: Office, service: Service, blank: list[dict[str, Any]]
) -> None:
    joint = jointgeo.joint_type("angled_tenon").examples()[1].to_dict()
    setup = answers("angled_tenon", joint)["settings"]["parts"][0]["setups"][1]
    column = {f"D{row}": name for row, name in enumerate(joint, 20)}
    column |= {f"E{row}": value for row, value in enumerate(joint.values(), 20)}
    last = 19 + len(joint)
    flat = ";".join(
        f'"{k}";"{v}"' if isinstance(v, str) else f'"{k}";{v!r}' for k, v in joint.items()
    )
    inches = {**joint, "fit_mm": 25.4 / 64}
    wide = answers("angled_tenon", inches)["settings"]["parts"][0]["setups"][1]["cuts"]
    head = f'"{service.url}";"angled_tenon"'
    pick = '"rail.2.tilt_deg"'
    cells = {
        "A1": f'=JG_VALUE({head};{pick};"fixture";"porch";D20:E{last})',
        "A2": f'=JG_VALUE({head};{pick};D20:E{last};"fixture";"porch")',
        "A3": f'=JG_VALUE({head};{pick};{flat};"fixture";"porch")',
        "A4": f'=JG_VALUE({head};"rail.2.cuts.1.right_mm";D20:E{last - 1};'
        '"fixture";"porch";"fit_in";"1/64")',
        "A5": f"=JG_VALUE({head};{pick};D20:F{last})",
        "A6": f'=JG_VALUE({head};{pick};"fixture")',
        "A7": f'=JG_VALUE("file:///etc/hosts";"angled_tenon";{pick};D20:E{last})',
        "A8": f'=JG_VALUE({head};{pick};D20:E{last};"fixture";"porch";"näme";"a&b ½#")',
    }
    told = english.do(
        *blank,
        {"do": "write", "sheet": 0, "cells": column},
        {"do": "write", "sheet": 0, "cells": cells},
        {"do": "read", "sheet": 0, "range": "A1:A8"},
    )[-1]
    given = [row[0] for row in told]
    assert list(joint)[-1] == "fit_mm"
    assert given[:3] == [setup["tilt_deg"]] * 3
    assert given[3] == wide[0]["right_mm"]
    assert given[4] == "# names and values must come in pairs; a range needs two columns"
    assert given[5] == "# names and values must come in pairs; the last name has no value"
    assert given[6] == "# the address of the service must begin with http:// or https://"
    assert given[7].startswith("#")
    assert "näme" in given[7]


def test_a_table_that_is_cut_off_says_so(
    english: Office, service: Service, blank: list[dict[str, Any]]
) -> None:
    joint = jointgeo.joint_type("splayed_bridle").examples()[0].to_dict() | {"fixture": "porch"}
    cells = {f"A{row}": name for row, name in enumerate(joint, 1)}
    cells |= {f"B{row}": value for row, value in enumerate(joint.values(), 1)}
    formula = f'=JG_TABLE("{service.url}";"splayed_bridle";"settings";{{}};A1:B{len(joint)})'
    steps = [*blank, {"do": "write", "sheet": 0, "cells": cells}]
    for where, rows in (("A40:O42", 3), ("A50:O57", 8), ("A60:O66", 0)):
        steps.append({"do": "array", "sheet": 0, "range": where, "formula": formula.format(rows)})
    ranges = ("A40:A42", "A50:A57", "A60:A66")
    reads = ({"do": "read", "sheet": 0, "range": r} for r in ranges)
    *_, cut, filled, bare = english.do(*steps, *reads)
    # Heading and four passes.
    assert [row[0] for row in cut] == ["part", "leg", "# 3 more rows"]
    assert [row[0] for row in filled] == ["part", "leg", "leg", "leg", "leg", "", "", ""]
    assert [row[0] for row in bare[:5]] == ["part", "leg", "leg", "leg", "leg"]
    # Beyond the array Calc itself says that nothing is available: an error.
    assert bare[5][0] is None


def test_an_address_where_nothing_listens(english: Office, blank: list[dict[str, Any]]) -> None:
    url = f"http://127.0.0.1:{unused_port()}"
    cells = {"A40": f'=JG_TABLE("{url}/";"x";"settings";3;"a";1)'}
    told = english.do(
        *blank,
        {"do": "write", "sheet": 0, "cells": cells},
        {"do": "read", "sheet": 0, "range": "A40"},
    )[-1]
    assert told[0][0].startswith(f"# no answer from {url}: is the service running there?")


def test_a_lookup_in_a_table_not_yet_worked_out(
    english: Office, service: Service, blank: list[dict[str, Any]]
) -> None:
    # A function of a cell that works out another formula on its way ends the office here: the
    # lookup waits for the table, and the table is only asked for because of it.
    joint = jointgeo.joint_type("splayed_bridle").examples()[0].to_dict()
    pairs = ";".join(f'"{name}";{value!r}' for name, value in joint.items())
    table = f'=JG_TABLE(A1;"splayed_bridle";"feasibility";40;"fixture";"porch";{pairs})'
    nowhere = f"http://127.0.0.1:{unused_port()}"
    told = english.do(
        *blank,
        {"do": "write", "sheet": 0, "cells": {"A1": nowhere}},
        {"do": "array", "sheet": 0, "range": "C10:J49", "formula": table},
        {"do": "write", "sheet": 0, "cells": {"A2": '=VLOOKUP("front_beam";E10:J49;4;0)'}},
        {"do": "write", "sheet": 0, "cells": {"A1": service.url}},
        {"do": "read", "sheet": 0, "range": "A2"},
    )[-1]
    checks = answers("splayed_bridle", joint)["feasibility"]["checks"]
    beam = next(c for c in checks if c["name"] == "front_beam")
    assert told == [[beam["margin"]]]


ALONG, ACROSS = (0, 7.5, 12, 12, 11.25), (-9, 0.25, 8, -3.5, 6)


def rows_of_legs(service: Service, extra: list[list[Any]]) -> tuple[dict[str, Any], str]:
    """Cells of a list of legs from A1, with a column of the person's own, and the formula."""
    leg = jointgeo.joint_type("splayed_bridle").examples()[0].to_dict()
    common = {k: v for k, v in leg.items() if not k.startswith("splay")}
    rows = [["splay_along_deg", "", "splay_across_deg", "fixture"]]
    rows += [[a, "note", b, "porch"] for a, b in zip(ALONG, ACROSS, strict=True)] + extra
    cells = {
        f"{letter}{r}": value
        for r, row in enumerate(rows, 1)
        for letter, value in zip("ABCD", row, strict=True)
        if value != ""
    }
    pairs = ";".join(f'"{k}";{v!r}' for k, v in common.items())
    cells |= {"F1": "leg.1.swivel_deg", "G1": "status", "H1": "leg.1.cuts.1.right_mm",
              "I1": "edition", "J1": "leg.1.aid.swivel.says"}  # fmt: skip
    formula = (
        f'=JG_LIST("{service.url}";F1:J1;A1:D{len(rows)};"joint_type";"splayed_bridle";{pairs})'
    )
    return cells, formula


@pytest.mark.parametrize("language", ["english", "german"])
def test_a_list_of_joints_says_what_the_library_says_in_one_request(
    language: str,
    blank: list[dict[str, Any]],
    request: pytest.FixtureRequest,
    tmp_path: Path,
) -> None:
    """Rows at fault, empty ones, and signs that JSON and tabs give a meaning, among right ones."""
    office: Office = request.getfixturevalue(language)
    log = tmp_path / "log"
    counted = start_service(log=log)
    odd = 'p"o\\r\nch\t½'
    extra = [
        [75, "", 8, "porch"],
        ["", "only a note", "", ""],
        [12, "", 8, odd],
        [12, "", 8, "porch"],
    ]
    try:
        cells, formula = rows_of_legs(counted, extra)
        rows = office.do(
            *blank,
            {"do": "write", "sheet": 0, "cells": cells},
            {"do": "array", "sheet": 0, "range": "F2:J10", "formula": formula},
            {"do": "read", "sheet": 0, "range": "F2:J10"},
        )[-1]
        asked = [json.loads(line)["method"] for line in log.read_text().splitlines()]
    finally:
        counted.kill()
    # The office itself sends the others before it posts.
    assert asked.count("POST") == 1
    assert len(asked) <= 4
    leg = jointgeo.joint_type("splayed_bridle").examples()[0].to_dict()
    right = [*zip(ALONG, ACROSS, strict=True), None, None, None, (12, 8)]
    for row, given in zip(rows, right, strict=True):
        if given is None:
            continue
        told = answers("splayed_bridle", leg | {"splay_along_deg": given[0],
                                                "splay_across_deg": given[1]})  # fmt: skip
        setup = told["settings"]["parts"][0]["setups"][0]
        aid = next(a for a in setup["aids"] if a["axis"] == "swivel")
        status, edition = told["feasibility"]["status"], told["settings"]["edition"]
        right_mm = setup["cuts"][0]["right_mm"]
        assert row == [setup["swivel_deg"], status, right_mm, edition, aid["says"]]
    assert all(text.startswith("# splay_along_deg is too large; given 75") for text in rows[5])
    assert rows[6] == [""] * 5
    assert all(text.startswith("# fixture is not the name of a known fixture") for text in rows[7])
    assert "½" in rows[7][0]


def test_a_list_too_long_or_badly_made_says_so(
    english: Office, service: Service, blank: list[dict[str, Any]]
) -> None:
    cells, formula = rows_of_legs(service, [])
    long = formula.replace("A1:D6", "A1:D1002")
    cells |= {"A1002": 12}
    nowhere = f"http://127.0.0.1:{unused_port()}"
    told = english.do(
        *blank,
        {"do": "write", "sheet": 0, "cells": cells},
        {"do": "array", "sheet": 0, "range": "F2:G4", "formula": long},
        {"do": "read", "sheet": 0, "range": "F2:G4"},
        {"do": "write", "sheet": 0, "cells": {
            "M1": formula.replace("F1:J1", "F1:K1"),
            "M2": formula.replace("A1:D6", "12"),
            "M3": formula.replace("http", "ftp"),
            "M4": formula.replace('"joint_type";', ""),
            "M5": formula.replace(service.url, nowhere),
            "M6": formula.replace("F1:J1", '"leg.1.nothing"'),
        }},
        {"do": "read", "sheet": 0, "range": "M1:M6"},
    )  # fmt: skip
    assert all(cell.startswith("# rows is too long") for row in told[-3] for cell in row)
    empty, single, scheme, odd, gone, astray = (row[0] for row in told[-1])
    assert empty == "# a path must be given, or a range of paths without empty cells"
    assert single == "# the joints must be a range with names in its first row"
    assert scheme == "# the address of the service must begin with http:// or https://"
    assert odd == "# names and values must come in pairs; the last name has no value"
    assert gone.startswith(f"# no answer from {nowhere}: is the service running there?")
    assert astray.startswith("# pick leads nowhere at 'nothing'")


def test_a_lookup_in_a_list_not_yet_worked_out(
    english: Office, service: Service, blank: list[dict[str, Any]]
) -> None:
    """As of a table: the lookup waits for the list, and the list is asked for because of it."""
    cells, formula = rows_of_legs(service, [])
    told = english.do(
        *blank,
        {"do": "write", "sheet": 0, "cells": cells | {"K1": f"http://127.0.0.1:{unused_port()}"}},
        {"do": "array", "sheet": 0, "range": "F2:J6",
         "formula": formula.replace(f'"{service.url}"', "K1")},
        {"do": "write", "sheet": 0, "cells": {"K2": '=MATCH("caution";G2:G6;0)+0*F2'}},
        {"do": "write", "sheet": 0, "cells": {"K1": service.url}},
        {"do": "read", "sheet": 0, "range": "K2"},
    )[-1]  # fmt: skip
    leg = jointgeo.joint_type("splayed_bridle").examples()[0].to_dict()
    status = [
        answers("splayed_bridle", leg | {"splay_along_deg": a, "splay_across_deg": b})
        ["feasibility"]["status"] for a, b in zip(ALONG, ACROSS, strict=True)
    ]  # fmt: skip
    assert told == [[status.index("caution") + 1.0]]


def test_several_values_of_one_joint_in_the_form_of_their_paths(
    english: Office, service: Service, blank: list[dict[str, Any]]
) -> None:
    leg = jointgeo.joint_type("splayed_bridle").examples()[0].to_dict()
    pairs = ";".join(f'"{name}";{value!r}' for name, value in leg.items())
    ask = f'=JG_VALUE("{service.url}";"splayed_bridle";A1:B2;"fixture";"porch";{pairs})'
    paths = {"A1": "leg.1.tilt_deg", "B1": "leg.9.x", "A2": "leg.1.packing", "B2": "status"}
    told = english.do(
        *blank,
        {"do": "write", "sheet": 0, "cells": paths},
        {"do": "array", "sheet": 0, "range": "D1:E2", "formula": ask},
        {"do": "read", "sheet": 0, "range": "D1:E2"},
    )[-1]
    setup = answers("splayed_bridle", leg)["settings"]["parts"][0]["setups"][0]
    assert told[0][0] == setup["tilt_deg"]
    assert told[0][1].startswith("# pick leads nowhere at '9'")
    assert told[1] == ["", "caution"]
