"""The workbook's sheets: inputs in cells and the answers beside them.

Knows the library's parameter fields, whose names, units, ranges and help fill the input
rows, the joints of the porch set, and ``ods``. Computes nothing: every answer is a formula
that asks the service.
"""

from __future__ import annotations

from dataclasses import dataclass

from ods import Cell, Sheet, column_name
from porch import SET, Piece

from jointgeo import joint_type
from jointgeo.schema.fields import FieldInfo, describe

__all__ = ["SERVICE_CELL", "SERVICE_NAME", "all_sheets"]

SERVICE = "http://127.0.0.1:8765"
SERVICE_NAME = "jg_service"
SERVICE_CELL = "$Start.$B$3"
WIDTHS = (50, 30, 34, 22, 76, 24, 28, 22, 22, 22, 22, 18, 24, 18, 20)
CUT_COLUMNS, CHECK_COLUMNS = 15, 8
MEANING = CUT_COLUMNS  # long sentences stand to the right of everything, and are not printed
STATUS = CHECK_COLUMNS - 1  # column of a check's status in its table
#: Columns of the table of cuts that hold counts and names, not measures.
COUNTED = {0, 1, 7, 11, 13, 14}
RESULTS = {  # member of a setup: what it is called on the sheet, and its unit
    "against_plate": ("side against the plate", ""),
    "against_fence": ("side against the fence", ""),
    "swivel_deg": ("swivel", "deg"),
    "tilt_deg": ("tilt", "deg"),
    "packing_deg": ("wedge under one edge", "deg"),
    "trim_mm": ("trim above the lowest corner", "mm"),
}


def all_sheets(usage: list[str]) -> list[Sheet]:
    """Every sheet, the first with ``usage`` on it: the lines at the head of the module."""
    pieces, overview = [], []
    for name, group in SET.items():
        sheet = Sheet(name, WIDTHS, printed=MEANING)
        row = 0
        for piece in group:
            row, verdict = _block(sheet, row, piece)
            overview.append((piece.title, f"of:=[${name}.{verdict}]"))
        pieces.append(sheet)
    return [_start(overview, usage), *pieces]


def _start(overview: list[tuple[str, str]], usage: list[str]) -> Sheet:
    sheet = Sheet("Start", (110, 110), printed=2)
    sheet.put(0, 0, "Porch set: settings of the fixture, asked from a jointgeo service", "title")
    sheet.put(2, 0, "address of the service", "head")
    sheet.put(2, 1, SERVICE, "input")
    lines = [
        "Start the service with: jointgeo serve",
        "Allow this document's macros when it is opened, or keep it in a trusted location.",
        "Where #VALUE! stands everywhere, they were not allowed.",
        "Cells with a frame are yours to change. A text that begins with # is the reason why",
        "there is no answer. After the service was down, ask again with Ctrl+Shift+F9.",
        "For a document of your own copy the Basic module JointGeo into it (Tools, Macros).",
    ]
    for row, line in enumerate(lines, 3):
        sheet.put(row, 0, line)
    sheet.put(10, 0, "Does it fit?", "head")
    for row, (title, verdict) in enumerate(overview, 11):
        sheet.put(row, 0, title)
        sheet.put(row, 1, verdict)
    row = 12 + len(overview)
    sheet.put(row, 0, "Without macros: paste these two formulas into A1 and A2", "head")
    for line in ("B1 and B2 hold the two angles, e.g. 12 and 8.", *_pasted()):
        row += 1
        sheet.put(row, 0, line, "code")
    row += 2
    sheet.put(row, 0, "The functions", "head")
    for line in usage:
        row += 1
        sheet.put(row, 0, line, "code")
    return sheet


def _pasted() -> tuple[str, str]:
    """The bench leg's swivel from the cell function WEBSERVICE alone, in two cells.

    Each text of a formula stays under 255 characters, which is all that Calc takes.
    """
    piece = SET["Bench"][0]
    angles = {"splay_along_deg": "B1", "splay_across_deg": "B2"}
    fixed = "".join(f"&{k}={v:g}" for k, v in piece.values.items() if k not in angles)
    address = f"{SERVICE}/v1/joint-types/{piece.joint_type}/settings?cells=1&shape=value"
    texts = [f'"{address}"', '"&pick=parts.leg.setups.0.swivel_deg&fixture=porch"', f'"{fixed}"']
    for name, cell in angles.items():
        texts += [f'"&{name}="', f'SUBSTITUTE({cell};",";".")']
    return "=WEBSERVICE(" + "&".join(texts) + ")", '=IFERROR(NUMBERVALUE(A1;".");A1)'


def _block(sheet: Sheet, top: int, piece: Piece) -> tuple[int, str]:
    """One joint from row ``top``: (the row after it, the cell of its verdict)."""
    cls = joint_type(piece.joint_type)
    fields = describe(cls)
    sheet.put(top, 0, piece.title, "title")
    sheet.put(top + 1, 0, "joint_type", "head")
    sheet.put(top + 1, 1, piece.joint_type, "input")
    sheet.put(top + 1, 4, cls.summary)
    heads = {0: "name", 1: "value", 2: "unit", 4: "result", MEANING: "what the inputs mean"}
    for column, text in heads.items():
        sheet.put(top + 2, column, text, "head")
    first = top + 3
    _inputs(sheet, first, piece, fields)
    last = first + 1 + len(fields)
    ask = _Questions(f"[.$B${top + 2}]", f"[.$A${first + 1}:.$B${last + 1}]")
    shown = [(part, n) for part, count in piece.setups.items() for n in range(count)]
    after_results = first + 4 + len(shown) * len(RESULTS)
    cuts_at = max(last + 2, after_results + 1)
    checks_at = cuts_at + piece.cuts + 4
    _results(sheet, first, ask, shown, (checks_at + 2, piece.checks))
    sheet.put(cuts_at, 0, "Cuts: one row for each pass", "head")
    _table(sheet, cuts_at + 1, ask.table("settings", piece.cuts + 1), piece.cuts, CUT_COLUMNS)
    sheet.put(checks_at, 0, "Checks: a margin above 0 is room left", "head")
    _table(
        sheet,
        checks_at + 1,
        ask.table("feasibility", piece.checks + 1),
        piece.checks,
        CHECK_COLUMNS,
    )
    _in_words(sheet, checks_at + 1, piece.checks)
    return checks_at + piece.checks + 4, f"F{first + 1}"


