"""Does a list of steps in a running LibreOffice: JSON on standard input, JSON on output.

Runs under the system's own Python, which is the one that has UNO; so it imports nothing
of the project, and no test is in it. Each step is a table with ``do`` and what it needs;
the answer is a list with one result for each step.
"""

from __future__ import annotations

import json
import os
import signal
import sys
import time
from typing import Any

import uno  # type: ignore[import-not-found]  # only the system's Python has it
from com.sun.star.beans import PropertyValue  # type: ignore[import-not-found]  # the same

ALWAYS_RUN_MACROS = 4  # com.sun.star.document.MacroExecMode.ALWAYS_EXECUTE_NO_WARN
PATIENCE_S = 30


def setting(name: str, value: object) -> Any:
    made = PropertyValue()
    made.Name, made.Value = name, value
    return made


def connect(pipe: str) -> Any:
    """The office's desktop; the office may still be starting."""
    here = uno.getComponentContext()
    resolver = here.ServiceManager.createInstanceWithContext(
        "com.sun.star.bridge.UnoUrlResolver", here
    )
    deadline = time.monotonic() + PATIENCE_S
    while True:
        try:
            there = resolver.resolve(f"uno:pipe,name={pipe};urp;StarOffice.ComponentContext")
            return there.ServiceManager.createInstanceWithContext(
                "com.sun.star.frame.Desktop", there
            )
        except Exception:  # UNO's own exceptions have no common importable base
            if time.monotonic() > deadline:
                raise
            time.sleep(0.1)


class Driver:
    def __init__(self, desktop: Any) -> None:
        self.desktop = desktop
        self.document: Any = None

    def open(self, url: str) -> None:
        flags = (setting("Hidden", True), setting("MacroExecutionMode", ALWAYS_RUN_MACROS))
        self.document = self.desktop.loadComponentFromURL(url, "_blank", 0, flags)
        if self.document is None:
            raise RuntimeError(f"the office does not open {url}")

    def module(self, name: str, text: str) -> None:
        """A Basic module put into the document."""
        libraries = self.document.BasicLibraries
        if not libraries.hasByName("Standard"):
            libraries.createLibrary("Standard")
        libraries.getByName("Standard").insertByName(name, text)

    def write(self, sheet: str | int, cells: dict[str, float | str]) -> None:
        """Numbers, texts, and formulas, which begin with ``=`` and use English names and ``;``."""
        for address, content in cells.items():
            cell = self._range(sheet, address).getCellByPosition(0, 0)
            if isinstance(content, str) and content.startswith("="):
                cell.setFormula(content)
            elif isinstance(content, str):
                cell.setString(content)
            else:
                cell.setValue(content)

    def array(self, sheet: str | int, range: str, formula: str) -> None:
        self._range(sheet, range).setArrayFormula(formula)

    def block(self, sheet: str | int, cell: str, rows: list[list[float | str]]) -> None:
        """Numbers and texts from a cell on."""
        start = self._range(sheet, cell).RangeAddress
        right, down = start.StartColumn + len(rows[0]) - 1, start.StartRow + len(rows) - 1
        area = self._sheet(sheet).getCellRangeByPosition(
            start.StartColumn, start.StartRow, right, down
        )
        area.setDataArray(tuple(tuple(row) for row in rows))

    def timed(self, steps: list[dict[str, Any]]) -> float:
        """Seconds that the steps and all they have worked out take."""
        began = time.perf_counter()
        for step in steps:
            getattr(self, step.pop("do"))(**step)
        self.document.calculate()
        return time.perf_counter() - began

    def calculate(self) -> None:
        """What Ctrl+Shift+F9 does."""
        self.document.calculateAll()

    def read(self, sheet: str | int, range: str) -> Any:
        """Rows of contents: numbers, texts, "" for an empty cell, null for an error."""
        return self._range(sheet, range).getDataArray()

    def used(self, sheet: str | int) -> Any:
        """Rows of contents of all that is used of a sheet."""
        cursor = self._sheet(sheet).createCursor()
        cursor.gotoEndOfUsedArea(False)
        last = cursor.RangeAddress
        area = self._sheet(sheet).getCellRangeByPosition(0, 0, last.EndColumn, last.EndRow)
        return area.getDataArray()

    def shown(self, sheet: str | int, cell: str) -> Any:
        """The text that a person sees."""
        return self._range(sheet, cell).getCellByPosition(0, 0).String

    def kill(self, pid: int) -> None:
        """End a process, for a service that dies while the document stays open."""
        os.kill(pid, signal.SIGKILL)

    def print_to(self, url: str) -> None:
        """The whole document as PDF, as a printer would get it."""
        self.document.storeToURL(url, (setting("FilterName", "calc_pdf_Export"),))

    def locale(self) -> list[str]:
        """Language and country that the document takes for its numbers."""
        locale = self.document.CharLocale
        return [locale.Language, locale.Country]

    def terminate(self) -> None:
        self.desktop.terminate()

    def _sheet(self, sheet: str | int) -> Any:
        sheets = self.document.Sheets
        return sheets.getByName(sheet) if isinstance(sheet, str) else sheets.getByIndex(sheet)

    def _range(self, sheet: str | int, address: str) -> Any:
        return self._sheet(sheet).getCellRangeByName(address)


def main() -> None:
    driver = Driver(connect(sys.argv[1]))
    try:
        results = [getattr(driver, step.pop("do"))(**step) for step in json.load(sys.stdin)]
    finally:
        if driver.document is not None:
            driver.document.close(True)
    json.dump(results, sys.stdout)
    sys.stdout.flush()
    # The bridge's threads sometimes crash an interpreter that ends in the usual way.
    os._exit(0)


if __name__ == "__main__":
    main()
