"""The VBA module under LibreOffice's support for VBA, with only its own section replaced.

What this cannot show: that section, which speaks through Windows' own HTTP object, and Excel.
Everything else of the shipped file runs here as it is.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import jointgeo

from .office import Office
from .support import Service, answers

CLIENTS = Path(__file__).parents[2] / "clients"
MODULE = CLIENTS / "excel" / "jointgeo.bas"
HEAD = "Rem Attribute VBA_ModuleType=VBAModule\nOption VBASupport 1\n"
# Excel's own section, which LibreOffice's takes the place of.
OWN, SHARED = "' ---- This program's own", "' ---- The same in every program"
END = "End Function\n"
# A range as an object with a Value, which is what a cell's function is given in Excel.
PROBE = """
Public Function AS_OBJECT(service As Variant) As Variant
    AS_OBJECT = JG_VALUE(service, "angled_tenon", {pick}, Range("A1:B{last}"))
End Function
Public Function IS_OBJECT() As Variant
    IS_OBJECT = TypeName(Range("A1:B2"))
End Function
"""


def own_section(text: str) -> str:
    return text[text.index(OWN) : text.index(SHARED)]


def under_test() -> str:
    """The shipped text with LibreOffice's own section in the place of Excel's."""
    excel = MODULE.read_text("ascii")
    other = (CLIENTS / "libreoffice" / "host.bas").read_text("ascii")
    return HEAD + excel.replace(own_section(excel), other)


def test_the_file_is_one_that_the_editor_imports() -> None:
    raw = MODULE.read_bytes()
    assert raw.isascii()
    # The editor takes a file with bare line feeds for one long line.
    assert raw.count(b"\n") == raw.count(b"\r\n") > 100
    assert raw.startswith(b'Attribute VB_Name = "JointGeo"\r\nOption Explicit\r\n')
    assert max(len(line) for line in raw.splitlines()) < 1023  # its longest line


def test_http_is_spoken_in_one_section_only() -> None:
    excel = MODULE.read_text("ascii")
    own = own_section(excel)
    assert "ServerXMLHTTP" in own
    assert "setTimeouts" in own
    rest = excel.replace(own, "")
    assert [word for word in ("CreateObject", "XMLHTTP", "Http.") if word in rest] == []


def test_the_functions_say_what_the_library_says(english: Office, service: Service) -> None:
    # Angles and a fit below 1: Str() leaves out the nought before their points.
    joint = jointgeo.joint_type("angled_tenon").examples()[1].to_dict()
    joint |= {"width_angle_deg": -0.5, "fit_mm": 0.125}
    told = answers("angled_tenon", joint)
    setups = told["settings"]["parts"][0]["setups"]
    pairs = {"fixture": "porch", "hand": "", **joint}
    cells: dict[str, Any] = {f"A{row}": name for row, name in enumerate(pairs, 1)}
    cells |= {f"B{row}": value for row, value in enumerate(pairs.values(), 1)}
    last = len(pairs)
    pick = '"rail.2.tilt_deg"'
    head = f'"{service.url}/";"angled_tenon"'
    cells |= {
        "D1": f"=JG_VALUE({head};{pick};A1:B{last})",
        "D2": f'=JG_VALUE({head};"rail.2.against_plate";A1:B{last})',
        "D3": f"=JG_VALUE({head};{pick};A1:B{last - 1})",
        "D4": f'=JG_VALUE({head};{pick};A1:B{last};"n½";"a b&#")',
        "D5": f"=JG_VALUE({head};{pick};A1:C{last})",
        "D6": f'=JG_VALUE({head};{pick};"fixture")',
        "D7": f'=JG_VALUE("ftp://x";"angled_tenon";{pick};A1:B{last})',
        "D8": f'=AS_OBJECT("{service.url}")',
        "D9": "=IS_OBJECT()",
    }
    text = under_test() + PROBE.format(pick=pick, last=last)
    table = f'=JG_TABLE("{service.url}";"angled_tenon";"settings";{{}};A1:B{last})'
    got = english.do(
        {"do": "open", "url": "private:factory/scalc"},
        {"do": "module", "name": "JointGeo", "text": text},
        {"do": "write", "sheet": 0, "cells": cells},
        {"do": "read", "sheet": 0, "range": "D1:D9"},
        {"do": "array", "sheet": 0, "range": "A30:Y49", "formula": table.format(20)},
        {"do": "read", "sheet": 0, "range": "A30:Y49"},
        {"do": "array", "sheet": 0, "range": "A60:Y62", "formula": table.format(3)},
        {"do": "read", "sheet": 0, "range": "A60:Y62"},
    )
    values, rows, cut = [row[0] for row in got[3]], got[5], got[7]
    assert list(joint)[-1] == "fit_mm"
    assert values[0] == setups[1]["tilt_deg"]
    assert values[1] == setups[1]["against_plate"]
    # Without the last pair the default holds, and the tilt does not hang on the fit.
    assert values[2] == setups[1]["tilt_deg"]
    assert values[3].startswith("#")
    assert "n½" in values[3]
    assert values[4] == "# names and values must come in pairs; a range needs two columns"
    assert values[5] == "# names and values must come in pairs; the last name has no value"
    assert values[6] == "# the address of the service must begin with http:// or https://"
    assert values[8] == "Range"
    assert values[7] == setups[1]["tilt_deg"]
    passes = [
        [n, cut_number, p, one["travel_mm"], one["turns"]]
        for n, setup in enumerate(setups, 1)
        for cut_number, each in enumerate(setup["cuts"], 1)
        for p, one in enumerate(each["passes"], 1)
    ]
    columns = [rows[0].index(n) for n in ("setup", "cut", "pass", "travel_mm", "turns")]
    body = [[row[c] for c in columns] for row in rows[1:] if row[0]]
    assert body == [[float(v) for v in one] for one in passes]
    assert len(body) < 19
    assert set(rows[19]) == {""}
    assert cut[2] == [f"# {len(passes) - 1} more rows", *[""] * 24]


def test_a_bad_value_and_a_missing_service_say_why(
    english: Office, service: Service, mortal: Service
) -> None:
    joint = jointgeo.joint_type("splayed_bridle").examples()[0].to_dict() | {"fit_mm": 9}
    pairs = ";".join(f'"{name}";{value!r}' for name, value in joint.items())
    ask = '=JG_VALUE("{}";"splayed_bridle";"status";"fixture";"porch";{})'
    mortal.kill()
    cells = {"A1": ask.format(service.url, pairs), "A2": ask.format(mortal.url, pairs)}
    bad, gone = english.do(
        {"do": "open", "url": "private:factory/scalc"},
        {"do": "module", "name": "JointGeo", "text": under_test()},
        {"do": "write", "sheet": 0, "cells": cells},
        {"do": "read", "sheet": 0, "range": "A1:A2"},
    )[-1]
    assert bad[0].startswith("#")
    assert all(word in bad[0] for word in ("fit_mm", "9", "2 mm"))
    assert gone[0].startswith(f"# no answer from {mortal.url}: is the service running there?")


def test_what_is_taken_for_a_number(english: Office) -> None:
    # The grammar of a number in JSON (RFC 8259), which is what the service writes.
    numbers = ["12", "-0.5", "1e-05", "2.5e+16", "0"]
    texts = ["", ".5", "e5", "3 mm", "1,5", "back", "0x1", " 1", "1 5/8 in", "12ab"]
    probe = "Public Function TAKEN(t As Variant) As Variant\n"
    probe += "If VarType(JG_Cell(CStr(t))) = 5 Then TAKEN = 1 Else TAKEN = 0\n"
    cells = {f"A{row}": f'=TAKEN("{text}")' for row, text in enumerate([*numbers, *texts], 1)}
    told = english.do(
        {"do": "open", "url": "private:factory/scalc"},
        {"do": "module", "name": "JointGeo", "text": under_test() + probe + END},
        {"do": "write", "sheet": 0, "cells": cells},
        {"do": "read", "sheet": 0, "range": f"A1:A{len(cells)}"},
    )[-1]
    assert told == [[1.0]] * len(numbers) + [[0.0]] * len(texts)


def test_a_list_goes_out_whole_and_comes_back(english: Office, service: Service) -> None:
    joint = jointgeo.joint_type("splayed_bridle").examples()[0].to_dict()
    names = list(joint)
    cells: dict[str, Any] = {f"{chr(65 + c)}1": name for c, name in enumerate(names)}
    for r, across in enumerate((8, 0.25, 200), 2):
        row = joint | {"splay_across_deg": across}
        cells |= {f"{chr(65 + c)}{r}": value for c, value in enumerate(row.values())}
    area = f"A1:{chr(64 + len(names))}4"
    call = f'"{service.url}/";"leg.1.swivel_deg";{area};"joint_type";"splayed_bridle"'
    told = english.do(
        {"do": "open", "url": "private:factory/scalc"},
        {"do": "module", "name": "JointGeo", "text": under_test()},
        {"do": "write", "sheet": 0, "cells": cells},
        {"do": "array", "sheet": 0, "range": "A10:A12",
         "formula": f'=JG_LIST({call};"fixture";"porch")'},
        {"do": "read", "sheet": 0, "range": "A10:A12"},
    )[-1]  # fmt: skip
    for row, across in zip(told[:2], (8, 0.25), strict=True):
        setups = answers("splayed_bridle", joint | {"splay_across_deg": across})["settings"]
        assert row == [setups["parts"][0]["setups"][0]["swivel_deg"]]
    assert told[2][0].startswith("# splay_across_deg is too large; given 200")