def _inputs(sheet: Sheet, row: int, piece: Piece, fields: tuple[FieldInfo, ...]) -> None:
    sheet.put(row, 0, "fixture")
    sheet.put(row, 1, "porch", "input")
    sheet.put(row + 1, 0, "hand")
    sheet.put(row + 1, 1, "as_drawn", "input")
    sheet.put(row + 1, MEANING, 'As drawn or its mirror image; one of "as_drawn", "mirrored"')
    for at, info in enumerate(fields, row + 2):
        sheet.put(at, 0, info.name)
        sheet.put(at, 1, piece.values.get(info.name, ""), "input")
        sheet.put(at, 2, "" if info.unit == "1" else info.unit)
        default = f"{info.default:g}" if isinstance(info.default, float) else f"{info.default}"
        default = "may be" if info.may_be_none else f"{default} where"
        default = "" if info.required else f"; {default} left empty"
        sheet.put(at, MEANING, f"{info.help}; {info.allowed}{default}")


@dataclass(frozen=True)
class _Questions:
    """The two functions with a joint's cells filled in. joint_type, pairs: references."""

    joint_type: str
    pairs: str

    def value(self, want: str, pick: str) -> str:
        return f'JG_VALUE({SERVICE_NAME};{self.joint_type};"{want}";{pick};{self.pairs})'

    def table(self, want: str, rows: int) -> str:
        return f'of:=JG_TABLE({SERVICE_NAME};{self.joint_type};"{want}";{rows};{self.pairs})'


def _results(
    sheet: Sheet, row: int, ask: _Questions, shown: list[tuple[str, int]], checks: tuple[int, int]
) -> None:
    """Verdict, what comes first among the troubles, and the numbers of each setup."""
    status = f"[.$F${row + 2}]"
    known = {
        "pass": "fits: every check that could be made passes",
        "caution": "fits, with care: see the checks marked caution",
        "fail": "does not fit: see the checks marked fail",
    }
    words = status
    for word, says in known.items():
        words = f'IF({status}="{word}";"{says}";{words})'
    letter = column_name(STATUS)
    column = f"[.${letter}${checks[0] + 1}:.${letter}${checks[0] + checks[1]}]"
    path = f'"checks."&(MATCH({status};{column};0)-1)&'
    because = ask.value("feasibility", f'{path}".because"')
    says = ask.value("feasibility", f'{path}".remedies.0.says"')

    def unless(answer: str) -> str:
        return f'IF(LEFT({status};1)="#";{status};IF({status}="pass";"nothing";{answer}))'

    rows = [
        ("does it fit?", words),
        ("status", ask.value("feasibility", '"status"')),
        ("what to look at first", unless(because)),
        ("what would help", unless(f'IF(LEFT({says};1)="#";"no remedy is listed";{says})')),
    ]
    for at, (label, formula) in enumerate(rows, row):
        sheet.put(at, 4, label)
        sheet.put(at, 5, f"of:={formula}")
    at = row + len(rows)
    for part, number in shown:
        for member, (label, unit) in RESULTS.items():
            pick = f'"parts.{part}.setups.{number}.{member}"'
            sheet.put(at, 4, f"{part}, setup {number + 1}: {label}")
            style = {"deg": "angle", "mm": "length"}.get(unit, "plain")
            sheet.put(at, 5, "of:=" + ask.value("settings", pick), style)
            sheet.put(at, 6, unit)
            at += 1


def _table(sheet: Sheet, row: int, formula: str, rows: int, columns: int) -> None:
    """An array formula over ``rows`` and a heading; its other cells stay empty but styled."""
    for r in range(rows + 1):
        for c in range(columns):
            measure = c in (3, 4, 5) if columns == CHECK_COLUMNS else c not in COUNTED
            style = "head" if r == 0 else "length" if measure else "plain"
            sheet.put(row + r, c, "", style)
    sheet.cells[row, 0] = Cell(formula, "head", (rows + 1, columns))


def _in_words(sheet: Sheet, row: int, rows: int) -> None:
    """What each check's margin says, beside the table of checks."""
    sheet.put(row, CHECK_COLUMNS, "in words", "head")
    for r in range(row + 2, row + rows + 2):
        status, margin, unit = (f"[.{c}{r}]" for c in "HFG")
        amount = (
            f'ROUND(ABS({margin});3)&" "&{unit}&IF(ROUND({margin};3)<0;" too little";" of room")'
        )
        lead = f'IF({status}="fail";"does not go: ";IF({status}="caution";"take care: ";""))'
        words = f'IF(OR({status}="";LEFT({status};1)="#");"";{lead}&{amount})'
        sheet.put(r - 1, CHECK_COLUMNS, f"of:={words}")
