"""A spreadsheet document as a file: cells, styles, Basic modules, packed the same every time.

Knows the OpenDocument format (ISO/IEC 26300, version 1.3) and nothing of joints. Cells
carry no remembered results: a number that nobody has computed for the inputs beside it
must not stand there, so every result is worked out when the document is opened.

The trap: a zip file remembers times, the system it was made on and the compressor's
whims. All are fixed here, and nothing is compressed, so that the same text gives the
same bytes on every machine.
"""

from __future__ import annotations

import re
import zipfile
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from io import BytesIO
from itertools import groupby
from xml.sax.saxutils import escape, quoteattr

__all__ = ["Cell", "Sheet", "column_name", "document"]

MIME = "application/vnd.oasis.opendocument.spreadsheet"
MOMENT = (1980, 1, 1, 0, 0, 0)  # the earliest time a zip file can hold
SPACES = {
    "office": "urn:oasis:names:tc:opendocument:xmlns:office:1.0",
    "table": "urn:oasis:names:tc:opendocument:xmlns:table:1.0",
    "text": "urn:oasis:names:tc:opendocument:xmlns:text:1.0",
    "style": "urn:oasis:names:tc:opendocument:xmlns:style:1.0",
    "fo": "urn:oasis:names:tc:opendocument:xmlns:xsl-fo-compatible:1.0",
    "number": "urn:oasis:names:tc:opendocument:xmlns:datastyle:1.0",
    "of": "urn:oasis:names:tc:opendocument:xmlns:of:1.2",
}
XML = '<?xml version="1.0" encoding="UTF-8"?>\n'
STYLES = """
<number:number-style style:name="three"><number:number number:decimal-places="3"
 number:min-decimal-places="3" number:min-integer-digits="1"/></number:number-style>
<number:number-style style:name="four"><number:number number:decimal-places="4"
 number:min-decimal-places="4" number:min-integer-digits="1"/></number:number-style>
<style:style style:name="title" style:family="table-cell">
 <style:text-properties fo:font-size="14pt" fo:font-weight="bold"/></style:style>
<style:style style:name="head" style:family="table-cell">
 <style:text-properties fo:font-weight="bold"/></style:style>
<style:style style:name="input" style:family="table-cell">
 <style:table-cell-properties style:vertical-align="top"
  fo:border="0.75pt solid #000000"/></style:style>
<style:style style:name="length" style:family="table-cell" style:data-style-name="three">
 <style:table-cell-properties style:vertical-align="top"/>
 <style:paragraph-properties fo:text-align="start"/></style:style>
<style:style style:name="angle" style:family="table-cell" style:data-style-name="four">
 <style:table-cell-properties style:vertical-align="top"/>
 <style:paragraph-properties fo:text-align="start"/></style:style>
<style:style style:name="plain" style:family="table-cell">
 <style:table-cell-properties style:vertical-align="top"/>
 <style:paragraph-properties fo:text-align="start"/></style:style>
<style:style style:name="words" style:family="table-cell">
 <style:table-cell-properties fo:wrap-option="wrap" style:vertical-align="top"/>
 <style:paragraph-properties fo:text-align="start"/></style:style>
<style:style style:name="small" style:family="table-cell">
 <style:table-cell-properties fo:wrap-option="wrap" style:vertical-align="top"/>
 <style:paragraph-properties fo:text-align="start"/>
 <style:text-properties fo:font-size="8pt"/></style:style>
<style:style style:name="verdict" style:family="table-cell">
 <style:table-cell-properties fo:wrap-option="wrap"/>
 <style:paragraph-properties fo:text-align="start"/>
 <style:text-properties fo:font-size="12pt" fo:font-weight="bold"/></style:style>
<style:style style:name="heads" style:family="table-cell">
 <style:table-cell-properties fo:wrap-option="wrap" style:vertical-align="bottom"/>
 <style:text-properties fo:font-weight="bold"/></style:style>
<style:style style:name="code" style:family="table-cell">
 <style:text-properties fo:font-family="'Liberation Mono'"/></style:style>
<style:style style:name="sheet" style:family="table" style:master-page-name="page"/>
"""
PAGE = """
<office:automatic-styles><style:page-layout style:name="wide"><style:page-layout-properties
 fo:page-width="297mm" fo:page-height="210mm" style:print-orientation="landscape"
 fo:margin="10mm" style:scale-to-X="1" style:scale-to-Y="0"/></style:page-layout>
</office:automatic-styles><office:master-styles>
<style:master-page style:name="page" style:page-layout-name="wide"/></office:master-styles>
"""


