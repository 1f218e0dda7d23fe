"""One thing that was looked at, with what was measured and what should have been.

Knows nothing else. Two limits say what counts as equal:

* ``TOLERANCE_MM``, 0.001 mm for lengths: a hundredth of what a shop can set, and a
  million times what the kernel's rounding moves a face.
* ``TOLERANCE_MM3``, 0.05 mm³ for volumes: the length limit over 50 mm², a cheek of 7 × 7 mm,
  which is about the smallest that holds anything together. The kernel's rounding, 1e-12 of the
  distance from the origin over all faces, is 1e-4 mm³ for boards of 2 m and a thousandth of that
  for a stool. A share of the joint's volume was rejected: a slip of one finger in twenty is no
  smaller for the other nineteen.
"""

from __future__ import annotations

from typing import Any

import attrs

__all__ = ["TOLERANCE_MM", "TOLERANCE_MM3", "Finding"]

TOLERANCE_MM = 1e-3
TOLERANCE_MM3 = 0.05


@attrs.frozen
class Finding:
    """what was looked at, on which parts.

    measured: None where it could not be measured, which is never ok. expected: the value
    meant, or the limit. unit: "mm", "mm3" or "1".
    """

    what: str
    parts: tuple[str, ...]
    measured: float | None
    expected: float
    unit: str
    ok: bool
    because: str

    @classmethod
    def zero(
        cls,
        what: str,
        parts: tuple[str, ...],
        measured: float,
        limit: float,
        unit: str,
        because: str = "",
    ) -> Finding:
        """Something that should be 0, and is ok up to ``limit``."""
        return cls(what, parts, measured, 0.0, unit, measured <= limit, because)

    def to_dict(self) -> dict[str, Any]:
        return attrs.asdict(self) | {"parts": list(self.parts)}
