"""The page to print for a fixture's parts: cautions first, picture, figures, checks, full size.

Knows parts, their drawings and markup.
"""

from __future__ import annotations

from collections.abc import Sequence

from jointgeo.fixture_parts.catalogue import Parts
from jointgeo.fixture_parts.drawing import draw, size_mm
from jointgeo.fixture_parts.model import Figure, FixturePart
from jointgeo.fixture_parts.tiles import MOST_SHEETS, tiles
from jointgeo.joints.check import Check
from jointgeo.schema.units import fixed
from jointgeo.sheet.canvas import Room, fitted
from jointgeo.sheet.markup import Markup, element

__all__ = ["amount", "parts_page", "source_words"]

CAUTIONS = (
    "A fixture carries wood past a cutter: whoever builds it answers for it. Try every part by "
    "hand with the power isolated, through its whole range, before anything is cut.",
    "Route and saw with the board clamped, eyes and ears protected, and follow the tool's manual.",
    "Dimensions from the fixture file are as good as that file, which does not say whether anybody "
    "measured them; those that are assumed nobody did. Measure both on the fixture first.",
)
STATUS = {
    "pass": "passes",
    "caution": "CAUTION",
    "fail": "DOES NOT WORK",
    "not_stated": "not stated",
}
_CSS = """
@page { SIZEmargin: 14mm 15mm; }
body { font: 12pt/1.35 'DejaVu Sans', Arial, Helvetica, sans-serif; color: #000; background: #fff;
  max-width: 190mm; margin: 0 auto; padding: 4mm; }
h1 { font-size: 20pt; margin: 0 0 3mm; } h2 { font-size: 16pt; border-bottom: 0.5mm solid; }
h3 { font-size: 13pt; margin: 4mm 0 1mm; }
.cautions { border: 1mm solid; padding: 1mm 4mm; }
.measure { border: 0.6mm solid; padding: 2mm 3mm; font-weight: bold; }
table { border-collapse: collapse; width: 100%; font-size: 10.5pt; }
th, td { border: 0.25mm solid; padding: 0.5mm 1.5mm; text-align: left; vertical-align: top;
  overflow-wrap: break-word; }
.number { text-align: right; white-space: nowrap; }
thead { display: table-header-group; } tr, figure { break-inside: avoid; }
figure { margin: 0 0 3mm; } svg { display: block; max-width: 100%; height: auto; }
@media print { body { max-width: none; padding: 0; } .new { break-before: page; }
  svg { max-width: none; height: revert-layer; } }
"""
_PAPERS = {"a4": "size: A4; ", "letter": "size: letter; "}


def amount(value: float, unit: str) -> str:
    """Millimetres to 0.01, degrees to 0.001."""
    if unit == "1":
        return f"{value:g}"
    sign = "°" if unit == "deg" else f" {unit}"
    return f"{fixed(value, 3 if unit == 'deg' else 2)}{sign}"


def source_words(figure: Figure) -> str:
    """``assumed: common practice, no published source``; ``worked out``."""
    return f"{figure.source}: {figure.because}" if figure.because else figure.source


def parts_page(parts: Parts, title: str, paper: str | None = None) -> str:
    """One HTML page with every part. paper: "a4", "letter", or None for whatever is in."""
    body = [
        element("h1", f"Parts for {title}"),
        _cautions("Before anything else", CAUTIONS),
    ]
    if parts.left_out:
        items = [element("li", f"{k}: {why}") for k, why in parts.left_out.items()]
        body += [element("h3", "Left out"), element("ul", *items)]
    for index, part in enumerate(parts.parts):
        body.append(_part(part, index))
    head = element(
        "head",
        element("meta", charset="utf-8"),
        element("meta", name="viewport", content="width=device-width, initial-scale=1"),
        element("link", rel="icon", href="data:,"),
        element("title", f"Parts for {title}"),
        element("style", Markup(_CSS.replace("SIZE", _PAPERS.get(paper or "", "")))),
    )
    return f"<!DOCTYPE html>\n{element('html', head, element('body', *body), lang='en')}\n"


def _cautions(head: str, items: Sequence[str]) -> Markup:
    return element(
        "div",
        element("h3", head),
        element("ul", *(element("li", c) for c in items)),
        class_="cautions",
    )


def _part(part: FixturePart, index: int) -> Markup:
    picture = fitted(lambda scale: draw(part, scale), Room(180.0, 150.0), size_mm(part))
    out = [
        element("h2", part.title),
        _cautions("Cautions", part.cautions),
        element(
            "figure",
            picture.svg(f"part-{index + 1}"),
            element(
                "figcaption",
                f"Seen {part.seen_from}. Heavy: the slot to rout; full: the "
                "outline; dashed: cut away; thin with two dots: where parts stand, not cut.",
            ),
        ),
    ]
    if part.measure:
        figure = part.figure(part.measure)
        out.append(
            element(
                "p",
                f"Measure before cutting: {figure.words} {amount(figure.value, figure.unit)}.",
                class_="measure",
            )
        )
    out += [
        element("h3", "Order of work"),
        element("ol", *(element("li", s) for s in part.steps)),
        element("h3", "Figures"),
        _figures(part.figures),
        element("h3", "Checks"),
        _checks(part.checks),
    ]
    sheets = tiles(part)
    if not sheets:
        says = f"Too large for {MOST_SHEETS} sheets: have the DXF plotted in one piece."
        out.append(element("p", says))
    for tile in sheets:
        out.append(element("figure", tile.svg, class_="new"))
    return element("section", *out, class_="new")


def _figures(figures: Sequence[Figure]) -> Markup:
    rows = [
        element(
            "tr",
            element("td", f.words),
            element("td", amount(f.value, f.unit), class_="number"),
            element("td", source_words(f)),
        )
        for f in figures
    ]
    return _table(("figure", "size", "where it comes from"), rows)


def _checks(checks: Sequence[Check]) -> Markup:
    rows = []
    for c in checks:
        says = "; ".join([c.because, *(f"remedy: {r.says}" for r in c.remedies)])
        stated = c.status != "not_stated"
        rows.append(
            element(
                "tr",
                element("td", c.name.replace("_", " ")),
                element("td", amount(c.value, c.unit), class_="number"),
                element("td", amount(c.limit, c.unit) if stated else "", class_="number"),
                element("td", amount(c.margin, c.unit) if stated else "", class_="number"),
                element("td", STATUS[c.status]),
                element("td", says),
            )
        )
    return _table(("check", "value", "limit", "room", "", "why"), rows)


def _table(heads: Sequence[str], rows: Sequence[Markup]) -> Markup:
    head = element("tr", *(element("th", h) for h in heads))
    return element("table", element("thead", head), element("tbody", *rows))
