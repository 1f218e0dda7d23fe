"""The order of work: each axis set once, pieces grouped by operation.

Knows sheets; makes no page. First setups come before second ones, since a second setup
starts from the first one's trimmed end. Within each the machine goes from small tilt to
great, and from left to right swivel: what is alike is cut without touching either axis.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Protocol

import attrs

from jointgeo.jobs.report import trimming
from jointgeo.planning.passes import sweep
from jointgeo.sheet import words
from jointgeo.sheet.model import EndSheet, SetupSheet

__all__ = ["Operations", "Step", "passes_words", "steps", "trim_words"]


class Operations(Protocol):
    """A sheet, as far as its operations go."""

    @property
    def ends(self) -> tuple[EndSheet, ...]: ...


@attrs.frozen(eq=False)
class Step:
    """One position of both axes. new_swivel, new_tilt: the axis moves before this step."""

    swivel_deg: float
    tilt_deg: float
    new_swivel: bool
    new_tilt: bool
    work: tuple[tuple[EndSheet, SetupSheet], ...]


def steps(sheet: Operations) -> tuple[Step, ...]:
    """Every clamping of every operation once."""
    out: list[Step] = []
    for (_, tilt, swivel), work in _grouped(sheet):
        before = out[-1] if out else None
        out.append(
            Step(
                swivel,
                tilt,
                before is None or abs(before.swivel_deg - swivel) > 1e-6,
                before is None or abs(before.tilt_deg - tilt) > 1e-6,
                tuple(work),
            )
        )
    return tuple(out)


def trim_words(setup: SetupSheet) -> str:
    """How to trim in a setup, or that it is done, as a sentence."""
    said = trimming(setup.setup, lambda value: f"{words.mm(value)} mm")
    return f"{'Trim in ' if setup.number == 1 else ''}{said}.".replace("already", "Already", 1)


def passes_words(setup: SetupSheet) -> str:
    """How often it passes to trim the end, or that it is trimmed: ``14``."""
    if setup.number > 1:
        return "done"
    over = sweep(
        setup.plan.trim_travel_mm, setup.plan.cutter, setup.setup.fixture.practice.overlap_mm
    )
    return str(over.count)


def _grouped(
    sheet: Operations,
) -> Iterator[tuple[tuple[float, float, float], list[tuple[EndSheet, SetupSheet]]]]:
    groups: dict[tuple[float, float, float], list[tuple[EndSheet, SetupSheet]]] = {}
    for end in sheet.ends:
        for setup in end.setups:
            chosen = setup.plan.chosen
            # Adding 0.0 turns -0.0 into 0.0, which would read as a direction.
            key = (
                float(setup.number),
                round(chosen.tilt_deg, 6) + 0.0,
                round(chosen.swivel_deg, 6) + 0.0,
            )
            groups.setdefault(key, []).append((end, setup))
    for key in sorted(groups):
        yield key, groups[key]
