"""One thing that was looked at, with what was measured and what should have been.

Knows nothing else. Two limits say what counts as equal:

* ``TOLERANCE_MM``, 0.001 mm for lengths: a hundredth of what a shop can set, and a
  million times what the kernel's rounding moves a face.
* ``TOLERANCE_SHARE``, 1e-6 of the joint's volume for volumes: over the cheeks of a
  tenon as large as a hand that is 1e-5 mm of depth.
"""

from __future__ import annotations

from typing import Any

import attrs

__all__ = ["TOLERANCE_MM", "TOLERANCE_SHARE", "Finding"]

TOLERANCE_MM = 1e-3
TOLERANCE_SHARE = 1e-6


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