@dataclass(frozen=True)
class Cell:
    """content: text, a number, or a formula (OpenFormula, beginning with ``of:=``).

    matrix: rows and columns of an array formula that begins here.
    """

    content: str | float
    style: str = "plain"
    matrix: tuple[int, int] | None = None

    def xml(self) -> str:
        style = f' table:style-name="{self.style}"'
        if isinstance(self.content, float):
            number = f' office:value-type="float" office:value="{self.content!r}"'
            return f"<table:table-cell{style}{number}/>"
        if self.content.startswith("of:="):
            span = ""
            if self.matrix:
                span = (
                    f' table:number-matrix-rows-spanned="{self.matrix[0]}"'
                    f' table:number-matrix-columns-spanned="{self.matrix[1]}"'
                )
            return f"<table:table-cell{style}{span} table:formula={quoteattr(self.content)}/>"
        # The format lets a reader fold neighbouring spaces into one unless they are counted.
        inner = re.sub("  +", lambda s: f'<text:s text:c="{len(s[0])}"/>', escape(self.content))
        text = f"<text:p>{inner}</text:p>" if inner else ""
        kind = ' office:value-type="string"' if text else ""
        return f"<table:table-cell{style}{kind}>{text}</table:table-cell>"


@dataclass
class Sheet:
    """One sheet; rows and columns count from 0.

    widths_mm: of the first columns. printed: how many columns go on paper. hidden: columns that
    hold names for programs, and go neither on the screen nor on paper. repeated: how many rows from
    the top stand on every page of paper. printed_rows: how many go on paper; 0 for all.
    """

    name: str
    widths_mm: tuple[int, ...]
    printed: int
    hidden: tuple[int, ...] = ()
    repeated: int = 0
    printed_rows: int = 0
    #: Of rows, millimetres. Calc fits a row to its text when a document is opened, and not when an
    #: answer comes; so rows whose answers take several lines have a height of their own.
    heights_mm: dict[int, int] = field(default_factory=dict)
    cells: dict[tuple[int, int], Cell] = field(default_factory=dict)

    def put(self, row: int, column: int, content: str | float, style: str = "plain") -> None:
        self.cells[row, column] = Cell(content, style)

    def xml(self) -> str:
        columns = [
            f'<table:table-column table:style-name="w{w}"'
            + (' table:visibility="collapse"/>' if c in self.hidden else "/>")
            for c, w in enumerate(self.widths_mm)
        ]
        rows = []
        height = 1 + max(row for row, _ in self.cells)
        for row in range(height):
            width = 1 + max((c for r, c in self.cells if r == row), default=0)
            inner = _joined(self.cells.get((row, c)) for c in range(width))
            tall = self.heights_mm.get(row)
            style = f' table:style-name="h{tall}"' if tall else ""
            rows.append(f"<table:table-row{style}>{inner}</table:table-row>")
        if self.repeated:
            top = "".join(rows[: self.repeated])
            top = f"<table:table-header-rows>{top}</table:table-header-rows>"
            rows[: self.repeated] = [top]
        named = f"'{self.name}'"
        area = f"{named}.A1:{named}.{column_name(self.printed - 1)}{self.printed_rows or height}"
        head = (
            f'<table:table table:name="{self.name}" table:style-name="sheet"'
            f' table:print-ranges="{area}">'
        )
        return "\n".join([head, *columns, *rows, "</table:table>"])


def _joined(cells: Iterable[Cell | None]) -> str:
    """The cells of a row; neighbours alike that hold nothing are written once."""
    out = []
    for cell, alike in groupby(cells):
        count = len(list(alike))
        written = cell.xml() if cell else "<table:table-cell/>"
        if count > 1 and (cell is None or cell.content == ""):
            repeated = f'<table:table-cell table:number-columns-repeated="{count}"'
            out.append(written.replace("<table:table-cell", repeated, 1))
        else:
            out += [written] * count
    return "".join(out)


