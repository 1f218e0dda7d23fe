"""How the page looks, on a screen and on paper, and how large a page is.

Knows nothing. Black on white throughout: what a colour would say, a word, a border or a
line type says. Nothing is fetched from anywhere. Letters and lines have heights in millimetres,
so that ``flow`` knows where a page is full. Without a paper's name the page leaves the
size to the printer and goes on A4 and Letter alike.
"""

from __future__ import annotations

import attrs

__all__ = ["LETTER_MM", "LINE_MM", "PAPERS", "TEXT_WIDE_MM", "Sizes", "css", "sizes"]

#: Papers that can be asked for, and what CSS calls them.
PAPERS = {"a4": "A4", "letter": "letter"}
#: Upright, mm: ISO 216 (from memory), and 8.5 × 11 in.
_PAPER_MM = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
MARGIN_MM = 10.0
#: What a printer's own rounding may take.
_SPARE_MM = 1.0

#: 9 pt, so that capitals stand 2.27 mm in Arial, and the height of a line.
LETTER_MM, LINE_MM = 3.175, 3.7
#: Width of what is printed upright; both papers have it.
TEXT_WIDE_MM = 190.0


@attrs.frozen
class Sizes:
    """How high a page may be, and how large one that lies on its side, mm."""

    high_mm: float
    lying_wide_mm: float
    lying_high_mm: float


def sizes(paper: str | None) -> Sizes:
    """Of a name of ``PAPERS``; of None, what both hold."""
    found = [_PAPER_MM[paper]] if paper else list(_PAPER_MM.values())
    around = 2 * MARGIN_MM + _SPARE_MM
    high = min(h for _, h in found) - around
    return Sizes(high, high, min(w for w, _ in found) - around)


_RULES = """
* { box-sizing: border-box; }
body { font: 9pt/3.7mm 'DejaVu Sans', Arial, Helvetica, sans-serif; color: #000;
  background: #fff; margin: 0; }
section { width: 190mm; max-width: 100%; margin: 0 auto; }
h1 { font-size: 14pt; line-height: 6mm; margin: 0; }
h2 { font-size: 10.5pt; line-height: 4.4mm; margin: 1.5mm 0 0.5mm; }
p, ul, ol, table, figure { margin: 0 0 1mm; }
ul, ol { padding-left: 5mm; }
li { margin: 0; }
p, li, td, th, figcaption { overflow-wrap: anywhere; }
.top { display: flex; justify-content: space-between; align-items: flex-end; gap: 4mm;
  border-bottom: 0.5mm solid; padding-bottom: 0.5mm; margin-bottom: 1mm; }
.status { font-weight: bold; border: 0.4mm solid; padding: 0 1.5mm; flex: none; }
.caution { border-style: dashed; }
.fail { border: 1.2mm double; }
.box, .finding { border: 0.4mm solid; padding: 0.6mm 1.6mm; margin: 0 0 1mm; }
.box p, .finding p, .box ul, .finding ul { margin: 0; }
.heavy { border-width: 0.8mm; }
.under { padding-left: 5mm; }
.row { display: flex; gap: 3mm; align-items: flex-start; }
.row > div { flex: none; }
.axis { border: 0.4mm solid; padding: 0.6mm 1.6mm; margin: 0 0 1mm; }
.axis p { margin: 0; }
.axis .large { line-height: 7mm; }
.axis .large strong { font-size: 17pt; }
table { border-collapse: collapse; width: 100%; table-layout: fixed; }
th, td { border: 0.2mm solid; padding: 0.25mm 1mm; text-align: left; vertical-align: top; }
thead { display: table-header-group; }
tr { break-inside: avoid; }
.number { text-align: right; }
.tick { display: inline-block; width: 3mm; height: 3mm; border: 0.3mm solid;
  vertical-align: -0.4mm; }
figure { break-inside: avoid; margin: 0; }
figcaption { font-weight: bold; }
svg { display: block; max-width: 100%; height: auto; }
@media screen {
  body { padding: 4mm; }
  section { margin-bottom: 8mm; }
  .lying { width: 258mm; }
  .scale { display: none; }
}
@media screen and (max-width: 199mm) {
  body { font-size: 10.5pt; line-height: 1.35; }
  .under { padding-left: 5mm; }
.row { display: block; }
  .row > div { width: auto !important; }
  .top { display: block; }
  .axis .large { line-height: 1.4; }
  table { table-layout: auto; }
  th, td { padding: 0.6mm 0.8mm; }
}
@media print {
  section { break-before: page; max-width: none; margin: 0; }
  .lying { width: auto; }
  section:first-child { break-before: auto; }
  .lying { page: lying; }
  svg { max-width: none; }
}
"""


def css(paper: str | None) -> str:
    """The page's style; ``paper`` is a name of ``PAPERS`` or None."""
    size = PAPERS[paper] if paper else ""
    upright = f"size: {size}; " if size else ""
    lying = f"size: {f'{size} landscape'.strip()}; "
    return f"@page {{ {upright}margin: 10mm; }} @page lying {{ {lying}margin: 10mm; }}{_RULES}"
