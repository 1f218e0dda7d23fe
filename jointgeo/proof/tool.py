"""One cut by its passes: what they take, what they leave, what they take beside it.

Knows a clamped part and the kernel.

Trap. What a pass takes is known by its travel and the kerf; ``left_mm`` and ``right_mm``
only say what the passes were meant for. Cutting by them would hide passes that leave
wood standing or go too far; they are used to say which wood that is.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from jointgeo.proof.clamped import Clamped
from jointgeo.proof.finding import TOLERANCE_MM, Finding
from jointgeo.proof.form import CutForm
from jointgeo.proof.kernel import WOOD_MM3, Solid

__all__ = ["Span", "Tool", "let_in", "meets_wood"]

Span = tuple[float, float, float]  # left, right, top: X, X and height
ABUT_MM = 1e-9  # two cuts that close leave no wall
LET_IN_MM = 1e-6


class Tool:
    """corner: X of the touch-off corner. taken: (left, right) of all passes, merged."""

    def __init__(self, at: Clamped, corner: float, cut: CutForm, where: str) -> None:
        self._at, self._where = at, where
        self._meant = (corner + cut.left_mm, corner + cut.right_mm)
        self._top = at.trim_z + cut.depth_mm + at.errors["depth_mm"]
        kerf = at.setup.kerf_mm + at.errors["kerf_mm"]
        rights = sorted(corner + t + at.errors["travel_mm"] for t in cut.travels_mm)
        self._taken = _merged([(right - kerf, right) for right in rights])

    @property
    def spans(self) -> list[Span]:
        return [(*span, self._top) for span in self._taken]

    def findings(self, blank: Solid) -> Iterator[Finding]:
        """blank: the trimmed one, so that wood an earlier cut has taken still counts."""
        left, right = self._meant
        yield meets_wood(
            self._where, self._at.part, self._at.channel(left, right, self._top), blank
        )
        edges = [left, *(x for span in self._taken for x in span), right]
        standing = [
            (max(a, left), min(b, right)) for a, b in zip(edges[::2], edges[1::2], strict=True)
        ]
        beside = [(a, min(b, left)) for a, b in self._taken]
        beside += [(max(a, right), b) for a, b in self._taken]
        for what, spans, because in (
            ("wood its passes leave standing", standing, "passes must cover their cut"),
            ("wood its passes take beside it", beside, "passes must stay inside their cut"),
        ):
            yield Finding.zero(
                f"{self._where}: {what}",
                (self._at.part,),
                max((self._in_wood(*span, blank) for span in spans), default=0.0),
                TOLERANCE_MM,
                "mm",
                because,
            )

    def _in_wood(self, left: float, right: float, blank: Solid) -> float:
        """How wide the span is where it meets wood."""
        if right - left < TOLERANCE_MM:
            return max(0.0, right - left)
        box = self._at.channel(left, right, self._top)
        if box is None or (touched := box.meet(blank)).volume_mm3 <= WOOD_MM3:
            return 0.0
        return float(np.ptp(touched.mesh().vertices @ self._at.turn[0]))


def meets_wood(where: str, part: str, tool: Solid | None, blank: Solid) -> Finding:
    volume = 0.0 if tool is None else tool.meet(blank).volume_mm3
    return Finding(
        f"{where}: wood in its way",
        (part,),
        volume,
        0.0,
        "mm3",
        volume > WOOD_MM3,
        "a cut that meets no wood lies outside the stock",
    )


def let_in(spans: list[Span]) -> list[Span]:
    """The spans with no wall of rounding between two cuts.

    Where two meet, the shallower one is let into the deeper one's room, which takes
    nothing that the deeper one would leave.
    """
    out = []
    for left, right, top in spans:
        if any(abs(r - left) <= ABUT_MM and t >= top for _, r, t in spans):
            left -= LET_IN_MM
        if any(abs(x - right) <= ABUT_MM and t >= top for x, _, t in spans):
            right += LET_IN_MM
        out.append((left, right, top))
    return out


def _merged(spans: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Passes of one cut that overlap or abut, as one."""
    out: list[tuple[float, float]] = []
    for low, high in spans:
        if out and low <= out[-1][1] + ABUT_MM:
            out[-1] = (out[-1][0], max(high, out[-1][1]))
        else:
            out.append((low, high))
    return out
