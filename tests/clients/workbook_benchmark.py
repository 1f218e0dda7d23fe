"""How long 500 joints take in the real LibreOffice: cell by cell, and as one list.

Not a test: it measures, and judges nothing by itself. Run it from the project's folder on a quiet
machine, where an office and its UNO are installed:

    python -m tests.clients.workbook_benchmark
    python -m tests.clients.workbook_benchmark --rounds 5

An echo cell is JG_VALUE asking a plain Flask application that answers a constant at once, on the
same server as the service; its questions are as long as the others. Each round has new joints; what
is told is the time of recalculating the document, the median of all rounds, in times of the echo
cells of the same round.
"""

from __future__ import annotations

import argparse
import statistics
import sys
from pathlib import Path
from typing import Any

from .office import Office, build, running

sys.path.insert(0, str(Path(__file__).parents[1] / "service"))
from benchmark import ECHO, FIXTURE, SERVICE, questions, serving  # found just now

TYPE, ROWS = "splayed_bridle", 500
PATHS = ("leg.1.swivel_deg", "leg.1.tilt_deg", "leg.1.trim_mm", "leg.1.overhang_mm",
         "leg.1.against_plate")  # fmt: skip


def measured(office: Office, joints: list[dict[str, Any]], formulas: dict[str, str]) -> float:
    """Seconds of working out the formulas beside a table of joints from A1, names on top."""
    names = list(joints[0])
    rows = [names, *([joint[n] for n in names] for joint in joints)]
    block = {"do": "block", "sheet": 0, "cell": "A1", "rows": rows}
    module = {"do": "module", "name": "JointGeo", "text": build("--module")}
    if len(formulas) == 1:
        ((area, formula),) = formulas.items()
        asks = {"do": "array", "sheet": 0, "range": area, "formula": formula}
    else:
        asks = {"do": "write", "sheet": 0, "cells": formulas}
    head = {"do": "block", "sheet": 0, "cell": "U1", "rows": [list(PATHS)]}
    steps = [{"do": "open", "url": "private:factory/scalc"}, module, block, head]
    told = office.do(*steps, {"do": "timed", "steps": [asks]}, {"do": "read", "sheet": 0,
                     "range": f"U2:U{ROWS + 1}"})  # fmt: skip
    if any(not isinstance(row[0], float) for row in told[-1]):
        raise RuntimeError(f"not all numbers: {told[-1][:2]}")
    return float(told[-2])


def cells(url: str, names: list[str]) -> dict[str, str]:
    """One JG_VALUE for each row."""
    out = {}
    for r in range(2, ROWS + 2):
        pairs = ";".join(f'"{n}";{chr(65 + c)}{r}' for c, n in enumerate(names))
        ask = f'=JG_VALUE("{url}";"{TYPE}";"{PATHS[0]}";"fixture";"{FIXTURE}";{pairs})'
        out[f"U{r}"] = ask
    return out


def main() -> int:
    parser = argparse.ArgumentParser(description="Measure 500 joints in the real office.")
    parser.add_argument("--rounds", type=int, default=3)
    rounds = parser.parse_args().rounds
    joints = questions(TYPE, 2 * ROWS * (rounds + 1))
    names = list(joints[0])
    ratios: list[tuple[float, float, float]] = []
    with serving(ECHO) as echo, serving(SERVICE) as service, running("en-US") as office:
        at = [f"http://127.0.0.1:{s.address[1]}" for s in (echo, service)]
        area = f"A1:{chr(64 + len(names))}{ROWS + 1}"
        one = f'=JG_LIST("{at[1]}";U1:Y1;{area};"joint_type";"{TYPE}";"fixture";"{FIXTURE}")'
        for number in range(rounds + 1):
            first, second = (
                joints[ROWS * (2 * number + i) : ROWS * (2 * number + i + 1)] for i in (0, 1)
            )
            bare = measured(office, first, cells(at[0], names))
            each = measured(office, first, cells(at[1], names))
            listed = measured(office, second, {f"U2:Y{ROWS + 1}": one})
            if number:  # the first round warms up
                ratios.append((bare, each / bare, listed / bare))
    bare, each, listed = (statistics.median(one) for one in zip(*ratios, strict=True))
    print(f"{ROWS} echo cells                        {bare:6.2f} s")
    print(f"{ROWS} different JG_VALUE                {each:6.2f} of that")
    print(f"one JG_LIST of {ROWS} different × {len(PATHS)}      {listed:6.2f} of that")
    return 0


if __name__ == "__main__":
    sys.exit(main())