def column_name(column: int) -> str:
    """The letter of a column, counted from 0; the first 26 only."""
    return "ABCDEFGHIJKLMNOPQRSTUVWXYZ"[column]


def document(sheets: list[Sheet], names: Mapping[str, str], modules: Mapping[str, str]) -> bytes:
    """The whole file. names: named cells by their addresses; modules: Basic texts by name."""
    files = {
        "content.xml": _content(sheets, names),
        "styles.xml": f"{_root('styles')}{PAGE}</office:document-styles>\n",
        **_basic(modules),
    }
    entries = {"/": MIME} | dict.fromkeys(files, "text/xml")
    listed = "".join(
        f'<manifest:file-entry manifest:full-path="{path}" manifest:media-type="{kind}"/>\n'
        for path, kind in entries.items()
    )
    space = "urn:oasis:names:tc:opendocument:xmlns:manifest:1.0"
    head = f'<manifest:manifest xmlns:manifest="{space}" manifest:version="1.3">'
    files["META-INF/manifest.xml"] = f"{XML}{head}\n{listed}</manifest:manifest>\n"
    packed = BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_STORED) as archive:
        # The format wants this one first, so that the kind can be read at a fixed place.
        for path, text in {"mimetype": MIME, **files}.items():
            info = zipfile.ZipInfo(path, MOMENT)
            info.create_system = 3
            info.external_attr = 0o644 << 16
            archive.writestr(info, text.encode("utf-8"))
    return packed.getvalue()


def _root(kind: str) -> str:
    spaces = "".join(f' xmlns:{prefix}="{uri}"' for prefix, uri in SPACES.items())
    return f'{XML}<office:document-{kind}{spaces} office:version="1.3">\n'


def _content(sheets: list[Sheet], names: Mapping[str, str]) -> str:
    widths = sorted({w for sheet in sheets for w in sheet.widths_mm})
    heights = sorted({h for sheet in sheets for h in sheet.heights_mm.values()})
    columns = "".join(
        f'<style:style style:name="h{h}" style:family="table-row">'
        f'<style:table-row-properties style:row-height="{h}mm"'
        ' style:use-optimal-row-height="false"/></style:style>\n'
        for h in heights
    )
    columns += "".join(
        f'<style:style style:name="w{w}" style:family="table-column">'
        f'<style:table-column-properties style:column-width="{w}mm"/></style:style>\n'
        for w in widths
    )
    named = "".join(
        f'<table:named-range table:name="{name}" table:base-cell-address="{address}"'
        f' table:cell-range-address="{address}"/>'
        for name, address in names.items()
    )
    parts = [
        f"{_root('content')}<office:automatic-styles>{STYLES}{columns}</office:automatic-styles>",
        "<office:body><office:spreadsheet>",
        *(sheet.xml() for sheet in sheets),
        f"<table:named-expressions>{named}</table:named-expressions>",
        "</office:spreadsheet></office:body></office:document-content>\n",
    ]
    return "\n".join(parts)


def _basic(modules: Mapping[str, str]) -> dict[str, str]:
    script = 'xmlns:script="http://openoffice.org/2000/script"'
    library = 'xmlns:library="http://openoffice.org/2000/library"'
    link = 'xmlns:xlink="http://www.w3.org/1999/xlink"'
    files = {
        "Basic/script-lc.xml": (
            f'{XML}<library:libraries {library} {link}><library:library library:name="Standard"'
            ' library:link="false"/></library:libraries>\n'
        ),
        "Basic/Standard/script-lb.xml": (
            f'{XML}<library:library {library} library:name="Standard" library:readonly="false"'
            ' library:passwordprotected="false">'
            + "".join(f'<library:element library:name="{name}"/>' for name in modules)
            + "</library:library>\n"
        ),
    }
    for name, text in modules.items():
        files[f"Basic/Standard/{name}.xml"] = (
            f'{XML}<script:module {script} script:name="{name}" script:language="StarBasic">'
            f"{escape(text)}</script:module>\n"
        )
    return files
