"""A sheet for each type of whole piece: numbers of the room in cells, cut list and operations
beside them.

Knows the registry of piece types and ``ods``, no type by name; the answers are the service's. As of
a joint a person reads words, and names for programs stand in a hidden column. A piece asks twice:
cut list and operations, a block each.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator

from ods import Cell, Sheet, column_name
from piece_inputs import FIXTURE, Input, inputs, label
from sheets import LETTERS, LINE_MM, SERVICE_NAME

import jointgeo
from jointgeo.pieces import PieceType, piece_types, solve_piece

__all__ = ["whole_pieces"]

#: What an input is, its name, its value, its range; a gap; where the tables begin.
WORDS, NAMES, VALUES, RANGES, TABLES = 0, 1, 2, 3, 5
WIDTHS = (84, 40, 30, 70, 4, 30, 44, 22, 24, 28, 24, 20, 26, 24, 24, 26, 18, 18, 18, 12, 22, 14, 20)
#: Letters of a range that go in a line.
RANGE_LETTERS = 33
#: Of the two tables, how many columns there are and which of them hold measures.
CUT_LIST = 10, range(3, 9)
OPERATIONS = 18, (*range(5, 10), *range(11, 14), 15)
#: Rows of the sheet: what piece type it is, the heading of the inputs.
KIND, HEAD = 2, 3
CAUTION = (
    "Numbers, not a judgement of your machine or your wood. Isolate the power before setting, "
    "clamp stock and backing, keep hands out of reach of the cutter, and cut a test piece first: "
    "ends that lean are soon cut the wrong way round, so try each operation on waste of the same "
    "section."
)
UNJUDGED = (
    "Not said here: whether the fixture can cut all this. JG_PIECE with feasibility lists every "
    "check."
)
#: Rows of the operations on the screen at least; a box of unlike sides takes many.
ROOM = 200
ENDS = "Here the print ends; no pass stands below it."
GOES_ON = "# Here the print ends, and passes go on below: widen the print range (Format)."


def whole_pieces(taken: Collection[str] = ()) -> Iterator[Sheet]:
    """A sheet for each installed piece type, filled with its first example. taken: names of other
    sheets."""
    for kind, cls in piece_types().items():
        title = label(kind)
        name = title[:1].upper() + title[1:]
        yield _sheet(f"{name} whole" if name in taken else name, name, kind, cls)


def _sheet(name: str, title: str, kind: str, cls: type[PieceType]) -> Sheet:
    # Title and cautions stand on every page of paper.
    sheet = Sheet(name, WIDTHS, printed=len(WIDTHS), hidden=(NAMES,), repeated=KIND)
    summary = cls.summary.rstrip(".")
    sheet.put(0, WORDS, f"{summary}: cut list and operations from the numbers of the room", "title")
    sheet.put(1, WORDS, CAUTION)
    sheet.put(KIND, WORDS, "piece type", "words")
    sheet.put(KIND, NAMES, kind)
    sheet.put(KIND, VALUES, title)
    for column, text in {WORDS: "input", VALUES: "value", RANGES: "range"}.items():
        sheet.put(HEAD, column, text, "head")
    rows = inputs(cls)
    for at, one in enumerate(rows, HEAD + 1):
        sheet.put(at, WORDS, one.says, "words")
        lines = 1 + max(len(one.says) // LETTERS, len(one.allowed) // RANGE_LETTERS)
        sheet.heights_mm[at] = LINE_MM * lines
        sheet.put(at, NAMES, one.name)
        sheet.put(at, VALUES, one.value, "input")
        sheet.put(at, RANGES, one.allowed, "words")
    pairs = ";".join(_pairs(rows))
    members, passes = _longest(cls)
    top = KIND
    sheet.put(top, TABLES, "Cut list", "title")
    _table(sheet, top + 1, "cut-list", pairs, members, *CUT_LIST)
    top += members + 3
    sheet.put(top, TABLES, "Operations, a row for each pass", "title")
    says = "Come to every pass from the left; touch off and measure as the printed sheet says."
    sheet.put(top + 1, TABLES, f"{says} {UNJUDGED}")
    _table(sheet, top + 2, "settings", pairs, max(passes, ROOM), *OPERATIONS)
    # On paper only as much as the longest example takes, or most of it would be blank.
    end = max(top + passes + 2, HEAD + len(rows) + 1)
    sheet.printed_rows = end + 1
    beyond = f"[.{column_name(TABLES)}{end + 2}]"
    says = f'IF(ISNUMBER({beyond});"{GOES_ON}";IF({beyond}="";"{ENDS}";""))'
    sheet.put(end, WORDS, f"of:={says}", "head")
    return sheet


def _longest(cls: type[PieceType]) -> tuple[int, int]:
    """Rows of the two tables without their headings: those of the longest example, a few to spare,
    passes by fours."""
    fixture = jointgeo.load_fixture(FIXTURE)
    members, passes = 6, 0
    for example in cls.examples():
        answer = solve_piece(example.piece(), fixture).to_dict()
        members = max(members, len(answer["members"]))
        setups = [setup for end in answer["settings"] for setup in end["setups"]]
        passes = max(passes, sum(max(1, sum(len(c["passes"]) for c in s["cuts"])) for s in setups))
    return members + 2, 4 * (1 + (passes + 3) // 4)


def _pairs(rows: list[Input]) -> Iterator[str]:
    """Names and values as the function takes them: ranges, and by itself what must be turned."""
    names, values = column_name(NAMES), column_name(VALUES)
    first = row = HEAD + 2  # as formulas count
    for row, one in enumerate(rows, HEAD + 2):
        if one.asked:
            if first < row:
                yield f"[.${names}${first}:.${values}${row - 1}]"
            yield f"[.${names}${row}];{one.asked.format(cell=f'[.${values}${row}]')}"
            first = row + 1
    if first <= row:
        yield f"[.${names}${first}:.${values}${row}]"


def _table(
    sheet: Sheet,
    row: int,
    want: str,
    pairs: str,
    rows: int,
    columns: int,
    measures: Collection[int],
) -> None:
    """An array formula over ``rows`` and a heading of three lines, beside the inputs."""
    for r in range(rows + 1):
        for c in range(columns):
            style = "heads" if r == 0 else "length" if c in measures else "plain"
            sheet.put(row + r, TABLES + c, "", style)
    sheet.heights_mm[row] = max(3 * LINE_MM, sheet.heights_mm.get(row, 0))
    asked = f'{SERVICE_NAME};[.${column_name(NAMES)}${KIND + 1}];"{want}";{rows + 1}'
    formula = f'of:=JG_PIECE({asked};{pairs};"heading";"words")'
    sheet.cells[row, TABLES] = Cell(formula, "heads", (rows + 1, columns))
