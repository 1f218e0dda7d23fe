"""The workbook's sheets: inputs in cells and the answers beside them.

Knows the library's parameter fields, whose names, units, ranges and help fill the input
rows, the joints of the porch set, and ``ods``. Computes nothing: every answer is a formula
that asks the service. A person reads words; the names that the service knows stand beside them
in hidden columns.

Each joint asks three times, however much of it is shown: its verdict and numbers in one block, its
cuts and its checks in one each, on sheets of their own.
"""

from __future__ import annotations

from dataclasses import dataclass

from ods import Cell, Sheet, column_name
from porch import SET, Piece

from jointgeo import joint_type
from jointgeo.schema.fields import FieldInfo, describe

__all__ = ["LETTERS", "LINE_MM", "SERVICE_CELL", "SERVICE_NAME", "all_sheets", "range_words"]

SERVICE = "http://127.0.0.1:8765"
SERVICE_NAME = "jg_service"
SERVICE_CELL = "$Start.$B$3"
#: Columns of a joint's sheet: what an input is, its name, its value, its range; a gap; what an
#: answer is, its path, the answer, its unit.
WORDS, NAMES, VALUES, RANGES, SAYS, PATHS, ANSWERS, UNITS = 0, 1, 2, 3, 5, 6, 7, 8
WIDTHS = (84, 40, 30, 50, 4, 76, 40, 106, 10)
#: Letters that go in a line of the columns of words, and millimetres that a line takes.
LETTERS, LINE_MM = 44, 5
CUT_WIDTHS = (14, 12, 17, 19, 16, 62, 17, 19, 16, 62, 14, 18, 16, 20, 9, 18, 18, 16, 20, 10, 18,
              12, 16, 20, 28)  # fmt: skip
CHECK_WIDTHS = (16, 12, 44, 24, 24, 24, 12, 22, 92, 92, 20, 28)
LISTED_WIDTHS = (84, 60, 110)
LISTED_ROWS = 700
#: Columns of the table of cuts that hold measures, and those that hold sentences.
MEASURES, SENTENCES = {2, 3, 4, 6, 7, 8, 10, 11, 12, 13, 15, 16, 17, 18, 20}, {5, 9}
WHOLE = (  # what a path leads to, its path, and its style
    ("what to look at first", "trouble.because", "words"),
    ("what would help", "trouble.remedy", "words"),
    ("questions the fixture file leaves open", "not_stated", "plain"),
    ("fixture", "fixture", "plain"),
    ("edition of its file", "edition", "plain"),
)
SETUP = (  # of each setup: what it is, its quantity, its unit
    ("side against the plate", "against_plate", ""),
    ("side against the fence", "against_fence", ""),
    ("swivel, true angle", "swivel_deg", "°"),
    ("its scale must show", "scale_swivel_deg", "°"),
    ("within ±", "closing.swivel_needed_deg", "°"),
    ("how to set it", "aid.swivel.says", ""),
    ("tilt, true angle", "tilt_deg", "°"),
    ("its scale must show", "scale_tilt_deg", "°"),
    ("within ±", "closing.tilt_needed_deg", "°"),
    ("how to set it", "aid.tilt.says", ""),
    ("wedge under one edge", "packing_deg", "°"),
    ("overhang", "overhang_mm", "mm"),
    ("cutter", "cutter", ""),
    ("trim above the lowest corner", "trim_mm", "mm"),
    ("height of the cutter for the trim", "cutter_height_mm.trim", "mm"),
    ("heights are counted from", "cutter_height_mm.datum", ""),
)
#: Paths of answers that are sentences.
SENTENCES_END = (".because", ".remedy", ".says")
VERDICTS = {
    "pass": "feasible: every check that could be made passes",
    "caution": "feasible with cautions: see the checks marked caution",
    "fail": "not feasible: not to be cut like this; see the checks marked fail",
}
CAUTION = (
    "Numbers, not a judgement of your machine or your wood. Isolate the power before setting, "
    "clamp stock and backing, keep hands out of reach of the cutter, cut a test piece first, and "
    "follow your machine's manual and your local rules."
)


def all_sheets(usage: list[str]) -> list[Sheet]:
    """Every sheet, the first with ``usage`` on it: the lines at the head of the module."""
    pieces, overview = [], []
    for name, group in SET.items():
        sheet = Sheet(name, WIDTHS, printed=UNITS + 1, hidden=(NAMES, PATHS))
        cuts = Sheet(f"{name} cuts", CUT_WIDTHS, printed=len(CUT_WIDTHS))
        checks = Sheet(f"{name} checks", CHECK_WIDTHS, printed=len(CHECK_WIDTHS))
        row = cut_row = check_row = 0
        for piece in group:
            top = row
            row, ask = _block(sheet, name, row, piece)
            overview.append((piece.title, f"of:=[${name}.{column_name(ANSWERS)}{top + 4}]"))
            cut_row = _cuts(cuts, cut_row, piece, ask)
            check_row = _checks(checks, check_row, piece, ask)
        pieces += [sheet, cuts, checks]
    return [_start(overview, usage), _askable(), *pieces]


