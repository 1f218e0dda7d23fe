"""What a command line gives out, whole or told to be lost: ``streams`` and ``files``.

Knows nothing of the rest of the library.
"""

from __future__ import annotations

from jointgeo.output.files import NO_ROOM, keep_under_a_number, one_at_a_time, write_whole
from jointgeo.output.streams import OWN_FAULT, Writing, ready

__all__ = [
    "NO_ROOM",
    "OWN_FAULT",
    "Writing",
    "keep_under_a_number",
    "one_at_a_time",
    "ready",
    "write_whole",
]
