"""How the page looks, on a screen and on paper.

Knows nothing. Black on white throughout: what a colour would say, a word, a border or a
line type says. Nothing is fetched from anywhere. Without a paper's name the page leaves the
size to the printer and goes on A4 and Letter alike: no picture is wider than 180 mm or
higher than 240 mm, and with the margins below both papers hold that.
"""

from __future__ import annotations

__all__ = ["PAPERS", "css"]

#: Papers that can be asked for, and what CSS calls them.
PAPERS = {"a4": "A4", "letter": "letter"}

_RULES = """
* { box-sizing: border-box; }
body { font: 12pt/1.35 'DejaVu Sans', Arial, Helvetica, sans-serif; color: #000;
  background: #fff; margin: 0 auto; max-width: 190mm; padding: 4mm; }
h1 { font-size: 20pt; line-height: 1.2; margin: 0 0 3mm; }
h2 { font-size: 16pt; margin: 6mm 0 3mm; border-bottom: 0.5mm solid; break-after: avoid; }
h3 { font-size: 13pt; margin: 5mm 0 2mm; break-after: avoid; }
h4 { font-size: 12pt; margin: 4mm 0 1mm; break-after: avoid; }
p, ul, ol, table, figure, dl { margin: 0 0 3mm; }
li { margin-bottom: 0.6mm; }
p, li, figcaption { overflow-wrap: anywhere; }
.cautions { border: 1mm solid; padding: 2mm 4mm; margin-bottom: 4mm; }
.cautions h2 { border: 0; margin: 0 0 1mm; }
.cautions ul { margin: 0; padding-left: 6mm; }
.status { font-weight: bold; border: 0.5mm solid; padding: 0 2mm; white-space: nowrap; }
.caution { border-style: dashed; }
.fail { border: 1.2mm double; }
table { border-collapse: collapse; width: 100%; }
th, td { border: 0.25mm solid; padding: 0.6mm 1.6mm; text-align: left; vertical-align: top; }
thead { display: table-header-group; }
tr, table.whole { break-inside: avoid; }
.number { text-align: right; white-space: nowrap; }
.tick { width: 8mm; }
.box { display: inline-block; width: 4mm; height: 4mm; border: 0.4mm solid; }
.write { min-width: 20mm; }
.finding { border: 0.5mm solid; padding: 2mm 3mm; margin-bottom: 3mm; break-inside: avoid; }
figure { break-inside: avoid; }
figcaption { margin-top: 1mm; }
svg { display: block; max-width: 100%; height: auto; margin: 0 auto; }
@media screen and (max-width: 120mm) {
  th, td { padding: 0.6mm 1mm; }
  th { overflow-wrap: anywhere; }
}
@media print {
  body { max-width: none; padding: 0; }
  section.new-page { break-before: page; }
  section.new-page > h2:first-child { margin-top: 0; }
  svg { max-width: none; }
}
"""


def css(paper: str | None) -> str:
    """The page's style; ``paper`` is a name of ``PAPERS`` or None."""
    size = f"size: {PAPERS[paper]}; " if paper else ""
    return f"@page {{ {size}margin: 14mm 15mm; }}{_RULES}"
