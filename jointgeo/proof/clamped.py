"""A part as it stands in one setup: turned, its trim plane and its touch-off corner known.

Knows the settings' form and the kernel. Only the rotation counts: heights are measured
from the stock's own lowest corner and travel from its own touch-off corner, so where on
the plate it stands changes nothing.
"""

from __future__ import annotations

from collections.abc import Sequence

import attrs
import numpy as np

from jointgeo.proof.finding import TOLERANCE_MM, Finding
from jointgeo.proof.form import PartForm, SetupForm
from jointgeo.proof.frames import machine_from_stock, machine_from_wedged
from jointgeo.proof.kernel import Solid
from jointgeo.proof.mesh import Array

__all__ = ["Clamped", "End"]

ON_PLANE_MM = 1e-6  # a corner of the end face; a thousand times the kernel's rounding
MARGIN_MM = 10.0  # tools reach that far past the blank; any length would do


@attrs.frozen(eq=False)
class End:
    """The trimmed end's plane in stock coordinates: normal · p = height_mm."""

    normal: Array
    height_mm: float

    def corners(self, solid: Solid) -> Array:
        """The corners (n, 3) of what is left of the end face."""
        vertices = solid.mesh().vertices
        return np.asarray(vertices[np.abs(vertices @ self.normal - self.height_mm) < ON_PLANE_MM])


def _turn(setup: SetupForm, errors: dict[str, float]) -> Array:
    swivel, tilt, packing = (errors[f"{name}_deg"] for name in ("swivel", "tilt", "packing"))
    packing += setup.packing_deg
    wedges = setup.wedges
    if wedges is None:
        return machine_from_stock(
            setup.quarter_turns, setup.swivel_deg + swivel, setup.tilt_deg + tilt, packing
        )
    return machine_from_wedged(
        setup.quarter_turns,
        packing,
        wedges.plate_deg + tilt,
        wedges.fence_deg + swivel,
        wedges.behind_deg,
        wedges.beside_deg,
    )


class Clamped:
    """turn: machine from stock (3, 3); trim_z: height of the trim plane, mm, from the stock
    frame's origin; where: the setup's name in findings."""

    def __init__(
        self, form: PartForm, setup: SetupForm, errors: dict[str, float], where: str
    ) -> None:
        self.part, self.setup, self.errors, self.where = form.name, setup, errors, where
        self.turn = _turn(setup, errors)
        w, t, long = form.size_mm
        square, far = (np.array([[x, y, z] for x in (0, w) for y in (0, t)]) for z in (0, long))
        self._square_z = square @ self.turn[2]
        self.trim_z = float(self._square_z.min()) + setup.trim_mm
        whole = np.concatenate([square, far]) @ self.turn.T
        self._low, self._high = whole.min(axis=0) - MARGIN_MM, whole.max(axis=0) + MARGIN_MM

    @property
    def end(self) -> End:
        return End(self.turn[2], self.trim_z)

    def channel(self, left: float, right: float, top: float) -> Solid | None:
        """All between two X below a height, in stock coordinates; None where that is nothing."""
        return self.channels([(left, right, top)])

    def channels(self, spans: Sequence[tuple[float, float, float]]) -> Solid | None:
        """The same of several (left, right, top) together."""
        boxes = []
        for left, right, top in spans:
            low, high = np.array(self._low), np.array(self._high)
            low[0], high[0], high[2] = max(left, low[0]), min(right, high[0]), min(top, high[2])
            if not np.any(low >= high):
                boxes.append(Solid.box(low, high))
        if not boxes:
            return None
        back = np.eye(4)
        back[:3, :3] = self.turn.T
        return Solid.joined(boxes).moved(back)

    def trimmed(self, blank: Solid) -> Solid:
        waste = self.channel(-np.inf, np.inf, self.trim_z)
        return blank if waste is None else blank.minus([waste])

    def clears(self) -> Finding:
        room = self.trim_z - float(self._square_z.max())
        return Finding(
            f"{self.where}: trim plane above the highest corner of the square end",
            (self.part,),
            room,
            0.0,
            "mm",
            room >= -TOLERANCE_MM,
            "the trim must clear every corner of the square end",
        )

    def agrees(self, end: End, blank: Solid) -> Finding:
        """This setup's trim plane against the one that was cut."""
        off = end.corners(blank) @ self.turn[2] - self.trim_z
        return Finding.zero(
            f"{self.where}: trim plane against the first clamping's",
            (self.part,),
            float(np.abs(off).max(initial=0.0)),
            TOLERANCE_MM,
            "mm",
            "every clamping of one end states the same trim plane",
        )

    def corner(self, end: End, solid: Solid) -> tuple[float, tuple[Finding, ...]]:
        """X of the touch-off corner, and a finding where there is nothing to touch."""
        corners = end.corners(solid)
        if len(corners):
            return float((corners @ self.turn[0]).min()), ()
        because = "nothing is left of the trimmed end to touch off from"
        what = f"{self.where}: corner to touch off"
        finding = Finding(what, (self.part,), None, 0.0, "mm", False, because)
        return float(self._low[0]) + MARGIN_MM, (finding,)
