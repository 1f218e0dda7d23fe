"""The sheet of a whole piece: numbers of the room in cells, cut list and operations beside them.

Knows the library's parameter fields and ``ods``; computes nothing. As of a joint a person reads
words, and names for programs stand in a hidden column. A piece asks twice: cut list and operations,
a block each.
"""

from __future__ import annotations

from collections.abc import Iterator

from ods import Cell, Sheet, column_name
from sheets import LETTERS, LINE_MM, SERVICE_NAME, range_words

from jointgeo.pieces import piece_type
from jointgeo.schema.fields import describe

__all__ = ["whole_pieces"]

#: What an input is, its name, its value, its range; a gap; where the tables begin.
WORDS, NAMES, VALUES, RANGES, TABLES = 0, 1, 2, 3, 5
WIDTHS = (84, 40, 30, 50, 4, 30, 44, 22, 24, 28, 24, 20, 26, 24, 24, 26, 18, 18, 18, 12, 22, 14, 20)
CUT_LIST_COLUMNS, SETTING_COLUMNS = 10, 18
#: Rows of the two tables without their headings, a few to spare.
MEMBERS, PASSES = 8, 48
#: Name of the sheet, piece type.
SHEETS = {"Bench whole": "splayed_bench"}
CAUTION = (
    "Numbers, not a judgement of your machine or your wood. Isolate the power before setting, "
    "clamp stock and backing, keep hands out of reach of the cutter, and cut a test piece first: "
    "every end here leans, so try each operation on waste of the same section."
)


def whole_pieces() -> Iterator[Sheet]:
    """A sheet for each piece of ``SHEETS``, filled with the type's first example."""
    for name, kind in SHEETS.items():
        yield _sheet(name, kind)


def _sheet(name: str, kind: str) -> Sheet:
    cls = piece_type(kind)
    fields, example = describe(cls), cls.examples()[0].to_dict()
    sheet = Sheet(name, WIDTHS, printed=len(WIDTHS), hidden=(NAMES,))
    sheet.put(
        0, WORDS, f"{cls.summary}: cut list and operations from the numbers of the room", "title"
    )
    sheet.put(1, WORDS, CAUTION)
    sheet.put(2, WORDS, "piece type", "words")
    sheet.put(2, VALUES, kind)
    for column, text in {WORDS: "input", VALUES: "value", RANGES: "range"}.items():
        sheet.put(3, column, text, "head")
    own = (
        ("Fixture, one of those that the service lists", "fixture", "porch", ""),
        ("Marks: members of a kind marked alike, or face sides as drawn", "marks", "alike",
         "alike or as_drawn"),
    )  # fmt: skip
    rows = [*own, *((i.help, i.name, example.get(i.name), range_words(i)) for i in fields)]
    for at, (says, key, value, allowed) in enumerate(rows, 4):
        sheet.put(at, WORDS, says, "words")
        sheet.heights_mm[at] = LINE_MM * (1 + (len(says) - 1) // LETTERS)
        sheet.put(at, NAMES, key)
        sheet.put(at, VALUES, _written(value), "input")
        sheet.put(at, RANGES, allowed, "words")
    last = 3 + len(rows)
    names, values = column_name(NAMES), column_name(VALUES)
    pairs = f"[.${names}$5:.${values}${last + 1}]"
    asked = f"{SERVICE_NAME};[.${values}$3]"
    top = 2
    sheet.put(top, TABLES, "Cut list", "title")
    _table(sheet, top + 1, f'JG_PIECE({asked};"cut-list";{MEMBERS + 1};{pairs};"heading";"words")',
           MEMBERS, CUT_LIST_COLUMNS)  # fmt: skip
    top += MEMBERS + 3
    sheet.put(top, TABLES, "Operations, a row for each pass", "title")
    says = "Come to every pass from the left; touch off and measure as the printed sheet says."
    sheet.put(top + 1, TABLES, says)
    _table(sheet, top + 2, f'JG_PIECE({asked};"settings";{PASSES + 1};{pairs};"heading";"words")',
           PASSES, SETTING_COLUMNS)  # fmt: skip
    return sheet


def _written(value: object) -> str | float:
    """A value as a cell holds it; nothing where the default holds."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    return float(value) if isinstance(value, int | float) else str(value)


def _table(sheet: Sheet, row: int, formula: str, rows: int, columns: int) -> None:
    """An array formula over ``rows`` and a heading, beside the inputs."""
    for r in range(rows + 1):
        for c in range(columns):
            sheet.put(row + r, TABLES + c, "", "heads" if r == 0 else "plain")
    sheet.cells[row, TABLES] = Cell(f"of:={formula}", "heads", (rows + 1, columns))
