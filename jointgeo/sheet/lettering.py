"""How wide and how high words are, and the one measure of what does not scale with a drawing.

Knows letters only; no drawing, no page. Widths are the advances of DejaVu Sans (its own tables,
units of 1/2048 of the size), the widest of the faces that the page asks for; a narrower one only
leaves more room.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import attrs

__all__ = ["FINE", "READ", "Measure", "text_mm", "wrapped"]

_UNITS = 2048
#: A letter that stands in no table, such as one of another script.
_WIDEST = 2048


class _Widths(dict[str, int]):
    """Widths of letters, of those too that stand in no table."""

    def __missing__(self, letter: str) -> int:
        return _WIDEST


def _table(widths: Mapping[int, str]) -> _Widths:
    return _Widths((letter, width) for width, letters in widths.items() for letter in letters)


_REGULAR = _table(
    {
        465: "′",
        563: "'",
        569: "ijl",
        604: "IJ",
        651: " ,.·‘’",
        690: "/:;\\|",
        721: "f",
        739: "-",
        765: "″",
        799: "()[]",
        803: "t",
        821: "!²³",
        842: "r",
        942: '"',
        1024: "*_`°–",
        1061: "“”",
        1067: "s",
        1075: "z",
        1087: "?",
        1126: "cç",
        1141: "L",
        1178: "F",
        1186: "k",
        1212: "vxy",
        1235: "P",
        1251: "TY",
        1253: "oöø",
        1255: "aäàâå",
        1260: "eéèê",
        1290: "ß",
        1294: "E",
        1298: "hnuüñ",
        1300: "Sbdgpq",
        1303: "$0123456789{}µ",
        1305: "√",
        1343: "K",
        1401: "AVÄ",
        1403: "XZ",
        1405: "B",
        1423: "R",
        1430: "C",
        1499: "UÜ",
        1532: "N",
        1540: "H",
        1577: "D",
        1587: "G",
        1597: "&",
        1612: "OQÖØ",
        1675: "w",
        1716: "#+<=>^~×±−→←↑↓≤≥≠",
        1767: "M",
        1836: "☐",
        1935: "□",
        1946: "%",
        1985: "½¼¾",
        1995: "m",
        2011: "æ",
        2025: "W",
        2048: "@—…",
    }
)

_BOLD = _table(
    {
        540: "′",
        627: "'",
        702: "ijl",
        713: " ",
        748: "/\\|",
        762: "IJ",
        778: ",.·‘’",
        819: ":;",
        850: "-",
        891: "f",
        897: "²³",
        915: "″",
        934: "!",
        936: "()[]",
        979: "t",
        1010: "r",
        1024: "_`°–",
        1067: '"',
        1071: "*",
        1188: "?",
        1192: "z",
        1214: "cç",
        1219: "s",
        1305: "L",
        1321: "x",
        1335: "vy",
        1346: "“”",
        1362: "k",
        1366: "√",
        1382: "aäàâå",
        1389: "eéèê",
        1397: "T",
        1399: "EF",
        1407: "oöø",
        1425: "$0123456789",
        1458: "hnu{}üñ",
        1466: "bdgpq",
        1473: "ß",
        1475: "S",
        1483: "Y",
        1485: "Z",
        1501: "P",
        1503: "C",
        1507: "µ",
        1561: "B",
        1577: "R",
        1579: "X",
        1585: "AVÄ",
        1587: "K",
        1663: "UÜ",
        1681: "G",
        1700: "D",
        1714: "HN",
        1716: "#+<=>^~×±−→←↑↓≤≥≠",
        1741: "OQÖØ",
        1786: "&",
        1836: "☐",
        1892: "w",
        1935: "□",
        2038: "M",
        2048: "@—…",
        2052: "%",
        2120: "½¼¾",
        2134: "m",
        2146: "æ",
        2259: "W",
    }
)


def text_mm(text: str, size_mm: float, *, bold: bool = False) -> float:
    """Width of a line of text at that size, mm."""
    widths = _BOLD if bold else _REGULAR
    return size_mm / _UNITS * sum(map(widths.__getitem__, text))


def wrapped(runs: Iterable[tuple[str, bool]], room_mm: float, size_mm: float) -> int:
    """How many lines a text takes where a line has that much room; broken between words, and
    within a word only where it is longer than a line.

    runs: stretches of the text, and whether each is bold.
    """
    found = list(runs)
    if sum(text_mm(text, size_mm, bold=bold) for text, bold in found) <= room_mm:
        return 1
    lines, used, held = 1, 0.0, 0.0  # held: of a word that goes on in the next stretch
    for text, bold in found:
        space = text_mm(" ", size_mm, bold=bold)
        for i, word in enumerate(text.split(" ")):
            if i:
                lines, used = _placed(lines, used, held, space, room_mm)
                held = 0.0
            held += text_mm(word, size_mm, bold=bold)
    return _placed(lines, used, held, text_mm(" ", size_mm), room_mm)[0]


def _placed(lines: int, used: float, word: float, space: float, room: float) -> tuple[int, float]:
    """Lines begun, and how far the last is filled, with one more word."""
    if not word:
        return lines, used
    if used and used + space + word > room:
        lines, used = lines + 1, 0.0
    used += word + (space if used else 0.0)
    while used > room > 0:
        lines, used = lines + 1, used - room
    return lines, used


@attrs.frozen
class Measure:
    """What is the same on paper whatever the scale of a drawing: letters, the height of a line,
    and gaps, heads and strokes, which grow with the letters.

    letter_mm: size of the letters. Capitals are 0.716 of it in Arial and Helvetica and 0.729 in
    DejaVu Sans.
    """

    letter_mm: float

    @property
    def line_mm(self) -> float:
        """From one line of words to the next."""
        return self.of(6.0)

    def of(self, at_full_mm: float) -> float:
        """A length that is given for letters of 4.9 mm."""
        return at_full_mm * self.letter_mm / 4.9

    def width(self, text: str, *, bold: bool = False) -> float:
        """Width of a line of words, mm."""
        return text_mm(text, self.letter_mm, bold=bold)


#: Capitals of 3.5 mm, a size of the ISO 3098 series (from memory), read at arm's length.
READ = Measure(4.9)
#: Capitals of 2.2 mm and more: the least that a sheet beside the machine may have.
FINE = Measure(3.1)