def _start(overview: list[tuple[str, str]], usage: list[str]) -> Sheet:
    sheet = Sheet("Start", (110, 110), printed=2)
    sheet.put(0, 0, "Porch set: settings of the fixture, asked from a jointgeo service", "title")
    sheet.put(2, 0, "address of the service", "head")
    sheet.put(2, 1, SERVICE, "input")
    lines = [
        "Start the service with: jointgeo serve (fixtures of your own: --fixtures FOLDER)",
        "Allow this document's macros when it is opened, or keep it in a trusted location.",
        "Where #VALUE! stands everywhere, they were not allowed.",
        "Cells with a frame are yours to change. A text that begins with # is the reason why",
        "there is no answer. After the service was down, ask again with Ctrl+Shift+F9.",
        "For a document of your own copy the Basic module JointGeo into it (Tools, Macros).",
        "Hidden columns hold the names that the service knows each input and answer by.",
    ]
    for row, line in enumerate(lines, 3):
        sheet.put(row, 0, line)
    row = 4 + len(lines)
    sheet.put(row, 0, "Is it feasible?", "head")
    for title, verdict in overview:
        row += 1
        sheet.put(row, 0, title)
        sheet.put(row, 1, verdict)
    row += 2
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
    address = f"{SERVICE}/v1/joint-types/{piece.joint_type}/values?cells=1"
    texts = [f'"{address}"', '"&pick=leg.1.swivel_deg&fixture=porch"', f'"{fixed}"']
    for name, cell in angles.items():
        texts += [f'"&{name}="', f'SUBSTITUTE({cell};",";".")']
    return "=WEBSERVICE(" + "&".join(texts) + ")", '=IFERROR(NUMBERVALUE(A1;".");A1)'


@dataclass(frozen=True)
class _Ask:
    """The functions with a joint's cells filled in. joint_type, pairs: references."""

    joint_type: str
    pairs: str

    def values(self, paths: str) -> str:
        return f"of:=JG_VALUE({SERVICE_NAME};{self.joint_type};{paths};{self.pairs})"

    def table(self, want: str, rows: int, *more: str) -> str:
        asked = ";".join((f'"{want}"', str(rows), self.pairs, *more))
        return f"of:=JG_TABLE({SERVICE_NAME};{self.joint_type};{asked})"


def _askable() -> Sheet:
    """Every path of the first joint of the workbook, to copy from."""
    sheet = Sheet("What can be asked", LISTED_WIDTHS, printed=len(LISTED_WIDTHS))
    name, group = next(iter(SET.items()))
    ask = _asking(name, 0, group[0])
    sheet.put(0, 0, f"What can be asked of: {group[0].title}", "title")
    says = "Copy a path into JG_VALUE or JG_LIST. Part, number of the clamping from 1, quantity."
    sheet.put(1, 0, says)
    sheet.put(2, 0, "Another part or setup of your joint is asked for by the same pattern.")
    sheet.put(3, 0, "Of a whole piece JG_PIECE gives the cut list, the settings and the checks.")
    _table(sheet, 6, ask.table("paths", LISTED_ROWS + 1), LISTED_ROWS, len(LISTED_WIDTHS))
    return sheet


def _asking(sheet: str, top: int, piece: Piece) -> _Ask:
    first, last = top + 4, top + 5 + len(describe(joint_type(piece.joint_type)))
    names, values = column_name(NAMES), column_name(VALUES)
    pairs = f"[${sheet}.${names}${first}:.${values}${last}]"
    return _Ask(f"[${sheet}.${values}${top + 2}]", pairs)


def _block(sheet: Sheet, name: str, top: int, piece: Piece) -> tuple[int, _Ask]:
    """One joint from row ``top``: (the row after it, how to ask for it)."""
    cls = joint_type(piece.joint_type)
    fields = describe(cls)
    ask = _asking(name, top, piece)
    sheet.put(top, WORDS, piece.title, "title")
    sheet.put(top + 1, WORDS, cls.summary)
    sheet.put(top + 1, VALUES, piece.joint_type, "plain")
    sheet.put(top + 1, SAYS, CAUTION)
    for column, text in {WORDS: "input", VALUES: "value", RANGES: "range", SAYS: "answer"}.items():
        sheet.put(top + 2, column, text, "head")
    _inputs(sheet, top + 3, piece, fields)
    answers = _answers(sheet, top + 3, piece, ask)
    return max(top + 5 + len(fields), answers) + 2, ask


def _inputs(sheet: Sheet, row: int, piece: Piece, fields: tuple[FieldInfo, ...]) -> None:
    own = (
        ("Fixture, one of those that the service lists", "fixture", "porch", ""),
        ("Hand", "hand", "as_drawn", "as_drawn or mirrored"),
    )
    for at, (says, name, value, allowed) in enumerate(own, row):
        _words(sheet, at, says)
        sheet.put(at, NAMES, name)
        sheet.put(at, VALUES, value, "input")
        sheet.put(at, RANGES, allowed, "words")
    for at, info in enumerate(fields, row + len(own)):
        _words(sheet, at, info.help)
        sheet.put(at, NAMES, info.name)
        sheet.put(at, VALUES, piece.values.get(info.name, ""), "input")
        sheet.put(at, RANGES, range_words(info), "words")


