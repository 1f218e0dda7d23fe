"""How far the plate may tilt before stock of a thickness meets a beam.

Knows one setup on one fixture (``context``) and the room to a beam.
"""

from __future__ import annotations

import math
from functools import cache

from jointgeo.checks.context import Context, beam_room
from jointgeo.fixtures.model import FrontBeam
from jointgeo.geometry.search import greatest

__all__ = ["greatest_tilt_deg"]

_STEPS = 40


def greatest_tilt_deg(
    bench: Context, beam: FrontBeam, deep_mm: float, most_deg: float, known_deg: float = 0.0
) -> float:
    """Greatest tilt (deg) with room to ``beam`` for stock that thick, of the setup's own sign.

    0 where there is none even at zero, inf where ``most_deg`` does not reach the beam. known_deg:
    a tilt up to which there is known to be room.
    """
    sign = -1.0 if bench.setup.chosen.tilt_deg < 0 else 1.0

    @cache  # the ends of the bracket are looked at on the way to it
    def room(tilt_deg: float) -> float:
        return beam_room(bench, beam, deep_mm=deep_mm, tilt_deg=sign * tilt_deg)

    # Room may come back at a steeper tilt, so the first that has none is looked for.
    steps = [most_deg * i / _STEPS for i in range(_STEPS + 1)]
    if known_deg > 0 and room(known_deg) >= 0:
        steps = [known_deg, *(s for s in steps if s > known_deg)]
    short = next((i for i, tilt in enumerate(steps) if room(tilt) < 0), None)
    if short is None:
        return math.inf
    return greatest(room, steps[max(short - 1, 0)], steps[short]) or 0.0