def _words(sheet: Sheet, row: int, text: str) -> None:
    """What an input is, in a row as high as that takes."""
    sheet.put(row, WORDS, text, "words")
    _height(sheet, row, LINE_MM * (1 + (len(text) - 1) // LETTERS))


def _height(sheet: Sheet, row: int, least_mm: int) -> None:
    sheet.heights_mm[row] = max(least_mm, sheet.heights_mm.get(row, LINE_MM))


def range_words(info: FieldInfo) -> str:
    """The range in short: ``5 to 300 mm``."""
    unit = {"deg": "°", "1": ""}.get(info.unit, f" {info.unit}".rstrip())
    if info.kind == "choice":
        says = " or ".join(info.choices)
    elif info.kind == "flag":
        says = "true or false"
    elif info.kind == "text":
        says = f"a line of up to {info.high:g} letters"
    elif info.low is None or info.high is None:
        says = info.allowed
    else:
        says = f"{'above ' if info.above else ''}{info.low:g} to {info.high:g}{unit}"
    default = f"{info.default:g}" if isinstance(info.default, float) else f"{info.default}"
    if info.required:
        return says
    return f"{says}; may be empty" if info.may_be_none else f"{says}; {default} where empty"


def _answers(sheet: Sheet, row: int, piece: Piece, ask: _Ask) -> int:
    """Verdict and numbers, in one request; the row after them."""
    rows = [("status", "status", "plain", ""), *((says, path, style, "")
            for says, path, style in WHOLE)]  # fmt: skip
    for part, count in piece.setups.items():
        for number in range(1, count + 1):
            for says, quantity, unit in SETUP:
                style = {"°": "angle", "mm": "length"}.get(unit, "words")
                label = f"{part}, clamping {number}: {says}"
                rows.append((label, f"{part}.{number}.{quantity}", style, unit))
    first, last = row + 2, row + 1 + len(rows)
    paths, answers = column_name(PATHS), column_name(ANSWERS)
    status = f"[.${answers}${first}]"
    words = status
    for word, says in VERDICTS.items():
        words = f'IF({status}="{word}";"{says}";{words})'
    sheet.put(row, SAYS, "is it feasible?", "head")
    sheet.put(row, ANSWERS, f"of:={words}", "verdict")
    _height(sheet, row, 2 * LINE_MM + 2)
    for at, (says, path, style, unit) in enumerate(rows, row + 1):
        sheet.put(at, SAYS, says, "words")
        _height(sheet, at, LINE_MM * (4 if path.endswith(SENTENCES_END) else 1))
        sheet.put(at, PATHS, path)
        sheet.put(at, ANSWERS, "", style)
        sheet.put(at, UNITS, unit)
    formula = ask.values(f"[.${paths}${first}:.${paths}${last}]")
    sheet.cells[row + 1, ANSWERS] = Cell(formula, "plain", (len(rows), 1))
    return last


def _cuts(sheet: Sheet, row: int, piece: Piece, ask: _Ask) -> int:
    sheet.put(row, 0, f"{piece.title}: cuts, a row for each pass", "title")
    says = (
        "Touch off and measure as the printed operation sheet says; come to every pass from the "
        "left."
    )
    sheet.put(row + 1, 0, says)
    formula = ask.table("settings", piece.cuts + 1, '"heading"', '"words"')
    _table(sheet, row + 2, formula, piece.cuts, len(CUT_WIDTHS), MEASURES, SENTENCES, 19)
    return row + piece.cuts + 5


def _checks(sheet: Sheet, row: int, piece: Piece, ask: _Ask) -> int:
    sheet.put(row, 0, f"{piece.title}: checks; room above 0 is room left", "title")
    formula = ask.table("feasibility", piece.checks + 1, '"heading"', '"words"')
    _table(sheet, row + 1, formula, piece.checks, len(CHECK_WIDTHS), {3, 4, 5}, {8, 9}, 12)
    return row + piece.checks + 4


def _table(
    sheet: Sheet,
    row: int,
    formula: str,
    rows: int,
    columns: int,
    measures: set[int] = frozenset(),  # type: ignore[assignment]  # read only
    sentences: set[int] = frozenset(),  # type: ignore[assignment]  # the same
    high_mm: int = LINE_MM,
) -> None:
    """An array formula over ``rows`` and a heading; its other cells stay empty but styled."""
    for r in range(rows + 1):
        for c in range(columns):
            style = "length" if c in measures else "small" if c in sentences else "plain"
            sheet.put(row + r, c, "", "heads" if r == 0 else style)
        if sentences:
            sheet.heights_mm[row + r] = high_mm
    sheet.cells[row, 0] = Cell(formula, "heads", (rows + 1, columns))
